"""How a price is built and checked: price classes, margin rules by scope, checks, breaks, agreed prices."""

from __future__ import annotations

import dataclasses
import datetime
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import ClassVar

from . import fields
from .amounts import ONE, ZERO
from .price_point import PricePoints

RETAIL, DEALER, EXPORT = "retail", "dealer", "export"


@dataclass(frozen=True, slots=True, kw_only=True)
class Checks:
    """The checks of a rule or a channel; one left empty on a rule comes from its channel.

    In a tax-inclusive channel the amounts and changes are of the printed price, with tax. The smallest change worth
    printing is an amount or a share of the price in force.
    """

    least: Decimal | None = fields.not_negative(default=None)
    greatest: Decimal | None = fields.positive(default=None)
    greatest_rise: Decimal | None = fields.not_negative(default=None)
    greatest_fall: Decimal | None = fields.share(default=None)
    floor_margin: Decimal | None = fields.share(default=None)
    smallest_change: Decimal | None = fields.not_negative(default=None)
    smallest_change_share: Decimal | None = fields.not_negative(default=None)

    def over(self, general: Checks) -> Checks:
        """These checks, each left empty taken from `general`."""
        if self == Checks():
            return general
        names = (field.name for field in dataclasses.fields(self))
        return Checks(
            **{name: own if (own := getattr(self, name)) is not None else getattr(general, name) for name in names}
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class ByMargin:
    """Price = cost ÷ (1 − margin − selling costs)."""

    kind: ClassVar[str] = "by margin"

    margin: Decimal = fields.share()


@dataclass(frozen=True, slots=True, kw_only=True)
class ByMarkUp:
    """Price = cost × (1 + mark-up) ÷ (1 − selling costs)."""

    kind: ClassVar[str] = "by mark-up"

    mark_up: Decimal = fields.not_negative()


@dataclass(frozen=True, slots=True, kw_only=True)
class FromChannel:
    """Price = another channel's final printed price without tax, less a series of discounts, or × (1 + mark-up)."""

    kind: ClassVar[str] = "from another price class"

    channel: str = fields.name()
    discounts: tuple[Decimal, ...] = ()
    mark_up: Decimal = fields.not_negative(default=ZERO)


@dataclass(frozen=True, slots=True, kw_only=True)
class FromMembers:
    """A set's price = its members' final prices in the same channel × counts, less a set share."""

    kind: ClassVar[str] = "from its members"

    set_share: Decimal = fields.share(default=ZERO)


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """A price set by hand and held to the last day of `until`, with the reason and when to look at it again."""

    kind: ClassVar[str] = "held"

    amount: Decimal = fields.positive()
    until: datetime.date
    reason: str = fields.words()
    review: datetime.date | None = None


Method = ByMargin | ByMarkUp | FromChannel | FromMembers | Held


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """A rule of one channel for a scope: at most one of piece, family or group, with or without a finish.

    `selling_costs` unset comes from the channel. Among rules of one scope the latest `since` not after the book's day wins.
    """

    name: str = fields.name()
    channel: str = fields.name()
    since: datetime.date
    method: Method
    piece: str | None = fields.name(default=None)
    family: str | None = fields.name(default=None)
    group: str | None = fields.name(default=None)
    finish: str | None = fields.name(default=None)
    selling_costs: Decimal | None = fields.share(default=None)
    checks: Checks = Checks()


@dataclass(frozen=True, slots=True, kw_only=True)
class Break:
    """From `quantity` on, another price: re-costed at that batch, or the single price less `share`.

    With `over_family` all lines of a family count together ("a dozen assorted").
    """

    quantity: int = fields.whole(2)
    share: Decimal | None = fields.share(default=None)
    over_family: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class NeverAbove:
    """This channel's best price (order discount and breaks in) never above `share` of another's price, without tax,
    at that channel's usual discount.
    """

    channel: str = fields.name()
    share: Decimal = fields.proportion(default=ONE)


@dataclass(frozen=True, slots=True, kw_only=True)
class ValueShare:
    """A share off an order, or a charge on it, from an order value on."""

    start: Decimal = fields.not_negative()
    share: Decimal = fields.share()


@dataclass(frozen=True, slots=True, kw_only=True)
class CarriageBand:
    """Carriage for goods from `start` up to but not at `end`, in money or grams as the terms say."""

    start: Decimal = fields.not_negative(default=ZERO)
    end: Decimal | None = fields.positive(default=None)
    amount: Decimal = fields.not_negative()


@dataclass(frozen=True, slots=True, kw_only=True)
class Terms:
    """What a channel's papers and quotes say beside prices: order minimums, shares by value, carriage, payment, validity."""

    least_first_order: Decimal | None = fields.not_negative(default=None)
    least_further_order: Decimal | None = fields.not_negative(default=None)
    small_order_charge: Decimal | None = fields.not_negative(default=None)
    order_discounts: tuple[ValueShare, ...] = ()
    carriage_by: str = fields.one_of("value", "weight", default="value")
    carriage: tuple[CarriageBand, ...] = ()
    carriage_paid_from: Decimal | None = fields.not_negative(default=None)
    carriage_tax: str | None = fields.name(default=None)
    payment_days: int | None = fields.whole(default=None)
    cash_share: Decimal | None = fields.share(default=None)
    cash_days: int | None = fields.whole(default=None)
    valid_days: int = fields.whole(1, default=30)
    grace_days: int = fields.whole(default=0)
    line_authority: Decimal = fields.share(default=ZERO)
    order_authority: Decimal = fields.share(default=ZERO)
    seconds_share: Decimal | None = fields.share(default=None)
    tax_by_line: bool = False
    part_exchange: str = fields.one_of("payment", "reduction", default="payment")
    part_exchange_per_kg: Decimal | None = fields.not_negative(default=None)
    stated_discount: Decimal | None = fields.share(default=None)
    stated_tolerance: Decimal = fields.share(default=ZERO)


@dataclass(frozen=True, slots=True, kw_only=True)
class Channel:
    """A way of selling (on screens: a price class): tax in or out, currency, selling costs, checks, points, breaks.

    `usual_discount` is what this channel gives off its printed price as a rule; `best_discount` the greatest order discount.
    """

    name: str = fields.name()
    kind: str = fields.one_of(RETAIL, DEALER, EXPORT)
    tax_inclusive: bool
    tax: str = fields.name()
    currency: str | None = fields.name(default=None)
    selling_costs: Decimal = fields.share(default=ZERO)
    usual_discount: Decimal = fields.share(default=ZERO)
    best_discount: Decimal = fields.share(default=ZERO)
    checks: Checks = Checks()
    points: PricePoints | None = None
    breaks: tuple[Break, ...] = ()
    never_above: tuple[NeverAbove, ...] = ()
    terms: Terms = Terms()


@dataclass(frozen=True, slots=True, kw_only=True)
class AgreedPrice:
    """A price agreed with one dealer for a piece and finish, to the last day of `until`."""

    dealer: str = fields.name()
    channel: str = fields.name()
    piece: str = fields.name()
    finish: str = fields.name()
    amount: Decimal = fields.positive()
    since: datetime.date
    until: datetime.date
    reason: str = fields.words()


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceInForce:
    """What a list in force prints for a piece and finish in a channel, from a quantity on.

    With `currency` it was printed in another currency than the channel's and is converted at the book's rate.
    """

    channel: str = fields.name()
    piece: str = fields.name()
    finish: str = fields.name()
    amount: Decimal = fields.positive()
    quantity: int = fields.whole(1, default=1)
    currency: str | None = fields.name(default=None)
    list_number: str = fields.words()


@dataclass(frozen=True, slots=True, kw_only=True)
class Tax:
    """A tax rate of a name, from a day on; the workshop's own entry, to be checked with its tax office."""

    name: str = fields.name()
    rate: Decimal = fields.not_negative()
    since: datetime.date
    source: str = fields.words()


@dataclass(frozen=True, slots=True, kw_only=True)
class Extra:
    """Something sold with a piece or by itself: engraving by the letter or line, own mark, gift box, a service by the minute.

    Amounts are in the channel's own basis (with tax where the channel's prices are).
    """

    name: str = fields.name()
    channel: str = fields.name()
    basis: str = fields.one_of("unit", "letter", "line", "minute", "fixed")
    amount: Decimal = fields.not_negative()
    service: bool = False
    takes_discount: bool = False


def in_effect(rule: Rule, day: datetime.date) -> bool:
    """Whether a rule acts on `day`: begun, and if it holds a price, not past its last day."""
    return rule.since <= day and not (isinstance(rule.method, Held) and rule.method.until < day)


def scope(rule: Rule) -> tuple[str | None, str | None, str | None, str | None]:
    """The scope of a rule: piece, family, group, finish; each None where it does not narrow."""
    return rule.piece, rule.family, rule.group, rule.finish


_Scope = tuple[str | None, str | None, str | None, str | None]


def _latest(rules: Iterable[Rule]) -> Mapping[_Scope, Rule]:
    """Of each scope the latest rule."""
    latest: dict[_Scope, Rule] = {}
    for rule in rules:
        known = latest.get(scope(rule))
        if known is None or known.since < rule.since:
            latest[scope(rule)] = rule
    return latest


class RulesOfChannel:
    """The rules of one channel in effect on a day, found by scope, narrowest first."""

    def __init__(self, rules: Iterable[Rule], day: datetime.date) -> None:
        self._begun = tuple(rule for rule in rules if in_effect(rule, day))
        self._day = day
        self._latest = _latest(self._begun)
        self._grouped = any(group is not None for _, _, group, _ in self._latest)

    @property
    def acting(self) -> tuple[Rule, ...]:
        """Of each scope the latest rule in effect: those that may price a piece."""
        return tuple(self._latest.values())

    def not_held(self) -> RulesOfChannel:
        """The same rules without the prices set by hand: what would act in their place."""
        return RulesOfChannel((rule for rule in self._begun if not isinstance(rule.method, Held)), self._day)

    def winner(self, piece: str, family: str, groups: tuple[str, ...], finish: str) -> Rule | None:
        """The rule that prices a piece in a finish: of the narrowest scope, of several groups the latest."""
        find = self._latest.get
        found = (
            find((piece, None, None, finish))
            or find((piece, None, None, None))
            or find((None, family, None, finish))
            or find((None, family, None, None))
        )
        if self._grouped and found is None:
            found = self._of_groups(groups, finish) or self._of_groups(groups, None)
        return found or find((None, None, None, finish)) or find((None, None, None, None))

    def _claiming(self, groups: tuple[str, ...], finish: str | None) -> list[Rule]:
        find = self._latest.get
        return [rule for group in dict.fromkeys(groups) if (rule := find((None, None, group, finish)))]

    def _of_groups(self, groups: tuple[str, ...], finish: str | None) -> Rule | None:
        return max(self._claiming(groups, finish), key=lambda rule: rule.since, default=None)

    def rivals(self, groups: tuple[str, ...], winner: Rule) -> tuple[Rule, ...]:
        """The rules of several of a piece's groups that claim it from the winner's own day; empty if it wins alone."""
        if winner.group is None:
            return ()
        claiming = [rule for rule in self._claiming(groups, winner.finish) if rule.since == winner.since]
        return tuple(claiming) if len(claiming) > 1 else ()
