"""A turned shape drawn from the side, as SVG path data."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from .amounts import half_up, plain
from .profile import Profile, settled_float
from .segment import NEAR, Place, Segment, box
from .wall import faces


@dataclass(frozen=True, slots=True)
class Outline:
    """A shape drawn from the side as SVG path data, in mm with y downwards; fill the wall with `evenodd`.

    `silhouette` is everything inside the outer face, `wall` the cut metal; `view_box` is x, y, width, height.
    """

    silhouette: str
    wall: str
    view_box: tuple[Decimal, Decimal, Decimal, Decimal]


def svg_outline(profile: Profile, wall_mm: Decimal, record: str = "profile") -> Outline:
    """The shape seen from the side with its wall cut open, mirrored about the axis, in figures of 0.1 mm.

    Raises: PricingError `profile` where the wall is thicker than an arc allows.
    """
    inner, outer = faces(profile, wall_mm, record)
    return Outline(
        silhouette=_loop([*outer, *_mirrored(_reversed(outer))]),
        wall=_wall_path(outer, inner),
        view_box=_view_box([*outer, *inner]),
    )


def _reversed(segments: Sequence[Segment]) -> list[Segment]:
    return [Segment(s.end, s.start, -s.arc) for s in reversed(segments)]


def _mirrored(segments: Sequence[Segment]) -> list[Segment]:
    return [Segment((-s.start[0], s.start[1]), (-s.end[0], s.end[1]), -s.arc) for s in segments]


def _wall_path(outer: list[Segment], inner: list[Segment]) -> str:
    half = [*outer, *_reversed(inner)]
    other_half = _mirrored(_reversed(half))
    # A shape closed at the axis is one loop without a seam down the middle.
    return _loop([*half, *other_half]) if abs(outer[0].start[0]) < NEAR else f"{_loop(half)} {_loop(other_half)}"


def _loop(segments: Sequence[Segment]) -> str:
    at = _drawn(segments[0].start)
    steps = [f"M{at}"]
    for segment in segments:
        if _drawn(segment.start) != at:
            steps.append(f"L{_drawn(segment.start)}")
        at = _drawn(segment.end)
        steps.append(f"{_arc_to(segment)}{at}")
    return " ".join([*steps, "Z"])


def _arc_to(segment: Segment) -> str:
    if not segment.arc:
        return "L"
    radius = _tenths(segment.radius)
    return f"A{radius} {radius} 0 0 {0 if segment.arc > 0 else 1} "


def _drawn(place: Place) -> str:
    return f"{_tenths(place[0])} {_tenths(-place[1])}"


def _tenths(figure: float) -> str:
    return plain(half_up(settled_float(figure), 1))


def _view_box(segments: Sequence[Segment]) -> tuple[Decimal, Decimal, Decimal, Decimal]:
    _, low, radius, high = box(segments)
    across, top, up = (half_up(settled_float(figure), 1) for figure in (radius, high, high - low))
    return -across, -top, 2 * across, up
