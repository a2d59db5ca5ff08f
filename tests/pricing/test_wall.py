"""What a shape holds, against solids whose volume everyone knows and against quadrature."""

import math
from decimal import Decimal

import pytest
from scipy.integrate import quad

from pricing.errors import PricingError
from pricing.profile import read_profile
from pricing.wall import capacity_ml, faces

CUP = read_profile([["0", "0"], ["40", "0"], ["40", "100"]])
BOWL = read_profile([["0", "0"], ["50", "50", "50"]])


def ml(mm3: float) -> Decimal:
    return Decimal(f"{mm3 / 1000:.1f}")


def test_a_straight_cup_holds_what_is_inside_its_wall():
    assert capacity_ml(CUP, Decimal(2)) == ml(math.pi * 39**2 * 99)
    assert capacity_ml(CUP, Decimal("1.2")) == ml(math.pi * 39.4**2 * 99.4)


def test_up_to_a_line():
    assert capacity_ml(CUP, Decimal(2), line_mm=Decimal(51)) == ml(math.pi * 39**2 * 50)
    assert capacity_ml(CUP, Decimal(2), line_mm=Decimal(100)) == capacity_ml(CUP, Decimal(2))
    assert capacity_ml(CUP, Decimal(2), line_mm=Decimal(1)) == 0


def test_half_a_sphere_to_the_brim_and_to_a_line():
    assert capacity_ml(BOWL, Decimal(2)) == ml(2 / 3 * math.pi * 49**3)
    assert capacity_ml(BOWL, Decimal(2), line_mm=Decimal(21)) == ml(math.pi * 20**2 * (3 * 49 - 20) / 3)


def test_a_round_corner_and_a_sharp_one():
    rounded = read_profile([["0", "0"], ["30", "0"], ["40", "10", "10"], ["40", "100"]])
    corner = quad(lambda z: math.pi * (30 + math.sqrt(81 - (9 - z) ** 2)) ** 2, 0, 9)[0]
    assert capacity_ml(rounded, Decimal(2)) == ml(corner + math.pi * 39**2 * 90)


def test_a_cone_is_offset_square_to_its_wall():
    cone = read_profile([["0", "0"], ["30", "0"], ["50", "80"]])
    # The inner wall lies 1 mm in, square to a slope of 80 in 20.
    inward = math.hypot(20, 80) / 80
    low = 30 + 20 / 80 * 1 - inward
    high = low + 20 / 80 * (79 - math.sin(math.atan2(20, 80)) * -1)
    top = 80 + math.sin(math.atan2(20, 80)) - 1
    volume = math.pi * top * (low**2 + low * high + high**2) / 3
    assert capacity_ml(cone, Decimal(2)) == ml(volume)


def test_a_bottom_pushed_up_takes_room():
    pushed = read_profile([["0", "5"], ["30", "0"], ["40", "0"], ["40", "100"]])
    flat = read_profile([["0", "0"], ["30", "0"], ["40", "0"], ["40", "100"]])
    cone = math.pi * 30**2 * 5 / 3
    loss = capacity_ml(flat, Decimal("0.001")) - capacity_ml(pushed, Decimal("0.001"))
    assert abs(loss - ml(cone)) <= Decimal("0.1")
    # Below the top of the push only the ring around it fills.
    ring = math.pi * 40**2 * 2 - math.pi * 2 * (30**2 + 30 * 18 + 18**2) / 3
    assert abs(capacity_ml(pushed, Decimal("0.001"), line_mm=Decimal(2)) - ml(ring)) <= Decimal("0.1")


def test_what_hangs_outside_the_brim_does_not_count():
    straight = [["0", "0"], ["40", "0"], ["40", "100"]]
    turned_over = [*straight, ["43", "103", "-3"], ["46", "100", "-3"], ["46", "90"]]
    higher = [*straight, ["43", "103", "-3"]]
    wall = Decimal("1.2")
    assert capacity_ml(read_profile(turned_over), wall) == capacity_ml(read_profile(higher), wall)
    assert capacity_ml(read_profile(turned_over), wall) > capacity_ml(read_profile(straight), wall)
    bead = read_profile([*straight, ["45", "100", "-2.5"]])
    assert capacity_ml(bead, wall) > capacity_ml(read_profile(straight), wall)


def test_a_hole_counts_as_closed_at_the_first_point():
    open_body = read_profile([["40", "0"], ["40", "100"]])
    assert capacity_ml(open_body, Decimal(2)) == ml(math.pi * 39**2 * 100)


def test_a_foot_that_opens_downwards_holds_nothing():
    assert capacity_ml(read_profile([["5", "40"], ["30", "0"]]), Decimal(1)) == 0
    assert capacity_ml(read_profile([["0", "0"], ["120", "0"]]), Decimal(1)) == 0


def test_both_faces_are_half_a_wall_away():
    inner, outer = faces(BOWL, Decimal(3))
    assert (inner[0].radius, outer[0].radius) == (48.5, 51.5)
    assert inner[0].start == (0.0, 1.5)
    assert outer[0].start == (0.0, -1.5)


@pytest.mark.parametrize(("wall", "rows"), [("2.4", ["40", "1.2", "1.2"]), ("5", ["40", "1.2", "1.2"])])
def test_a_wall_too_thick_for_an_arc_is_refused(wall, rows):
    profile = read_profile([["0", "0"], ["38.8", "0"], rows, ["40", "100"]])
    with pytest.raises(PricingError, match=r"TK102 body, wall thickness: found an arc of radius 1.2 mm") as refused:
        capacity_ml(profile, Decimal(wall), record="TK102 body")
    assert refused.value.code == "profile"
    assert capacity_ml(profile, Decimal("2.3")) > 0


@pytest.mark.parametrize("wall", ["0", "-1"])
def test_a_wall_of_nothing_is_refused(wall):
    with pytest.raises(PricingError, match="a thickness above 0"):
        faces(CUP, Decimal(wall))


@pytest.mark.parametrize("line", ["0.9", "100.1", "-5"])
def test_a_line_outside_the_shape_is_refused(line):
    with pytest.raises(PricingError, match=r"line height: found .* a height inside the shape, 1.0 to 100.0 mm"):
        capacity_ml(CUP, Decimal(2), line_mm=Decimal(line))
