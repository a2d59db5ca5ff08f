"""A piece as the workshop makes it: its parts, work, finishes and standing, down to a card or a stated cost."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from decimal import Decimal
from typing import ClassVar

from . import fields
from .amounts import ONE, ZERO
from .finish import Consumable
from .labour import Operation, StageYield
from .profile import Point

HOLLOW, SOLID, CENTRIFUGAL = "hollow", "solid", "centrifugal"
EACH, PAIR, SET, DOZEN = "each", "pair", "set", "dozen"
CURRENT, NEW, TO_ORDER, LAST_FEW, WAITING, DISCONTINUED = (
    "current",
    "new",
    "to order",
    "last few",
    "waiting",
    "discontinued",
)
CONSTANT_WALL, CONSTANT_VOLUME = "constant wall", "constant volume"


@dataclass(frozen=True, slots=True, kw_only=True)
class SpunPart:
    """A part spun from a disc of sheet, or from a bought disc.

    The blank is `diameter_mm` as really cut, else it is worked from `profile` by `blank_rule` with
    `trimming_allowance_mm` on the diameter (and `thinning`, mean wall ÷ sheet, for constant volume). From sheet, the
    share of the sheet used is `sheet_share` or counted on `sheet`. Finished mass is weighed (`finished_g`) or the
    blank less `trim_share`. Dust is a share of finished mass; unset, the workshop's. `faces` of the surface are finished.
    """

    kind: ClassVar[str] = "spun"

    name: str = fields.name()
    form: str = fields.name()
    thickness_mm: Decimal = fields.length()
    diameter_mm: Decimal | None = fields.length(default=None)
    profile: tuple[Point, ...] = ()
    blank_rule: str = fields.one_of(CONSTANT_WALL, CONSTANT_VOLUME, default=CONSTANT_WALL)
    thinning: Decimal | None = fields.proportion(default=None)
    trimming_allowance_mm: Decimal = fields.gap(default=ZERO)
    sheet_share: Decimal | None = fields.proportion(default=None)
    sheet: str | None = fields.name(default=None)
    finished_g: Decimal | None = fields.mass(default=None)
    trim_share: Decimal | None = fields.share(default=None)
    dust_share: Decimal | None = fields.share(default=None)
    area_cm2: Decimal | None = fields.positive(default=None)
    faces: int = fields.whole(1, default=2)
    count: int = fields.whole(1, default=1)
    enters: str | None = fields.name(default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class FlatPart:
    """A part cut flat from sheet (a flask side, a frame): area, or length × width, and the share of sheet used."""

    kind: ClassVar[str] = "flat"

    name: str = fields.name()
    form: str = fields.name()
    thickness_mm: Decimal = fields.length()
    area_mm2: Decimal | None = fields.positive(default=None)
    length_mm: Decimal | None = fields.length(default=None)
    width_mm: Decimal | None = fields.length(default=None)
    sheet_share: Decimal = fields.proportion(default=ONE)
    finished_g: Decimal | None = fields.mass(default=None)
    trim_share: Decimal | None = fields.share(default=None)
    dust_share: Decimal | None = fields.share(default=None)
    area_cm2: Decimal | None = fields.positive(default=None)
    count: int = fields.whole(1, default=1)
    enters: str | None = fields.name(default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class CastPart:
    """A casting, hollow by slushing, solid by gravity or by centrifuge: finished mass, gates and dross as shares.

    Gates are a share of what is poured, dross a share of what is melted.
    """

    kind: ClassVar[str] = "cast"

    name: str = fields.name()
    form: str = fields.name()
    method: str = fields.one_of(HOLLOW, SOLID, CENTRIFUGAL)
    finished_g: Decimal = fields.mass()
    gate_share: Decimal = fields.share(default=ZERO)
    dross_share: Decimal = fields.share(default=ZERO)
    area_cm2: Decimal | None = fields.positive(default=None)
    count: int = fields.whole(1, default=1)
    enters: str | None = fields.name(default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Solder:
    """Solder wire per piece, in grams."""

    kind: ClassVar[str] = "solder"

    form: str = fields.name()
    grams: Decimal = fields.mass()
    enters: str | None = fields.name(default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class BoughtIn:
    """A part bought ready (glass, wood, a hinge): an amount each, in the base or another currency."""

    kind: ClassVar[str] = "bought-in"

    name: str = fields.name()
    amount: Decimal = fields.not_negative()
    currency: str | None = fields.name(default=None)
    mass_g: Decimal = fields.not_negative(default=ZERO)
    count: int = fields.whole(1, default=1)
    enters: str | None = fields.name(default=None)
    source: str = fields.words()


@dataclass(frozen=True, slots=True, kw_only=True)
class Outwork:
    """Work sent out (an engraver, a plater): an amount each, with a least charge per batch."""

    kind: ClassVar[str] = "outwork"

    name: str = fields.name()
    amount: Decimal = fields.not_negative()
    currency: str | None = fields.name(default=None)
    least_per_batch: Decimal = fields.not_negative(default=ZERO)
    count: int = fields.whole(1, default=1)
    enters: str | None = fields.name(default=None)
    finish: str | None = fields.name(default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Member:
    """Another piece in a set, with its count; in the set's own finish unless one is named."""

    kind: ClassVar[str] = "member"

    piece: str = fields.name()
    finish: str | None = fields.name(default=None)
    count: int = fields.whole(1, default=1)
    enters: str | None = fields.name(default=None)


