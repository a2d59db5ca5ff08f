"""Small books of one piece, so that a published example can be put to the engine with nothing else in it."""

from __future__ import annotations

from typing import Any

from pricing.book import Book
from pricing.book_file import read_book

DAY = "2026-01-01"
FINISH = "satin"
NUMBER = "EX1"


def piece(number: str = NUMBER, **more: Any) -> dict[str, Any]:
    """A piece in satin with nothing in it but what `more` says."""
    return {
        "number": number, "names": [{"language": "en-GB", "text": "example"}], "family": "Examples",
        "made": [{"finish": FINISH}], **more,
    }  # fmt: skip


def stage(name: str = "bench", wage: str = "0", **more: Any) -> dict[str, Any]:
    """A stage at a wage per hour."""
    return {"name": name, "wage_per_hour": wage, **more}


def book(**more: Any) -> Book:
    """A checked book in pounds with one stage, one finish and the lists of `more`; no piece unless they say one."""
    return read_book(
        {
            "format": "tinwright book", "version": 1, "workshop": "Marlpit Row Pewterers", "date": DAY,
            "currency": "GBP", "currencies": [{"code": "GBP", "minor_unit": 2}], "stages": [stage()],
            "finishes": [{"name": FINISH}], "families": [{"name": "Examples"}], **more,
        }
    )  # fmt: skip
