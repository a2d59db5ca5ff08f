"""The checks together: a price never falls when cost rises, never under its floor, checked twice is checked once."""

from __future__ import annotations

import copy
from decimal import Decimal as D
from random import Random
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from pricing.amounts import ONE, exactly, settled
from pricing.book_file import read_book
from pricing.price import price_everything
from pricing.price_checks import Bounds, Draft, breaches, change_limits
from pricing.price_point import DOWN, UP, PricePoints, neighbours
from pricing.rules import Checks
from tests.oracle.books import random_book
from tests.oracle.price_books import random_price_book
from tests.pricing.test_price_point import lists

prices = st.integers(100, 12_000).map(lambda n: D(n) / 100)
costs = st.integers(10_000, 1_200_000).map(lambda n: D(n) / 10_000)
shares = st.sampled_from([D(n) / 100 for n in (0, 1, 5, 10, 33)])
SOUND = st.builds(
    Checks,
    least=st.none() | st.integers(1, 40).map(D),
    greatest=st.none() | st.integers(41, 150).map(D),
    greatest_rise=st.none() | shares,
    greatest_fall=st.none() | shares,
    floor_margin=st.none() | shares,
    smallest_change=st.none() | st.sampled_from((D("0.05"), D("0.5"), D(3))),
    smallest_change_share=st.none() | shares,
)
LISTS = st.none() | lists()
GROSS = st.sampled_from((ONE, D("1.2"), D("1.0825")))
IN_FORCE = st.none() | prices
TARGET = D("0.6")


@exactly
def bounds(checks: Checks, points: PricePoints | None, gross: D) -> Bounds:
    floor_over = None if checks.floor_margin is None else ONE - checks.floor_margin
    return Bounds(checks, points, 2, gross, D(0), floor_over)


@exactly
def built(cost: D, gross: D) -> D:
    return settled(cost * gross / TARGET)


@exactly
def checked(own: Bounds, cost: D, in_force: D | None) -> Draft:
    """A draft whose price has gone through the checks; the price is its last step's."""
    draft = Draft(own, cost, in_force)
    draft.checked(built(cost, own.gross))
    return draft


@exactly
def printed(own: Bounds, cost: D, in_force: D | None, amount: D | None = None) -> D:
    return Draft(own, cost, in_force).checked(built(cost, own.gross) if amount is None else amount)


@given(SOUND, LISTS, GROSS, IN_FORCE, costs, costs)
@settings(max_examples=500)
def test_a_price_never_falls_when_its_cost_rises(
    checks: Checks, points: PricePoints | None, gross: D, in_force: D | None, one: D, other: D
) -> None:
    own = bounds(checks, points, gross)
    low, high = sorted((one, other))
    assert printed(own, low, in_force) <= printed(own, high, in_force)


@given(SOUND, LISTS, GROSS, IN_FORCE, costs)
@settings(max_examples=500)
def test_no_price_is_under_its_floor_whatever_the_other_checks(
    checks: Checks, points: PricePoints | None, gross: D, in_force: D | None, cost: D
) -> None:
    own = bounds(checks, points, gross)
    floor = own.floor(cost)
    assert floor is None or printed(own, cost, in_force) >= floor


@given(SOUND, LISTS, GROSS, IN_FORCE, costs)
@settings(max_examples=500)
def test_checked_twice_is_checked_once(
    checks: Checks, points: PricePoints | None, gross: D, in_force: D | None, cost: D
) -> None:
    """A price in force that stayed though it is no point may go up or down where points go one way only."""
    own = bounds(checks, points, gross)
    once = printed(own, cost, in_force)
    stayed = once == in_force and once not in neighbours(points, 2, once)[:2]
    if not stayed or points is None or points.direction not in (UP, DOWN):
        assert printed(own, cost, in_force, once) == once


