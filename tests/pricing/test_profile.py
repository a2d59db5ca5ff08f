"""A profile is read strictly, refused where it cannot be turned; its area and volume are the true ones."""

import math
from decimal import Decimal
from itertools import accumulate

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pricing.errors import PricingError
from pricing.profile import (
    Point,
    Profile,
    enclosed_mm3,
    read_profile,
    settled_float,
    surface_cm2,
    surface_mm2,
    write_profile,
)

TANKARD = [["0", "0"], ["37.5", "0"], ["40.5", "3", "3"], ["36", "60"], ["38", "112", "-400"]]


def test_rows_of_decimal_strings_go_in_and_come_out():
    profile = read_profile(TANKARD)
    assert profile.points[2] == Point(Decimal("40.5"), Decimal(3), Decimal(3))
    assert write_profile(profile) == TANKARD
    assert read_profile(write_profile(profile)) == profile


def test_a_straight_may_be_written_as_an_arc_of_0():
    assert read_profile([["0", "0", "0"], ["5", "0", "0"]]) == read_profile([["0", "0"], ["5", "0"]])


FAULTS = [
    ([["0", "0"]], "1 points", "two points or more"),
    ([["0", "0"], ["-2", "5"]], "point 2 (-2, 5)", "a radius of 0 or more"),
    ([["0", "0"], ["20", "0"], ["20.0", "0"]], "point 2 (20, 0) and point 3 (20, 0) in one place", "apart"),
    (
        [["0", "0"], ["3", "4", "2.49"]],
        "arc of radius 2.49 between point 1",
        "at least half the distance, 2.5000",
    ),
    ([["0", "0"], ["3", "4", "-2.49"]], "arc of radius -2.49 between point 1", "on either side"),
    ([["0", "0", "5"], ["3", "4"]], "an arc that leads to point 1", "no arc at the first point"),
    ([["0", "0"], ["0", "9"], ["5", "9"]], "a wall on the axis between point 1", "leaves the axis"),
    (
        [["1", "0"], ["1", "40", "-20"]],
        "an arc across the axis between points 1 and 2",
        "one side of the axis",
    ),
    ([["0", "0"], ["10001", "0"]], "10001 at point 2", "at most 10000 mm"),
    ([["0", "0"], ["30", "0"], ["10", "0"]], "a fold back on itself at point 2", "less than 180°"),
    (
        [["0", "0"], ["30", "0"], ["30", "20"], ["10", "20"], ["10", "-5"]],
        "points 1 to 2 and points 4 to 5 that meet",
        "does not touch or cross itself",
    ),
    (
        [["0", "0"], ["30", "0"], ["30", "20"], ["15", "20"], ["15", "0"]],
        "points 1 to 2 and points 4 to 5 that meet",
        "does not touch or cross itself",
    ),
    (
        [["0", "0"], ["30", "0"], ["30", "30"], ["30", "-10", "20"]],
        "points 1 to 2 and points 3 to 4 that meet",
        "does not touch or cross itself",
    ),
    ([["30", "0"], ["30", "40"], ["30", "20", "10"]], "points 1 to 2 and points 2 to 3 that meet", "itself"),
    (
        [["20", "0"], ["40", "20"], ["20", "40"], ["20", "0"]],
        "points 1 to 2 and points 3 to 4 that meet",
        "itself",
    ),
]


@pytest.mark.parametrize(("rows", "found", "allowed"), FAULTS)
def test_a_shape_that_cannot_be_turned_is_refused(rows, found, allowed):
    with pytest.raises(PricingError) as refused:
        read_profile(rows, "TK102 body", "profile")
    fault = refused.value.fault
    assert refused.value.code == "profile"
    assert (fault.record, fault.field) == ("TK102 body", "profile")
    assert found in fault.found
    assert allowed in fault.allowed


@pytest.mark.parametrize("rows", [None, "0 0", {"0": "0"}, [["0", "0"], "12"], [["0", "0"], ["1"]], [["0"] * 4]])
def test_what_is_not_a_list_of_points_is_refused(rows):
    with pytest.raises(PricingError) as refused:
        read_profile(rows, "TK102 body", "profile")
    assert refused.value.code == "profile"


@pytest.mark.parametrize("figure", [12, 12.5, "12,5", "1e3", "", " 1", None, "NaN"])
def test_a_figure_that_is_not_a_decimal_string_is_refused(figure):
    with pytest.raises(PricingError) as refused:
        read_profile([["0", "0"], [figure, "5"]], "TK102 body", "profile")
    assert refused.value.code == "amount"
    assert refused.value.fault.field == "profile, point 2"


