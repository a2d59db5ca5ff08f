"""The checks of a price, one by one, on figures worked by hand: margin 30 % on a works cost, points and bounds as said."""

from __future__ import annotations

from decimal import Decimal as D
from random import Random
from typing import Any

import pytest

from pricing.book_file import read_book
from pricing.price import Price, price_everything
from pricing.price_point import Band, PricePoints, neighbours, preferred
from pricing.reasons import one_line, words
from tests.oracle.books import random_book

QUARTERS = {
    "direction": "nearest",
    "bands": [{"start": "0", "end": "50", "step": "0.25"}, {"start": "50", "step": "0.5"}],
}


def book(
    cost: str, old: str | None = None, checks: dict[str, str] | None = None, points: Any = QUARTERS, **rule: Any
) -> Any:
    """A book with one piece whose works cost is stated, and one dealers' rule."""
    data = random_book(Random(3))
    data["pieces"] = [
        {"number": "A", "names": [{"language": "en-GB", "text": "a"}], "family": "cups", "size_family": "s", "size": "1",
         "made": [{"finish": "satin", "stated_cost": {"amount": cost, "date": "2026-01-01"}}]}
    ]  # fmt: skip
    channel = {"name": "dealer", "kind": "dealer", "tax_inclusive": False, "tax": "vat", "checks": checks or {}}
    data["channels"] = [channel | ({"points": points} if points else {})]
    method = rule.pop("method", {"kind": "by margin", "margin": "0.3"})
    data["rules"] = [{"name": "r", "channel": "dealer", "since": "2026-01-01", "method": method, **rule}]
    data["prices_in_force"] = [{"channel": "dealer", "piece": "A", "finish": "satin", "amount": old}] if old else []
    return data


def priced(*args: Any, **kwargs: Any) -> Price:
    """The price of the one piece."""
    return price_everything(read_book(book(*args, **kwargs))).price("dealer", "A", "satin")


def test_a_floor_below_the_target_lets_the_nearest_point_stand_and_an_equal_one_does_not() -> None:
    """31.00 ÷ 0.70 = 44.2857 → nearest quarter 44.25 = 29.94 %. With a floor of 30 % the next point, 44.50, is taken."""
    assert priced("31", checks={"floor_margin": "0.27"}).amount == D("44.25")
    price = priced("31", checks={"floor_margin": "0.3"})
    assert price.amount == D("44.50")
    assert [step.code for step in price.steps][-1] == "point above the floor"


def test_selling_costs_stand_beside_the_margin() -> None:
    """31.00 ÷ (1 − 0.30 − 0.05) = 47.6923 → 47.75."""
    assert priced("31", selling_costs="0.05").amount == D("47.75")


def test_a_mark_up_is_on_the_cost() -> None:
    """31.00 × 1.45 = 44.95 → 45.00; a margin of 45 % would be 56.36."""
    assert priced("31", method={"kind": "by mark-up", "mark_up": "0.45"}).amount == D("45.00")


def test_least_and_greatest_amounts() -> None:
    assert priced("1", checks={"least": "5.10"}).amount == D("5.25")
    assert priced("100", checks={"greatest": "99.9"}).amount == D("99.50")


def test_the_greatest_rise_and_fall_hold_against_the_price_in_force() -> None:
    """40.00 × 1.05 = 42.00; 60.00 × 0.95 = 57.00."""
    assert priced("31", "40", {"greatest_rise": "0.05"}).amount == D("42.00")
    assert priced("31", "60", {"greatest_fall": "0.05"}).amount == D("57.00")


def test_the_floor_wins_over_the_greatest_rise() -> None:
    """30.00 × 1.05 = 31.50, but the floor is 31 ÷ 0.8 = 38.75, itself a point."""
    price = priced("31", "30", {"greatest_rise": "0.05", "floor_margin": "0.2"})
    assert price.amount == D("38.75")
    assert [step.code for step in price.steps] == ["by margin", "greatest rise", "floor", "price point"]


def test_where_least_and_greatest_rise_cannot_both_hold_the_rise_wins_and_the_least_is_left_out() -> None:
    """Least 50, but 40 × 1.1 = 44.00 is the most."""
    assert priced("20", "40", {"least": "50", "greatest_rise": "0.1"}).amount == D("44.00")


def test_a_point_past_the_greatest_rise_moves_down_one() -> None:
    """44.00 × 1.004 = 44.176; 44.29 is held to it; nearest quarter 44.25 is past it, so 44.00."""
    price = priced("31", "44", {"greatest_rise": "0.004"})
    assert price.amount == D("44.00")
    assert price.steps[-1].code == "point moved"


def test_a_change_nearer_than_the_smallest_keeps_the_price_and_an_equal_one_is_printed() -> None:
    assert priced("31", "44.00", {"smallest_change": "0.26"}).amount == D("44.00")
    assert priced("31", "44.00", {"smallest_change": "0.25"}).amount == D("44.25")


def test_a_price_in_force_under_the_floor_is_not_kept() -> None:
    """Floor 31 ÷ 0.71 = 43.66: 43.50 is under it, so 44.25 is printed however small the change."""
    assert priced("31", "43.50", {"smallest_change": "5", "floor_margin": "0.29"}).amount == D("44.25")


def test_a_held_price_passes_no_check_and_says_which_would_have_acted() -> None:
    price = priced(
        "31", checks={"floor_margin": "0.2"}, piece="A", method={"kind": "held", "amount": "33", "until": "2026-03-02"}
    )
    assert price.amount == D("33")
    assert price.below_floor
    assert any("set by hand" in said and "floor" in said for said in words(price))


