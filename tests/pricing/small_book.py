"""A workshop with round figures, and pieces put into it one at a time."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from pricing.book import Book
from pricing.book_file import read_book
from pricing.cost import CostSheet, cost_sheet

VECTORS = Path(__file__).parents[2] / "fixtures" / "vectors"
ROUND = json.loads((VECTORS / "cost_book.json").read_text(encoding="utf-8"))
CARD: Mapping[str, Any] = {
    "number": "A1",
    "names": [{"language": "en-GB", "text": "a piece"}],
    "family": "cups",
    "made": [{"finish": "satin"}],
    "usual_batch": 10,
}


def book_with(*pieces: Mapping[str, Any], **changes: Any) -> Book:
    """The round workshop with these pieces, and some of its lists changed."""
    return read_book({**ROUND, **changes, "pieces": [{**CARD, **piece} for piece in pieces]})


def cost_of(piece: Mapping[str, Any], batch: int | None = None, finish: str = "satin", **changes: Any) -> CostSheet:
    """The cost sheet of one piece in the round workshop."""
    return cost_sheet(book_with(piece, **changes), "A1", finish, batch)
