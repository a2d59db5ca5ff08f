"""`python -m server migrate`: brings the tables of a database to the newest version."""

from __future__ import annotations

import argparse

from .config import settings
from .services.workshop import open_workshop


def run(options: argparse.Namespace) -> None:
    """Migrates, and says which database it was; nothing changes where the tables are up to date."""
    opened = open_workshop(settings(options.database))
    print(f"up to date: {opened.engine.url.render_as_string(hide_password=True)}, incarnation {opened.incarnation}")
