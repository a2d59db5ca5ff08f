"""Time at the bench: stages with their rates and yields, and the operations a piece goes through."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from decimal import Decimal

from . import fields
from .amounts import ONE, ZERO

PER_PIECE, PER_DOZEN, PER_BATCH, PER_DM2 = "piece", "dozen", "batch", "dm2"


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """A step of the work, in the order of the book: its wage per hour, on-cost share and first-pass yield.

    The stage rate per hour is wage × (1 + on-cost). `solder` marks the stage where solder enters.
    """

    name: str = fields.name()
    wage_per_hour: Decimal = fields.not_negative()
    on_cost: Decimal = fields.not_negative(default=ZERO)
    first_pass_yield: Decimal = fields.proportion(default=ONE)
    solder: bool = False
    since: datetime.date | None = None
    source: str = fields.words()


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchRate:
    """The rate for minutes that name no stage: wage per hour and on-cost share."""

    wage_per_hour: Decimal = fields.not_negative()
    on_cost: Decimal = fields.not_negative(default=ZERO)
    since: datetime.date | None = None
    source: str = fields.words()


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceWork:
    """An amount paid per piece or per dozen instead of wage × minutes; on-cost is added to it."""

    amount: Decimal = fields.not_negative()
    per: str = fields.one_of(PER_PIECE, PER_DOZEN, default=PER_PIECE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Operation:
    """Work at one stage (or at the bench rate, with no stage), as it was entered.

    `minutes` are per piece, dozen, usual batch or dm² of finished surface, as `basis` says; with `part` they are per
    part and count × that part's count. `written` keeps the card's own words. With `finish` the operation belongs to
    that finish only. `hands` is how many work at once; set-up minutes fall once a batch. `learning_rate` is the
    share of time that each doubling of the run leaves (0.9 where a tenth is saved), off unless given.
    """

    stage: str | None = fields.name(default=None)
    minutes: Decimal = fields.not_negative(default=ZERO)
    basis: str = fields.one_of(PER_PIECE, PER_DOZEN, PER_BATCH, PER_DM2, default=PER_PIECE)
    written: str = fields.words()
    set_up_minutes: Decimal = fields.not_negative(default=ZERO)
    hands: Decimal = fields.positive(default=ONE)
    part: str | None = fields.name(default=None)
    finish: str | None = fields.name(default=None)
    piece_work: PieceWork | None = None
    learning_rate: Decimal | None = fields.amount(least="0.5", greatest="1", default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class StageYield:
    """A piece's own first-pass yield at a stage, in place of the stage's."""

    stage: str = fields.name()
    first_pass_yield: Decimal = fields.proportion()
