"""Prices: every piece, finish, channel and quantity break of a book, by its rules and checks, each with its reason."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cached_property
from typing import Any, NamedTuple

from .amounts import ONE, ZERO, cost_places, exactly, half_even, half_up, rounded_up, settled
from .book import Book
from .collector import collector_off
from .cost import CostSheet, cost_sheet, works_costs
from .metal_prices import exchange_rate
from .piece import Member, Piece
from .price_point import neighbours, preferred
from .rules import (
    AgreedPrice,
    Break,
    ByMargin,
    ByMarkUp,
    Channel,
    Checks,
    FromChannel,
    FromMembers,
    Held,
    PriceInForce,
    Rule,
    RulesOfChannel,
)
from .taxes import tax_rate


class Step(NamedTuple):
    """One step of a reason: what acted, and the figures it acted with; `reasons` puts it into words."""

    code: str
    facts: tuple[Any, ...] = ()


Key = tuple[str, str, int]
Costs = Mapping[tuple[str, str], CostSheet]


class Price(NamedTuple):
    """A price of a piece in a finish and channel from a quantity on, with how it came about.

    `amount` is what the list prints, in the channel's currency and tax basis; `net` is it without tax; `cost` the
    rounded works cost in that currency; `selling_costs` a share of the net price; `floor` the least printed amount.
    """

    channel: str
    piece: str
    finish: str
    quantity: int
    amount: Decimal
    net: Decimal
    cost: Decimal
    selling_costs: Decimal
    floor: Decimal | None
    in_force: Decimal | None
    rule: str
    steps: tuple[Step, ...]
    held: bool = False

    @property
    @exactly
    def margin(self) -> Decimal:
        """(net − selling costs − works cost) ÷ net, as a fraction."""
        return settled((self.net - self.selling_costs * self.net - self.cost) / self.net)

    @property
    def below_floor(self) -> bool:
        """Whether the printed amount is under the floor, as only a held price can be."""
        return self.floor is not None and self.amount < self.floor


@dataclass(frozen=True, slots=True)
class Unpriced:
    """A piece and finish that no rule of a channel prices, with the reason."""

    channel: str
    piece: str
    finish: str
    reason: str


@dataclass(frozen=True)
class PricedBook:
    """A book with its works costs and every price, by channel and then piece, finish and quantity."""

    book: Book
    costs: Costs
    by_channel: Mapping[str, Mapping[Key, Price]]
    unpriced: tuple[Unpriced, ...]
    breaches: tuple[Step, ...]

    def price(self, channel: str, piece: str, finish: str, quantity: int = 1) -> Price:
        """The price of a piece from `quantity` on.

        Raises: KeyError where the channel does not price it at that break.
        """
        return self.by_channel[channel][piece, finish, quantity]

    @cached_property
    def prices(self) -> tuple[Price, ...]:
        """Every price, channel by channel, in the order of the book."""
        return tuple(price for prices in self.by_channel.values() for price in prices.values())


@dataclass(frozen=True, slots=True)
class _Bounds:
    """A channel's or rule's checks in printed amounts, with the factor that turns a works cost into its floor."""

    checks: Checks
    selling_costs: Decimal
    floor_over: Decimal | None


@dataclass(slots=True)
class _Class:
    """One channel opened for pricing: tax factor, currency, rules by scope, and the prices found so far."""

    book: Book
    channel: Channel
    gross: Decimal
    minor_unit: int
    base_per_unit: Decimal
    rules: RulesOfChannel
    prices: dict[Key, Price] = field(default_factory=dict)
    bounds: dict[str, _Bounds] = field(default_factory=dict)

    def converted(self, cost: Decimal) -> Decimal:
        """A rounded works cost in the channel's currency, rounded as a works cost of that currency."""
        if self.base_per_unit == ONE:
            return cost
        return half_even(cost / self.base_per_unit, cost_places(self.minor_unit))

    def in_force(self, piece: str, finish: str, quantity: int) -> Decimal | None:
        """The printed price in force in the channel's currency, if there is one."""
        price = self.book.in_force.get((self.channel.name, piece, finish, quantity))
        return None if price is None else self._in_currency(price)

    def _in_currency(self, price: PriceInForce) -> Decimal:
        own = self.book.currency_of(self.channel)
        if price.currency is None or price.currency == own:
            return price.amount
        base = price.amount * exchange_rate(self.book, price.currency, self.book.date)
        return half_up(base / self.base_per_unit, self.minor_unit)


