"""The demo workshop put into an empty database: its book, its people, and this year's list issued."""

from __future__ import annotations

import datetime
import json
from pathlib import Path
from typing import Any

from sqlalchemy import select

from pricing.book_file import parse_book
from server.store.database import reading
from server.store.tables import Person

from . import books, price_lists, signing_in
from .workshop import Workshop

FIXTURES = Path("fixtures/workshop")
WHO = "demo"


def demo_people() -> list[dict[str, Any]]:
    """The demo accounts, as their file has them."""
    data: list[dict[str, Any]] = json.loads((FIXTURES / "people.json").read_text(encoding="utf-8"))
    return data


def is_empty(workshop: Workshop) -> bool:
    """Whether nobody can sign in yet."""
    with reading(workshop.engine) as session:
        return session.execute(select(Person.id).limit(1)).scalar() is None


def fill(workshop: Workshop, today: datetime.date) -> None:
    """Fills an empty database; does nothing to one that has people."""
    if not is_empty(workshop):
        return
    books.bring_in(workshop, parse_book((FIXTURES / "book.json").read_text(encoding="utf-8")), WHO)
    year = today.year
    made = price_lists.make_draft(workshop, str(year), datetime.date(year, 1, 1), datetime.date(year, 12, 31), WHO)
    price_lists.issue(workshop, made.id, made.digest, WHO)
    for person in demo_people():
        signing_in.add(workshop, person["name"], person["role"], person["password"], person["language"])
