"""The demo workshop put into an empty database: its book, its people, and this year's list issued."""

from __future__ import annotations

import datetime
import json
from pathlib import Path
from typing import Any

from sqlalchemy import select

from pricing.book_file import parse_book
from pricing.errors import refuse
from server.store.database import reading, writing
from server.store.ledger import fact, set_fact
from server.store.tables import Person

from . import books, dealers, price_lists, signing_in
from .workshop import Workshop

FIXTURES = Path(__file__).parents[2] / "fixtures" / "workshop"
WHO = "demo"
DEMO = "demo"


def demo_people() -> list[dict[str, Any]]:
    """The demo accounts, as their file has them."""
    data: list[dict[str, Any]] = json.loads((FIXTURES / "people.json").read_text(encoding="utf-8"))
    return data


def is_empty(workshop: Workshop) -> bool:
    """Whether nobody can sign in yet."""
    with reading(workshop.engine) as session:
        return session.execute(select(Person.id).limit(1)).scalar() is None


def is_demo(workshop: Workshop) -> bool:
    """Whether the database is the demo workshop's: its accounts exist nowhere else."""
    with reading(workshop.engine) as session:
        return fact(session, DEMO) is not None


def check_purpose(workshop: Workshop, as_demo: bool) -> None:
    """Lets the demo be served as the demo and a workshop's own database as its own.

    Raises: PricingError for the demo's database served as a real one, a real one as the demo, or one that nobody
    can sign in to.
    """
    if as_demo and not is_demo(workshop) and not is_empty(workshop):
        raise refuse("serve", "database", "people", "a workshop's own people", "an empty database, or the demo's own")
    if not as_demo and is_demo(workshop):
        raise refuse("serve", "database", "people", "the demo's accounts", "--demo, or a database begun with `init`")
    if not as_demo and is_empty(workshop):
        raise refuse("serve", "database", "people", "nobody who can sign in", "a database begun with `init`")


def fill(workshop: Workshop, today: datetime.date) -> None:
    """Fills an empty database; does nothing to one that has people, and goes on where it was stopped before."""
    if not is_empty(workshop):
        return
    with writing(workshop.engine) as session:
        set_fact(session, DEMO, today.isoformat())
    books.bring_in(workshop, parse_book((FIXTURES / "book.json").read_text(encoding="utf-8")), WHO)
    dealers.keep_all(workshop, json.loads((FIXTURES / "dealers.json").read_text(encoding="utf-8")), WHO)
    year = today.year
    if not price_lists.all_lists(workshop):
        price_lists.make_draft(workshop, str(year), datetime.date(year, 1, 1), datetime.date(year, 12, 31), WHO)
    for drafted in price_lists.all_lists(workshop):
        if drafted.status == price_lists.DRAFT:
            price_lists.issue(workshop, drafted.id, drafted.digest, WHO)
    for person in demo_people():
        signing_in.add(workshop, person["name"], person["role"], person["password"], person["language"])