def test_a_held_price_lapses_after_its_last_day() -> None:
    data = book("31")
    data["rules"].append({"name": "h", "channel": "dealer", "since": "2026-01-01", "piece": "A",
                          "method": {"kind": "held", "amount": "33", "until": "2026-03-01"}})  # fmt: skip
    assert price_everything(read_book(data)).price("dealer", "A", "satin").amount == D("44.25")


def test_without_a_list_of_points_the_minor_unit_is_rounded_half_up() -> None:
    """7.00 ÷ 0.7 = 10 exactly; 31.0035 ÷ 0.7 = 44.290714 → 44.29; 0.7035 ÷ 0.7 = 1.005 → 1.01."""
    assert priced("31.0035", points=None).amount == D("44.29")
    assert priced("0.7035", points=None).amount == D("1.01")


def test_a_bigger_size_never_costs_less_than_a_smaller_one() -> None:
    data = book("31")
    bigger = {**data["pieces"][0], "number": "B", "size": "2", "made": [
        {"finish": "satin", "stated_cost": {"amount": "20", "date": "2026-01-01"}}]}  # fmt: skip
    data["pieces"].append(bigger)
    raised = price_everything(read_book(data)).price("dealer", "B", "satin")
    assert raised.amount == D("44.25")
    assert raised.steps[-1].code == "raised to keep order"
    assert "A satin" in one_line(raised)


def test_narrower_scope_wins_and_within_one_the_latest() -> None:
    data = book("31")
    for name, scope, margin, since in (
        ("family", {"family": "cups"}, "0.4", "2026-01-01"),
        ("family, finish", {"family": "cups", "finish": "satin"}, "0.5", "2026-01-01"),
        ("family, finish, later", {"family": "cups", "finish": "satin"}, "0.6", "2026-02-01"),
        ("not yet", {"family": "cups", "finish": "satin"}, "0.7", "2026-12-01"),
    ):
        data["rules"].append(
            {
                "name": name,
                "channel": "dealer",
                "since": since,
                "method": {"kind": "by margin", "margin": margin},
                **scope,
            }
        )
    assert price_everything(read_book(data)).price("dealer", "A", "satin").rule == "family, finish, later"


def test_forty_five_per_cent_off_retail_is_off_retail_without_tax() -> None:
    """97.00 ÷ 1.2 × 0.55 = 44.4583 → 44.46; 53.35 would be 45 % off the price with tax."""
    data = book("31", points=None)
    data["taxes"] = [{"name": "vat", "rate": "0.2", "since": "2020-01-01"}]
    data["channels"].append({"name": "shop", "kind": "retail", "tax_inclusive": True, "tax": "vat"})
    data["rules"] = [
        {"name": "s", "channel": "shop", "since": "2026-01-01", "method": {"kind": "held", "amount": "97", "until": "2027-01-01"}},
        {"name": "d", "channel": "dealer", "since": "2026-01-01",
         "method": {"kind": "from another price class", "channel": "shop", "discounts": ["0.45"]}},
    ]  # fmt: skip
    assert price_everything(read_book(data)).price("dealer", "A", "satin").amount == D("44.46")


def test_a_series_of_discounts_is_not_their_sum() -> None:
    """50 / 10 / 2½ leaves 0.5 × 0.9 × 0.975 = 0.43875: 100.00 → 43.88, where 62.5 % off would be 37.50."""
    data = book("31", points=None)
    data["channels"].append({"name": "shop", "kind": "retail", "tax_inclusive": False, "tax": "vat"})
    data["rules"] = [
        {"name": "s", "channel": "shop", "since": "2026-01-01", "method": {"kind": "held", "amount": "100", "until": "2027-01-01"}},
        {"name": "d", "channel": "dealer", "since": "2026-01-01",
         "method": {"kind": "from another price class", "channel": "shop", "discounts": ["0.5", "0.1", "0.025"]}},
    ]  # fmt: skip
    assert price_everything(read_book(data)).price("dealer", "A", "satin").amount == D("43.88")


def test_a_break_is_never_dearer_than_the_quantity_below() -> None:
    data = book("31")
    data["channels"][0]["breaks"] = [{"quantity": 12}, {"quantity": 24, "share": "0.1"}]
    found = price_everything(read_book(data))
    assert found.price("dealer", "A", "satin", 12).amount == D("44.25")
    assert found.price("dealer", "A", "satin", 24).amount == D("39.83")


NEAR = PricePoints(bands=(Band(end=D(20), step=D(1), ending=D("0.95")), Band(start=D(20), end=D(100), step=D(1))))


@pytest.mark.parametrize(
    ("amount", "point"),
    [("12.40", "11.95"), ("12.45", "12.95"), ("12.46", "12.95"), ("0.10", "0.95"), ("19.97", "19.95"), ("19.975", "20"),
     ("99.4", "99.40"), ("99.004", "99.00"), ("150.005", "150.01")],
)  # fmt: skip
def test_points_of_a_list(amount: str, point: str) -> None:
    """Nearest with the upper on a tie; under the first point the first; over the last the minor unit, half-up."""
    below, above, direction = neighbours(NEAR, 2, D(amount))
    assert preferred(below, above, direction, D(amount)) == D(point)


def test_a_reason_shows_its_figures_with_the_currencys_minor_unit() -> None:
    """Yen have none: 3,990 ÷ 0.7 = 5,700."""
    data = book("3990", points=None)
    data["currencies"].append({"code": "JPY", "minor_unit": 0})
    data["currency"] = "JPY"
    for quotation in data["quotations"]:
        quotation["currency"] = "JPY"
    data["exchange_rates"] = []
    price = price_everything(read_book(data)).price("dealer", "A", "satin")
    assert price.amount == D("5700")
    assert words(price)[0] == "works cost 3990 ÷ (1 − 0.3) = 5700"
    assert ".00" not in one_line(price)
