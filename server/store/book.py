"""Rows to book and book to rows, in this one place; every edition that anything rests on is kept whole."""

from __future__ import annotations

import json
from typing import Any

from sqlalchemy import delete, insert, select
from sqlalchemy.orm import Session

from pricing.book import Book
from pricing.book_file import book_data, canonical, edition, read_book
from pricing.errors import BookError, Fault

from .tables import BOOK_TABLES, COLLECTIONS, BookEdition, BookHeading, now

KEYS: dict[str, tuple[str, ...]] = {
    "currencies": ("code",),
    "taxes": ("name", "since"),
    "exchange_rates": ("currency", "date"),
    "elements": ("symbol",),
    "quotations": ("element", "date"),
    "declared_prices": ("element", "date"),
    "pieces": ("number",),
    "agreed_prices": ("dealer", "channel", "piece", "finish", "since"),
    "prices_in_force": ("channel", "piece", "finish", "quantity"),
    "extras": ("name", "channel"),
}


def _key(collection: str, record: dict[str, Any]) -> str:
    return " | ".join(str(record.get(field, "")) for field in KEYS.get(collection, ("name",)))


def _text(data: Any) -> str:
    return json.dumps(data, ensure_ascii=False, separators=(",", ":"))


def keep_book(session: Session, book: Book) -> str:
    """Writes the book as the current one and keeps its edition for ever; returns the edition."""
    data = book_data(book)
    for name in COLLECTIONS:
        records = data.pop(name, [])
        session.execute(delete(BOOK_TABLES[name]))
        rows = [
            {"place": place, "key": _key(name, record), "record": _text(record)} for place, record in enumerate(records)
        ]
        if rows:
            session.execute(insert(BOOK_TABLES[name]), rows)
    made = keep_edition(session, book)
    session.merge(BookHeading(id=1, record=_text(data), edition=made, changed=now()))
    return made


def current_book(session: Session) -> Book:
    """The current book, checked whole.

    Raises: BookError where the store has none, or rows that no longer make a sound book.
    """
    heading = session.get(BookHeading, 1)
    if heading is None:
        raise BookError([Fault("book", "", "no book in this database", "one brought in with `book import`")])
    data = json.loads(heading.record)
    for name in COLLECTIONS:
        table = BOOK_TABLES[name]
        rows = session.execute(select(table.c.record).order_by(table.c.place)).scalars()
        data[name] = [json.loads(row) for row in rows]
    return read_book(data)


def current_edition(session: Session) -> str | None:
    """The edition of the current book, None where there is none."""
    heading = session.get(BookHeading, 1)
    return None if heading is None else heading.edition


def keep_edition(session: Session, book: Book) -> str:
    """Keeps a book's edition for ever, once."""
    made = edition(book)
    if session.get(BookEdition, made) is None:
        session.add(BookEdition(edition=made, canonical=canonical(book).decode(), kept=now()))
        session.flush()
    return made


def kept_edition(session: Session, made: str) -> Book:
    """The book of a kept edition.

    Raises: BookError where it was never kept.
    """
    row = session.get(BookEdition, made)
    if row is None:
        raise BookError([Fault("book", "edition", made, "an edition that was kept")])
    return read_book(json.loads(row.canonical))
