"""`python -m server migrate`: brings the tables of a database to the newest version."""

from __future__ import annotations

import argparse

from .config import settings
from .services.workshop import open_workshop


def run(options: argparse.Namespace) -> None:
    """Migrates, and says which database it was; nothing changes where the tables are up to date."""
    with open_workshop(settings(options.database)) as opened:
        address = opened.engine.url.render_as_string(hide_password=True)
        print(f"up to date: {address}, incarnation {opened.incarnation}")