@given(SOUND, LISTS, GROSS, IN_FORCE, costs)
@settings(max_examples=500)
def test_a_price_is_a_point_or_the_price_in_force(
    checks: Checks, points: PricePoints | None, gross: D, in_force: D | None, cost: D
) -> None:
    own = bounds(checks, points, gross)
    draft = checked(own, cost, in_force)
    amount = printed(own, cost, in_force)
    list_left = any(step.code == "first point not allowed" for step in draft.steps)
    assert amount == in_force or amount in neighbours(None if list_left else points, 2, amount)[:2]


@given(SOUND, GROSS, IN_FORCE, costs)
@settings(max_examples=500)
def test_a_check_is_broken_only_for_one_that_wins_over_it(
    checks: Checks, gross: D, in_force: D | None, cost: D
) -> None:
    """Without a list of points: a change only for the floor, an amount only for the floor or a change, or by a minor unit."""
    own = bounds(checks, None, gross)
    amount = printed(own, cost, in_force)
    lowest, highest = change_limits(checks, in_force)
    floor = own.floor(cost)
    penny = D("0.01")
    if highest is not None and amount > highest:
        assert floor is not None
        assert amount < floor + penny
    if checks.greatest is not None and amount > checks.greatest:
        assert (floor is not None and amount < floor + penny) or (lowest is not None and lowest > checks.greatest)
    if checks.least is not None and amount < checks.least:
        assert highest is not None
        assert highest < checks.least


@given(SOUND, LISTS, GROSS, IN_FORCE, costs, prices)
def test_each_check_not_kept_is_told_and_no_other(
    checks: Checks, points: PricePoints | None, gross: D, in_force: D | None, cost: D, amount: D
) -> None:
    lowest, highest = change_limits(checks, in_force)
    floor = bounds(checks, points, gross).floor(cost)
    limits = {
        "under the least amount": (checks.least, -1), "over the greatest amount": (checks.greatest, 1),
        "past the greatest fall": (lowest, -1), "past the greatest rise": (highest, 1), "under the floor": (floor, -1),
    }  # fmt: skip
    expected = [name for name, (limit, side) in limits.items() if limit is not None and (amount - limit) * side > 0]
    assert [step.code for step in breaches(amount, checks, in_force, floor)] == expected


def amounts_of(data: dict[str, Any]) -> dict[tuple[str, str, str, int], D]:
    found = price_everything(read_book(data))
    return {(p.channel, p.piece, p.finish, p.quantity): p.amount for p in found.prices}


@given(st.integers(0, 10**9), st.sampled_from((1, 40, 700, 9000)))
@settings(max_examples=30, deadline=None)
def test_no_price_of_a_book_falls_when_tin_rises(seed: int, rise: int) -> None:
    """Whole books: floors, points, smallest changes, breaks, order, and classes built from each other."""
    data = random_book(Random(seed))
    dearer = copy.deepcopy(data)
    for quotation in dearer["quotations"]:
        if quotation["element"] == "Sn":
            quotation["amount"] = str(int(quotation["amount"]) + rise)
    before, after = amounts_of(data), amounts_of(dearer)
    assert before.keys() == after.keys()
    assert [key for key in before if after[key] < before[key]] == []


@given(st.integers(0, 10**9), st.sampled_from(("0.01", "0.37", "5")))
@settings(max_examples=30, deadline=None)
def test_no_price_of_a_book_falls_when_what_is_bought_in_rises(seed: int, rise: str) -> None:
    """Four currencies, every scope, sets among the sizes."""
    data = random_price_book(Random(seed))
    dearer = copy.deepcopy(data)
    for piece in dearer["pieces"]:
        for part in piece["parts"]:
            if part["kind"] == "bought-in":
                part["amount"] = str(D(part["amount"]) + D(rise))
    before, after = amounts_of(data), amounts_of(dearer)
    assert [key for key in before if after[key] < before[key]] == []


@given(st.integers(0, 10**9))
@settings(max_examples=30, deadline=None)
def test_only_a_held_price_of_a_book_is_under_its_floor_and_that_is_told(seed: int) -> None:
    for price in price_everything(read_book(random_price_book(Random(seed)))).prices:
        told = "under the floor" in [step.code for step in price.breaches]
        assert price.below_floor == told
        assert price.held or not told