def _merged(rule: Rule, channel: Channel) -> Checks:
    """The checks of a rule, each left empty taken from its channel."""
    own, general = rule.checks, channel.checks
    if own == Checks():
        return general
    changes = {
        name: getattr(own, name) if getattr(own, name) is not None else getattr(general, name)
        for name in Checks.__dataclass_fields__
    }
    return Checks(**changes)


def _bounds(opened: _Class, rule: Rule) -> _Bounds:
    known = opened.bounds.get(rule.name)
    if known is None:
        checks = _merged(rule, opened.channel)
        selling = rule.selling_costs if rule.selling_costs is not None else opened.channel.selling_costs
        floor = None if checks.floor_margin is None else ONE - checks.floor_margin - selling
        known = opened.bounds[rule.name] = _Bounds(checks, selling, floor)
    return known


def _open(book: Book, channel: Channel) -> _Class:
    rate = tax_rate(book, channel.tax)
    currency = book.currency_of(channel)
    return _Class(
        book=book,
        channel=channel,
        gross=ONE + rate if channel.tax_inclusive else ONE,
        minor_unit=book.minor_units[currency],
        base_per_unit=exchange_rate(book, currency, book.date),
        rules=RulesOfChannel(book.rules_by_channel.get(channel.name, ()), book.date),
    )


def channel_order(book: Book) -> tuple[Channel, ...]:
    """The channels with those that others are built from first; a circle keeps the book's order and is a fault."""
    sources: dict[str, set[str]] = {channel.name: set() for channel in book.channels}
    for rule in book.rules:
        if isinstance(rule.method, FromChannel) and rule.channel in sources:
            sources[rule.channel].add(rule.method.channel)
    ordered: dict[str, Channel] = {}

    def place(channel: Channel, path: tuple[str, ...]) -> None:
        if channel.name in ordered or channel.name in path:
            return
        for source in sorted(sources[channel.name]):
            if source in book.channel_by_name:
                place(book.channel_by_name[source], (*path, channel.name))
        ordered[channel.name] = channel

    for channel in book.channels:
        place(channel, ())
    return tuple(ordered.values())


