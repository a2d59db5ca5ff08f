"""Faults that only working a piece shows, all together and each once; and blanks that a careful eye would question."""

from __future__ import annotations

import dataclasses
from decimal import Decimal as D
from typing import Any

import pytest

from pricing.amounts import exactly
from pricing.book_file import read_book
from pricing.cost import cost_sheet, works_costs
from pricing.errors import BookError
from pricing.piece_checks import piece_faults, warnings_of, worked_faults
from tests.demo_book import demo_book
from tests.pricing.small_book import CARD, ROUND, book_with

LINE = [{"radius_mm": "0", "height_mm": "0"}, {"radius_mm": "50", "height_mm": "0"}]
DISC = {"kind": "spun", "name": "body", "form": "disc", "thickness_mm": "1", "diameter_mm": "100", "finished_g": "50"}
CAST = {"kind": "cast", "name": "knob", "form": "ingot", "method": "solid", "finished_g": "100"}


def faults_of(*pieces: dict[str, Any], **changes: Any) -> list[str]:
    with pytest.raises(BookError) as refusal:
        read_book({**ROUND, **changes, "pieces": [{**CARD, **piece} for piece in pieces]})
    return [str(fault) for fault in refusal.value.faults]


def test_a_price_missing_for_many_pieces_is_told_once() -> None:
    pieces = [{"number": number, "parts": [CAST]} for number in ("A1", "A2", "A3")]
    assert faults_of(*pieces, declared_prices=ROUND["declared_prices"][1:]) == [
        "declared_prices Sn, date: found no entry; allowed is an entry on or before 2026-03-02"
    ]


def test_every_part_and_every_piece_is_looked_at() -> None:
    heavy = {**DISC, "finished_g": "63"}
    pieces = [{"number": number, "parts": [heavy, {**heavy, "name": "lid"}]} for number in ("A1", "A2")]
    allowed = "found 63.000 g; allowed is at most 61.600 g: the blank of 62.832 g less dust"
    assert faults_of(*pieces) == [
        f"pieces {number}, part {part}, finished_g: {allowed}" for number in ("A1", "A2") for part in ("body", "lid")
    ]


def test_a_set_of_a_faulty_member_repeats_no_fault() -> None:
    member = {"parts": [{"kind": "bought-in", "name": "glass", "amount": "1", "currency": "USD"}]}
    box = {"number": "S1", "parts": [{"kind": "member", "piece": "A1", "count": 2}]}
    rates = [{"currency": "USD", "date": "2026-03-03", "rate": "1.25", "quoted": "units per base"}]
    assert faults_of(member, box, exchange_rates=rates) == [
        "exchange_rates USD, date: found no entry; allowed is an entry on or before 2026-03-02"
    ]


def test_a_metal_that_no_piece_is_made_of_needs_no_price() -> None:
    silver = {"name": "silver", "contents": [{"element": "Ag", "fraction": "1"}]}
    elements = [*ROUND["elements"], {"symbol": "Ag"}]
    assert book_with({"parts": [CAST]}, alloys=[*ROUND["alloys"], silver], elements=elements).alloys[1].name == "silver"


def test_the_demo_workshop_has_no_fault_and_no_warning() -> None:
    assert list(exactly(worked_faults)(demo_book())) == []
    assert warnings_of(demo_book()) == ()


def test_a_book_that_reads_can_be_costed_whole() -> None:
    book = demo_book()
    assert len(works_costs(book)) == sum(len(piece.made) for piece in book.pieces)


def test_one_piece_can_be_asked_alone() -> None:
    book = book_with({"parts": [CAST]}, {"number": "A2", "parts": [DISC]})
    broken = dataclasses.replace(
        book, elements=(), alloys=tuple(dataclasses.replace(a, density_g_cm3=None) for a in book.alloys)
    )
    broken = dataclasses.replace(
        broken, elements=tuple(dataclasses.replace(e, density_g_cm3=None) for e in book.elements)
    )
    found = [[fault.field for fault in exactly(list)(piece_faults(broken, piece))] for piece in broken.pieces]
    assert found == [[], ["density_g_cm3"]]


@pytest.mark.parametrize(
    ("diameter", "said"), [("98.1", False), ("97.9", True), ("101.9", False), ("102.1", True), ("100", False)]
)
def test_a_blank_cut_far_from_what_its_profile_gives_is_questioned(diameter: str, said: bool) -> None:
    """The profile is a flat disc of 100 mm; 2 % either way passes. The blank as cut still counts."""
    book = book_with({"parts": [{**DISC, "diameter_mm": diameter, "profile": LINE}]})
    assert bool(warnings_of(book)) is said
    drawn = next(item for item in cost_sheet(book, "A1", "satin").leaves if item.what == "spun")
    assert round(drawn.quantity * 1000, 6) == round(D("0.00628318530717958648") * D(diameter) ** 2, 6)


def test_a_warning_says_where_how_far_and_by_which_rule() -> None:
    book = book_with({"parts": [{**DISC, "diameter_mm": "105", "profile": LINE}]})
    assert [str(warning) for warning in warnings_of(book)] == [
        "pieces A1, part body, diameter_mm: found 105 mm, 5 % from the profile's; "
        "allowed is within 2 % of 100 mm, by constant wall"
    ]
    assert warnings_of(book, D("0.06")) == ()
