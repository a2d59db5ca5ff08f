"""Blanks, turned areas and masses against published values; published.json names each one's source.

Values the records mark `memory` are plain geometry, worked again by quadrature or from a mesh.
"""

import math
from decimal import Decimal

import numpy
import pytest
import trimesh
from scipy.integrate import quad

from pricing.blank import BlankRule, constant_wall_blank, cup_blank, disc_mass_g, flat_mass_g
from pricing.profile import Profile, enclosed_mm3, read_profile, surface_mm2
from pricing.units import from_grams, to_mm, to_mm2
from tests.checks.published import agrees, published, record

# Handbook sizes come in any unit; worked a thousand times larger (a hundred times, where they are in mm),
# the 0.1 mm to which a blank is rounded is small against the tolerance of the source.
SCALE = 1000
MM_SCALE = 100


def enlarged(*figures: str) -> list[Decimal]:
    return [Decimal(figure) * SCALE for figure in figures]


def profile(*rows: tuple[object, ...], scale: int = SCALE) -> Profile:
    return read_profile([[str(Decimal(str(figure)) * scale) for figure in row] for row in rows])


def blank_in_units(shape: Profile, scale: int = SCALE) -> Decimal:
    return constant_wall_blank(shape).diameter_mm / scale


def area_in_units(shape: Profile) -> Decimal:
    return Decimal(str(surface_mm2(shape))) / SCALE**2


CUPS = [
    ("BL-01", BlankRule.SHARP_CORNER, ("1.5", "2")),
    ("BL-02", BlankRule.SHARP_CORNER, ("2", "3")),
    ("BL-04", BlankRule.CORNER_BY_SUBTRACTION, ("2", "3", "0.25")),
    ("BL-05", BlankRule.CORNER_BY_EQUAL_AREA, ("2", "3", "0.25")),
    ("BL-06", BlankRule.CORNER_BY_CLASSES, ("2", "3", "0.25")),
    ("BL-08", BlankRule.SHARP_CORNER, ("25", "15")),
]


@pytest.mark.parametrize(("number", "rule", "sizes"), CUPS, ids=[number for number, _, _ in CUPS])
def test_a_cup_by_a_handbooks_rule(number, rule, sizes):
    blank = cup_blank(rule, *enlarged(*sizes))
    assert blank.rule is rule
    assert agrees(published(number), blank.diameter_mm / SCALE)


SHARP = profile((0, 0), (1, 0), (1, 3))
ROUND = profile((0, 0), ("0.75", 0), (1, "0.25", "0.25"), (1, 3))
FLANGED = profile((0, 0), (25, 0), (25, 40), (40, 40), scale=MM_SCALE)
STEPPED = profile((0, 0), (20, 0), (20, 30), (30, 30), (30, 50), scale=MM_SCALE)
SHAPES = [
    ("BL-02", SHARP, SCALE),
    ("BL-05", ROUND, SCALE),
    ("BL-08", profile((0, 0), ("12.5", 0), ("12.5", 15), scale=MM_SCALE), MM_SCALE),
    ("BL-13", FLANGED, MM_SCALE),
    ("BL-14", STEPPED, MM_SCALE),
]


@pytest.mark.parametrize(("number", "shape", "scale"), SHAPES, ids=[number for number, _, _ in SHAPES])
def test_a_blank_of_equal_area_from_the_profile(number, shape, scale):
    assert agrees(published(number), blank_in_units(shape, scale))


def test_two_rules_for_one_corner_differ_as_the_source_says():
    """BL-05 says 3.2 %: the rule by subtraction is 3.2 % under the other, the other 3.3 % over it."""
    by_subtraction = cup_blank(BlankRule.CORNER_BY_SUBTRACTION, *enlarged("2", "3", "0.25"))
    by_area = cup_blank(BlankRule.CORNER_BY_EQUAL_AREA, *enlarged("2", "3", "0.25"))
    under = 1 - by_subtraction.diameter_mm / by_area.diameter_mm
    metal = (by_area.diameter_mm / by_subtraction.diameter_mm) ** 2 - 1
    record(
        published("BL-05"),
        f"by subtraction {under * 100:.1f} % under it; by area {metal * 100:.1f} % more metal",
    )
    assert round(under, 3) == Decimal("0.032")
    assert round(metal, 3) == Decimal("0.066")


VESSELS = [
    ("BL-09", profile((0, 0), (1, 0), (2, "2.5"))),
    # Mean diameter 3 and slant 2.75 over a bottom of 2: radius 1 to 2, so the height is √(2.75² − 1).
    ("BL-10", profile((0, 0), (1, 0), (2, "2.561738"))),
]


@pytest.mark.parametrize(("number", "shape"), VESSELS, ids=[number for number, _ in VESSELS])
def test_a_flat_bottomed_conical_vessel(number, shape):
    check = published(number)
    assert agrees(check, area_in_units(shape), check.expected["area"])
    assert agrees(check, blank_in_units(shape), check.expected["D"])


