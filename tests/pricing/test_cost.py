"""Works costs: every vector worked by hand holds and every refusal names its place; sums are exact whoever asks."""

from __future__ import annotations

import dataclasses
import json
from decimal import Decimal as D
from decimal import localcontext
from fractions import Fraction
from typing import Any

import pytest

from pricing.book_checks import replace
from pricing.book_file import read_book
from pricing.cost import CostSheet, cost_sheet, works_costs
from pricing.errors import PricingError
from pricing.piece import Member
from pricing.workings import lines, tree
from tests.demo_book import demo_book
from tests.pricing.small_book import CARD, ROUND, VECTORS, book_with


def vectors() -> list[dict[str, Any]]:
    pages = [json.loads(path.read_text(encoding="utf-8")) for path in sorted((VECTORS / "cost").glob("*.json"))]
    return [vector for page in pages for vector in page["vectors"]]


ALL = vectors()


def params(key: str) -> list[Any]:
    return [pytest.param(vector, id=vector["id"]) for vector in ALL if key in vector]


def worked(vector: dict[str, Any]) -> CostSheet:
    """The cost sheet of a vector's piece, or of its set where it has one."""
    pieces = [{**CARD, **vector["piece"]}, *([vector["set"]] if "set" in vector else [])]
    book = read_book({**ROUND, **vector.get("book", {}), "pieces": pieces})
    number = pieces[-1]["number"]
    return cost_sheet(book, number, vector.get("finish", "satin"), vector.get("batch"))


def found(sheet: CostSheet, key: str) -> Any:
    """What a cost sheet has under a vector's key, as the vector writes it."""
    if key == "minutes":
        return {stage or "": minutes for stage, minutes in sheet.minutes}
    if key in ("unknown", "first_order"):
        return getattr(sheet, key)
    return (
        getattr(sheet, key) if key in ("works_cost", "finished_g", "packed_g", "tin_content_g") else sheet.branch(key)
    )


def by_hand(figure: Any) -> Any:
    """A vector's figure as the engine has it."""
    if isinstance(figure, dict):
        return {key: D(value) for key, value in figure.items()}
    if isinstance(figure, list):
        return (
            tuple((name, D(amount)) for name, amount in figure)
            if figure and isinstance(figure[0], list)
            else tuple(figure)
        )
    return D(figure)


def settled(figure: Any) -> Any:
    """Figures at twelve places, where a quotient that does not end is as good as the end it has by hand."""
    if isinstance(figure, dict):
        return {key: settled(value) for key, value in figure.items()}
    return round(figure, 12) if isinstance(figure, D) else figure


@pytest.mark.parametrize("vector", params("cost"))
def test_a_cost_worked_by_hand(vector: dict[str, Any]) -> None:
    sheet = worked(vector)
    for key, figure in vector["cost"].items():
        assert settled(found(sheet, key)) == settled(by_hand(figure)), (key, vector["working"])
    assert str(sheet.works_cost) == vector["cost"]["works_cost"]


@pytest.mark.parametrize("vector", params("refused"))
def test_a_refusal_names_record_and_field(vector: dict[str, Any]) -> None:
    with pytest.raises(PricingError) as refusal:
        worked(vector)
    faults = refusal.value.faults
    assert [[fault.record, fault.field] for fault in faults] == vector["refused"]
    assert all(fault.found and fault.allowed for fault in faults)


def test_a_third_of_the_vectors_are_refusals_and_no_name_is_given_twice() -> None:
    assert len({vector["id"] for vector in ALL}) == len(ALL) >= 100
    assert 3 * len(params("refused")) >= len(params("cost"))


def test_every_branch_is_the_exact_sum_of_what_hangs_on_it() -> None:
    """In fractions, whose sums know no digits; read in a context of six digits, which must not matter."""
    for sheet in works_costs(demo_book()).values():
        with localcontext() as context:
            context.prec = 6
            root = tree(sheet)
            branches = {item.branch: sheet.branch(item.branch) for item in sheet.leaves}
            rounding = sheet.rounding
        for _, node in lines(root):
            if node.children:
                assert Fraction(node.amount) == sum(Fraction(child.amount) for child in node.children), sheet.piece
        assert Fraction(sheet.exact) == sum(map(Fraction, branches.values()))
        assert Fraction(sheet.works_cost) == Fraction(sheet.exact) + Fraction(rounding)
        assert root.children[-1].words == "Rounding"


