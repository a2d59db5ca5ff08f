"""`python -m server book import|export`: a whole book into the database and out of it."""

from __future__ import annotations

import argparse
from pathlib import Path

from pricing.book_file import edition, write_book

from .config import settings
from .price_command import read_book_file
from .services import books
from .services.workshop import open_workshop


def bring_in(options: argparse.Namespace) -> None:
    """Checks a book file whole and makes it the current book; the same file again changes nothing."""
    book = read_book_file(options.file)
    with open_workshop(settings(options.database)) as opened:
        made, changed = books.bring_in(opened, book, "command")
    print(f"{'brought in' if changed else 'already here'}: {len(book.pieces)} pieces, edition {made}")


def take_out(options: argparse.Namespace) -> None:
    """Writes the current book to a file."""
    with open_workshop(settings(options.database)) as opened:
        book = books.take_out(opened)
    Path(options.file).write_text(write_book(book), encoding="utf-8")
    print(f"written: {len(book.pieces)} pieces, edition {edition(book)}")
