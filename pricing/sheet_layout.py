"""Discs on a sheet: how many a real sheet gives in square and in staggered rows, counted exactly."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from math import isqrt

from .amounts import PI, ZERO, exactly, plain
from .errors import refuse


class Pattern(StrEnum):
    """How the rows of discs lie on the sheet."""

    SQUARE = "square rows"
    STAGGERED_LONG = "staggered rows along the long side"
    STAGGERED_SHORT = "staggered rows along the short side"


@dataclass(frozen=True, slots=True)
class Layout:
    """A way to lay out a sheet: its pattern, its discs and the share of the whole sheet they cover."""

    pattern: Pattern
    count: int
    utilisation: Decimal


@exactly
def layouts(
    sheet_length_mm: Decimal,
    sheet_width_mm: Decimal,
    diameter_mm: Decimal,
    web_mm: Decimal = ZERO,
    edge_mm: Decimal = ZERO,
    record: str = "sheet",
) -> tuple[Layout, Layout, Layout]:
    """The three patterns with their counts: `web_mm` is kept between discs, `edge_mm` along every side.

    A staggered row is set half a pitch along and lies √3/2 of a pitch from its neighbours.

    Raises: PricingError `layout` for a sheet or disc not above 0, or a web or edge below 0.
    """
    _check(sheet_length_mm, sheet_width_mm, diameter_mm, web_mm, edge_mm, record)
    long_mm = max(sheet_length_mm, sheet_width_mm) - 2 * edge_mm
    short_mm = min(sheet_length_mm, sheet_width_mm) - 2 * edge_mm
    counts = {
        Pattern.SQUARE: _square(long_mm, short_mm, diameter_mm, web_mm),
        Pattern.STAGGERED_LONG: _staggered(long_mm, short_mm, diameter_mm, web_mm),
        Pattern.STAGGERED_SHORT: _staggered(short_mm, long_mm, diameter_mm, web_mm),
    }
    sheet_mm2 = sheet_length_mm * sheet_width_mm
    square, staggered_long, staggered_short = (
        Layout(pattern, count, count * PI * diameter_mm * diameter_mm / 4 / sheet_mm2)
        for pattern, count in counts.items()
    )
    return square, staggered_long, staggered_short


def best_layout(
    sheet_length_mm: Decimal,
    sheet_width_mm: Decimal,
    diameter_mm: Decimal,
    web_mm: Decimal = ZERO,
    edge_mm: Decimal = ZERO,
    record: str = "sheet",
) -> Layout:
    """The layout that gives most discs; of equal ones square rows, then rows along the long side.

    Raises: PricingError `layout` where no disc fits, and as `layouts` does.
    """
    best = max(
        layouts(sheet_length_mm, sheet_width_mm, diameter_mm, web_mm, edge_mm, record),
        key=lambda layout: layout.count,
    )
    if not best.count:
        allowed = (
            f"what fits a sheet of {plain(sheet_length_mm)} × {plain(sheet_width_mm)} mm "
            f"with an edge of {plain(edge_mm)} mm"
        )
        raise refuse("layout", record, "disc", f"{plain(diameter_mm)} mm", allowed)
    return best


@exactly
def strip_utilisation(diameter_mm: Decimal, web_mm: Decimal, edge_mm: Decimal, rows: int = 1) -> Decimal:
    """The share of a long strip that its discs cover, cut just wide enough for that many staggered rows.

    `web_mm` is the bridge between discs, `edge_mm` what is kept clear along both sides.
    """
    pitch = diameter_mm + web_mm
    width = diameter_mm + (rows - 1) * pitch * Decimal(3).sqrt() / 2 + 2 * edge_mm
    return rows * PI * diameter_mm * diameter_mm / 4 / (pitch * width)


def _check(length: Decimal, width: Decimal, diameter: Decimal, web: Decimal, edge: Decimal, record: str) -> None:
    for field, figure in (("length", length), ("width", width), ("disc", diameter)):
        if figure <= 0:
            raise refuse("layout", record, field, plain(figure), "above 0 mm")
    for field, figure in (("web", web), ("edge", edge)):
        if figure < 0:
            raise refuse("layout", record, field, plain(figure), "0 mm or more")


def _square(along: Decimal, across: Decimal, diameter: Decimal, web: Decimal) -> int:
    return _in_row(along, diameter, web) * _in_row(across, diameter, web)


def _staggered(along: Decimal, across: Decimal, diameter: Decimal, web: Decimal) -> int:
    rows = _staggered_rows(across, diameter, web)
    full = _in_row(along, diameter, web)
    shifted = _in_row(along - (diameter + web) / 2, diameter, web)
    return (rows + 1) // 2 * full + rows // 2 * shifted


def _in_row(along: Decimal, diameter: Decimal, web: Decimal) -> int:
    """n discs and n − 1 webs within a length."""
    return int((along + web) // (diameter + web)) if along >= diameter else 0


def _staggered_rows(across: Decimal, diameter: Decimal, web: Decimal) -> int:
    """n rows, √3/2 of a pitch apart, within a width; squares are compared so that an exact fit counts."""
    if across < diameter:
        return 0
    room, pitch = across - diameter, diameter + web
    return 1 + isqrt(int(4 * room * room // (3 * pitch * pitch)))
