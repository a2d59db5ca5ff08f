"""Units against published exact values and against pint; published.json names each one's source."""

from decimal import Decimal

import pint
import pytest

from pricing import units
from pricing.errors import PricingError
from tests.checks.published import agrees, of_topic, published, record

EXACT = [check for check in of_topic("4 unit") if check.inputs == "exact by definition"]
ENGINE_NAMES = {
    "lb avoirdupois": "lb",
    "oz avoirdupois": "oz avoirdupois",
    "US liquid pint": "US pint",
}
PINT_NAMES = {
    "oz avoirdupois": "ounce",
    "lb": "pound",
    "troy oz": "troy_ounce",
    "tonne": "metric_ton",
    "short ton": "short_ton",
    "long ton": "long_ton",
    "US hundredweight": "hundredweight",
    "mm2": "millimeter**2",
    "cm2": "centimeter**2",
    "dm2": "decimeter**2",
    "in2": "inch**2",
    "l": "liter",
    "US fl oz": "fluid_ounce",
    "US pint": "pint",
    "US gallon": "gallon",
    "imperial fl oz": "imperial_fluid_ounce",
    "imperial pint": "imperial_pint",
    "imperial gallon": "imperial_gallon",
}
TABLES = [
    (units.GRAMS, units.to_grams, "gram"),
    (units.MILLIMETRES, units.to_mm, "millimeter"),
    (units.SQUARE_MILLIMETRES, units.to_mm2, "millimeter**2"),
    (units.MILLILITRES, units.to_ml, "milliliter"),
]


@pytest.fixture(scope="module")
def exact_registry() -> pint.UnitRegistry:
    return pint.UnitRegistry(non_int_type=Decimal)


@pytest.mark.parametrize("check", EXACT, ids=lambda check: check.id)
def test_exact_by_definition(check):
    name = check.quantity.removeprefix("1 ")
    value, measure = check.expected.split()
    convert = {"g": units.to_grams, "ml": units.to_ml}[measure]
    found = convert(Decimal(1), ENGINE_NAMES.get(name, name))
    record(check, f"{found} {measure}")
    assert found == Decimal(value)


def test_the_exact_values_of_the_topic_are_all_read():
    assert len(EXACT) == 11


@pytest.mark.parametrize(
    ("unit", "convert", "measure"),
    [(unit, convert, measure) for table, convert, measure in TABLES for unit in table],
)
def test_every_unit_agrees_with_pint(unit, convert, measure, exact_registry):
    pints = exact_registry.Quantity(Decimal("7.25"), PINT_NAMES.get(unit, unit)).to(measure).magnitude
    # pint multiplies through chains of units at 28 digits.
    assert abs(convert(Decimal("7.25"), unit) / pints - 1) < Decimal("1e-24")


def test_exact_where_floats_are_not():
    check = published("UN-16")
    in_floats = pint.UnitRegistry()("1 lb").to("g").magnitude
    assert abs(Decimal(repr(in_floats)) / Decimal(check.expected) - 1) <= Decimal("1e-12")
    found = units.to_grams(Decimal(1), "lb")
    record(check, f"{found}, not {in_floats!r}")
    assert found == Decimal("453.59237") != Decimal(in_floats)


def test_a_bare_ton_and_a_bare_pint_are_refused_and_the_us_ones_are_those_of_the_source():
    check = published("UN-17")
    for convert, unit in ((units.to_grams, "ton"), (units.to_ml, "pint")):
        with pytest.raises(PricingError):
            convert(Decimal(1), unit)
    ton, pint_us = units.kg_in("short ton"), units.to_ml(Decimal(1), "US pint")
    record(check, f"bare names refused; short ton {ton} kg, US pint {pint_us} ml")
    assert abs(ton - check.expected["ton_kg"]) <= check.tolerance
    assert abs(pint_us - check.expected["pint_ml"]) <= check.tolerance


def test_a_tin_lot_and_its_tick_per_kg():
    """30,000 USD/t: a lot is 150,000 USD, one tick of the price is 25 USD a lot (the record's note)."""
    check = published("UN-18")
    lot_kg = units.to_grams(Decimal(check.expected["lot_t"]), "tonne") / 1000
    per_kg = Decimal(30000) / units.kg_in("tonne")
    tick_per_kg = check.expected["tick_outright"] / units.kg_in("tonne")
    record(check, f"lot {lot_kg * per_kg} USD, tick {lot_kg * tick_per_kg} USD")
    assert lot_kg * per_kg == 150000
    assert lot_kg * tick_per_kg == 25


def test_agreement_is_judged_by_the_records_own_tolerance():
    check = published("BL-13")
    assert agrees(check, Decimal("120.00005"))
    assert not agrees(check, Decimal("120.0002"))
