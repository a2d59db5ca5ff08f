"""Bringing a book in and taking it out."""

from __future__ import annotations

from pricing.book import Book
from server.store.book import current_book, current_edition, keep_book
from server.store.database import reading, writing
from server.store.ledger import note

from .workshop import Workshop


def bring_in(workshop: Workshop, book: Book, who: str) -> tuple[str, bool]:
    """Makes a book the current one; its edition, and whether anything changed."""
    with writing(workshop.engine) as session:
        before = current_edition(session)
        made = keep_book(session, book)
        if before != made:
            note(session, who, "brought in a book", made)
    return made, before != made


def take_out(workshop: Workshop) -> Book:
    """The current book.

    Raises: BookError where the database has none.
    """
    with reading(workshop.engine) as session:
        return current_book(session)
