"""Price points: the rising list of amounts a price class prints, and the point that an amount goes to."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from . import fields
from .amounts import ZERO

NEAREST, UP, DOWN = "nearest", "up", "down"


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """Points from `start` up to but not at `end`: whole multiples of `step` plus `ending`."""

    start: Decimal = fields.not_negative(default=ZERO)
    end: Decimal | None = fields.positive(default=None)
    step: Decimal = fields.positive()
    ending: Decimal = fields.amount(default=ZERO)


@dataclass(frozen=True, slots=True, kw_only=True)
class PricePoints:
    """One rising list of price points with one direction: to the nearest (the upper on a tie), up, or down."""

    direction: str = fields.one_of(NEAREST, UP, DOWN, default=NEAREST)
    bands: tuple[Band, ...]
