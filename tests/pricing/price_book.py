"""Books for tests of prices: pieces of a stated works cost in the round workshop, with channels and rules in short form."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from pricing.book import Book
from pricing.book_file import read_book
from pricing.price import Price, PricedBook, price_everything
from tests.pricing.small_book import CARD, ROUND, VECTORS

DEALER = {"kind": "dealer", "tax_inclusive": False, "tax": "vat"}
SHOP = {"kind": "retail", "tax_inclusive": True, "tax": "vat"}
BY_MARGIN = {"kind": "by margin", "margin": "0.3"}
TAX = {"name": "vat", "rate": "0.2", "since": "2020-01-01", "source": "the test's own"}
YEN = {"code": "JPY", "minor_unit": 0}
IN_YEN = {"currency": "JPY", "date": "2026-01-02", "rate": "200", "quoted": "units per base"}


def stated(cost: str) -> dict[str, str]:
    """A works cost as stated on a day."""
    return {"amount": cost, "date": "2026-01-01"}


def _piece(number: str, costs: str | Mapping[str, str], changes: Mapping[str, Any]) -> dict[str, Any]:
    by_finish = {"satin": costs} if isinstance(costs, str) else costs
    made = [{"finish": finish, "stated_cost": stated(cost)} for finish, cost in by_finish.items()]
    return {**CARD, "number": number, "made": made, **changes}


def _in_force(key: str, amount: str) -> dict[str, Any]:
    channel, piece, finish, *quantity = key.split()
    figure, *currency = amount.split()
    price: dict[str, Any] = {"channel": channel, "piece": piece, "finish": finish, "amount": figure}
    return (
        price | ({"quantity": int(quantity[0])} if quantity else {}) | ({"currency": currency[0]} if currency else {})
    )


def book_data(case: Mapping[str, Any]) -> dict[str, Any]:
    """The JSON data of a case: `costs` by piece (and finish), `pieces` with what else they have, `channels`, `rules`, `was`."""
    costs: Mapping[str, Any] = case.get("costs", {"A": "31"})
    changes: Mapping[str, Any] = case.get("pieces", {})
    numbers = dict.fromkeys((*costs, *changes))
    channels = {"dealer": {}, **case.get("channels", {})}
    return {
        **ROUND,
        "currencies": [*ROUND["currencies"], YEN],
        "exchange_rates": [*ROUND["exchange_rates"], IN_YEN],
        "taxes": [TAX],
        "families": [{"name": "cups"}, {"name": "plates"}],
        "pieces": [_piece(number, costs.get(number, {}), changes.get(number, {})) for number in numbers],
        "channels": [
            {"name": name, **(SHOP if name in ("shop", "fair") else DEALER), **channel}
            for name, channel in channels.items()
        ],
        "rules": [
            {"name": f"rule {place}", "channel": "dealer", "since": "2026-01-01", "method": BY_MARGIN, **rule}
            for place, rule in enumerate(case.get("rules", [{}]), 1)
        ],
        "prices_in_force": [_in_force(key, amount) for key, amount in case.get("was", {}).items()],
        **case.get("book", {}),
    }


def book_of(case: Mapping[str, Any]) -> Book:
    """The checked book of a case."""
    return read_book(book_data(case))


def priced(**case: Any) -> PricedBook:
    """Every price of a case."""
    return price_everything(book_of(case))


def price_of(key: str = "dealer A satin", **case: Any) -> Price:
    """One price of a case, by channel, piece, finish and, past one, quantity."""
    return at(priced(**case), key)


def at(found: PricedBook, key: str) -> Price:
    """The price under a key."""
    channel, piece, finish, *quantity = key.split()
    return found.price(channel, piece, finish, int(quantity[0]) if quantity else 1)


def vectors(page: str | None = None) -> list[dict[str, Any]]:
    """The vectors of prices, of one page or of all."""
    pages = sorted((VECTORS / "price").glob(f"{page or '*'}.json"))
    return [vector for path in pages for vector in json.loads(path.read_text(encoding="utf-8"))["vectors"]]
