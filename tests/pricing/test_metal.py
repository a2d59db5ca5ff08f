"""Metal in a part: nothing is lost between store, part, what comes back and dust; blanks and shares of sheet."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal as D
from decimal import localcontext
from fractions import Fraction as F
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pricing.alloy import GATES, SKELETON, TRIMMINGS
from pricing.amounts import CONTEXT, PI, exactly
from pricing.book import Book
from pricing.cost import Costing
from pricing.metal import Metal, part_area_cm2, part_metal
from pricing.metal_prices import MetalPrices
from pricing.piece import CastPart, FlatPart, Piece, SpunPart
from tests.demo_book import demo_book
from tests.pricing.small_book import book_with

DISC = {"kind": "spun", "name": "body", "form": "disc", "thickness_mm": "1", "diameter_mm": "100", "finished_g": "60"}
SHEET = {**DISC, "form": "sheet"}
CAST = {"kind": "cast", "name": "handle", "form": "ingot", "method": "solid"}
PLACES = F(1, 10**40)


@exactly
def metal_of(part: dict[str, Any], **changes: Any) -> Metal:
    book = book_with({"parts": [part]}, **changes)
    only = book.pieces[0].parts[0]
    assert isinstance(only, SpunPart | FlatPart | CastPart)
    return part_metal(book, MetalPrices(book), only, "part")


def metals_of(book: Book) -> Iterator[tuple[Piece, Metal]]:
    with localcontext(CONTEXT):
        costing = Costing(book)
        for piece in book.pieces:
            for _, metal in costing.metals(piece):
                yield piece, metal


def balance(metal: Metal) -> F:
    """Drawn less finished, recovered and lost: nothing."""
    return F(metal.drawn) - F(metal.finished) - sum((F(grams) for _, grams in metal.back), F(0)) - F(metal.lost)


def test_metal_drawn_is_metal_in_the_part_back_and_lost_throughout_the_demo_workshop() -> None:
    seen = 0
    for piece, metal in metals_of(demo_book()):
        seen += 1
        assert abs(balance(metal)) < PLACES, piece.number
        assert min(metal.finished, metal.lost, *(grams for _, grams in metal.back)) >= 0
        assert metal.drawn >= metal.blank >= metal.finished
    assert seen > 600


@settings(deadline=None)
@given(
    finished=st.decimals("0.1", "5000", places=1),
    gate=st.decimals("0", "0.95", places=3),
    dross=st.decimals("0", "0.5", places=3),
)
def test_a_casting_balances_and_its_gates_are_a_share_of_the_pour(finished: D, gate: D, dross: D) -> None:
    metal = metal_of({**CAST, "finished_g": str(finished), "gate_share": str(gate), "dross_share": str(dross)})
    poured, melted = F(finished) / (1 - F(gate)), F(finished) / (1 - F(gate)) / (1 - F(dross))
    assert abs(balance(metal)) < PLACES
    assert abs(F(metal.blank) - poured) < PLACES
    assert abs(F(metal.drawn) - melted) < PLACES
    assert dict(metal.back).keys() == ({GATES} if gate else set())


@settings(deadline=None)
@given(
    diameter=st.decimals("20", "600", places=1),
    gauge=st.decimals("0.4", "3", places=2),
    used=st.decimals("0.3", "1", places=2),
    trim=st.decimals("0.03", "0.9", places=2),
)
def test_a_spun_part_balances(diameter: D, gauge: D, used: D, trim: D) -> None:
    part = {**SHEET, "diameter_mm": str(diameter), "thickness_mm": str(gauge), "sheet_share": str(used)}
    del part["finished_g"]
    metal = metal_of({**part, "trim_share": str(trim)})
    blank = 8 * F(gauge) * F(PI) * F(diameter) ** 2 / 4000
    assert abs(balance(metal)) < PLACES
    assert abs(F(metal.blank) - blank) < PLACES
    assert abs(F(metal.drawn) - blank / F(used)) < PLACES
    assert abs(F(metal.finished) - blank * (1 - F(trim))) < PLACES


def test_a_bought_disc_leaves_no_skeleton_and_sheet_does() -> None:
    bought, cut = metal_of(DISC), metal_of({**SHEET, "sheet_share": "0.6"})
    assert [of for of, _ in bought.back] == [TRIMMINGS]
    assert [of for of, _ in cut.back] == [SKELETON, TRIMMINGS]
    assert bought.blank == cut.blank == bought.drawn


@pytest.mark.parametrize(("diameter", "count"), [("216", 12), ("245", 8)])
def test_discs_of_a_whole_sheet(diameter: str, count: int) -> None:
    """Common practice: 1200 × 600 mm gives 12 discs of 216 mm (61 %) and 8 of 245 mm (52 %)."""
    sheets = [{"name": "big", "length_mm": "1200", "width_mm": "600", "web_mm": "4", "edge_mm": "4"}]
    metal = metal_of({**SHEET, "diameter_mm": diameter, "finished_g": "200", "sheet": "big"}, sheets=sheets)
    assert round(F(1200 * 600 * 8, 1000) / F(metal.drawn), 12) == count
    assert round(metal.blank / metal.drawn, 2) == {12: D("0.61"), 8: D("0.52")}[count]


def test_dust_is_the_workshops_share_unless_the_part_states_its_own() -> None:
    assert [metal_of(part).lost for part in (DISC, {**DISC, "dust_share": "0"})] == [D("1.20"), 0]


@pytest.mark.parametrize(("faces", "area"), [(1, "78.5"), (2, "157.0")])
def test_a_surface_comes_from_the_profile_unless_it_is_stated(faces: int, area: str) -> None:
    """π × 5² = 78.5 cm² a face."""
    line = [{"radius_mm": "0", "height_mm": "0"}, {"radius_mm": "50", "height_mm": "0"}]
    turned = book_with({"parts": [{**DISC, "profile": line, "faces": faces}]}).pieces[0].parts[0]
    stated = book_with({"parts": [{**DISC, "profile": line, "area_cm2": "33"}]}).pieces[0].parts[0]
    assert isinstance(turned, SpunPart)
    assert isinstance(stated, SpunPart)
    assert part_area_cm2(turned) == D(area)
    assert part_area_cm2(stated) == 33