def test_a_bowl_that_is_part_of_a_sphere():
    """A sphere through the rim and the bottom has radius (3² + 2²) / (2 × 2) = 3.25."""
    check = published("BL-12")
    assert agrees(check, blank_in_units(profile((0, 0), (3, 2, "3.25"))), check.expected["D"])
    assert agrees(check, blank_in_units(profile((0, 0), (3, 2, "3.25"))) / 2, check.expected["R"])


def test_the_wall_of_a_cone():
    check = published("BL-16")
    shape = read_profile([["30", "0"], ["50", "40"]])
    slant = math.hypot(20, 40) / 40
    by_quadrature, _ = quad(lambda z: 2 * math.pi * (30 + z / 2) * slant, 0, 40)
    assert abs(surface_mm2(shape) - by_quadrature) < 1e-6
    assert agrees(check, Decimal(str(surface_mm2(shape))))


def test_a_zone_of_a_sphere():
    check = published("BL-17")
    cap = read_profile([["0", "0"], ["51.234753", "25", "65"]])
    found = Decimal(str(surface_mm2(cap)))
    record(check, found)
    # The rim's radius √(65² − 40²) is typed to 0.000001 mm.
    assert abs(found - check.expected) <= check.tolerance


def test_a_torus_by_its_outer_and_inner_half():
    check = published("BL-18")
    outer = read_profile([["50", "-10"], ["50", "10", "10"]])
    inner = read_profile([["50", "-10"], ["50", "10", "-10"]])
    assert agrees(check, Decimal(str(surface_mm2(outer) + surface_mm2(inner))), check.expected["A"])
    assert agrees(check, Decimal(str(enclosed_mm3(outer) - enclosed_mm3(inner))), check.expected["V"])


def test_the_mass_of_a_disc():
    inches = to_mm(Decimal("0.070"), "inch"), to_mm(Decimal(10), "inch")
    assert agrees(published("BL-20"), disc_mass_g(Decimal("7.28"), *inches))
    assert agrees(published("BL-21"), disc_mass_g(Decimal("7.28"), Decimal("1.0"), Decimal(150)))


def test_the_mass_of_sheet_by_area():
    check = published("BL-22")
    per_m2 = flat_mass_g(Decimal("7.28"), Decimal(1), Decimal(1_000_000)) / 1000
    square_foot = flat_mass_g(Decimal("7.28"), Decimal(1), to_mm2(Decimal(144), "in2"))
    assert agrees(check, per_m2, check.expected["kg_m2"])
    assert agrees(check, from_grams(square_foot, "oz avoirdupois"), check.expected["oz_ft2"])


def revolved(line: list[tuple[float, float]], sections: int) -> float:
    """The area of the line turned, by trimesh, without the discs that close its ends."""
    mesh = trimesh.creation.revolve(numpy.array(line), sections=sections)
    return float(mesh.area)


def test_a_turned_area_against_a_mesh():
    check = published("BL-30")
    by_mesh = revolved([(0, 0), (1, 0), (2, 2.5)], 4096)
    shape = profile((0, 0), (1, 0), (2, "2.5"))
    assert abs(Decimal(str(by_mesh)) - check.expected) <= check.tolerance
    assert agrees(check, area_in_units(shape))


def test_a_bellied_shape_against_a_mesh_and_against_quadrature():
    """A bulge and a waist: no published value, so a mesh and the integral of 2πr ds stand for one."""
    shape = read_profile([["0", "0"], ["40", "0"], ["40", "60", "50"], ["40", "100", "-30"]])
    belly = math.sqrt(50**2 - 30**2)
    waist = math.sqrt(30**2 - 20**2)

    def radius(z: float) -> float:
        if z <= 60:
            return 40 - belly + math.sqrt(50**2 - (z - 30) ** 2)
        return 40 + waist - math.sqrt(30**2 - (z - 80) ** 2)

    def stretch(z: float) -> float:
        return 50 / math.sqrt(50**2 - (z - 30) ** 2) if z <= 60 else 30 / math.sqrt(30**2 - (z - 80) ** 2)

    walls = [quad(lambda z: 2 * math.pi * radius(z) * stretch(z), *span)[0] for span in ((0, 60), (60, 100))]
    area = math.pi * 40**2 + math.fsum(walls)
    assert abs(surface_mm2(shape) - area) < 1e-6 * area
    volume = math.fsum(quad(lambda z: math.pi * radius(z) ** 2, *span)[0] for span in ((0, 60), (60, 100)))
    assert abs(enclosed_mm3(shape) - volume) < 1e-6 * volume
    heights = numpy.linspace(0, 100, 801)
    by_mesh = revolved([(0, 0), *((radius(z), z) for z in heights)], 720)
    assert abs(surface_mm2(shape) / by_mesh - 1) < 1e-4
