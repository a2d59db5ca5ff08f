"""One stretch of a turned wall, straight or an arc, in floats: what it sweeps and what it meets.

Figures are (radius, height) in mm. Nothing here is rounded; whoever reads a result rounds it once.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

Place = tuple[float, float]
Box = tuple[float, float, float, float]

# Floats that differ by less than this, in mm or radians, are the same.
NEAR = 1e-9
# An arc is looked at in pieces of at most this angle when a line is searched for crossings.
_CROSSING_STEP = math.radians(5)


@dataclass(frozen=True, slots=True)
class Segment:
    """A straight (arc 0) or an arc of signed radius from `start` to `end`, in floats."""

    start: Place
    end: Place
    arc: float = 0.0

    @property
    def chord(self) -> Place:
        """The way from start to end."""
        return self.end[0] - self.start[0], self.end[1] - self.start[1]

    @property
    def length(self) -> float:
        """The length of the chord."""
        return math.hypot(*self.chord)

    @property
    def radius(self) -> float:
        """The radius of the arc; 0 for a straight."""
        return abs(self.arc)

    @property
    def half_angle(self) -> float:
        """Half the angle the arc turns through, 0 to π/2."""
        return math.asin(min(1.0, self.length / (2 * self.radius)))

    @property
    def sweep(self) -> float:
        """The angle turned through from start to end, counter-clockwise positive: an outward bulge."""
        return math.copysign(2 * self.half_angle, self.arc)

    @property
    def bulge(self) -> Place:
        """The unit direction from the middle of the chord to the side the arc bulges to."""
        across, up = self.chord
        side = math.copysign(1 / self.length, self.arc)
        return up * side, -across * side

    @property
    def centre(self) -> Place:
        """The centre of the arc's circle."""
        depth = self.radius * math.cos(self.half_angle)
        out = self.bulge
        return self.middle[0] - out[0] * depth, self.middle[1] - out[1] * depth

    @property
    def middle(self) -> Place:
        """The middle of the chord."""
        return (self.start[0] + self.end[0]) / 2, (self.start[1] + self.end[1]) / 2


def turned_area(segment: Segment) -> float:
    """The area in mm² swept in one turn: length times the way of the centroid.

    An arc's centroid stands off its chord by r (sin h / h - cos h), h half the angle turned through.
    Source: the first theorem of Pappus and Guldinus.
    """
    if not segment.arc:
        return 2 * math.pi * segment.middle[0] * segment.length
    half = segment.half_angle
    stands_off = segment.radius * (math.sin(half) / half - math.cos(half))
    centroid = segment.middle[0] + segment.bulge[0] * stands_off
    return 2 * math.pi * centroid * segment.radius * 2 * half


def turned_volume(segment: Segment) -> float:
    """The volume in mm³ between the segment and the axis, negative where it leads downwards.

    The frustum beside its chord, and the turned sliver between chord and arc.
    Source: the second theorem of Pappus and Guldinus.
    """
    (r0, z0), (r1, z1) = segment.start, segment.end
    frustum = math.pi * (r0 * r0 + r0 * r1 + r1 * r1) * (z1 - z0) / 3
    if not segment.arc:
        return frustum
    turn = 2 * segment.half_angle
    doubled = turn - math.sin(turn)
    sliver = segment.radius**2 * doubled / 2
    from_centre = segment.radius * 4 * math.sin(turn / 2) ** 3 / (3 * doubled) if doubled else segment.radius
    centroid = segment.middle[0] + segment.bulge[0] * (from_centre - segment.radius * math.cos(turn / 2))
    return frustum + math.copysign(2 * math.pi * centroid * sliver, segment.arc)


def places_at(segment: Segment, *angles: float) -> list[Place]:
    """The places inside an arc that lie in these directions from its centre, in the order they are passed."""
    if not segment.arc:
        return []
    (cr, cz), sweep = segment.centre, segment.sweep
    first = math.atan2(segment.start[1] - cz, segment.start[0] - cr)
    passed = (math.copysign(1, sweep) * (angle - first) % math.tau for angle in angles)
    turns = sorted(turn for turn in passed if NEAR < turn < abs(sweep) - NEAR)
    return [_on_circle(segment, first + math.copysign(turn, sweep)) for turn in turns]


def _on_circle(segment: Segment, angle: float) -> Place:
    (cr, cz), radius = segment.centre, segment.radius
    return cr + radius * math.cos(angle), cz + radius * math.sin(angle)


def cut_at(segment: Segment, places: Iterable[Place]) -> list[Segment]:
    """The segment cut at these places of it."""
    stops = [segment.start, *places, segment.end]
    return [Segment(start, end, segment.arc) for start, end in pairwise(stops) if start != end]


def tangents(segment: Segment) -> tuple[Place, Place]:
    """The unit directions of travel at the start and at the end."""
    across, up = segment.chord[0] / segment.length, segment.chord[1] / segment.length
    half = segment.sweep / 2 if segment.arc else 0.0
    return _turned((across, up), -half), _turned((across, up), half)


def _turned(direction: Place, angle: float) -> Place:
    cos, sin = math.cos(angle), math.sin(angle)
    return direction[0] * cos - direction[1] * sin, direction[0] * sin + direction[1] * cos


def box(segments: Sequence[Segment]) -> Box:
    """Least radius, least height, greatest radius, greatest height."""
    quarters = (0.0, math.pi / 2, math.pi, -math.pi / 2)
    places = [place for s in segments for place in (s.start, s.end, *places_at(s, *quarters))]
    radii, heights = zip(*places, strict=True)
    return min(radii), min(heights), max(radii), max(heights)


def boxes_meet(one: Box, other: Box) -> bool:
    """Whether two boxes share a place."""
    return one[0] <= other[2] and other[0] <= one[2] and one[1] <= other[3] and other[1] <= one[3]


def _pieces(segment: Segment) -> list[tuple[Place, Place]]:
    if not segment.arc:
        return [(segment.start, segment.end)]
    count = max(2, math.ceil(abs(segment.sweep) / _CROSSING_STEP))
    cr, cz = segment.centre
    first = math.atan2(segment.start[1] - cz, segment.start[0] - cr)
    between = [_on_circle(segment, first + segment.sweep * step / count) for step in range(1, count)]
    return list(pairwise([segment.start, *between, segment.end]))


def _pieces_meet(a: Place, b: Place, c: Place, d: Place) -> bool:
    if not boxes_meet(_span(a, b), _span(c, d)):
        return False
    return _side(a, b, c) * _side(a, b, d) <= 0 and _side(c, d, a) * _side(c, d, b) <= 0


def _span(a: Place, b: Place) -> Box:
    return min(a[0], b[0]), min(a[1], b[1]), max(a[0], b[0]), max(a[1], b[1])


def _side(a: Place, b: Place, c: Place) -> float:
    """Positive where c lies to the left of the way from a to b, negative to the right, 0 on the line."""
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def cross(before: Segment, after: Segment, joined: bool) -> bool:
    """Whether two segments meet, apart from the point where `before` leads into `after` if joined."""
    for back, (a, b) in enumerate(reversed(_pieces(before))):
        for on, (c, d) in enumerate(_pieces(after)):
            at_the_joint = joined and back == on == 0
            if not at_the_joint and _pieces_meet(a, b, c, d):
                return True
    return False


def halfway(segment: Segment) -> Place:
    """The place half way along the segment."""
    if not segment.arc:
        return segment.middle
    rise = segment.radius * (1 - math.cos(segment.half_angle))
    return segment.middle[0] + segment.bulge[0] * rise, segment.middle[1] + segment.bulge[1] * rise