Part = SpunPart | FlatPart | CastPart | Solder | BoughtIn | Outwork | Member
MetalPart = SpunPart | FlatPart | CastPart


@dataclass(frozen=True, slots=True, kw_only=True)
class Tooling:
    """A chuck, mould or badge master: charged over a stated quantity of pieces, or over a mould's life in
    castings, or (with neither) on its own line of the first order.
    """

    name: str = fields.name()
    amount: Decimal = fields.not_negative()
    over_pieces: int | None = fields.whole(1, default=None)
    life_castings: int | None = fields.whole(1, default=None)
    castings_per_piece: int = fields.whole(1, default=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class StatedCost:
    """A known works cost that has not been worked: an amount of a date, with what is known of its tin and time.

    Metal moves by tin content × (tin now − tin then), time by minutes × (today's hourly labour and overhead −
    those then); what is not given does not move, and is said.
    """

    amount: Decimal = fields.positive()
    date: datetime.date
    tin_content_g: Decimal | None = fields.not_negative(default=None)
    tin_per_kg: Decimal | None = fields.not_negative(default=None)
    minutes: Decimal | None = fields.not_negative(default=None)
    hourly_rate: Decimal | None = fields.not_negative(default=None)
    source: str = fields.words()


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """A name or description in one language (a BCP 47 tag such as en-GB)."""

    language: str = fields.name()
    text: str = fields.words()


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """A finish the piece is made in: its standing there, the year's volume in selling units, and its own code or GTIN."""

    finish: str = fields.name()
    standing: str = fields.one_of(CURRENT, NEW, TO_ORDER, LAST_FEW, WAITING, DISCONTINUED, default=CURRENT)
    yearly_volume: int = fields.whole(default=0)
    gtin: str | None = fields.name(default=None)
    stated_cost: StatedCost | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One catalogue piece. All its figures are per selling unit (`unit`); a batch counts good selling units.

    `size` orders pieces of one `size_family`; `dimensions` is what papers print. Capacities are to the brim and to the line.
    """

    number: str = fields.name()
    names: tuple[Text, ...]
    family: str = fields.name()
    made: tuple[Made, ...]
    unit: str = fields.one_of(EACH, PAIR, SET, DOZEN, default=EACH)
    size_family: str | None = fields.name(default=None)
    size: Decimal | None = fields.amount(default=None)
    dimensions: str = fields.words()
    brim_ml: Decimal | None = fields.volume(default=None)
    line_ml: Decimal | None = fields.volume(default=None)
    groups: tuple[str, ...] = ()
    parts: tuple[Part, ...] = ()
    operations: tuple[Operation, ...] = ()
    consumables: tuple[Consumable, ...] = ()
    yields: tuple[StageYield, ...] = ()
    tooling: tuple[Tooling, ...] = ()
    packing: Decimal = fields.not_negative(default=ZERO)
    packing_g: Decimal = fields.not_negative(default=ZERO)
    usual_batch: int = fields.whole(1, default=1)
    least_made: int | None = fields.whole(1, default=None)
    least_order: int = fields.whole(1, default=1)
    pack_quantity: int = fields.whole(1, default=1)
    lead_days: int | None = fields.whole(default=None)
    engravable: bool = False
    old_numbers: tuple[str, ...] = ()
    picture: str | None = fields.name(default=None)
    notes: str = fields.words()
