"""The demo workshop's book, read once for all tests."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from pricing.book import Book
from pricing.book_file import parse_book
from pricing.price import PricedBook, price_everything

WORKSHOP = Path(__file__).parents[1] / "fixtures" / "workshop"


@cache
def demo_book() -> Book:
    """The committed book."""
    return parse_book((WORKSHOP / "book.json").read_text(encoding="utf-8"))


@cache
def demo_priced() -> PricedBook:
    """The committed book with every cost and price."""
    return price_everything(demo_book())
