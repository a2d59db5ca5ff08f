"""Good pieces in 100: units entering each stage, what enters with them and what rejects give back."""

from __future__ import annotations

from decimal import Decimal as D
from fractions import Fraction as F
from math import prod
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from pricing.cost import CostSheet, cost_sheet
from tests.pricing.small_book import ROUND, book_with, cost_of

ORDER = [stage["name"] for stage in ROUND["stages"]]
shares = st.decimals("0.05", "1", places=2)
NEAR = F(1, 10**40)


def worked(yields: dict[str, D], **piece: Any) -> CostSheet:
    """A piece with a minute at every stage that has a yield given."""
    stages = [{**stage, "first_pass_yield": str(yields.get(stage["name"], 1))} for stage in ROUND["stages"]]
    work = [{"stage": stage, "minutes": "1"} for stage in yields]
    return cost_of({"operations": work, **piece}, stages=stages)


@settings(deadline=None)
@given(st.dictionaries(st.sampled_from(ORDER), shares, min_size=1))
def test_units_entering_are_one_over_the_product_of_yields_from_there_on(yields: dict[str, D]) -> None:
    sheet = worked(yields)
    through = [stage for stage in ORDER if stage in yields]
    for place, (stage, minutes) in enumerate(sheet.minutes):
        assert stage == through[place]
        assert abs(F(minutes) - 1 / prod(F(yields[later]) for later in through[place:])) < NEAR * F(10**20)


@settings(deadline=None)
@given(st.dictionaries(st.sampled_from(ORDER), shares, min_size=1))
def test_metal_is_neither_made_nor_lost_by_rejects(yields: dict[str, D]) -> None:
    """What enters with a casting's units leaves as one good piece and as rejects, gram for gram."""
    casting = {"kind": "cast", "name": "knob", "form": "ingot", "method": "solid", "finished_g": "100"}
    leaves = [item for item in worked(yields, parts=[casting]).leaves if item.branch == "metal"]
    assert abs(sum((F(item.quantity) for item in leaves), F(0)) - F(1, 10)) < NEAR * F(10**20)
    assert all(item.quantity < 0 for item in leaves if item.what == "rejects")


def test_a_better_yield_never_costs_more() -> None:
    casting = {"kind": "cast", "name": "knob", "form": "ingot", "method": "solid", "finished_g": "100"}
    costs = [worked({"cast": D(y), "spin": D("0.9")}, parts=[casting]).exact for y in ("0.5", "0.8", "0.95", "1")]
    assert costs == sorted(costs, reverse=True)


def test_the_order_of_work_is_the_books_and_not_the_cards() -> None:
    card = [{"stage": stage, "minutes": "1"} for stage in ("pack", "cast", "finish")]
    yields = {"cast": D("0.9"), "finish": D("0.8"), "pack": D("0.7")}
    assert worked(yields, operations=card).minutes == worked(yields, operations=card[::-1]).minutes


def test_members_come_in_at_the_sets_first_stage_unless_stated() -> None:
    box = {
        "number": "S1", "names": [{"language": "en-GB", "text": "set"}], "family": "cups", "usual_batch": 10,
        "made": [{"finish": "satin"}], "operations": [{"stage": s, "minutes": "0"} for s in ("finish", "pack")],
        "yields": [{"stage": "finish", "first_pass_yield": "0.5"}, {"stage": "pack", "first_pass_yield": "0.8"}],
    }  # fmt: skip
    found = []
    for enters in ({}, {"enters": "pack"}):
        card = {"operations": [{"stage": "spin", "minutes": "5"}]}
        whole = {**box, "parts": [{"kind": "member", "piece": "A1", "count": 2, **enters}]}
        found.append(cost_of_set(card, whole))
    # A member costs 3.00; two of them × 1 / (0.5 × 0.8), and × 1 / 0.8.
    assert found == [D("15"), D("7.5")]


def cost_of_set(card: dict[str, Any], box: dict[str, Any]) -> D:
    """The works cost of a set in the round workshop."""
    book = book_with(card, box)
    return cost_sheet(book, "S1", "satin").exact