def test_every_leaf_is_quantity_times_rate_to_thirty_places() -> None:
    for sheet in works_costs(demo_book()).values():
        for item in sheet.leaves:
            assert abs(Fraction(item.quantity) * Fraction(item.rate) - Fraction(item.amount)) <= Fraction(1, 2 * 10**30)


def test_rates_of_metal_and_work_say_where_they_were_read_and_when() -> None:
    for item in cost_sheet(demo_book(), "TK102", "satin").leaves:
        if item.branch in ("metal", "labour"):
            assert item.source, item
            assert item.date is not None, item


def test_one_piece_alone_and_the_whole_book_are_the_same_calculation() -> None:
    book = demo_book()
    whole = works_costs(book)
    assert list(whole) == [(piece.number, made.finish) for piece in book.pieces for made in piece.made]
    for number, finish in list(whole)[::9]:
        assert cost_sheet(book, number, finish) == whole[number, finish]


def test_the_callers_context_does_not_matter() -> None:
    book = book_with({"operations": [{"stage": "spin", "minutes": "1.7", "set_up_minutes": "11"}], "usual_batch": 7})
    usual = cost_sheet(book, "A1", "satin")
    with localcontext() as context:
        context.prec = 4
        assert cost_sheet(book, "A1", "satin") == usual


def test_nothing_is_kept_from_one_book_to_the_next() -> None:
    book = book_with({"operations": [{"stage": "spin", "minutes": "5"}]})
    before = cost_sheet(book, "A1", "satin").works_cost
    stages = tuple(
        type(stage)(name=stage.name, wage_per_hour=2 * stage.wage_per_hour, on_cost=stage.on_cost)
        for stage in book.stages
    )
    dearer = replace(book, stages=stages)
    assert (before, cost_sheet(dearer, "A1", "satin").works_cost) == (D(3), D("5.5"))
    assert cost_sheet(book, "A1", "satin").works_cost == before


def test_yields_of_1_and_empty_refinements_change_nothing() -> None:
    """Depth by choice: what is entered later as what was assumed leaves a cost where it was."""
    card: dict[str, Any] = {
        "parts": [
            {
                "kind": "spun",
                "name": "body",
                "form": "disc",
                "thickness_mm": "1",
                "diameter_mm": "100",
                "finished_g": "60",
            }
        ],
        "operations": [{"minutes": "10"}],
    }
    refined = {
        "parts": [{**card["parts"][0], "dust_share": "0.02", "count": 1, "faces": 2}],
        "operations": [{"minutes": "10", "hands": "1", "set_up_minutes": "0", "learning_rate": "1"}],
        "yields": [{"stage": "spin", "first_pass_yield": "1"}],
    }
    assert cost_sheet(book_with(card), "A1", "satin").exact == cost_sheet(book_with(refined), "A1", "satin").exact


def test_a_longer_batch_never_costs_more() -> None:
    costs = [cost_sheet(demo_book(), "CS801", "satin", batch).exact for batch in (1, 2, 6, 12, 24, 144)]
    assert costs == sorted(costs, reverse=True)


@pytest.mark.parametrize("number", ["A1", "none"])
def test_a_piece_that_is_not_in_the_book_is_refused(number: str) -> None:
    with pytest.raises(PricingError, match="number of a piece of the book"):
        cost_sheet(demo_book(), number, "satin")


def test_a_sets_first_order_pays_its_members_tools_once_each() -> None:
    """A dish whose badge master costs 85 on the first order, twice in a set: the set's first order shows it once."""
    dish = demo_book().piece_by_number["PL601"]
    gift = dataclasses.replace(
        dish,
        number="ST999",
        parts=(Member(piece="PL601", count=2),),
        tooling=(),
        operations=(),
        yields=(),
        consumables=(),
    )
    book = dataclasses.replace(demo_book(), pieces=(*demo_book().pieces, gift))
    assert cost_sheet(book, "PL601", "satin").first_order == (("badge master", D("85")),)
    assert cost_sheet(book, "ST999", "satin").first_order == (("badge master", D("85")),)
