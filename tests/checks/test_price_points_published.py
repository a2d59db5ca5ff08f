"""Price points against a published house rule, put beside the shop's own; published.json names the source."""

from __future__ import annotations

from decimal import Decimal

from pricing.price_point import NEAREST, Band, PricePoints, neighbours, preferred
from tests.checks.published import published, record

NINETY_FIVE = PricePoints(direction=NEAREST, bands=(Band(step=Decimal(1), ending=Decimal("0.95")),))
TIE = Decimal("12.45")


def nearest(amount: Decimal) -> Decimal:
    below, above, direction = neighbours(NINETY_FIVE, 2, amount)
    return preferred(below, above, direction, amount)


def test_nearest_point_ending_in_95() -> None:
    """PR-33 sends the tie down; here a tie goes up, and every other amount to the published point."""
    check = published("PR-33")
    amounts = [Decimal(text) for text in str(check.inputs).split(", ")]
    found = {amount: nearest(amount) for amount in amounts}
    record(check, f"{', '.join(str(point) for point in found.values())}; the tie at {TIE} goes up")
    expected = {amount: Decimal(str(point)) for amount, point in zip(amounts, check.expected, strict=True)}
    assert found.pop(TIE) == expected.pop(TIE) + 1
    assert found == expected


def test_the_tie_is_one_amount_only() -> None:
    cent = Decimal("0.01")
    assert nearest(TIE - cent) == Decimal("11.95")
    assert nearest(TIE) - TIE == TIE - Decimal("11.95")
