"""Gauges against published thicknesses; published.json names each one's source."""

from decimal import Decimal
from fractions import Fraction
from itertools import pairwise

import pytest

from pricing.errors import PricingError
from pricing.units import BROWN_AND_SHARPE, SWG, from_mm, gauge_mm
from tests.checks.published import agrees, of_topic, published, record

SYSTEMS = {"AWG": BROWN_AND_SHARPE, "SWG": SWG}
THICKNESSES = [check for check in of_topic("2 gauge") if check.id.startswith(("GA-A", "GA-S"))]


@pytest.mark.parametrize("check", THICKNESSES, ids=lambda check: check.id)
def test_thickness_in_mm_and_in_inches(check):
    system, number, _ = check.quantity.split()
    found = gauge_mm(number, SYSTEMS[system])
    assert agrees(check, found, check.expected["mm"])
    # Sources print inches to 0.0001.
    assert abs(from_mm(found, "inch") - Decimal(str(check.expected["in"]))) <= Decimal("0.00006")


def gauge_number(place: int) -> str:
    return str(place) if place > 0 else "0" * (1 - place)


def test_the_numbers_of_the_topic_are_all_read():
    assert len(THICKNESSES) == 28


def test_the_formula_between_its_two_anchors():
    """ASTM B258: 39 equal ratios from 0.005 in at 36 to 0.46 in at 0000, in fractions."""
    check = published("GA-00")
    for number in range(-3, 57):
        mm = gauge_mm(gauge_number(number), BROWN_AND_SHARPE)
        low, high = (Fraction(mm) + half for half in (Fraction(-1, 20000), Fraction(1, 20000)))
        whole = Fraction("0.127") ** 39 * Fraction(92) ** (36 - number)
        assert low**39 <= whole < high**39, number
    record(check, "60 numbers, 0000 to 56, each within half of 0.0001 mm")


def test_the_same_number_in_two_systems():
    check = published("GA-T1")
    brown_and_sharpe, imperial = gauge_mm("18", BROWN_AND_SHARPE), gauge_mm("18", SWG)
    record(check, f"{brown_and_sharpe} and {imperial}")
    assert abs(brown_and_sharpe - check.expected["AWG_mm"]) <= check.tolerance
    assert abs(imperial - check.expected["SWG_mm"]) <= check.tolerance


def test_a_steel_sheet_gauge_is_refused():
    check = published("GA-T2")
    with pytest.raises(PricingError, match="Brown & Sharpe, B&S, AWG, SWG") as refused:
        gauge_mm("16", "Manufacturers Standard")
    record(check, f"refused: {refused.value}")


# Knots of the Imperial Standard Wire Gauge, inches; straight between them, 0 counting as 0, 00 as -1.
# Source: GNU Units 2.22, definitions.units v3.15 (2022), "brwiregauge", Debian package "units"; opened.
SWG_KNOTS = {
    **{-6: "0.5", -5: "0.464", -3: "0.4", -2: "0.372", 3: "0.252", 6: "0.192", 10: "0.128", 14: "0.08"},
    **{
        19: "0.04",
        23: "0.024",
        26: "0.018",
        28: "0.0148",
        30: "0.0124",
        39: "0.0052",
        49: "0.0012",
        50: "0.001",
    },
}


def swg_between_knots(place: int) -> Fraction:
    for (low, thick), (high, thin) in pairwise(SWG_KNOTS.items()):
        if low <= place <= high:
            share = Fraction(place - low, high - low)
            return Fraction(thick) * (1 - share) + Fraction(thin) * share
    raise AssertionError(place)


@pytest.mark.parametrize("place", range(-6, 51))
def test_every_swg_number_against_the_knots(place):
    number = gauge_number(place)
    exact_mm = swg_between_knots(place) * Fraction("25.4")
    assert abs(Fraction(gauge_mm(number, SWG)) - exact_mm) <= Fraction(1, 20000)
