"""Quantity breaks: the quantity never costs more a piece than a smaller one, but for a floor of its own, and says so."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal as D
from itertools import pairwise
from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from pricing.book_file import read_book
from pricing.cost import cost_sheet, works_costs
from pricing.price import price_everything, prices_at
from tests.oracle.price_books import random_price_book
from tests.pricing.price_book import at, book_of, priced

SPUN = {
    "made": [{"finish": "satin"}],
    "parts": [{"kind": "bought-in", "name": "glass", "amount": "10"}],
    "operations": [{"stage": "spin", "minutes": "10", "set_up_minutes": "60"}],
    "usual_batch": 6,
}
FLOOR_FORBIDS = "dearer than the quantity below: its floor forbids less"


@given(st.integers(0, 10**9))
@settings(max_examples=40, deadline=None)
def test_a_bigger_quantity_never_costs_more_a_piece(seed: int) -> None:
    found = price_everything(read_book(random_price_book(Random(seed))))
    forbidden = {(p.channel, p.quantity) for p in found.prices for step in p.steps if step.code == FLOOR_FORBIDS}
    for channel in found.book.channels:
        prices = list(found.by_channel[channel.name].values())
        for one, more in pairwise(prices):
            if (one.piece, one.finish) == (more.piece, more.finish) and (channel.name, more.quantity) not in forbidden:
                assert one.quantity < more.quantity
                assert more.amount <= one.amount


def test_a_break_is_costed_at_the_larger_of_its_quantity_and_the_usual_batch() -> None:
    book = book_of(
        {"costs": {}, "pieces": {"W": SPUN}, "channels": {"dealer": {"breaks": [{"quantity": 4}, {"quantity": 12}]}}}
    )
    found = price_everything(book)
    costs = {quantity: found.price("dealer", "W", "satin", quantity).cost for quantity in (1, 4, 12)}
    assert costs == {q: cost_sheet(book, "W", "satin", batch).works_cost for q, batch in ((1, 6), (4, 6), (12, 12))}
    assert costs[12] < costs[4] == costs[1]


def test_where_its_own_floor_forbids_less_a_break_is_the_lowest_point_the_floor_allows() -> None:
    """Worked from costs where a batch of 6 costs 10.00 and one of 12 costs 19.00: 20.00 single; the floor from 12 is 27.14."""
    points = {"bands": [{"step": "5"}]}
    channels = {"dealer": {"points": points, "checks": {"floor_margin": "0.3"}, "breaks": [{"quantity": 12}]}}
    rules = [{"method": {"kind": "by margin", "margin": "0.5"}}]
    book = book_of({"costs": {}, "pieces": {"W": SPUN}, "channels": channels, "rules": rules})
    sheet = works_costs(book)["W", "satin"]
    found = prices_at(book, {("W", "satin"): replace(sheet, works_cost=D("10.0000"))})
    assert at(found, "dealer W satin").amount == D("20")
    dearer = at(found, "dealer W satin 12")
    assert dearer.amount == D("30")
    assert [step.code for step in dearer.steps] == ["by margin", "price point", FLOOR_FORBIDS]
    assert not dearer.below_floor


def test_by_a_share_the_floor_of_the_single_price_forbids() -> None:
    """52.00 ÷ 0.58 = 89.66 single, 34.00 ÷ 0.58 from 2; a tenth off the single price is under its floor of 89.655."""
    channels = {
        "dealer": {"checks": {"floor_margin": "0.42"}, "breaks": [{"quantity": 2}, {"quantity": 6, "share": "0.1"}]}
    }
    alone = SPUN | {"usual_batch": 1}
    found = priced(
        costs={}, pieces={"W": alone}, channels=channels, rules=[{"method": {"kind": "by margin", "margin": "0.42"}}]
    )
    assert at(found, "dealer W satin").amount == D("89.66")
    assert at(found, "dealer W satin 2").amount == D("58.63")
    shared = at(found, "dealer W satin 6")
    assert shared.amount == D("89.66")
    assert [step.code for step in shared.steps] == ["break by a share", "floor", FLOOR_FORBIDS]


def test_a_held_price_has_no_floor_to_forbid_less() -> None:
    """Held at 40 with a floor of 44.29: from 12 a tenth off, and from 24 no more than that."""
    channels = {
        "dealer": {"checks": {"floor_margin": "0.3"}, "breaks": [{"quantity": 12, "share": "0.1"}, {"quantity": 24}]}
    }
    rules = [{"method": {"kind": "held", "amount": "40", "until": "2026-12-31"}}]
    found = priced(channels=channels, rules=rules)
    assert at(found, "dealer A satin 12").amount == at(found, "dealer A satin 24").amount == D("36")
    assert [step.code for step in at(found, "dealer A satin 12").breaches] == ["under the floor"]


def test_a_share_never_makes_a_price_of_nothing() -> None:
    channels = {"dealer": {"breaks": [{"quantity": 12, "share": "0.9"}]}}
    found = priced(costs={"A": "0.014"}, channels=channels)
    assert [at(found, f"dealer A satin{q}").amount for q in ("", " 12")] == [D("0.02"), D("0.01")]
