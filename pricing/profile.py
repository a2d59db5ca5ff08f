"""The turned shape of a part: a mid-wall line of straights and arcs, its surface and the volume it encloses.

A profile is read from the axis (or from the rim of a hole) outwards and upwards, as the piece stands. Each
point after the first may say the radius of the arc that leads to it from the point before: positive bulges
away from the inside (a belly, a rounded corner), negative towards it (a waist, a flare); 0 or nothing is a
straight wall. An arc is at most half a circle; a longer one is two arcs.

Geometry works in floats; a result is settled at nine decimal places and then rounded half-up before anything
else reads it, so that every machine agrees.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal
from itertools import combinations, pairwise

from .amounts import CONTEXT, ZERO, half_up, plain, read_amount, write_amount
from .errors import PricingError, refuse
from .segment import (
    NEAR,
    Place,
    Segment,
    box,
    boxes_meet,
    cross,
    places_at,
    tangents,
    turned_area,
    turned_volume,
)

LARGEST_MM = Decimal(10_000)

_NINE_PLACES = Decimal("1e-9")


@dataclass(frozen=True, slots=True)
class Point:
    """A point of the mid-wall in mm, and the signed radius of the arc that leads to it; 0 is straight."""

    radius_mm: Decimal
    height_mm: Decimal
    arc_mm: Decimal = ZERO


@dataclass(frozen=True, slots=True)
class Profile:
    """The mid-wall line of a turned shape; only a line that can be turned can be made.

    Raises: PricingError `profile` for fewer than two points, a negative radius, a figure beyond 10 m, points
    in one place, an arc too tight for its points, a wall on or across the axis, a fold or a crossing.
    """

    points: tuple[Point, ...]

    def __post_init__(self) -> None:
        _check_points(self.points)
        segments = segments_of(self)
        _check_axis(segments)
        _check_folds(segments)
        _check_crossings(segments)


def read_profile(rows: object, record: str = "profile", field: str = "points") -> Profile:
    """The profile written as rows of decimal strings: radius, height and, for an arc, what leads there.

    Raises: PricingError `profile` or `amount`, naming `record` and `field`.

    >>> read_profile([["0", "0"], ["37", "0"], ["40", "3", "3"], ["40", "110"]]).points[2].arc_mm
    Decimal('3')
    """
    if not isinstance(rows, list | tuple):
        raise refuse("profile", record, field, repr(rows)[:60], "a list of points")
    points = tuple(_read_point(row, number, record, field) for number, row in enumerate(rows, 1))
    try:
        return Profile(points)
    except PricingError as error:
        raise refuse(error.code, record, field, error.fault.found, error.fault.allowed) from None


def write_profile(profile: Profile) -> list[list[str]]:
    """The profile as rows of decimal strings: the inverse of `read_profile`."""
    return [[write_amount(figure) for figure in _figures(point)] for point in profile.points]


def surface_mm2(profile: Profile) -> float:
    """The mid-wall area of the turned shape in mm², one face, not rounded.

    Source: the first theorem of Pappus and Guldinus.
    """
    return math.fsum(turned_area(segment) for segment in segments_of(profile))


def surface_cm2(profile: Profile) -> Decimal:
    """The mid-wall area of the turned shape in cm², one face, half-up to 0.1 cm²."""
    return half_up(settled_float(surface_mm2(profile) / 100), 1)


def hole_mm2(profile: Profile) -> float:
    """The area in mm² of the hole round which the profile starts; 0 where it starts on the axis."""
    return math.pi * float(profile.points[0].radius_mm) ** 2


def enclosed_mm3(profile: Profile) -> float:
    """The volume in mm³ between the turned line and the axis, as if solid and flat at both ends, not rounded.

    Source: the second theorem of Pappus and Guldinus.
    """
    return math.fsum(turned_volume(segment) for segment in segments_of(profile))


def settled_float(figure: float) -> Decimal:
    """A float as a Decimal of nine places, so that noise in its last bits never tips a later rounding."""
    return Decimal.from_float(figure).quantize(_NINE_PLACES, ROUND_HALF_EVEN, CONTEXT)


def segments_of(profile: Profile) -> list[Segment]:
    """The stretches of wall between the points, in floats."""
    return [Segment(_place(start), _place(end), float(end.arc_mm)) for start, end in pairwise(profile.points)]


def _place(point: Point) -> Place:
    return float(point.radius_mm), float(point.height_mm)


def _read_point(row: object, number: int, record: str, field: str) -> Point:
    if not isinstance(row, list | tuple) or len(row) not in (2, 3):
        allowed = "two or three decimal strings: radius, height and the arc that leads there"
        raise refuse("profile", record, field, f"point {number}: {row!r}"[:80], allowed)
    return Point(*(read_amount(figure, record, f"{field}, point {number}") for figure in row))


def _figures(point: Point) -> tuple[Decimal, ...]:
    figures = (point.radius_mm, point.height_mm)
    return (*figures, point.arc_mm) if point.arc_mm else figures


def _fault(found: str, allowed: str) -> PricingError:
    return refuse("profile", "profile", "points", found, allowed)


def _told(number: int, point: Point) -> str:
    return f"point {number} ({plain(point.radius_mm)}, {plain(point.height_mm)})"


def _check_points(points: Sequence[Point]) -> None:
    if len(points) < 2:
        raise _fault(f"{len(points)} points", "two points or more")
    for number, point in enumerate(points, 1):
        _check_figures(number, point)
    if points[0].arc_mm:
        raise _fault(f"an arc that leads to {_told(1, points[0])}", "no arc at the first point")
    for number, (start, end) in enumerate(pairwise(points), 1):
        _check_chord(number, start, end)


def _check_figures(number: int, point: Point) -> None:
    for figure in (point.radius_mm, point.height_mm, point.arc_mm):
        if not figure.is_finite() or abs(figure) > LARGEST_MM:
            raise _fault(f"{figure} at point {number}", f"figures of at most {LARGEST_MM} mm")
    if point.radius_mm < 0:
        raise _fault(_told(number, point), "a radius of 0 or more")


def _check_chord(number: int, start: Point, end: Point) -> None:
    across, up = end.radius_mm - start.radius_mm, end.height_mm - start.height_mm
    chord_squared = across * across + up * up
    both = f"{_told(number, start)} and {_told(number + 1, end)}"
    if not chord_squared:
        raise _fault(f"{both} in one place", "points that are apart")
    if not end.arc_mm:
        if not start.radius_mm and not end.radius_mm:
            raise _fault(f"a wall on the axis between {both}", "a wall that leaves the axis")
    elif 4 * end.arc_mm * end.arc_mm < chord_squared:
        least = settled_float(math.sqrt(chord_squared) / 2)
        allowed = f"an arc of at least half the distance, {half_up(least, 4)} mm, on either side"
        raise _fault(f"an arc of radius {plain(end.arc_mm)} between {both}", allowed)


def _check_axis(segments: Sequence[Segment]) -> None:
    for number, segment in enumerate(segments, 1):
        if any(place[0] < -NEAR for place in places_at(segment, math.pi)):
            found = f"an arc across the axis between points {number} and {number + 1}"
            raise _fault(found, "a wall on one side of the axis")


def _check_folds(segments: Sequence[Segment]) -> None:
    for number, (before, after) in enumerate(pairwise(segments), 2):
        (_, arriving), (leaving, _) = tangents(before), tangents(after)
        if math.hypot(arriving[0] + leaving[0], arriving[1] + leaving[1]) < NEAR:
            raise _fault(f"a fold back on itself at point {number}", "a wall that turns by less than 180°")


def _check_crossings(segments: Sequence[Segment]) -> None:
    boxed = [(number, segment, box([segment])) for number, segment in enumerate(segments, 1)]
    for (one, before, its_box), (other, after, other_box) in combinations(boxed, 2):
        if boxes_meet(its_box, other_box) and cross(before, after, joined=other == one + 1):
            found = f"points {one} to {one + 1} and points {other} to {other + 1} that meet"
            raise _fault(found, "a wall that does not touch or cross itself")