class _Pricing:
    """One run of pricing over a book: the opened channels in order, and the costs at each batch asked for."""

    def __init__(self, book: Book, costs: Costs) -> None:
        self.book = book
        self.costs = costs
        self.opened: dict[str, _Class] = {}
        self.unpriced: list[Unpriced] = []
        self._at_batch: dict[tuple[str, str, int], Decimal] = {}
        self._strata = _strata(book)

    def run(self) -> PricedBook:
        for channel in channel_order(self.book):
            self.opened[channel.name] = opened = _open(self.book, channel)
            for pieces in self._strata:
                keys = [key for piece in pieces for key in self._piece(opened, piece)]
                _raise_in_order(self.book, opened.prices, keys)
        ordered = {channel.name: self.opened[channel.name].prices for channel in self.book.channels}
        breaches = tuple(_order_between(self.book, ordered, self.opened))
        return PricedBook(self.book, self.costs, ordered, tuple(self.unpriced), breaches)

    def _piece(self, opened: _Class, piece: Piece) -> Iterator[Key]:
        """Prices one piece in a channel, in each finish and at each break; yields the keys of what it priced."""
        for made in piece.made:
            rule = opened.rules.winner(piece.number, piece.family, piece.groups, made.finish)
            if rule is None:
                self.unpriced.append(Unpriced(opened.channel.name, piece.number, made.finish, "no rule"))
                continue
            single = self._single(opened, rule, piece, made.finish)
            if single is None:
                reason = "what its price is built from has no price"
                self.unpriced.append(Unpriced(opened.channel.name, piece.number, made.finish, reason))
                continue
            below = opened.prices[piece.number, made.finish, 1] = single
            yield piece.number, made.finish, 1
            for offer in opened.channel.breaks:
                below = self._at_break(opened, rule, piece, made.finish, offer, below)
                opened.prices[piece.number, made.finish, offer.quantity] = below
                yield piece.number, made.finish, offer.quantity

    def _single(self, opened: _Class, rule: Rule, piece: Piece, finish: str) -> Price | None:
        cost = opened.converted(self.costs[piece.number, finish].works_cost)
        return self._worked(opened, rule, piece, finish, 1, cost)

    def _worked(
        self, opened: _Class, rule: Rule, piece: Piece, finish: str, quantity: int, cost: Decimal
    ) -> Price | None:
        built = self._built(opened, rule, piece, finish, quantity, cost)
        if built is None:
            return None
        bounds = _bounds(opened, rule)
        printed, step = built
        draft = _Draft(opened, bounds, cost, opened.in_force(piece.number, finish, quantity))
        amount, steps = draft.checked(printed)
        if isinstance(rule.method, Held):
            steps = tuple(Step("held, not moved by", (acted,)) for acted in steps if acted.code in _ACTING)
            amount = printed
        return Price(
            channel=opened.channel.name,
            piece=piece.number,
            finish=finish,
            quantity=quantity,
            amount=amount,
            net=amount if opened.gross == ONE else amount / opened.gross,
            cost=cost,
            selling_costs=bounds.selling_costs,
            floor=draft.floor,
            in_force=draft.in_force,
            rule=rule.name,
            steps=(step, *steps),
            held=isinstance(rule.method, Held),
        )

    def _built(
        self, opened: _Class, rule: Rule, piece: Piece, finish: str, quantity: int, cost: Decimal
    ) -> tuple[Decimal, Step] | None:
        """The printed amount before any check, and the step that says how it was built."""
        method, gross = rule.method, opened.gross
        selling = _bounds(opened, rule).selling_costs
        if isinstance(method, ByMargin):
            amount = settled(cost * gross / (ONE - method.margin - selling))
            return amount, Step("by margin", (cost, method.margin, selling, gross, amount))
        if isinstance(method, ByMarkUp):
            amount = settled(cost * (ONE + method.mark_up) * gross / (ONE - selling))
            return amount, Step("by mark-up", (cost, method.mark_up, selling, gross, amount))
        if isinstance(method, Held):
            return method.amount, Step("held", (method.amount, method.until, method.reason))
        if isinstance(method, FromMembers):
            return self._from_members(opened, method, piece, finish)
        return self._from_channel(opened, method, piece, finish, quantity)

    def _from_channel(
        self, opened: _Class, method: FromChannel, piece: Piece, finish: str, quantity: int
    ) -> tuple[Decimal, Step] | None:
        source = self.opened[method.channel]
        offers = [offer.quantity for offer in source.channel.breaks if offer.quantity <= quantity]
        price = source.prices.get((piece.number, finish, max(offers, default=1)))
        if price is None:
            return None
        factor = ONE + method.mark_up
        for discount in method.discounts:
            factor *= ONE - discount
        net = price.net * source.base_per_unit / opened.base_per_unit
        amount = settled(net * factor * opened.gross)
        facts = (
            source.channel.name,
            price.amount,
            price.net,
            method.discounts,
            method.mark_up,
            opened.gross,
            amount,
        )
        return amount, Step("from another price class", facts)

    def _from_members(
        self, opened: _Class, method: FromMembers, piece: Piece, finish: str
    ) -> tuple[Decimal, Step] | None:
        total = ZERO
        for part in piece.parts:
            if isinstance(part, Member):
                price = opened.prices.get((part.piece, part.finish or finish, 1))
                if price is None:
                    return None
                total += price.amount * part.count
        amount = settled(total * (ONE - method.set_share))
        return amount, Step("from its members", (total, method.set_share, amount))

    def _at_break(self, opened: _Class, rule: Rule, piece: Piece, finish: str, offer: Break, below: Price) -> Price:
        """The price from a break's quantity on, never above the price of the quantity below unless its floor forbids."""
        if offer.share is None:
            cost = opened.converted(self._cost_at(piece, finish, max(piece.usual_batch, offer.quantity)))
            price = self._worked(opened, rule, piece, finish, offer.quantity, cost) or below
        else:
            price = self._shared(opened, piece, finish, offer, offer.share)
        if price.amount <= below.amount:
            return price
        if price.floor is not None and below.amount < price.floor:
            kept = Step("dearer than the quantity below: its floor forbids less", (below.quantity, below.amount))
            return price._replace(steps=(*price.steps, kept))
        capped = Step("no dearer than the quantity below", (below.quantity, below.amount, price.amount))
        return price._replace(amount=below.amount, net=below.net, steps=(*price.steps, capped))

    def _shared(self, opened: _Class, piece: Piece, finish: str, offer: Break, share: Decimal) -> Price:
        single = opened.prices[piece.number, finish, 1]
        amount = half_up(single.amount * (ONE - share), opened.minor_unit)
        steps = [Step("break by a share", (single.amount, share, amount))]
        if single.floor is not None and amount < single.floor and not single.held:
            amount = rounded_up(single.floor, opened.minor_unit)
            steps.append(Step("floor", (single.floor, amount)))
        net = amount if opened.gross == ONE else amount / opened.gross
        in_force = opened.in_force(piece.number, finish, offer.quantity)
        return single._replace(quantity=offer.quantity, amount=amount, net=net, in_force=in_force, steps=tuple(steps))

    def _cost_at(self, piece: Piece, finish: str, batch: int) -> Decimal:
        if batch == piece.usual_batch:
            return self.costs[piece.number, finish].works_cost
        key = (piece.number, finish, batch)
        if key not in self._at_batch:
            self._at_batch[key] = cost_sheet(self.book, piece.number, finish, batch).works_cost
        return self._at_batch[key]


