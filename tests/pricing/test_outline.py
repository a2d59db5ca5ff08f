"""An outline is mirrored about the axis, drawn in tenths, inside its view box, with a wall of true area."""

import re
from decimal import Decimal

import pytest

from pricing.outline import svg_outline
from pricing.profile import read_profile

CUP = read_profile([["0", "0"], ["40", "0"], ["40", "100"]])
GOBLET = read_profile([["0", "0"], ["22", "12", "40"], ["30", "60", "70"], ["33", "66", "-20"]])
COLLAR = read_profile([["15", "0"], ["18", "3", "3"], ["18", "20"]])
BALL = read_profile([["0", "0"], ["12", "12", "12"], ["0", "24", "12"]])
SHAPES = [CUP, GOBLET, COLLAR, BALL]


def places(path: str) -> list[tuple[Decimal, Decimal]]:
    ends = re.findall(r"(?:[ML]|A\S+ \S+ 0 0 [01] )(\S+) (\S+)", path)
    return [(Decimal(x), Decimal(y)) for x, y in ends]


def enclosed(path: str) -> Decimal:
    """The area within the straight lines between the places of every loop."""
    total = Decimal(0)
    for loop in filter(None, path.split("Z")):
        corners = places(loop)
        sides = zip(corners, [*corners[1:], corners[0]], strict=True)
        total += abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in sides)) / 2
    return total


def test_a_straight_cup_drawn_by_hand():
    outline = svg_outline(CUP, Decimal(2))
    assert outline.silhouette == "M0 1 L41 1 L41 -100 L-41 -100 L-41 1 L0 1 Z"
    assert outline.wall == ("M0 1 L41 1 L41 -100 L39 -100 L39 -1 L0 -1 L-39 -1 L-39 -100 L-41 -100 L-41 1 L0 1 Z")
    assert outline.view_box == (Decimal(-41), Decimal(-100), Decimal(82), Decimal(101))


def test_an_arc_is_drawn_as_an_arc_on_either_side():
    outline = svg_outline(read_profile([["0", "0"], ["50", "50", "50"]]), Decimal(2))
    assert outline.silhouette == "M0 1 A51 51 0 0 0 51 -50 L-51 -50 A51 51 0 0 0 0 1 Z"
    assert outline.wall == (
        "M0 1 A51 51 0 0 0 51 -50 L49 -50 A49 49 0 0 1 0 -1 A49 49 0 0 1 -49 -50 L-51 -50 A51 51 0 0 0 0 1 Z"
    )


@pytest.mark.parametrize("shape", SHAPES)
def test_both_sides_are_the_same(shape):
    outline = svg_outline(shape, Decimal("1.2"))
    for path in (outline.silhouette, outline.wall):
        drawn = places(path)
        assert sorted(set(drawn)) == sorted({(-x, y) for x, y in drawn})


@pytest.mark.parametrize("shape", SHAPES)
def test_figures_are_tenths_and_inside_the_view_box(shape):
    outline = svg_outline(shape, Decimal("1.2"))
    x, y, width, height = outline.view_box
    for path in (outline.silhouette, outline.wall):
        assert not re.search(r"\.\d\d|e|-0(?![.\d])|nan|inf", path)
        assert all(x <= px <= x + width and y <= py <= y + height for px, py in places(path))


def test_the_view_box_holds_a_belly_wider_than_its_points():
    outline = svg_outline(read_profile([["20", "0"], ["20", "40", "20"]]), Decimal(2))
    assert outline.view_box == (Decimal(-41), Decimal(-41), Decimal(82), Decimal(42))


@pytest.mark.parametrize("wall", ["0.8", "1.2", "3"])
def test_the_cut_wall_has_the_area_of_the_wall(wall):
    assert enclosed(svg_outline(CUP, Decimal(wall)).wall) == 2 * Decimal(wall) * 140


def test_a_hole_leaves_two_separate_sections():
    outline = svg_outline(read_profile([["20", "0"], ["40", "0"]]), Decimal(2))
    assert outline.wall == "M20 1 L40 1 L40 -1 L20 -1 Z M-20 -1 L-40 -1 L-40 1 L-20 1 Z"
    assert outline.silhouette == "M20 1 L40 1 L-40 1 L-20 1 Z"
