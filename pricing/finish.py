"""Finishes a piece is made in: the work and the consumables each brings, by the piece or by its surface."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from . import fields
from .labour import PER_DM2, PER_PIECE, Operation


@dataclass(frozen=True, slots=True, kw_only=True)
class Consumable:
    """Polishing compound, cloth, gas and the like: an amount per piece or per dm² of finished surface."""

    name: str = fields.name()
    amount: Decimal = fields.not_negative()
    basis: str = fields.one_of(PER_PIECE, PER_DM2, default=PER_PIECE)
    finish: str | None = fields.name(default=None)
    enters: str | None = fields.name(default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Finish:
    """A finish option. `rank` orders finishes of one piece: a higher rank never costs less than a lower one."""

    name: str = fields.name()
    rank: int = fields.whole(default=0)
    suffix: str = fields.words()
    operations: tuple[Operation, ...] = ()
    consumables: tuple[Consumable, ...] = ()
