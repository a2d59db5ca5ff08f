"""The demo workshop's papers, made once for all tests."""

from __future__ import annotations

import dataclasses
import datetime
from functools import cache
from typing import Any

from pricing.price_list import PriceList, Request, make_price_list
from pricing.records import read_record
from server.documents.drawing import Drawing, drawn_pieces
from server.documents.price_list import ListPaper, render_price_list
from server.documents.quote import QuotePaper, render_quote
from tests.demo_book import demo_book, demo_priced

LIST_PARTS = ("front", "body", "back")
START, END = datetime.date(2026, 1, 1), datetime.date(2026, 12, 31)


@cache
def demo_list() -> PriceList:
    """List 2026."""
    return make_price_list(demo_priced(), "2026", START, END)


@cache
def small_list() -> PriceList:
    """List 2026 with a few pieces of every kind: turned, flat, a set, in packs, new, last few, waiting, discontinued."""
    kept = ("TK102", "TK704", "GB102", "PL601", "OR101", "CS101", "ST101", "BK801")
    return dataclasses.replace(demo_list(), entries=tuple(e for e in demo_list().entries if e.number in kept))


@cache
def demo_drawings() -> dict[str, Drawing]:
    """Every drawing."""
    return drawn_pieces(demo_book().pieces)


@cache
def dealer_list(language: str) -> bytes:
    """The class A list."""
    return render_price_list(ListPaper(demo_list(), "dealer A", language, demo_drawings()))


def request(**more: Any) -> Request:
    """What was asked for."""
    data = {
        "list_number": "2026", "channel": "retail", "date": "2026-06-01", "customer": "Mrs Example",
        "lines": [
            {"piece": "TK102", "finish": "satin", "quantity": 6, "extras": [{"name": "engraving, by the letter", "count": 12}]},
            {"piece": "GB102", "finish": "bright", "quantity": 2, "discounts": ["0.05"]},
        ],
        "order_discount": {"share": "0.05"}, "carriage": True,
    }  # fmt: skip
    return read_record(Request, data | more, "quote")


def quote(language: str = "en-GB", **more: Any) -> bytes:
    """A quote's paper."""
    return render_quote(QuotePaper(demo_list(), request(**more), "Q00042", False, "TAB-7", language))
