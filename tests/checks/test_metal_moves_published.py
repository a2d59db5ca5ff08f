"""A supplier's price moved with its metal against published metal surcharges; published.json names each one's source."""

from __future__ import annotations

from decimal import Decimal

import pytest

from pricing.cost import METAL, cost_sheet
from tests.checks.bench import DAY, FINISH, NUMBER, book, piece, stage
from tests.checks.published import agrees, published

THEN = "2025-10-01"
# Mass in grams, share of the metal, quotation then and now, the unit it is quoted for.
CASES = {
    "TI-01": ("260000", "1", "1.50", "3.00", "kg"),
    "TI-02": ("23800", "1", "1.50", "1.9429", "kg"),
    "TI-06": ("820", "0.92", "25000", "30000", "tonne"),
}


def moved(grams: str, share: str, then: str, now: str, unit: str) -> Decimal:
    """What metal bought at a supplier's price of nothing costs once its quotation has moved: the surcharge alone."""
    contents = [("Sn", share), ("Sb", str(1 - Decimal(share)))] if share != "1" else [("Sn", share)]
    quoted = {"Sn": (then, now), "Sb": ("1", "1")}
    supplied = {"amount": "0", "currency": "GBP", "unit": "kg", "date": THEN}
    found = book(
        elements=[{"symbol": symbol, "name": symbol} for symbol, _ in contents],
        quotations=[
            {"element": symbol, "date": day, "amount": amount, "currency": "GBP", "unit": unit}
            for symbol, _ in contents
            for day, amount in zip((THEN, DAY), quoted[symbol], strict=True)
        ],
        declared_prices=[{"element": symbol, "date": DAY, "quoted_to": DAY} for symbol, _ in contents],
        alloys=[{"name": "example", "contents": [{"element": s, "fraction": f} for s, f in contents]}],
        forms=[{"name": "disc", "alloy": "example", "kind": "ingot", "supplier_price": supplied}],
        stages=[stage()],
        pieces=[
            piece(parts=[{"kind": "cast", "name": "body", "form": "disc", "method": "solid", "finished_g": grams}])
        ],
    )
    return cost_sheet(found, NUMBER, FINISH).branch(METAL)


@pytest.mark.parametrize("check_id", CASES)
def test_a_surcharge_is_mass_times_the_move_of_the_quotation(check_id: str) -> None:
    """Amounts in the examples' own currency; a book has to call its base something."""
    assert agrees(published(check_id), moved(*CASES[check_id]))
