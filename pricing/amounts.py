"""Exact decimal amounts: the working context, the few ways to round, and strict reading and writing.

Money and quantities are `decimal.Decimal`. The engine works at 50 digits inside `CONTEXT`; a float that
meets a Decimal there raises. Leaves of a cost sheet are settled at 30 decimal places, so that every branch
is the exact sum of its children; a figure that a rule rounds is settled at 24 places first, so that a tie
which division made a hair smaller is still seen as a tie.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import (
    ROUND_CEILING,
    ROUND_FLOOR,
    ROUND_HALF_EVEN,
    ROUND_HALF_UP,
    Context,
    Decimal,
    DivisionByZero,
    FloatOperation,
    InvalidOperation,
    Overflow,
    localcontext,
)
from functools import wraps
from typing import ParamSpec, TypeVar

from .errors import refuse

CONTEXT = Context(
    prec=50,
    rounding=ROUND_HALF_EVEN,
    traps=[InvalidOperation, DivisionByZero, Overflow, FloatOperation],
)
PI = Decimal("3.14159265358979323846264338327950288")
ZERO = Decimal(0)
ONE = Decimal(1)
LEAF_PLACES = 30
TIE_PLACES = 24
LONGEST_AMOUNT = 30

_QUANTA = tuple(Decimal(1).scaleb(-places) for places in range(LEAF_PLACES + 1))
_LEAF = _QUANTA[LEAF_PLACES]
_TIE = _QUANTA[TIE_PLACES]
_AMOUNT = re.compile(r"-?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?", re.ASCII)

P = ParamSpec("P")
R = TypeVar("R")


def exactly(function: Callable[P, R]) -> Callable[P, R]:
    """Run `function` in the engine's context, whatever context the calling thread has."""

    @wraps(function)
    def in_context(*args: P.args, **kwargs: P.kwargs) -> R:
        with localcontext(CONTEXT):
            return function(*args, **kwargs)

    return in_context


def leaf(amount: Decimal) -> Decimal:
    """`amount` at 30 decimal places, half-even: what a leaf of a cost sheet holds."""
    return amount.quantize(_LEAF, ROUND_HALF_EVEN, CONTEXT)


def settled(amount: Decimal) -> Decimal:
    """`amount` at 24 decimal places, half-even: what every rounding and every comparison of prices reads."""
    return amount.quantize(_TIE, ROUND_HALF_EVEN, CONTEXT)


def half_up(amount: Decimal, places: int) -> Decimal:
    """`amount` rounded to `places`, a half going away from zero."""
    return settled(amount).quantize(_QUANTA[places], ROUND_HALF_UP, CONTEXT)


def half_even(amount: Decimal, places: int) -> Decimal:
    """`amount` rounded to `places`, a half going to the even neighbour."""
    return settled(amount).quantize(_QUANTA[places], ROUND_HALF_EVEN, CONTEXT)


def rounded_up(amount: Decimal, places: int) -> Decimal:
    """The least amount of `places` places that is not below `amount`."""
    return settled(amount).quantize(_QUANTA[places], ROUND_CEILING, CONTEXT)


def whole_below(amount: Decimal) -> int:
    """The greatest whole number not above `amount`."""
    return int(settled(amount).to_integral_value(ROUND_FLOOR))


def cost_places(minor_unit: int) -> int:
    """Decimal places of a works cost: two beyond the currency's minor unit."""
    return minor_unit + 2


def read_amount(text: object, record: str = "amount", field: str = "") -> Decimal:
    """The Decimal that a strict decimal string says: ASCII digits, an optional leading minus, one point.

    Raises: PricingError `amount` for anything else: numbers, floats, blanks, exponents, `1_000`, full-width digits.

    >>> read_amount("12.50")
    Decimal('12.50')
    """
    if isinstance(text, str) and len(text) <= LONGEST_AMOUNT and _AMOUNT.fullmatch(text):
        return Decimal(text)
    found = repr(text) if len(repr(text)) <= 60 else repr(text)[:57] + "..."
    raise refuse("amount", record, field, found, 'a decimal string such as "12.50", at most 30 characters')


def write_amount(amount: Decimal) -> str:
    """`amount` as a plain decimal string with the places it has: the inverse of `read_amount`."""
    return format(amount, "f")


def plain(amount: Decimal) -> str:
    """`amount` as the shortest plain decimal string of the same value, as a digest reads it.

    >>> plain(Decimal("44.50")), plain(Decimal("1200")), plain(Decimal("-0.0"))
    ('44.5', '1200', '0')
    """
    if not amount:
        return "0"
    text = format(amount, "f")
    return text.rstrip("0").rstrip(".") if "." in text else text
