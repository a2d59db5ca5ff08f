"""Overhead pools: what the workshop spends a year beyond metal and wages, and what it is spread on."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from . import fields

LABOUR_HOURS, LABOUR_COST, PRIME_COST = "labour hours", "labour cost", "prime cost"


@dataclass(frozen=True, slots=True, kw_only=True)
class Pool:
    """A yearly budget over a yearly activity, or the absorption rate itself.

    `basis` is what the rate multiplies: labour hours, labour cost or prime cost, per good piece. With `stages` a
    pool reads the labour of those stages only; a prime-cost pool covers the whole piece.
    """

    name: str = fields.name()
    basis: str = fields.one_of(LABOUR_HOURS, LABOUR_COST, PRIME_COST)
    budget: Decimal | None = fields.not_negative(default=None)
    activity: Decimal | None = fields.positive(default=None)
    rate: Decimal | None = fields.not_negative(default=None)
    stages: tuple[str, ...] = ()
    source: str = fields.words()
