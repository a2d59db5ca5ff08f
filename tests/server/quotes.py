"""Quotes as a device sends them, with totals worked here from the list."""

from __future__ import annotations

import datetime
from functools import cache
from typing import Any

import uuid_utils

from pricing.price_list import PriceList, Request, make_price_list, quote_of
from pricing.quote import work_quote
from pricing.quote_types import worked_data
from pricing.records import read_record
from tests.demo_book import demo_priced

from .conftest import YEAR


def new_id() -> str:
    """A UUIDv7."""
    return str(uuid_utils.uuid7())


def asked(channel: str = "retail", quantity: int = 6, **more: Any) -> dict[str, Any]:
    """What was asked for: tankards in satin."""
    lines = [{"piece": "TK102", "finish": "satin", "quantity": quantity}]
    return {"list_number": str(YEAR), "channel": channel, "date": f"{YEAR}-06-01", "lines": lines, **more}


@cache
def issued() -> PriceList:
    """The list of the tests, made once."""
    return make_price_list(demo_priced(), str(YEAR), datetime.date(YEAR, 1, 1), datetime.date(YEAR, 12, 31))


def sent(request: dict[str, Any] | None = None, **more: Any) -> dict[str, Any]:
    """A first revision with the totals as the list gives them."""
    request = asked() if request is None else request
    quote = quote_of(issued(), read_record(Request, request, "quote"))
    worked = worked_data(work_quote(quote), quote.minor_unit)
    shown = {name: worked[name] for name in ("net", "tax", "total", "payable")}
    return {
        "quote": new_id(),
        "base": None,
        "device": "TABLET7",
        "provisional": "TAB-1",
        "request": request,
        "shown": shown,
        **more,
    }
