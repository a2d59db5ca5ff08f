"""The demo's turned forms against what they are spun from and called; its year against its budget; its page."""

from __future__ import annotations

import re
from decimal import Decimal as D
from pathlib import Path

from fixtures.workshop import make, page
from pricing.blank import constant_wall_blank
from pricing.piece import Piece, SpunPart
from pricing.profile import Profile
from pricing.wall import capacity_ml
from tests.demo_book import WORKSHOP, demo_book, demo_priced

from .test_eight_pieces import EIGHT

PAGE = Path(__file__).parents[2] / "docs" / "workshop.md"


def bodies() -> list[tuple[Piece, SpunPart]]:
    """Each piece of the table with its first turned part that has an outline."""
    found = []
    for piece in demo_book().pieces:
        spun = [part for part in piece.parts if isinstance(part, SpunPart) and part.profile]
        if spun:
            found.append((piece, next((part for part in spun if part.name in ("body", "plate")), spun[0])))
    return found


def test_the_committed_file_is_what_the_command_writes() -> None:
    assert (WORKSHOP / "book.json").read_text(encoding="utf-8") == make.written(make.book())


def test_a_blank_worked_from_its_outline_is_within_three_thousandths_of_the_one_cut() -> None:
    for piece in demo_book().pieces:
        for part in piece.parts:
            if isinstance(part, SpunPart) and part.profile and part.diameter_mm:
                derived = constant_wall_blank(Profile(part.profile), part.trimming_allowance_mm).diameter_mm
                assert abs(derived / part.diameter_mm - 1) <= D("0.003"), (piece.number, part.name, derived)


def test_every_vessel_holds_its_capacity_within_a_hundredth() -> None:
    held = 0
    for piece, body in bodies():
        if piece.brim_ml is not None:
            held += 1
            holds = capacity_ml(Profile(body.profile), body.thickness_mm)
            assert abs(holds / piece.brim_ml - 1) <= D("0.01"), (piece.number, holds)
    assert held > 150


def test_a_piece_named_by_its_diameter_is_about_so_wide() -> None:
    """A belly or a drawn-in rim may take a goblet a seventh off its name; bowls and flat ware are as named, lips apart."""
    seen = 0
    for piece, body in bodies():
        named = re.search(r"(\d+) mm", piece.names[0].text)
        if named is None or piece.number == "BW701":
            continue
        seen += 1
        lipped = piece.family in ("Bowls and dishes", "Porringers and quaichs")
        across = 2 * max(
            point.radius_mm for point in (body.profile[:-1] if lipped and piece.number[:3] != "BW3" else body.profile)
        )
        goblet = piece.family == "Goblets and wine cups"
        assert abs(across / D(named[1]) - 1) <= (D("0.15") if goblet else D("0.001")), (piece.number, across)
    assert seen > 100


def test_a_lid_fits_the_rim_it_sits_on() -> None:
    lids = 0
    for piece, body in bodies():
        for part in piece.parts:
            if isinstance(part, SpunPart) and part.name == "lid" and part.profile and piece.number != "BX701":
                lids += 1
                rim, lid = body.profile[-1].radius_mm, max(point.radius_mm for point in part.profile)
                assert D("0.5") <= lid - rim <= 2, (piece.number, rim, lid)
    assert lids > 50


def test_bigger_pieces_of_a_size_family_take_bigger_blanks_and_more_minutes() -> None:
    by_family: dict[str, list[Piece]] = {}
    for piece in demo_book().pieces:
        if piece.size_family is not None and piece.size is not None:
            by_family.setdefault(piece.size_family, []).append(piece)
    assert len(by_family) > 70
    # The eight pieces have minutes of their own, above what the table's formulae give their neighbours.
    for pieces in by_family.values():
        pieces.sort(key=lambda piece: piece.size or D(0))
        sheets = [demo_priced().costs[piece.number, "satin"] for piece in pieces]
        masses = [sheet.finished_g for sheet in sheets]
        minutes = [sheet.total_minutes for sheet in sheets if sheet.piece not in EIGHT]
        assert masses == sorted(masses), [piece.number for piece in pieces]
        assert minutes == sorted(minutes), [piece.number for piece in pieces]


def test_the_year_fills_the_benches_and_absorbs_the_budget_within_a_fiftieth() -> None:
    minutes = sum(volume * sheet.total_minutes for volume, sheet in page.sold(demo_priced()))
    assert abs(minutes / 60 / 6000 - 1) < D("0.02")


def test_the_years_metal_balances() -> None:
    """Metal in = finished + back + lost, and what is lost is dust and dross: one to three per cent of what comes in."""
    drawn = back = finished = D(0)
    for volume, sheet in page.sold(demo_priced()):
        own = [item.quantity for item in sheet.leaves if item.branch == "metal" and item.unit == "kg"]
        drawn += volume * sum(kg for kg in own if kg > 0)
        back -= volume * sum(kg for kg in own if kg < 0)
        finished += 0 if sheet.members else volume * sheet.finished_g / 1000
    lost = drawn - back - finished
    assert D("0.01") < lost / drawn < D("0.03")


def test_the_page_is_what_the_command_writes() -> None:
    assert PAGE.read_text(encoding="utf-8") == page.page()
