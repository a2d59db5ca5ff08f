"""A price class opened for pricing: its tax factor, currency, rules by scope, bounds, and the prices in force."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from .amounts import ONE, cost_places, half_even, half_up
from .book import Book
from .metal_prices import exchange_rate
from .price_checks import Bounds
from .rules import Channel, FromChannel, PriceInForce, Rule, RulesOfChannel
from .taxes import tax_rate

Key = tuple[str, str, int]


@dataclass(slots=True)
class OpenClass:
    """One channel with what every price of it reads; `base_per_unit` is the rate of its currency."""

    channel: Channel
    gross: Decimal
    minor_unit: int
    base_per_unit: Decimal
    rules: RulesOfChannel
    not_held: RulesOfChannel
    in_force: Mapping[Key, Decimal]
    bounds: dict[str, Bounds] = field(default_factory=dict)

    def converted(self, cost: Decimal) -> Decimal:
        """A rounded works cost in the channel's currency, rounded as a works cost of that currency."""
        if self.base_per_unit == ONE:
            return cost
        return half_even(cost / self.base_per_unit, cost_places(self.minor_unit))

    def net(self, printed: Decimal) -> Decimal:
        """A printed amount without tax."""
        return printed if self.gross == ONE else printed / self.gross

    def bounds_of(self, rule: Rule) -> Bounds:
        """What a rule's prices are held to: its own checks, those left empty from the channel."""
        known = self.bounds.get(rule.name)
        if known is None:
            channel = self.channel
            checks = rule.checks.over(channel.checks)
            selling = rule.selling_costs if rule.selling_costs is not None else channel.selling_costs
            floor_over = None if checks.floor_margin is None else ONE - checks.floor_margin - selling
            known = Bounds(checks, channel.points, self.minor_unit, self.gross, selling, floor_over)
            self.bounds[rule.name] = known
        return known


def open_class(book: Book, channel: Channel) -> OpenClass:
    """A channel of a book, opened.

    Raises: PricingError where the book has no tax or exchange rate for it on its day.
    """
    currency = book.currency_of(channel)
    minor_unit = book.minor_units[currency]
    base_per_unit = exchange_rate(book, currency, book.date)

    def printed(price: PriceInForce) -> Decimal:
        if price.currency is None or price.currency == currency:
            return price.amount
        return half_up(price.amount * exchange_rate(book, price.currency, book.date) / base_per_unit, minor_unit)

    rules = RulesOfChannel(book.rules_by_channel.get(channel.name, ()), book.date)
    return OpenClass(
        channel=channel,
        gross=ONE + tax_rate(book, channel.tax) if channel.tax_inclusive else ONE,
        minor_unit=minor_unit,
        base_per_unit=base_per_unit,
        rules=rules,
        not_held=rules.not_held(),
        in_force={
            (p.piece, p.finish, p.quantity): printed(p) for p in book.prices_in_force if p.channel == channel.name
        },
    )


def channel_order(book: Book) -> tuple[Channel, ...]:
    """The channels with those that others are built from first; a circle keeps the book's order and is a fault."""
    sources = {channel.name: sources_of(book, channel.name) for channel in book.channels}
    ordered: dict[str, Channel] = {}

    def place(name: str, path: tuple[str, ...]) -> None:
        if name in ordered or name in path or name not in sources:
            return
        for source in sources[name]:
            place(source, (*path, name))
        ordered[name] = book.channel_by_name[name]

    for name in sources:
        place(name, ())
    return tuple(ordered.values())


def sources_of(book: Book, channel: str) -> list[str]:
    """The channels that a channel's acting rules build prices from, by name."""
    rules = RulesOfChannel(book.rules_by_channel.get(channel, ()), book.date).acting
    return sorted({rule.method.channel for rule in rules if isinstance(rule.method, FromChannel)})
