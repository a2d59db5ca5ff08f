"""Overhead pools: rates, what each basis reads, and that pools do not absorb on one another."""

from __future__ import annotations

from decimal import Decimal as D
from fractions import Fraction as F
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pricing.cost import absorption_rate, cost_sheet
from pricing.overhead import LABOUR_COST, LABOUR_HOURS, PRIME_COST
from tests.pricing.small_book import ROUND, book_with, cost_of

PIECE: dict[str, Any] = {
    "parts": [
        {"kind": "cast", "name": "knob", "form": "ingot", "method": "solid", "finished_g": "100"},
        {"kind": "bought-in", "name": "glass", "amount": "1"},
    ],
    "operations": [
        {"stage": "spin", "minutes": "5"},
        {"stage": "finish", "minutes": "4", "hands": "2", "set_up_minutes": "10"},
        {"minutes": "6"},
    ],
    "consumables": [{"name": "polish", "amount": "0.30"}],
    "tooling": [{"name": "chuck", "amount": "85", "over_pieces": 340}],
    "packing": "1.30",
}
# Minutes: spin 5, finish 2 × (4 + 1) = 10, bench 6. Labour: 2.50 + 2.50 + 1.80 = 6.80.
# Prime cost: metal 2.00 + bought in 1.00 + tooling 0.25 + labour 6.80 + consumables 0.30 = 10.35.


def pool(basis: str, rate: str, *stages: str, name: str = "pool") -> dict[str, Any]:
    return {"name": name, "basis": basis, "rate": rate, "stages": list(stages)}


@pytest.mark.parametrize(
    ("asked", "overhead"),
    [
        (pool(LABOUR_HOURS, "6"), "2.10"),
        (pool(LABOUR_HOURS, "6", "finish"), "1.00"),
        (pool(LABOUR_HOURS, "6", "pack"), "0"),
        (pool(LABOUR_COST, "0.5"), "3.40"),
        (pool(LABOUR_COST, "0.5", "spin", "finish"), "2.50"),
        (pool(PRIME_COST, "0.1"), "1.035"),
    ],
    ids=lambda value: (
        str(value["basis"]) + " of " + (" ".join(value["stages"]) or "all") if isinstance(value, dict) else ""
    ),
)
def test_what_a_pool_is_spread_on(asked: dict[str, Any], overhead: str) -> None:
    sheet = cost_of(PIECE, pools=[asked])
    assert sheet.branch("overhead") == D(overhead)
    assert sheet.exact == D("10.35") + D(overhead) + D("1.30")


def test_pools_do_not_absorb_on_one_another() -> None:
    pools = [pool(PRIME_COST, "0.1", name="buying"), pool(LABOUR_HOURS, "6"), pool(LABOUR_COST, "0.5", name="lathes")]
    forwards, backwards = (cost_of(PIECE, pools=order) for order in (pools, pools[::-1]))
    assert forwards.exact == backwards.exact == D("10.35") + D("1.035") + D("2.10") + D("3.40") + D("1.30")


@settings(deadline=None)
@given(budget=st.decimals("0", "500000", places=0), activity=st.decimals("1", "20000", places=0))
def test_a_rate_is_budget_over_activity_and_is_not_rounded(budget: D, activity: D) -> None:
    entry = {"name": "pool", "basis": LABOUR_HOURS, "budget": str(budget), "activity": str(activity)}
    sheet = cost_of({"operations": [{"stage": "spin", "minutes": "60"}]}, pools=[entry])
    assert abs(F(sheet.branch("overhead")) - F(budget) / F(activity)) < F(1, 10**29)


def test_activity_is_what_was_entered_whatever_the_pieces_take() -> None:
    book = book_with(PIECE)
    dearer = book_with({**PIECE, "operations": [{**work, "minutes": "60"} for work in PIECE["operations"]]})
    assert [absorption_rate(only) for only in (*book.pools, *dearer.pools)] == [6, 6]


def test_overhead_is_on_all_units_that_enter() -> None:
    """Spin 5 min × 1 / 0.8 = 6.25; a rate on hours, cost and prime cost reads what yields have made of them."""
    piece = {
        "operations": [{"stage": "spin", "minutes": "5"}],
        "yields": [{"stage": "spin", "first_pass_yield": "0.8"}],
    }
    for basis, rate, overhead in (
        (LABOUR_HOURS, "6", "0.625"),
        (LABOUR_COST, "1", "3.125"),
        (PRIME_COST, "1", "3.125"),
    ):
        assert cost_of(piece, pools=[pool(basis, rate)]).branch("overhead") == D(overhead)


def test_a_sets_pools_read_its_own_work_and_its_own_purchases() -> None:
    """Member: 3.50 prime cost. Box 2.00, packing 5 min at 0.20 = 1.00: 10 % of 3.00 is added, not of the members too."""
    box = {
        "number": "S1", "names": [{"language": "en-GB", "text": "set"}], "family": "cups", "made": [{"finish": "satin"}],
        "parts": [{"kind": "member", "piece": "A1", "count": 3}, {"kind": "bought-in", "name": "box", "amount": "2"}],
        "operations": [{"stage": "pack", "minutes": "5"}],
    }  # fmt: skip
    member = {"operations": [{"stage": "spin", "minutes": "5"}], "consumables": [{"name": "polish", "amount": "1"}]}
    book = book_with(member, box, pools=[pool(PRIME_COST, "0.1")])
    assert cost_sheet(book, "A1", "satin").exact == D("3.85")
    assert cost_sheet(book, "S1", "satin").exact == 3 * D("3.85") + D("3.00") + D("0.30")


def test_without_pools_there_is_no_overhead() -> None:
    assert cost_of(PIECE, pools=[]).branch("overhead") == 0
    assert ROUND["pools"][0]["name"] not in {item.group for item in cost_of(PIECE, pools=[]).leaves}
