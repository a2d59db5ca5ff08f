"""Units convert exactly, both ways, and a name with two meanings is refused."""

from decimal import Decimal, localcontext
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pricing import units
from pricing.errors import PricingError

TABLES = [
    (units.GRAMS, units.to_grams, units.from_grams),
    (units.MILLIMETRES, units.to_mm, units.from_mm),
    (units.SQUARE_MILLIMETRES, units.to_mm2, units.from_mm2),
    (units.MILLILITRES, units.to_ml, units.from_ml),
]
EACH_UNIT = [(unit, there, back) for table, there, back in TABLES for unit in table]
amounts = st.decimals(min_value="-1e9", max_value="1e9", places=6, allow_nan=False)


@pytest.mark.parametrize(("unit", "there", "back"), EACH_UNIT)
@given(amount=amounts)
def test_there_and_back_is_the_same_amount(unit, there, back, amount):
    assert abs(back(there(amount, unit), unit) - amount) <= Decimal("1e-30")


@pytest.mark.parametrize(("table", "there"), [(table, there) for table, there, _ in TABLES])
@given(amount=amounts)
def test_conversion_is_exact_in_fractions(table, there, amount):
    for unit, factor in table.items():
        assert Fraction(there(amount, unit)) == Fraction(amount) * Fraction(factor)


def test_the_callers_context_changes_nothing():
    amount = Decimal("12.3456789")
    usual = units.to_grams(amount, "lb"), units.from_grams(amount, "lb")
    with localcontext() as context:
        context.prec = 4
        assert (units.to_grams(amount, "lb"), units.from_grams(amount, "lb")) == usual
    assert Fraction(usual[0]) == Fraction("12.3456789") * Fraction("453.59237")


@pytest.mark.parametrize(
    ("convert", "unit"),
    [
        (units.to_grams, "oz"),
        (units.to_grams, "ton"),
        (units.to_grams, "hundredweight"),
        (units.from_grams, "Kg"),
        (units.to_ml, "pint"),
        (units.to_ml, "fl oz"),
        (units.to_ml, "gallon"),
        (units.to_mm, '"'),
        (units.to_mm2, "sq in"),
    ],
)
def test_a_name_with_two_meanings_is_refused_with_the_names_allowed(convert, unit):
    with pytest.raises(PricingError) as refused:
        convert(Decimal(1), unit, "TK102", "finished weight unit")
    fault = refused.value.fault
    assert refused.value.code == "unit"
    assert (fault.record, fault.field, fault.found) == ("TK102", "finished weight unit", repr(unit))
    table = next(table for table, there, back in TABLES if convert in (there, back))
    assert all(name in fault.allowed for name in table)


def test_kg_in_turns_a_quotation_into_one_per_kg():
    assert units.kg_in("tonne") == 1000
    assert units.kg_in("short ton") == Decimal("907.18474")
    assert units.kg_in("lb") == Decimal("0.45359237")
    with pytest.raises(PricingError, match="tin, per: found 'ton'; allowed is one of g, kg, tonne"):
        units.kg_in("ton", "tin", "per")


def test_relations_between_units():
    assert units.to_grams(Decimal(16), "oz avoirdupois") == units.GRAMS["lb"]
    assert units.to_grams(Decimal(20), "pennyweight") == units.GRAMS["troy oz"]
    assert units.to_grams(Decimal(24), "grain") == units.GRAMS["pennyweight"]
    assert units.to_grams(Decimal(7000), "grain") == units.GRAMS["lb"]
    assert units.to_grams(Decimal(2240), "lb") == units.GRAMS["long ton"]
    assert units.to_grams(Decimal(20), "US hundredweight") == units.GRAMS["short ton"]
    assert units.to_ml(Decimal(8), "imperial pint") == units.MILLILITRES["imperial gallon"]
    assert units.to_ml(Decimal(20), "imperial fl oz") == units.MILLILITRES["imperial pint"]
    assert units.to_ml(Decimal(16), "US fl oz") == units.MILLILITRES["US pint"]
    assert units.to_ml(Decimal(8), "US pint") == units.MILLILITRES["US gallon"]
    assert units.to_mm2(Decimal(1), "in2") == units.to_mm(Decimal(1), "inch") ** 2


@pytest.mark.parametrize(("first", "second"), [("0000", "4/0"), ("000", "3/0"), ("00", "2/0"), ("0", "1/0")])
@pytest.mark.parametrize("system", ["Brown & Sharpe", "SWG"])
def test_both_ways_of_writing_noughts(first, second, system):
    assert units.gauge_mm(first, system) == units.gauge_mm(second, system)


@pytest.mark.parametrize(("system", "heaviest", "last"), [("Brown & Sharpe", 4, 56), ("SWG", 7, 50)])
def test_a_higher_number_is_always_thinner(system, heaviest, last):
    numbers = [f"{noughts}/0" for noughts in range(heaviest, 0, -1)] + [str(n) for n in range(1, last + 1)]
    thicknesses = [units.gauge_mm(number, system) for number in numbers]
    assert thicknesses == sorted(thicknesses, reverse=True)
    assert len(set(thicknesses)) == len(numbers)
    for beyond in (f"{heaviest + 1}/0", "0" * (heaviest + 1), str(last + 1)):
        with pytest.raises(PricingError, match=r"allowed is an? "):
            units.gauge_mm(beyond, system)


def test_a_whole_number_may_be_given():
    assert units.gauge_mm(18, "AWG") == units.gauge_mm("18", "B&S") == Decimal("1.0237")


NOT_NUMBERS = ["", "-1", "1.5", "018", "4/1", "/0", "0/0", "x", "\uff11\uff18", " 18", "18 ", "100", "4/0/0"]


@pytest.mark.parametrize("number", NOT_NUMBERS)
@pytest.mark.parametrize("system", ["Brown & Sharpe", "SWG"])
def test_what_is_not_a_gauge_number_is_refused(number, system):
    with pytest.raises(PricingError) as refused:
        units.gauge_mm(number, system, "BL7", "gauge")
    assert refused.value.fault.found == repr(number)
    assert system in refused.value.fault.allowed


@pytest.mark.parametrize("system", ["", None, "gauge", "swg", "Manufacturers Standard"])
def test_a_gauge_without_a_known_system_is_refused(system):
    with pytest.raises(PricingError) as refused:
        units.gauge_mm("18", system, "BL7", "gauge")
    assert refused.value.code == "gauge"
    assert str(refused.value) == (
        f"BL7, gauge: found gauge 18 with system {system!r}; "
        "allowed is the gauge's system: one of Brown & Sharpe, B&S, AWG, SWG"
    )
