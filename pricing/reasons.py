"""A price's reason in words: the rule, its figures, and each check that acted, in order."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping
from decimal import Decimal

from .amounts import ONE, exactly, half_up, plain
from .price import Price
from .price_checks import Step

PERCENT_PLACES = 2
MARK_UP_PLACES = 4
Money = Callable[[Decimal], str]


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


def _by_margin(m: Money, cost: Decimal, margin: Decimal, selling: Decimal, gross: Decimal, amount: Decimal) -> str:
    return f"works cost {m(cost)}{_over(margin, selling)}{_gross(gross)} = {m(amount)}"


def _by_mark_up(m: Money, cost: Decimal, mark_up: Decimal, selling: Decimal, gross: Decimal, amount: Decimal) -> str:
    return f"works cost {m(cost)} × (1 + {plain(mark_up)}){_over(selling)}{_gross(gross)} = {m(amount)}"


def _from_channel(
    m: Money, channel: str, printed: Decimal, net: Decimal, own_net: Decimal, discounts: tuple[Decimal, ...],
    mark_up: Decimal, gross: Decimal, amount: Decimal,
) -> str:  # fmt: skip
    start = f"{channel} {plain(half_up(printed, 3)) if own_net != net else m(printed)}"
    if net != printed:
        start += f", {m(net)} without tax"
    if own_net != net:
        start += f", {m(own_net)} in this currency"
    series = "".join(f" × (1 − {plain(discount)})" for discount in discounts)
    if mark_up:
        series += f" × (1 + {plain(half_up(mark_up, MARK_UP_PLACES))})"
    return f"{start}{series}{_gross(gross)} = {m(amount)}"


def _held(m: Money, amount: Decimal, until: datetime.date, reason: str) -> str:
    why = f", {reason}" if reason else ""
    return f"set by hand at {m(amount)} until {until}{why}"


def _change(word: str) -> Callable[..., str]:
    def said(m: Money, old: Decimal, share: Decimal, limit: Decimal, amount: Decimal) -> str:
        return f"{m(amount)} held to {m(limit)}: not {word} than {percent(share)} on {m(old)}"

    return said


def _direction(direction: str) -> str:
    return "the nearest" if direction == "nearest" else f"the next {direction}"


_WORDS: Mapping[str, Callable[..., str]] = {
    "by margin": _by_margin,
    "by mark-up": _by_mark_up,
    "from another price class": _from_channel,
    "from its members": lambda m, total, share, amount: (
        f"its pieces together {m(total)} × (1 − {plain(share)}) = {m(amount)}"
    ),
    "held": _held,
    "held, not moved by": lambda m, step: f"as it is set by hand, this does not move it: {_said(step, m)}",
    "the rule would give": lambda m, rule, amount: f"by rule “{rule}” it would be {m(amount)}",
    "least": lambda m, least, amount: f"{m(amount)} raised to the least amount {m(least)}",
    "greatest": lambda m, greatest, amount: f"{m(amount)} held to the greatest amount {m(greatest)}",
    "greatest rise": _change("dearer"),
    "greatest fall": _change("cheaper"),
    "floor": lambda m, floor, amount: f"{m(amount)} raised to the floor {m(floor)}",
    "first point not allowed": lambda m, first: f"the first price point {m(first)} would pass a check",
    "price point": lambda m, direction, amount, point: f"price point {m(point)} ({_direction(direction)})",
    "point above the floor": lambda m, wanted, point: f"{m(wanted)} is under the floor: the next point {m(point)}",
    "point moved": lambda m, wanted, point: f"{m(wanted)} would pass a check: the point {m(point)}",
    "smallest change": lambda m, old, new: (
        f"the price in force {m(old)} stays: {m(new)} is too small a change to print"
    ),
    "raised to keep order": lambda m, piece, finish, other, own: (
        f"raised from {m(own)} to {m(other)}, the price of {piece} {finish}: a bigger size or brighter finish never "
        "costs less"
    ),
    "held out of order": lambda m, piece, finish, other, own: (
        f"set by hand at {m(own)}, below {m(other)} of {piece} {finish}: out of order"
    ),
    "no dearer than the quantity below": lambda m, quantity, below, own: (
        f"no dearer than from {quantity}: {m(below)} in place of {m(own)}"
    ),
    "dearer than the quantity below: its floor forbids less": lambda m, quantity, below, own: (
        f"{m(own)} is dearer than {m(below)} from {quantity}: its own floor forbids less"
    ),
    "break by a share": lambda m, single, share, amount: (
        f"single price {m(single)} × (1 − {plain(share)}) = {m(amount)}"
    ),
    "under the least amount": lambda m, least: f"under the least amount {m(least)}",
    "over the greatest amount": lambda m, greatest: f"over the greatest amount {m(greatest)}",
    "past the greatest fall": lambda m, old, lowest: f"lower than the {m(lowest)} that {m(old)} in force allows",
    "past the greatest rise": lambda m, old, highest: f"higher than the {m(highest)} that {m(old)} in force allows",
    "under the floor": lambda m, floor: f"under the floor {m(floor)}",
    "order between price classes": lambda m, channel, piece, finish, quantity, best, other, allowed: (
        f"{piece} {finish}: best {channel} price {m(best)} from {quantity} is above the {m(allowed)} that {other} allows"
    ),
    "set dearer than its pieces": lambda m, channel, piece, finish, price, singly: (
        f"{piece} {finish}, {channel}: {m(price)} is dearer than its pieces bought singly, {m(singly)}"
    ),
    "outside the stated terms": lambda m, channel, piece, finish, net, shop, retail, off, stated: (
        f"{piece} {finish}: {channel} {m(net)} is {percent(off)} off {shop} {m(retail)} without tax; its terms say "
        f"{percent(stated)}"
    ),
    "check not kept": lambda m, channel, piece, finish, quantity, step: (
        f"{piece} {finish}, {channel} from {quantity}: {_said(step, m)}"
    ),
}


def _said(step: Step, money: Money) -> str:
    return _WORDS[step.code](money, *step.facts)


@exactly
def step_words(step: Step, places: int = 2) -> str:
    """One step in words, amounts with the places of a currency's minor unit."""
    return _said(step, lambda amount: figure(amount, places))


@exactly
def words(price: Price) -> list[str]:
    """Every step of a price in words, then its margin and each check it does not keep."""
    said = [step_words(step, price.minor_unit) for step in price.steps]
    said.append(f"margin {percent(price.margin)} of {figure(price.net, price.minor_unit)} without tax")
    said += [step_words(breach, price.minor_unit) for breach in price.breaches]
    return said


@exactly
def one_line(price: Price) -> str:
    """The reason on one line: how the price was built and where it came to stand."""
    return "; ".join(step_words(step, price.minor_unit) for step in price.steps)
