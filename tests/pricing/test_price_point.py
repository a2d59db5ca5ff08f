"""Price points: neighbours as a list walked from its start has them, ties upward, and what lies outside the list."""

from __future__ import annotations

from decimal import Decimal as D
from fractions import Fraction as F
from math import ceil

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pricing.price_point import (
    DOWN,
    NEAREST,
    UP,
    Band,
    PricePoints,
    first_point,
    last_point,
    minor_grid,
    neighbours,
    preferred,
)

FAR = D(400)
cents = st.integers(0, 30_000).map(lambda n: D(n) / 100)
fine = st.integers(0, 30_000_000).map(lambda n: D(n) / 100_000)


@st.composite
def lists(draw: st.DrawFn) -> PricePoints:
    """Rising lists of one to three bands, with gaps, endings and, mostly, no end; each band holds a point."""
    starts = sorted(draw(st.sets(st.integers(0, 250), min_size=1, max_size=3)))
    bands = []
    for place, start in enumerate(starts):
        step = draw(st.sampled_from(("0.05", "0.25", "0.3", "1", "5", "7")))
        ending = draw(st.sampled_from(("0", "0", "0.95", "0.99", "3", "-0.05")))
        after = starts[place + 1] if place + 1 < len(starts) else draw(st.sampled_from((None, None, start + 40)))
        end = None if after is None else draw(st.integers(start, after)) or after
        band = Band(start=D(start), end=None if end is None else D(end), step=D(step), ending=D(ending))
        if end is None or (end > start and first_point(PricePoints(bands=(band,))) is not None):
            bands.append(band)
    if not bands:
        bands = [Band(step=D("0.5"))]
    return PricePoints(direction=draw(st.sampled_from((NEAREST, UP, DOWN))), bands=tuple(bands))


def walked(points: PricePoints) -> list[F]:
    """Every point of a list, an open end as far as these tests go."""
    found = []
    for band in points.bands:
        start, step, ending = F(band.start), F(band.step), F(band.ending)
        end = F(FAR) + 20 if band.end is None else F(band.end)
        point = ceil((start - ending) / step) * step + ending
        while point < end:
            if point > 0:
                found.append(point)
            point += step
    return found


@given(lists(), fine)
def test_neighbours_are_those_of_the_list_walked_from_its_start(points: PricePoints, amount: D) -> None:
    every = walked(points)
    below, above, direction = neighbours(points, 2, amount)
    if F(amount) <= every[-1]:
        assert direction == points.direction
        assert above is not None
        assert F(above) == min(point for point in every if point >= F(amount))
        assert (None if below is None else F(below)) == max((p for p in every if p <= F(amount)), default=None)
    else:
        assert direction == NEAREST
        assert (below, above) == neighbours(None, 2, amount)[:2]


@given(lists())
def test_first_and_last_are_the_ends_of_the_list(points: PricePoints) -> None:
    every = walked(points)
    first, last = first_point(points), last_point(points)
    assert first is not None
    assert F(first) == every[0]
    assert last is None if points.bands[-1].end is None else F(last or 0) == every[-1]


@given(lists(), fine)
def test_a_point_is_its_own_neighbour_whatever_the_direction(points: PricePoints, amount: D) -> None:
    for point in neighbours(points, 2, amount)[:2]:
        if point is not None:
            below, above, direction = neighbours(points, 2, point)
            assert below == above == preferred(below, above, direction, point) == point


@given(lists(), fine, fine)
def test_a_greater_amount_never_goes_to_a_lower_point(points: PricePoints, one: D, other: D) -> None:
    low, high = sorted((one, other))
    goes = [preferred(*neighbours(points, 2, amount), amount) for amount in (low, high)]
    assert goes[0] <= goes[1]


@given(cents)
def test_without_a_list_every_amount_of_the_minor_unit_is_a_point_but_nothing(amount: D) -> None:
    below, above, direction = neighbours(None, 2, amount)
    assert direction == NEAREST
    assert (below, above) == ((amount, amount) if amount else (None, D("0.01")))


@pytest.mark.parametrize(
    ("minor_unit", "below", "above"), [(0, "8857", "8858"), (2, "8857.14", "8857.15"), (3, "8857.142", "8857.143")]
)
def test_the_minor_unit_is_the_currencys(minor_unit: int, below: str, above: str) -> None:
    assert neighbours(None, minor_unit, D("8857.142857"))[:2] == (D(below), D(above))
    assert minor_grid(minor_unit).step == D(1).scaleb(-minor_unit)


@pytest.mark.parametrize(
    ("direction", "amount", "point"),
    [
        (NEAREST, "12.45", "12.95"),
        (NEAREST, "12.4499999999", "11.95"),
        (UP, "11.96", "12.95"),
        (DOWN, "12.94", "11.95"),
    ],
)
def test_nearest_up_and_down(direction: str, amount: str, point: str) -> None:
    assert preferred(D("11.95"), D("12.95"), direction, D(amount)) == D(point)


def test_the_only_neighbour_is_preferred_and_none_is_refused() -> None:
    assert preferred(None, D(5), DOWN, D(1)) == D(5)
    assert preferred(D(5), None, UP, D(9)) == D(5)
    with pytest.raises(ValueError, match="neighbour"):
        preferred(None, None, NEAREST, D(1))


def test_a_great_amount_keeps_every_digit() -> None:
    amount = D("12345678901234567890123.005")
    below, above, direction = neighbours(None, 2, amount)
    assert preferred(below, above, direction, amount) == D("12345678901234567890123.01")
