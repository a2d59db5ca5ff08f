"""The two faces of a turned wall, and what the shape holds between its bottom and its brim."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from decimal import Decimal
from itertools import pairwise

from .amounts import half_up
from .errors import refuse
from .profile import Profile, segments_of, settled_float
from .segment import NEAR, Place, Segment, cut_at, halfway, places_at, tangents, turned_volume

# Sharper corners of a face are cut off at four times its distance from the mid-wall.
_SHARPEST_CORNER = 0.125


def capacity_ml(profile: Profile, wall_mm: Decimal, line_mm: Decimal | None = None, record: str = "profile") -> Decimal:
    """What the shape holds in ml, half-up to 0.1: inside the wall, to the brim or to a line at a height.

    A hole counts as closed by a flat bottom at the inside of the first point; a shape that opens downwards
    holds 0. A brim is the highest place the wall reaches; a line is a height on the scale of the points.

    Raises: PricingError `profile` where the wall is not above 0 or thicker than an arc allows, or the line is
    outside the shape.
    """
    inside = _up_to_brim(faces(profile, wall_mm, record)[0])
    if line_mm is not None:
        _check_line(inside, line_mm, record)
        inside = _below(inside, float(line_mm))
    mm3 = math.fsum(turned_volume(segment) for segment in inside)
    return half_up(settled_float(max(mm3, 0.0) / 1000), 1)


def faces(profile: Profile, wall_mm: Decimal, record: str = "profile") -> tuple[list[Segment], list[Segment]]:
    """The inner and the outer face of a wall of even thickness, each half of it from the mid-wall.

    Raises: PricingError `profile` where the wall is not above 0, or thicker than an arc allows.
    """
    if wall_mm <= 0:
        raise refuse("profile", record, "wall thickness", f"{wall_mm} mm", "a thickness above 0")
    segments, half = segments_of(profile), float(wall_mm) / 2
    return _offset(segments, half, record), _offset(segments, -half, record)


def _offset(segments: Sequence[Segment], distance: float, record: str) -> list[Segment]:
    """The line at a distance towards the inside (negative: outside), corners drawn to where faces meet."""
    places = [_offset_place(before, after, distance) for before, after in _joints(segments)]
    moved = []
    for number, (segment, ends) in enumerate(zip(segments, pairwise(places), strict=True), 1):
        moved.append(Segment(*ends, _offset_arc(segment, ends, distance, number, record)))
    return [segment for segment in moved if segment.length > NEAR]


def _joints(segments: Sequence[Segment]) -> Iterator[tuple[tuple[Place, Place], Place]]:
    """Each point's directions of arriving and leaving, and its place; on the axis the mirrored half joins."""
    ways = [tangents(segment) for segment in segments]
    leaving = ways[0][0]
    yield (_arriving_at_end(segments[0].start, leaving), leaving), segments[0].start
    for (before, after), segment in zip(pairwise(ways), segments, strict=False):
        yield (before[1], after[0]), segment.end
    arriving = ways[-1][1]
    yield (arriving, _arriving_at_end(segments[-1].end, arriving)), segments[-1].end


def _arriving_at_end(end: Place, direction: Place) -> Place:
    return direction if end[0] else (direction[0], -direction[1])


def _offset_place(directions: tuple[Place, Place], place: Place, distance: float) -> Place:
    (ar, az), (br, bz) = directions
    cut = max(1 + ar * br + az * bz, _SHARPEST_CORNER)
    return place[0] - distance * (az + bz) / cut, place[1] + distance * (ar + br) / cut


def _offset_arc(segment: Segment, ends: tuple[Place, Place], distance: float, number: int, record: str) -> float:
    if not segment.arc:
        return 0.0
    moved = segment.arc - distance
    if moved * segment.arc <= 0:
        found = f"an arc of radius {segment.radius} mm between points {number} and {number + 1}"
        allowed = f"an arc wider than half the wall, {abs(distance)} mm"
        raise refuse("profile", record, "wall thickness", found, allowed)
    # A corner that is not smooth may pull the ends apart by more than the arc's new diameter.
    return math.copysign(max(abs(moved), math.dist(*ends) / 2), moved)


def _up_to_brim(segments: Sequence[Segment]) -> list[Segment]:
    """The line as far as the first place that nothing stands above."""
    rising = [part for segment in segments for part in cut_at(segment, places_at(segment, math.pi / 2))]
    brim = max(max(part.start[1], part.end[1]) for part in rising) - NEAR
    if rising[0].start[1] >= brim:
        return []
    last = next(index for index, part in enumerate(rising) if part.end[1] >= brim)
    return rising[: last + 1]


def _below(segments: Sequence[Segment], level: float) -> list[Segment]:
    """The parts of the line that lie under a level."""
    parts = [part for segment in segments for part in cut_at(segment, _places_at_level(segment, level))]
    return [part for part in parts if halfway(part)[1] < level]


def _places_at_level(segment: Segment, level: float) -> list[Place]:
    if segment.arc:
        sine = (level - segment.centre[1]) / segment.radius
        if abs(sine) >= 1:
            return []
        return places_at(segment, math.asin(sine), math.pi - math.asin(sine))
    low, high = sorted((segment.start[1], segment.end[1]))
    if not low < level < high:
        return []
    share = (level - segment.start[1]) / segment.chord[1]
    return [(segment.start[0] + share * segment.chord[0], level)]


def _check_line(inside: Sequence[Segment], line_mm: Decimal, record: str) -> None:
    heights = [place[1] for segment in inside for place in (segment.start, segment.end)]
    low, high = (min(heights), max(heights)) if heights else (0.0, 0.0)
    if not low - NEAR <= float(line_mm) <= high + NEAR:
        allowed = f"a height inside the shape, {settled_float(low):.1f} to {settled_float(high):.1f} mm"
        raise refuse("profile", record, "line height", f"{line_mm} mm", allowed)
