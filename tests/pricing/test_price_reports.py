"""What a draft is told: order between classes, sets dearer than their pieces, terms that do not hold, checks not kept."""

from __future__ import annotations

from decimal import Decimal as D
from typing import Any

import pytest

from pricing.price_reports import reports, under_floor_after
from tests.pricing.price_book import priced

SHOP_97: dict[str, Any] = {"channel": "shop", "method": {"kind": "held", "amount": "97", "until": "2026-12-31"}}


def told(code: str, **case: Any) -> list[tuple[Any, ...]]:
    """The facts of each report of one kind."""
    return [step.facts for step in reports(priced(**case)) if step.code == code]


def between(dealer: dict[str, Any], shop: dict[str, Any] | None = None) -> list[tuple[Any, ...]]:
    channels = {"shop": shop or {}, "dealer": {"never_above": [{"channel": "shop", "share": "0.55"}], **dealer}}
    return told("order between price classes", channels=channels, rules=[{}, SHOP_97])


def test_a_dealers_best_price_is_never_above_a_share_of_retail_without_tax() -> None:
    """97 ÷ 1.2 × 0.55 = 44.458 is over 44.29; with margin 0.31 the dealer's is 44.93."""
    assert between({}) == []
    assert [facts[:6] for facts in between({"selling_costs": "0.01"})] == [
        ("dealer", "A", "satin", 1, D("44.93"), "shop")
    ]


def test_the_order_discount_and_the_breaks_are_in_the_best_price() -> None:
    """44.93 × 0.98 = 44.03; × 0.95 from 12 is 42.68."""
    assert between({"selling_costs": "0.01", "best_discount": "0.02"}) == []
    assert between({"selling_costs": "0.01", "breaks": [{"quantity": 12, "share": "0.05"}]}) == []


def test_retail_is_judged_at_its_usual_discount() -> None:
    """80.833 × 0.9 × 0.55 = 40.01 is under 44.29."""
    (facts,) = between({}, {"usual_discount": "0.1"})
    assert round(facts[-1], 4) == D("40.0125")


def test_classes_in_two_currencies_are_compared_in_one() -> None:
    """80.833 pounds × 0.55 = 44.458 = 55.573 dollars; 31.00 is 38.75 dollars, ÷ 0.7 = 55.36, ÷ 0.69 = 56.16."""
    assert between({"currency": "USD"}) == []
    assert [facts[4] for facts in between({"currency": "USD", "selling_costs": "0.01"})] == [D("56.16")]


SET = {"S": {"made": [{"finish": "satin"}], "parts": [{"kind": "member", "piece": "A", "count": 2}], "packing": "1"}}


def test_a_set_dearer_than_its_pieces_is_told() -> None:
    """2 × 31.00 + 1.00 = 63.00 ÷ 0.7 = 90.00, where two bought singly are 88.58."""
    case = {"costs": {"A": "31"}, "pieces": SET}
    assert told("set dearer than its pieces", **case) == [("dealer", "S", "satin", D("90.00"), D("88.58"))]
    rules = [{}, {"piece": "S", "method": {"kind": "from its members"}}]
    assert told("set dearer than its pieces", **case, rules=rules) == []


def test_a_set_with_a_part_that_is_not_sold_singly_is_not_judged() -> None:
    boxed = {"S": SET["S"] | {"parts": [*SET["S"]["parts"], {"kind": "bought-in", "name": "box", "amount": "5"}]}}  # type: ignore[misc]
    assert told("set dearer than its pieces", costs={"A": "31"}, pieces=boxed) == []


@pytest.mark.parametrize(("tolerance", "outside"), [("0.002", 1), ("0.003", 0)])
def test_the_share_off_retail_that_terms_state_is_tried_on_every_line(tolerance: str, outside: int) -> None:
    """44.29 is 45.21 % off 80.833."""
    terms = {"stated_discount": "0.45", "stated_tolerance": tolerance}
    found = told("outside the stated terms", channels={"shop": {}, "dealer": {"terms": terms}}, rules=[{}, SHOP_97])
    assert [round(facts[6], 4) for facts in found] == [D("0.4521")] * outside


def test_checks_not_kept_are_told_with_their_price() -> None:
    (facts,) = told("check not kept", channels={"dealer": {"checks": {"greatest": "40", "floor_margin": "0.25"}}})
    assert facts[:4] == ("dealer", "A", "satin", 1)
    assert facts[4].code == "over the greatest amount"


def test_prices_under_their_floor_after_new_terms() -> None:
    """31 ÷ 0.75 = 41.33 is 6.7 % under 44.29; for B 7 ÷ 0.75 = 9.33 as far under 10.00."""
    found = priced(costs={"A": "31", "B": "7"}, channels={"dealer": {"checks": {"floor_margin": "0.25"}}})
    assert under_floor_after(found, "dealer", D("0.0666")) == ()
    assert [price.piece for price in under_floor_after(found, "dealer", D("0.0667"))] == ["B"]
    assert [price.piece for price in under_floor_after(found, "dealer", D("0.067"))] == ["A", "B"]
