"""Blanks: the disc a shape is spun from and by which rule, flat pieces, and what either weighs."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from .amounts import ONE, PI, ZERO, exactly, half_up, plain
from .errors import refuse
from .profile import Profile, hole_mm2, settled_float, surface_mm2

DIAMETER_PLACES = 1


class BlankRule(StrEnum):
    """The rule that gave a blank; rules differ by several per cent of metal, so a blank carries its own."""

    AS_CUT = "as cut"
    CONSTANT_WALL = "constant wall"
    CONSTANT_VOLUME = "constant volume"
    SHARP_CORNER = "sharp corner"
    CORNER_BY_SUBTRACTION = "round corner by subtraction"
    CORNER_BY_EQUAL_AREA = "round corner by equal area"
    CORNER_BY_CLASSES = "round corner by classes of diameter to radius"


CUP_RULES = (
    BlankRule.SHARP_CORNER,
    BlankRule.CORNER_BY_SUBTRACTION,
    BlankRule.CORNER_BY_EQUAL_AREA,
    BlankRule.CORNER_BY_CLASSES,
)


@dataclass(frozen=True, slots=True)
class Blank:
    """A disc by its diameter in mm, to 0.1 mm unless as cut, and the rule that gave it."""

    diameter_mm: Decimal
    rule: BlankRule


def constant_wall_blank(profile: Profile, allowance_mm: Decimal = ZERO) -> Blank:
    """The disc of the same area as the shape, plus a trimming allowance on the diameter, half-up to 0.1 mm.

    A hole in the middle is cut from the disc, so its area is part of the blank.
    """
    return Blank(_equal_area(profile, 1.0, allowance_mm), BlankRule.CONSTANT_WALL)


def constant_volume_blank(
    profile: Profile, thinning: Decimal, allowance_mm: Decimal = ZERO, record: str = "blank"
) -> Blank:
    """The disc of the same volume as the shape when its mean wall is `thinning` times the gauge of the sheet.

    Raises: PricingError `blank` where thinning is not above 0 and at most 1.
    """
    if not ZERO < thinning <= ONE:
        raise refuse("blank", record, "thinning", plain(thinning), "mean wall over gauge, above 0 and at most 1")
    return Blank(_equal_area(profile, float(thinning), allowance_mm), BlankRule.CONSTANT_VOLUME)


def _equal_area(profile: Profile, thinning: float, allowance_mm: Decimal) -> Decimal:
    area = surface_mm2(profile) * thinning + hole_mm2(profile)
    diameter = settled_float(2 * math.sqrt(area / math.pi))
    return half_up(diameter + allowance_mm, DIAMETER_PLACES)


@exactly
def cup_blank(
    rule: BlankRule,
    diameter_mm: Decimal,
    height_mm: Decimal,
    corner_mm: Decimal = ZERO,
    allowance_mm: Decimal = ZERO,
    record: str = "blank",
) -> Blank:
    """The disc for a straight cup with a flat bottom by a handbook's rule, plus an allowance, to 0.1 mm.

    Diameter and height are those of the mid-wall, `corner_mm` the radius between bottom and wall.

    Raises: PricingError `blank` for a rule that is not one for cups or a cup it does not hold for.
    Source: Machinery's Handbook, Drawing of sheet metal, eq. 39 (sharp corner) and eq. 40 (by subtraction,
    for a corner of at most a quarter of the height); equal area by Pappus and Guldinus; the classes are those
    of tool-design textbooks, from memory.
    """
    _check_cup(rule, diameter_mm, height_mm, corner_mm, record)
    return Blank(half_up(_cup_diameter(rule, diameter_mm, height_mm, corner_mm) + allowance_mm, DIAMETER_PLACES), rule)


def _check_cup(rule: BlankRule, diameter: Decimal, height: Decimal, corner: Decimal, record: str) -> None:
    if rule not in CUP_RULES:
        raise refuse("blank", record, "rule", repr(str(rule)), "one of " + ", ".join(CUP_RULES))
    for field, figure in (("diameter", diameter), ("height", height)):
        if figure <= 0:
            raise refuse("blank", record, field, plain(figure), "above 0 mm")
    if rule is BlankRule.SHARP_CORNER:
        largest, words = ZERO, "0: this rule is for a sharp corner"
    elif rule is BlankRule.CORNER_BY_SUBTRACTION:
        largest, words = (
            min(height / 4, diameter / 2),
            "at most a quarter of the height and half the diameter",
        )
    else:
        largest, words = min(height, diameter / 2), "at most the height and half the diameter"
    if not ZERO <= corner <= largest:
        raise refuse("blank", record, "corner radius", plain(corner), words)


def _cup_diameter(rule: BlankRule, d: Decimal, h: Decimal, r: Decimal) -> Decimal:
    sharp = (d * d + 4 * d * h).sqrt()
    if rule is BlankRule.CORNER_BY_SUBTRACTION:
        return sharp - r
    if rule is BlankRule.CORNER_BY_EQUAL_AREA:
        # Flat bottom, a quarter of a torus, straight wall.
        flat = d - 2 * r
        return (flat * flat + 4 * d * (h - r) + 2 * PI * r * flat + 8 * r * r).sqrt()
    if rule is BlankRule.CORNER_BY_CLASSES and d < 20 * r:
        return _by_classes(sharp, d, h, r)
    return sharp


def _by_classes(sharp: Decimal, d: Decimal, h: Decimal, r: Decimal) -> Decimal:
    if d >= 15 * r:
        return sharp - r / 2
    if d >= 10 * r:
        return sharp - r
    flat = d - 2 * r
    return (flat * flat + 4 * d * (h - r) + 2 * PI * r * (d - Decimal("0.7") * r)).sqrt()


@exactly
def difference_share(as_cut: Blank, derived: Blank) -> Decimal:
    """How far a blank as really cut is from the derived one, as a share of the derived diameter."""
    return abs(as_cut.diameter_mm - derived.diameter_mm) / derived.diameter_mm


def next_size(
    diameter_mm: Decimal, sizes_mm: Iterable[Decimal], record: str = "disc", field: str = "diameter"
) -> Decimal:
    """The smallest stocked disc that is not smaller than `diameter_mm`.

    Raises: PricingError `blank` where none is large enough.
    """
    stocked = sorted(sizes_mm)
    fitting = [size for size in stocked if size >= diameter_mm]
    if not fitting:
        allowed = f"at most the largest size stocked, {plain(stocked[-1])} mm" if stocked else "no size is stocked"
        raise refuse("blank", record, field, f"{plain(diameter_mm)} mm", allowed)
    return fitting[0]


@exactly
def disc_mm2(diameter_mm: Decimal) -> Decimal:
    """The area of a disc in mm²."""
    return PI * diameter_mm * diameter_mm / 4


@exactly
def rectangle_mm2(length_mm: Decimal, width_mm: Decimal) -> Decimal:
    """The area of a rectangle in mm²."""
    return length_mm * width_mm


@exactly
def oval_mm2(length_mm: Decimal, width_mm: Decimal) -> Decimal:
    """The area of an ellipse of that length and width in mm²."""
    return PI * length_mm * width_mm / 4


@exactly
def disc_mass_g(density: Decimal, thickness_mm: Decimal, diameter_mm: Decimal) -> Decimal:
    """The mass in g of a disc, density in g/cm³: ρ·t·π·d²/4000, not rounded.

    >>> half_up(disc_mass_g(Decimal("7.28"), Decimal("1.2"), Decimal("216")), 1)
    Decimal('320.1')
    """
    return density * thickness_mm * PI * diameter_mm * diameter_mm / 4000


@exactly
def flat_mass_g(density: Decimal, thickness_mm: Decimal, area_mm2: Decimal) -> Decimal:
    """The mass in g of a flat piece, density in g/cm³: ρ·t·area/1000, not rounded."""
    return density * thickness_mm * area_mm2 / 1000
