"""Margins and floors of quotes, each worked by hand beside its test."""

from __future__ import annotations

import dataclasses
from decimal import Decimal
from typing import Any

import pytest

from pricing import quote, quote_types
from pricing.amounts import half_up
from pricing.errors import PricingError
from pricing.quote import Quote, read_quote, work_quote
from pricing.quote_margin import LineCost, QuoteMargin, quote_margin

TANKARD = {
    "piece": "TK102", "finish": "satin", "quantity": 6, "tax": "standard", "prices": [{"quantity": 1, "price": "44.25"}]
}  # fmt: skip


def asked(**changes: Any) -> Quote:
    terms = {
        "channel": "dealer A", "kind": "dealer", "currency": "GBP", "minor_unit": 2, "tax_inclusive": False,
        "taxes": [{"name": "standard", "rate": "0.2"}], "lines": [TANKARD],
        "line_authority": "1", "order_authority": "1",
    }  # fmt: skip
    return read_quote({**terms, **changes})


def judged(wanted: Quote, *costs: LineCost) -> QuoteMargin:
    return quote_margin(wanted, work_quote(wanted), costs)


def cost(works_cost: str, floor: str | None = "0.27", line: int = 0, selling: str = "0") -> LineCost:
    return LineCost(
        line=line,
        works_cost=Decimal(works_cost),
        floor_margin=None if floor is None else Decimal(floor),
        selling_costs=Decimal(selling),
    )


def places(amount: Decimal | None) -> str:
    assert amount is not None
    return str(half_up(amount, 4))


def test_margin_at_the_list_price() -> None:
    """(44.25 − 31.00) ÷ 44.25 = 0.29944; the floor is 31.00 ÷ 0.73 = 42.4658."""
    found = judged(asked(), cost("31.0000"))
    assert (places(found.margin), places(found.lines[0].floor)) == ("0.2994", "42.4658")
    assert not found.lines[0].below_floor
    assert not found.needs_approval


def test_a_discount_under_the_floor_needs_approval() -> None:
    """44.25 × 0.9 → 39.83, under 42.47; (39.83 − 31.00) ÷ 39.83 = 0.22169."""
    found = judged(asked(lines=[{**TANKARD, "discounts": ["0.1"]}]), cost("31.0000"))
    assert places(found.margin) == "0.2217"
    assert found.lines[0].below_floor
    assert found.needs_approval


def test_an_order_discount_counts_against_the_floor() -> None:
    """265.50 − 13.28 = 252.22 for six, 42.0367 each, under 42.4658; (252.22 − 186) ÷ 252.22 = 0.26255."""
    found = judged(asked(order_discount={"share": "0.05"}), cost("31.0000"))
    assert (found.net, places(found.margin)) == (Decimal("252.22"), "0.2625")
    assert found.lines[0].below_floor


def test_margin_on_a_price_with_tax_in_it_is_judged_without() -> None:
    """97.00 ÷ 1.2 = 80.8333; less 5 % selling costs 4.0417 and 31.00: 45.7917 ÷ 80.8333 = 0.56649."""
    line = {**TANKARD, "quantity": 1, "prices": [{"quantity": 1, "price": "97.00"}]}
    wanted = asked(kind="retail", tax_inclusive=True, lines=[line])
    found = judged(wanted, cost("31.0000", floor="0.4", selling="0.05"))
    assert (places(found.net), places(found.margin)) == ("80.8333", "0.5665")
    assert places(found.lines[0].floor) == "56.3636"  # 31.00 ÷ (1 − 0.4 − 0.05)


def test_extras_take_no_part() -> None:
    """Engraving at 7.20 a piece changes neither net nor margin of the tankards."""
    line = {**TANKARD, "extras": [{"name": "engraving", "amount": "7.20"}]}
    assert judged(asked(lines=[line]), cost("31")).net == Decimal("265.50")


def test_lines_together() -> None:
    """265.50 + 54.50 = 320.00 against 186.00 + 38.00 = 224.00: 0.3."""
    goblet = {**TANKARD, "piece": "GB201", "quantity": 2, "prices": [{"quantity": 1, "price": "27.25"}]}
    found = judged(asked(lines=[TANKARD, goblet]), cost("31.00"), cost("19.00", line=1))
    assert (found.net, found.cost, places(found.margin)) == (Decimal("320.00"), Decimal("224.00"), "0.3000")


def test_at_the_very_floor_nothing_is_under_it() -> None:
    """31.00 ÷ (1 − 0.38) = 50.00."""
    line = {**TANKARD, "prices": [{"quantity": 1, "price": "50.00"}]}
    assert not judged(asked(lines=[line]), cost("31.00", floor="0.38")).lines[0].below_floor


def test_a_gift_has_no_margin() -> None:
    line = {**TANKARD, "prices": [{"quantity": 1, "price": "0"}]}
    found = judged(asked(lines=[line]), cost("31.00"))
    assert found.margin is None
    assert found.needs_approval


def test_a_discount_past_the_authority_needs_approval_above_the_floor() -> None:
    found = judged(asked(order_authority="0.01", order_discount={"share": "0.02"}), cost("20"))
    assert not found.lines[0].below_floor
    assert found.needs_approval


@pytest.mark.parametrize(("line", "floor", "code"), [(1, "0.27", "line"), (-1, "0.27", "line"), (0, "1", "floor")])
def test_a_cost_of_no_line_or_an_impossible_floor_is_refused(line: int, floor: str, code: str) -> None:
    with pytest.raises(PricingError) as refusal:
        judged(asked(), cost("31.00", floor=floor, line=line))
    assert refusal.value.code == code


def test_the_quote_arithmetic_knows_no_cost() -> None:
    """No record of the quote has a cost, a margin or a floor among its fields."""
    records = [
        value for value in vars(quote_types).values() if isinstance(value, type) and dataclasses.is_dataclass(value)
    ]
    named = {field.name for record in records for field in dataclasses.fields(record)}
    assert not {name for name in named if any(word in name for word in ("works_cost", "margin", "floor", "minutes"))}
    assert "quote_margin" not in vars(quote)