_ACTING = frozenset(
    {"least", "greatest", "greatest rise", "greatest fall", "floor", "point above the floor", "point moved"}
)


class _Draft:
    """A price on its way through the checks of its rule, in printed amounts."""

    def __init__(self, opened: _Class, bounds: _Bounds, cost: Decimal, in_force: Decimal | None) -> None:
        checks = bounds.checks
        self.opened = opened
        self.checks = checks
        self.in_force = in_force
        self.floor = None if bounds.floor_over is None else settled(cost * opened.gross / bounds.floor_over)
        self.least, self.greatest = checks.least, checks.greatest
        self.lowest = self.highest = None
        if in_force is not None:
            if checks.greatest_fall is not None:
                self.lowest = settled(in_force * (ONE - checks.greatest_fall))
            if checks.greatest_rise is not None:
                self.highest = settled(in_force * (ONE + checks.greatest_rise))

    def checked(self, amount: Decimal) -> tuple[Decimal, tuple[Step, ...]]:
        """The printed price after the checks of one price, in their order, and the steps that acted."""
        steps: list[Step] = []
        amount = self._amounts(amount, steps)
        amount = self._changes(amount, steps)
        if self.floor is not None and amount < self.floor:
            steps.append(Step("floor", (self.floor, self.floor)))
            amount = self.floor
        amount = self._point(amount, steps)
        return self._smallest_change(amount, steps), tuple(steps)

    def _amounts(self, amount: Decimal, steps: list[Step]) -> Decimal:
        if self.least is not None and amount < self.least:
            steps.append(Step("least", (self.least,)))
            return self.least
        if self.greatest is not None and amount > self.greatest:
            steps.append(Step("greatest", (self.greatest,)))
            return self.greatest
        return amount

    def _changes(self, amount: Decimal, steps: list[Step]) -> Decimal:
        """Not more than the greatest rise or fall; where that overrides an amount, the amount is left out from here."""
        if self.highest is not None and amount > self.highest:
            steps.append(Step("greatest rise", (self.in_force, self.checks.greatest_rise, self.highest)))
            amount = self.highest
            if self.least is not None and amount < self.least:
                self.least = None
        elif self.lowest is not None and amount < self.lowest:
            steps.append(Step("greatest fall", (self.in_force, self.checks.greatest_fall, self.lowest)))
            amount = self.lowest
            if self.greatest is not None and amount > self.greatest:
                self.greatest = None
        return amount

    def _point(self, amount: Decimal, steps: list[Step]) -> Decimal:
        below, above, direction = neighbours(self.opened.channel.points, self.opened.minor_unit, amount)
        wanted = preferred(below, above, direction, amount)
        point = self._fitting(wanted, [point for point in (below, above) if point is not None])
        steps.append(Step("price point", (direction, amount, wanted)))
        if point != wanted:
            code = "point above the floor" if self.floor is not None and wanted < self.floor else "point moved"
            steps.append(Step(code, (wanted, point)))
        return point

    def _fitting(self, wanted: Decimal, points: list[Decimal]) -> Decimal:
        """The wanted point, or its neighbour where that one fits; where none does, floor, then greatest, then least."""
        if self._fits(wanted):
            return wanted
        for point in points:
            if self._fits(point):
                return point
        sound = [point for point in points if self.floor is None or point >= self.floor]
        if not sound:
            return rounded_up(self.floor or wanted, self.opened.minor_unit)
        within = [point for point in sound if not self._too_high(point)]
        if within:
            return max(within)
        return min(sound)

    def _too_high(self, point: Decimal) -> bool:
        return (self.highest is not None and point > self.highest) or (
            self.greatest is not None and point > self.greatest
        )

    def _too_low(self, point: Decimal) -> bool:
        return (self.lowest is not None and point < self.lowest) or (self.least is not None and point < self.least)

    def _fits(self, point: Decimal) -> bool:
        return (self.floor is None or point >= self.floor) and not self._too_high(point) and not self._too_low(point)

    def _smallest_change(self, amount: Decimal, steps: list[Step]) -> Decimal:
        old, checks = self.in_force, self.checks
        if old is None or old == amount:
            return amount
        change = abs(amount - old)
        near = (checks.smallest_change is not None and change < checks.smallest_change) or (
            checks.smallest_change_share is not None and change < checks.smallest_change_share * old
        )
        if not near:
            return amount
        if not self._keeps(old):
            return amount
        steps.append(Step("smallest change", (old, amount)))
        return old

    def _keeps(self, amount: Decimal) -> bool:
        """Whether a price in force keeps the least and greatest amount and the floor."""
        return (
            (self.floor is None or amount >= self.floor)
            and (self.least is None or amount >= self.least)
            and (self.greatest is None or amount <= self.greatest)
        )


