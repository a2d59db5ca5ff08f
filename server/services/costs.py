"""Works costs and prices for those who may see them: the list of pieces, and one piece's cost sheet with its reason."""

from __future__ import annotations

from typing import Any

from pricing.amounts import plain
from server.printing import name_of, price_data, sheet_data, short

from .workshop import Workshop


class PieceNotFound(Exception):
    """No piece of that number, or not in that finish."""


def pieces(workshop: Workshop) -> list[dict[str, Any]]:
    """Every piece and finish with works cost, and price and margin in each price class."""
    priced = workshop.priced()
    book = priced.book
    found = []
    for (number, finish), sheet in priced.costs.items():
        prices = {}
        for channel in book.channels:
            price = priced.by_channel[channel.name].get((number, finish, 1))
            if price is not None:
                prices[channel.name] = {"price": plain(price.amount), "margin": short(price.margin), "held": price.held}
        found.append(
            {
                "number": number,
                "finish": finish,
                "name": name_of(book, number),
                "family": book.piece_by_number[number].family,
                "works_cost": plain(sheet.works_cost),
                "stated": sheet.is_stated,
                "prices": prices,
            }
        )
    return found


def cost_sheet(workshop: Workshop, number: str, finish: str, channel: str | None = None) -> dict[str, Any]:
    """The cost sheet of a piece in a finish, and its price with the reason, in one price class or in every one.

    Raises: PieceNotFound.
    """
    priced = workshop.priced()
    sheet = priced.costs.get((number, finish))
    if sheet is None:
        raise PieceNotFound(f"{number} {finish}")
    prices = [
        price_data(price)
        for price in priced.prices
        if (price.piece, price.finish) == (number, finish) and channel in (None, price.channel)
    ]
    return {"sheet": sheet_data(priced.book, sheet), "prices": prices}