def test_points_made_without_reading_are_checked_too():
    with pytest.raises(PricingError, match="figures of at most 10000 mm"):
        Profile((Point(Decimal(0), Decimal(0)), Point(Decimal("Infinity"), Decimal(0))))


def test_shapes_that_only_come_near_themselves_are_allowed():
    rolled = [
        ["0", "0"],
        ["40", "0"],
        ["40", "100"],
        ["43", "103", "-3"],
        ["46", "100", "-3"],
        ["43", "97.1", "-3"],
    ]
    assert len(read_profile(rolled).points) == 6
    assert len(read_profile([["0", "0"], ["50", "50", "50"], ["0", "100", "50"]]).points) == 3


def test_known_areas_and_volumes():
    sphere = read_profile([["0", "0"], ["50", "50", "50"], ["0", "100", "50"]])
    assert math.isclose(surface_mm2(sphere), 4 * math.pi * 50**2, rel_tol=1e-14)
    assert math.isclose(enclosed_mm3(sphere), 4 / 3 * math.pi * 50**3, rel_tol=1e-14)
    ring = read_profile([["10", "0"], ["20", "0"]])
    assert math.isclose(surface_mm2(ring), math.pi * 300, rel_tol=1e-14)
    assert surface_cm2(ring) == Decimal("9.4")
    cone = read_profile([["0", "0"], ["30", "40"]])
    assert math.isclose(surface_mm2(cone), math.pi * 30 * 50, rel_tol=1e-14)
    assert math.isclose(enclosed_mm3(cone), math.pi * 30**2 * 40 / 3, rel_tol=1e-14)


def test_an_almost_straight_arc_is_almost_a_straight():
    straight = read_profile([["20", "0"], ["30", "40"]])
    for arc in ("10000", "-10000"):
        arched = read_profile([["20", "0"], ["30", "40", arc]])
        assert math.isclose(surface_mm2(arched), surface_mm2(straight), rel_tol=1e-3)
        assert math.isclose(enclosed_mm3(arched), enclosed_mm3(straight), rel_tol=3e-3)
    outward, inward = (read_profile([["20", "0"], ["30", "40", arc]]) for arc in ("10000", "-10000"))
    assert surface_mm2(inward) < surface_mm2(straight) < surface_mm2(outward)


def test_noise_in_the_last_bits_does_not_tip_a_rounding():
    assert settled_float(0.1 + 0.2) == Decimal("0.3")
    assert settled_float(2.675 * 1) == Decimal("2.675")


steps = st.tuples(st.integers(1, 400), st.integers(1, 400))


@st.composite
def bowls(draw: st.DrawFn) -> list[tuple[Decimal, Decimal]]:
    """Straight-sided bowls, each wall steeper than the one below, in tenths of a millimetre."""
    ways = sorted(draw(st.lists(steps, min_size=2, max_size=8)), key=lambda way: way[1] / way[0])
    radii = accumulate((across for across, _ in ways), initial=0)
    heights = accumulate((up for _, up in ways), initial=0)
    return [(Decimal(r) / 10, Decimal(z) / 10) for r, z in zip(radii, heights, strict=True)]


def of(places: list[tuple[Decimal, Decimal]]) -> Profile:
    return Profile(tuple(Point(*place) for place in places))


@given(bowls(), st.data())
def test_a_bowl_pushed_outward_anywhere_has_more_area(bowl, data):
    which = data.draw(st.integers(1, len(bowl) - 1))
    push = Decimal(data.draw(st.integers(1, 500))) / 10
    pushed = [(r + push, z) if index == which else (r, z) for index, (r, z) in enumerate(bowl)]
    assert surface_mm2(of(pushed)) > surface_mm2(of(bowl))
    assert enclosed_mm3(of(pushed)) > enclosed_mm3(of(bowl))


@given(st.integers(1, 200), st.integers(1, 200), st.integers(0, 300), st.integers(1, 9), st.sampled_from([-1, 1]))
def test_a_shape_k_times_as_large_has_k_squared_the_area(r, z, slack, k, side):
    arc = side * (math.isqrt(r * r + z * z) // 2 + 1 + slack)
    foot = 2 * abs(arc)
    small, large = (
        read_profile([["0", "0"], [str(foot * m), "0"], [str((foot + r) * m), str(z * m), str(arc * m)]])
        for m in (1, k)
    )
    assert math.isclose(surface_mm2(large), k**2 * surface_mm2(small), rel_tol=1e-12)
    assert math.isclose(enclosed_mm3(large), k**3 * enclosed_mm3(small), rel_tol=1e-9)
