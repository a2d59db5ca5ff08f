"""Price points: the rising list of amounts a price class prints, and the point that an amount goes to."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from functools import cache

from . import fields
from .amounts import ZERO

NEAREST, UP, DOWN = "nearest", "up", "down"


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """Points from `start` up to but not at `end`: whole multiples of `step` plus `ending`."""

    start: Decimal = fields.not_negative(default=ZERO)
    end: Decimal | None = fields.positive(default=None)
    step: Decimal = fields.positive()
    ending: Decimal = fields.amount(default=ZERO)


@dataclass(frozen=True, slots=True, kw_only=True)
class PricePoints:
    """One rising list of price points with one direction: to the nearest (the upper on a tie), up, or down."""

    direction: str = fields.one_of(NEAREST, UP, DOWN, default=NEAREST)
    bands: tuple[Band, ...]


@cache
def minor_grid(minor_unit: int) -> Band:
    """Every amount of a currency's minor unit, as one band."""
    return Band(step=Decimal(1).scaleb(-minor_unit))


def first_point(points: PricePoints) -> Decimal | None:
    """The lowest point of the list, None if its bands hold none."""
    return _listed_at_or_above(points.bands, ZERO)


def last_point(points: PricePoints) -> Decimal | None:
    """The highest point of the list; None if the last band has no end, or no band holds a point."""
    if points.bands and points.bands[-1].end is None:
        return None
    return _listed_at_or_below(points.bands, points.bands[-1].end or ZERO) if points.bands else None


def neighbours(
    points: PricePoints | None, minor_unit: int, amount: Decimal
) -> tuple[Decimal | None, Decimal | None, str]:
    """The point at or below `amount`, the point at or above it, and the direction to choose by.

    Under the first point there is none below. Over the last, or without a list, every amount of the minor unit is a
    point and the nearest is taken, which is rounding half-up. Nothing is never a point: every point is above 0.
    """
    if points is not None:
        around = _around(points.bands, amount)
        if around is not None:
            return *around, points.direction
        above = _listed_at_or_above(points.bands, amount)
        if above is not None:
            return (above if above == amount else _listed_at_or_below(points.bands, amount)), above, points.direction
    grid = (minor_grid(minor_unit),)
    return _listed_at_or_below(grid, amount), _listed_at_or_above(grid, amount), NEAREST


def preferred(below: Decimal | None, above: Decimal | None, direction: str, amount: Decimal) -> Decimal:
    """Which of two neighbouring points `amount` goes to: the upper on a tie, the only one where there is one.

    Raises: ValueError when there is neither.
    """
    if below is None or above is None:
        only = above if below is None else below
        if only is None:
            raise ValueError("a point needs a neighbour")
        return only
    if direction == DOWN:
        return below
    if direction == UP:
        return above
    return above if above - amount <= amount - below else below


def _around(bands: tuple[Band, ...], amount: Decimal) -> tuple[Decimal, Decimal] | None:
    """The points at or below and at or above `amount` where one band has both: the usual case, found at once."""
    for band in bands:
        if band.end is None or amount < band.end:
            if amount < band.start or amount < band.ending:
                return None
            below = (amount - band.ending) // band.step * band.step + band.ending
            above = below if below == amount else below + band.step
            inside = below >= band.start and below > ZERO and (band.end is None or above < band.end)
            return (below, above) if inside else None
    return None


def _listed_at_or_above(bands: tuple[Band, ...], amount: Decimal) -> Decimal | None:
    for band in bands:
        wanted = max(amount, band.start)
        steps = ((wanted - band.ending) / band.step).to_integral_value(ROUND_CEILING)
        point = steps * band.step + band.ending
        if point <= ZERO:
            point = _first_above_nothing(band)
        if band.end is None or point < band.end:
            return point
    return None


def _first_above_nothing(band: Band) -> Decimal:
    steps = (-band.ending / band.step).to_integral_value(ROUND_FLOOR) + 1
    return steps * band.step + band.ending


def _listed_at_or_below(bands: tuple[Band, ...], amount: Decimal) -> Decimal | None:
    for band in reversed(bands):
        if band.start > amount:
            continue
        steps = ((amount - band.ending) / band.step).to_integral_value(ROUND_FLOOR)
        point = steps * band.step + band.ending
        if band.end is not None and point >= band.end:
            point = ((band.end - band.ending) / band.step).to_integral_value(ROUND_CEILING) * band.step
            point += band.ending - band.step
        if point >= band.start and point > ZERO:
            return point
    return None
