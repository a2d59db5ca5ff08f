"""What metal costs: quotations, exchange rates, the declared price, alloys, their forms and what comes back."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from decimal import Decimal

from . import fields
from .amounts import ZERO

BASE_PER_UNIT = "base per unit"
UNITS_PER_BASE = "units per base"
INGOT, SHEET, DISC, SOLDER_WIRE = "ingot", "sheet", "disc", "solder wire"
SKELETON, TRIMMINGS, GATES, REJECTS = "skeleton", "trimmings", "gates", "rejects"


@dataclass(frozen=True, slots=True, kw_only=True)
class ExchangeRate:
    """A rate of one day between the base currency and another, kept the way round it was read.

    `quoted` says which: "base per unit" is base units for one unit of `currency`, "units per base" the
    other way (1.27 dollars to the pound, say).
    """

    currency: str = fields.name()
    date: datetime.date
    rate: Decimal = fields.positive()
    quoted: str = fields.one_of(BASE_PER_UNIT, UNITS_PER_BASE)
    source: str = fields.words()


@dataclass(frozen=True, slots=True, kw_only=True)
class Element:
    """A metal that alloys are made of, with its density in g/cm³ where known."""

    symbol: str = fields.name()
    name: str = fields.words()
    density_g_cm3: Decimal | None = fields.positive(default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Quotation:
    """A price of a metal as it was read: an amount of a currency for a unit of mass, on a day, somewhere."""

    element: str = fields.name()
    date: datetime.date
    amount: Decimal = fields.not_negative()
    currency: str = fields.name()
    unit: str = fields.name()
    source: str = fields.words()


@dataclass(frozen=True, slots=True, kw_only=True)
class DeclaredPrice:
    """Which quotation a metal is costed on from a date: the latest up to `quoted_to`, or the mean of a window.

    With `quoted_from` the price is the mean of all quotations of the window, both days included, each at
    the exchange rate of its own day.
    """

    element: str = fields.name()
    date: datetime.date
    quoted_to: datetime.date
    quoted_from: datetime.date | None = None
    reason: str = fields.words()
    by: str = fields.words()


@dataclass(frozen=True, slots=True, kw_only=True)
class Content:
    """The mass fraction of one element in an alloy."""

    element: str = fields.name()
    fraction: Decimal = fields.proportion()


@dataclass(frozen=True, slots=True, kw_only=True)
class Credit:
    """What recovered metal of an alloy is worth: a share of the alloy's price less remelting, never below zero.

    `stage` narrows a credit for rejects to those that leave one stage.
    """

    of: str = fields.one_of(SKELETON, TRIMMINGS, GATES, REJECTS)
    stage: str | None = fields.name(default=None)
    recovery_share: Decimal = fields.fraction()
    remelting_per_kg: Decimal = fields.not_negative(default=ZERO)


@dataclass(frozen=True, slots=True, kw_only=True)
class Alloy:
    """A metal as the pot knows it: composition by mass, density where stated, lead limit and what it was bought to."""

    name: str = fields.name()
    contents: tuple[Content, ...]
    density_g_cm3: Decimal | None = fields.positive(default=None)
    lead_limit_ppm: Decimal | None = fields.not_negative(default=None)
    bought_to: str = fields.words()
    credits: tuple[Credit, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplierPrice:
    """A supplier's price for a form, of a date; it moves with each element from that date's quotation."""

    amount: Decimal = fields.not_negative()
    currency: str = fields.name()
    unit: str = fields.name(default="kg")
    date: datetime.date
    source: str = fields.words()


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """An alloy as it is bought: by premium and conversion charge on the alloy price, or at a supplier's price.

    `disc_sizes_mm` lists the stocked diameters of cut discs; the next size up is then the blank.
    """

    name: str = fields.name()
    alloy: str = fields.name()
    kind: str = fields.one_of(INGOT, SHEET, DISC, SOLDER_WIRE)
    premium: Decimal = fields.not_negative(default=ZERO)
    conversion_per_kg: Decimal = fields.not_negative(default=ZERO)
    supplier_price: SupplierPrice | None = None
    disc_sizes_mm: tuple[Decimal, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetSize:
    """A sheet as delivered, with the web between blanks and the edge kept clear, all in mm."""

    name: str = fields.name()
    length_mm: Decimal = fields.length()
    width_mm: Decimal = fields.length()
    web_mm: Decimal = fields.gap(default=ZERO)
    edge_mm: Decimal = fields.gap(default=ZERO)