def _strata(book: Book) -> tuple[tuple[Piece, ...], ...]:
    """The pieces in layers: those that may be priced from members come after all their members."""
    depths: dict[str, int] = {}

    def depth(number: str) -> int:
        if number not in depths:
            members = [part.piece for part in book.piece_by_number[number].parts if isinstance(part, Member)]
            depths[number] = 1 + max((depth(member) for member in members), default=-1)
        return depths[number]

    layers: dict[int, list[Piece]] = defaultdict(list)
    for piece in book.pieces:
        layers[depth(piece.number)].append(piece)
    return tuple(tuple(layers[layer]) for layer in sorted(layers))


def _raise_in_order(book: Book, prices: dict[Key, Price], keys: Iterable[Key]) -> None:
    """Raises, among prices of one channel, each to what a smaller size or a lower finish of the same piece costs.

    Worked from the smallest size and lowest finish up, so one pass reaches the closure. A held price is not raised;
    what it is below is reported on it.
    """
    ranks = {finish.name: finish.rank for finish in book.finishes}
    pieces = book.piece_by_number
    placed = [(pieces[key[0]].size or ZERO, ranks[key[1]], key) for key in keys]
    placed.sort(key=lambda entry: entry[:2])
    sized: dict[tuple[str, str, int], list[tuple[Decimal, Key]]] = defaultdict(list)
    finished: dict[tuple[str, int], list[tuple[int, Key]]] = defaultdict(list)
    for size, rank, key in placed:
        number, finish, quantity = key
        piece = pieces[number]
        same_piece = finished[number, quantity]
        lower = [other for below, other in same_piece if below < rank]
        same_piece.append((rank, key))
        if piece.size_family is not None and piece.size is not None:
            same_family = sized[piece.size_family, finish, quantity]
            lower += [other for below, other in same_family if below < size]
            same_family.append((size, key))
        if lower:
            _raise(prices, key, lower)


