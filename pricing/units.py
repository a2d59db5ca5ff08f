"""Exact conversion between the units a workshop writes down and the engine's grams, mm and ml.

Every factor is exact by definition, so a figure is converted once, where it enters, and stays exact.
A name that means different things in different places (ton, ounce, pint, a bare gauge number) is refused.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from functools import cache
from types import MappingProxyType

from .amounts import exactly, half_up
from .errors import refuse


def _factors(**factors: str) -> Mapping[str, Decimal]:
    return MappingProxyType({name.replace("_", " "): Decimal(factor) for name, factor in factors.items()})


GRAMS = _factors(
    g="1",
    kg="1000",
    tonne="1000000",
    oz_avoirdupois="28.349523125",
    lb="453.59237",
    troy_oz="31.1034768",
    pennyweight="1.55517384",
    grain="0.06479891",
    US_hundredweight="45359.237",
    short_ton="907184.74",
    long_ton="1016046.9088",
)
MILLIMETRES = _factors(mm="1", cm="10", m="1000", inch="25.4", foot="304.8")
SQUARE_MILLIMETRES = _factors(mm2="1", cm2="100", dm2="10000", in2="645.16")
MILLILITRES = _factors(
    ml="1",
    l="1000",
    US_fl_oz="29.5735295625",
    US_pint="473.176473",
    US_gallon="3785.411784",
    imperial_fl_oz="28.4130625",
    imperial_pint="568.26125",
    imperial_gallon="4546.09",
)

BROWN_AND_SHARPE = "Brown & Sharpe"
SWG = "SWG"
GAUGE_SYSTEMS = MappingProxyType(
    {BROWN_AND_SHARPE: BROWN_AND_SHARPE, "B&S": BROWN_AND_SHARPE, "AWG": BROWN_AND_SHARPE, SWG: SWG}
)
GAUGE_PLACES = 4

# Imperial Standard Wire Gauge, ten-thousandths of an inch, from 7/0 (counted as -6) to 50.
_SWG_TEN_THOUSANDTHS = (
    *(5000, 4640, 4320, 4000, 3720, 3480, 3240),
    *(3000, 2760, 2520, 2320, 2120, 1920, 1760, 1600, 1440, 1280),
    *(1160, 1040, 920, 800, 720, 640, 560, 480, 400, 360),
    *(320, 280, 240, 220, 200, 180, 164, 148, 136, 124),
    *(116, 108, 100, 92, 84, 76, 68, 60, 52, 48),
    *(44, 40, 36, 32, 28, 24, 20, 16, 12, 10),
)
# Each system's gauge numbers, 0 counted as 0, 00 as -1 and so on, and the same range in words.
_PLACES = MappingProxyType({BROWN_AND_SHARPE: range(-3, 57), SWG: range(-6, 51)})
_NUMBERS = MappingProxyType(
    {
        BROWN_AND_SHARPE: 'a Brown & Sharpe number from "4/0" (or "0000") to "56"',
        SWG: 'an SWG number from "7/0" (or "0000000") to "50"',
    }
)


def to_grams(amount: Decimal, unit: str, record: str = "mass", field: str = "unit") -> Decimal:
    """`amount` of a unit of mass in grams, exactly.

    Raises: PricingError `unit` where the unit is not one of `GRAMS`.

    >>> to_grams(Decimal(1), "oz avoirdupois")
    Decimal('28.349523125')
    """
    return _times(amount, _factor(GRAMS, unit, record, field))


def from_grams(grams: Decimal, unit: str, record: str = "mass", field: str = "unit") -> Decimal:
    """`grams` in a unit of mass, for display; 50 digits where the quotient does not end."""
    return _over(grams, _factor(GRAMS, unit, record, field))


def kg_in(unit: str, record: str = "mass", field: str = "unit") -> Decimal:
    """The kilograms in one of a unit of mass: what turns a quotation per tonne or pound into one per kg."""
    return _over(_factor(GRAMS, unit, record, field), GRAMS["kg"])


def to_mm(amount: Decimal, unit: str, record: str = "length", field: str = "unit") -> Decimal:
    """`amount` of a unit of length in millimetres, exactly.

    Raises: PricingError `unit` where the unit is not one of `MILLIMETRES`.
    """
    return _times(amount, _factor(MILLIMETRES, unit, record, field))


def from_mm(mm: Decimal, unit: str, record: str = "length", field: str = "unit") -> Decimal:
    """`mm` in a unit of length, for display; 50 digits where the quotient does not end."""
    return _over(mm, _factor(MILLIMETRES, unit, record, field))


def to_mm2(amount: Decimal, unit: str, record: str = "area", field: str = "unit") -> Decimal:
    """`amount` of a unit of area in square millimetres, exactly.

    Raises: PricingError `unit` where the unit is not one of `SQUARE_MILLIMETRES`.
    """
    return _times(amount, _factor(SQUARE_MILLIMETRES, unit, record, field))


def from_mm2(mm2: Decimal, unit: str, record: str = "area", field: str = "unit") -> Decimal:
    """`mm2` in a unit of area, for display; 50 digits where the quotient does not end."""
    return _over(mm2, _factor(SQUARE_MILLIMETRES, unit, record, field))


def to_ml(amount: Decimal, unit: str, record: str = "capacity", field: str = "unit") -> Decimal:
    """`amount` of a unit of volume in millilitres, exactly; US and imperial measures are apart.

    Raises: PricingError `unit` where the unit is not one of `MILLILITRES`.
    """
    return _times(amount, _factor(MILLILITRES, unit, record, field))


def from_ml(ml: Decimal, unit: str, record: str = "capacity", field: str = "unit") -> Decimal:
    """`ml` in a unit of volume, for display; 50 digits where the quotient does not end."""
    return _over(ml, _factor(MILLILITRES, unit, record, field))


def gauge_mm(number: str | int, system: str, record: str = "gauge", field: str = "gauge") -> Decimal:
    """The thickness in mm of a gauge number of a named system, half-up to 0.0001 mm.

    Sizes above 0 may be written "000" or "3/0". Brown & Sharpe follows the formula of ASTM B258, before that
    standard's own rounding of inches; SWG follows the Imperial table of 1884.

    Raises: PricingError `gauge` without a system, for a system not known here or a number outside its table.
    Source: ASTM B258 (0000 is 0.46 in, 36 is 0.005 in, geometric between); Imperial Standard Wire Gauge.

    >>> gauge_mm("18", "Brown & Sharpe"), gauge_mm("18", "SWG")
    (Decimal('1.0237'), Decimal('1.2192'))
    """
    named = GAUGE_SYSTEMS.get(system)
    if named is None:
        allowed = "the gauge's system: " + _listed(GAUGE_SYSTEMS)
        raise refuse("gauge", record, field, f"gauge {number} with system {system!r}", allowed)
    place = _gauge_place(str(number))
    if place not in _PLACES[named]:
        raise refuse("gauge", record, field, repr(str(number)), _NUMBERS[named])
    return _swg_mm(place) if named == SWG else _brown_and_sharpe_mm(place)


def _gauge_place(number: str) -> int | None:
    """Where a gauge number stands when 0 counts as 0, 00 as -1 and so on; None if it is none."""
    if not number.isascii():
        return None
    if number and not number.strip("0"):
        return 1 - len(number)
    zeros, slash, nought = number.partition("/")
    if not zeros.isdigit() or zeros.startswith("0") or len(zeros) > 2:
        return None
    if slash:
        return 1 - int(zeros) if nought == "0" else None
    return int(zeros)


@cache
@exactly
def _swg_mm(place: int) -> Decimal:
    inches = Decimal(_SWG_TEN_THOUSANDTHS[place - _PLACES[SWG].start]) / 10000
    return half_up(inches * MILLIMETRES["inch"], GAUGE_PLACES)


@cache
@exactly
def _brown_and_sharpe_mm(place: int) -> Decimal:
    inches = Decimal("0.005") * Decimal(92) ** (Decimal(36 - place) / 39)
    return half_up(inches * MILLIMETRES["inch"], GAUGE_PLACES)


def _factor(factors: Mapping[str, Decimal], unit: str, record: str, field: str) -> Decimal:
    factor = factors.get(unit)
    if factor is None:
        raise refuse("unit", record, field, repr(unit), _listed(factors))
    return factor


def _listed(names: Mapping[str, object]) -> str:
    return "one of " + ", ".join(names)


@exactly
def _times(amount: Decimal, factor: Decimal) -> Decimal:
    return amount * factor


@exactly
def _over(amount: Decimal, factor: Decimal) -> Decimal:
    return amount / factor
