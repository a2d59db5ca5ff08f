"""`python -m server init`: a workshop of one's own begins with its owner's password."""

from __future__ import annotations

import argparse
import getpass
import os

from pricing.errors import refuse

from .config import settings
from .services import demo, signing_in
from .services.workshop import open_workshop

PASSWORD = "TINWRIGHT_OWNER_PASSWORD"


def run(options: argparse.Namespace) -> None:
    """Makes the database and its owner.

    Raises: PricingError for a database that already has people, or a password too short or too common.
    """
    with open_workshop(settings(options.database)) as opened:
        if not demo.is_empty(opened):
            raise refuse("init", "database", "people", "people who can sign in", "an empty database")
        password = os.environ.get(PASSWORD) or getpass.getpass("Password for the owner, 12 characters or more: ")
        signing_in.add(opened, options.owner, "owner", password)
    print(f"ready: sign in as {options.owner}; bring a book in with `book import`")