def _raise(prices: dict[Key, Price], key: Key, lower: list[Key]) -> None:
    price = prices[key]
    dearest = max((prices[other] for other in lower), key=lambda other: other.amount)
    if dearest.amount <= price.amount:
        return
    facts = (dearest.piece, dearest.finish, dearest.amount, price.amount)
    if price.held:
        prices[key] = price._replace(steps=(*price.steps, Step("held out of order", facts)))
    else:
        step = Step("raised to keep order", facts)
        prices[key] = price._replace(amount=dearest.amount, net=dearest.net, steps=(*price.steps, step))


def _order_between(
    book: Book, prices: Mapping[str, Mapping[Key, Price]], opened: Mapping[str, _Class]
) -> Iterator[Step]:
    """Where a channel's best price is above what another channel allows, as a report for the draft."""
    for channel in book.channels:
        for limit in channel.never_above:
            other = opened[limit.channel]
            keep = (ONE - other.channel.usual_discount) * limit.share
            rate = other.base_per_unit / opened[channel.name].base_per_unit
            for (piece, finish, quantity), price in prices[channel.name].items():
                against = prices[limit.channel].get((piece, finish, 1))
                best = price.net * (ONE - channel.best_discount)
                if quantity == _last_break(channel) and against is not None:
                    allowed = against.net * keep * rate
                    if settled(best) > settled(allowed):
                        facts = (channel.name, piece, finish, quantity, best, limit.channel, allowed)
                        yield Step("order between price classes", facts)


def _last_break(channel: Channel) -> int:
    return max((offer.quantity for offer in channel.breaks), default=1)


@exactly
def price_everything(book: Book) -> PricedBook:
    """Every price of a book: each piece in each finish it is made in, in every channel, at every break.

    A pure function: the same book gives the same prices, for ever.
    """
    with collector_off():
        return _Pricing(book, works_costs(book)).run()


@exactly
def prices_at(book: Book, costs: Costs) -> PricedBook:
    """Every price of a book from works costs worked elsewhere."""
    return _Pricing(book, costs).run()


def agreed_price(book: Book, dealer: str, channel: str, piece: str, finish: str) -> AgreedPrice | None:
    """The price agreed with a dealer that is in effect on the book's day: it comes before every rule."""
    found = [
        agreed
        for agreed in book.agreed_prices
        if (agreed.dealer, agreed.channel, agreed.piece, agreed.finish) == (dealer, channel, piece, finish)
        and agreed.since <= book.date <= agreed.until
    ]
    return max(found, key=lambda agreed: agreed.since) if found else None
