"""A price's reason in words: the rule, its figures, and each check that acted, in order."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Any

from .amounts import ONE, exactly, half_up, plain
from .price import Price, Step

PERCENT_PLACES = 2


def figure(amount: Decimal, places: int = 2) -> str:
    """An amount as words show it, half-up to so many places."""
    return f"{half_up(amount, places):.{places}f}"


def percent(fraction: Decimal) -> str:
    """A fraction in percent, without trailing noughts."""
    return f"{plain(half_up(fraction * 100, PERCENT_PLACES))} %"


def _gross(gross: Decimal) -> str:
    return "" if gross == ONE else f" × {plain(gross)} with tax"


def _over(*shares: Decimal) -> str:
    said = " − ".join(plain(share) for share in shares if share)
    return f" ÷ (1 − {said})" if said else ""


def _by_margin(cost: Decimal, margin: Decimal, selling: Decimal, gross: Decimal, amount: Decimal) -> str:
    return f"works cost {figure(cost)}{_over(margin, selling)}{_gross(gross)} = {figure(amount)}"


def _by_mark_up(cost: Decimal, mark_up: Decimal, selling: Decimal, gross: Decimal, amount: Decimal) -> str:
    return f"works cost {figure(cost)} × (1 + {plain(mark_up)}){_over(selling)}{_gross(gross)} = {figure(amount)}"


def _from_channel(
    channel: str, printed: Decimal, net: Decimal, discounts: tuple[Decimal, ...], mark_up: Decimal,
    gross: Decimal, amount: Decimal,
) -> str:  # fmt: skip
    start = f"{channel} {figure(printed)}"
    if net != printed:
        start += f", {figure(net)} without tax"
    series = "".join(f" × (1 − {plain(discount)})" for discount in discounts)
    if mark_up:
        series += f" × (1 + {plain(half_up(mark_up, 4))})"
    return f"{start}{series}{_gross(gross)} = {figure(amount)}"


def _amount_or_change(name: str) -> Callable[..., str]:
    def said(old: Decimal, share: Decimal, limit: Decimal) -> str:
        return f"not {name} than {percent(share)} on {figure(old)}: {figure(limit)}"

    return said


def _held(amount: Decimal, until: Any, reason: str) -> str:
    why = f", {reason}" if reason else ""
    return f"set by hand at {figure(amount)} until {until}{why}"


_WORDS: Mapping[str, Callable[..., str]] = {
    "by margin": _by_margin,
    "by mark-up": _by_mark_up,
    "from another price class": _from_channel,
    "from its members": lambda total, share, amount: (
        f"its pieces together {figure(total)} × (1 − {plain(share)}) = {figure(amount)}"
    ),
    "held": _held,
    "held, not moved by": lambda step: f"as it is set by hand, this does not move it: {_said(step)}",
    "least": lambda least: f"not under the least amount {figure(least)}",
    "greatest": lambda greatest: f"not over the greatest amount {figure(greatest)}",
    "greatest rise": _amount_or_change("dearer"),
    "greatest fall": _amount_or_change("cheaper"),
    "floor": lambda floor, amount: f"raised to the floor {figure(floor)}",
    "price point": lambda direction, amount, point: (
        f"price point {figure(point)} ({'the nearest' if direction == 'nearest' else 'the next ' + direction})"
    ),
    "point above the floor": lambda wanted, point: (
        f"{figure(wanted)} is under the floor: the next point {figure(point)}"
    ),
    "point moved": lambda wanted, point: f"{figure(wanted)} would pass a check: the point {figure(point)}",
    "smallest change": lambda old, new: (
        f"the price in force {figure(old)} stays: {figure(new)} is too small a change to print"
    ),
    "raised to keep order": lambda piece, finish, other, own: (
        f"raised from {figure(own)} to {figure(other)}, the price of {piece} {finish}: a bigger size or brighter "
        "finish never costs less"
    ),
    "held out of order": lambda piece, finish, other, own: (
        f"set by hand at {figure(own)}, below {figure(other)} of {piece} {finish}: out of order"
    ),
    "no dearer than the quantity below": lambda quantity, below, own: (
        f"no dearer than from {quantity}: {figure(below)} in place of {figure(own)}"
    ),
    "dearer than the quantity below: its floor forbids less": lambda quantity, below: (
        f"dearer than {figure(below)} from {quantity}: its own floor forbids less"
    ),
    "break by a share": lambda single, share, amount: (
        f"single price {figure(single)} × (1 − {plain(share)}) = {figure(amount)}"
    ),
    "order between price classes": lambda channel, piece, finish, quantity, best, other, allowed: (
        f"{piece} {finish}: best {channel} price {figure(best)} from {quantity} is above the {figure(allowed)} that "
        f"{other} allows"
    ),
}


def _said(step: Step) -> str:
    return _WORDS[step.code](*step.facts)


@exactly
def step_words(step: Step) -> str:
    """One step in words."""
    return _said(step)


@exactly
def words(price: Price) -> list[str]:
    """Every step of a price in words, then its margin."""
    said = [step_words(step) for step in price.steps]
    said.append(f"margin {percent(price.margin)} of {figure(price.net)} without tax")
    if price.below_floor and price.floor is not None:
        said.append(f"under the floor {figure(price.floor)}")
    return said


@exactly
def one_line(price: Price) -> str:
    """The reason on one line: how the price was built and where it came to stand."""
    return "; ".join(step_words(step) for step in price.steps)
