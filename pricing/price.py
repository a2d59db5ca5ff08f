"""Prices: every piece, finish, channel and quantity break of a book, by its rules and checks, each with its reason."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cached_property
from typing import NamedTuple

from .amounts import ONE, ZERO, exactly, half_up, rounded_up, settled
from .book import Book
from .collector import collector_off
from .cost import CostSheet, cost_sheet, works_costs
from .piece import Member, Piece
from .price_checks import Draft, Step, breaches
from .price_class import Key, OpenClass, channel_order, open_class
from .price_order import Ladder, pricing_order
from .price_point import neighbours
from .rules import AgreedPrice, Break, ByMargin, ByMarkUp, Checks, FromChannel, FromMembers, Held, Rule

Costs = Mapping[tuple[str, str], CostSheet]
Built = tuple[Decimal, Step]


class Price(NamedTuple):
    """A price of a piece in a finish and channel from a quantity on, with how it came about.

    `amount` is what the list prints, in the channel's currency and tax basis; `net` is it without tax; `cost` the
    rounded works cost in that currency; `selling_costs` a share of the net price; `floor` the least printed amount;
    `checks` what it was held to.
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
    checks: Checks = Checks()
    minor_unit: int = 2

    @property
    @exactly
    def margin(self) -> Decimal:
        """(net − selling costs − works cost) ÷ net, as a fraction."""
        return settled((self.net - self.selling_costs * self.net - self.cost) / self.net)

    @property
    def below_floor(self) -> bool:
        """Whether the printed amount is under the floor, as only a held price can be."""
        return self.floor is not None and self.amount < self.floor

    @property
    @exactly
    def breaches(self) -> tuple[Step, ...]:
        """Each of its checks that the printed amount does not keep: a later check won, or it is set by hand."""
        return tuple(breaches(self.amount, self.checks, self.in_force, self.floor))


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

    def price(self, channel: str, piece: str, finish: str, quantity: int = 1) -> Price:
        """The price of a piece from `quantity` on.

        Raises: KeyError where the channel does not price it at that break.
        """
        return self.by_channel[channel][piece, finish, quantity]

    @cached_property
    def prices(self) -> tuple[Price, ...]:
        """Every price, channel by channel, in the order of the book."""
        return tuple(price for prices in self.by_channel.values() for price in prices.values())


@dataclass(slots=True)
class _Class:
    """A channel with the prices found so far, and the ladders of each size family, finish and quantity."""

    open: OpenClass
    prices: dict[Key, Price] = field(default_factory=dict)
    sizes: dict[tuple[str, str, int], Ladder[Price, Decimal]] = field(default_factory=dict)


class _Pricing:
    """One run of pricing over a book: the classes in order, and the costs at each batch asked for."""

    def __init__(self, book: Book, costs: Costs) -> None:
        self.book = book
        self.costs = costs
        self.classes: dict[str, _Class] = {}
        self.unpriced: list[Unpriced] = []
        self._pieces = pricing_order(book)
        self._ranks = {finish.name: finish.rank for finish in book.finishes}
        self._at_batch: dict[tuple[str, str, int], Decimal] = {}

    def run(self) -> PricedBook:
        for channel in channel_order(self.book):
            self.classes[channel.name] = own = _Class(open_class(self.book, channel))
            for piece in self._pieces:
                self._piece(own, piece)
        ordered = {channel.name: self._in_book_order(self.classes[channel.name]) for channel in self.book.channels}
        return PricedBook(self.book, self.costs, ordered, tuple(self.unpriced))

    def _in_book_order(self, own: _Class) -> dict[Key, Price]:
        quantities = (1, *(offer.quantity for offer in own.open.channel.breaks))
        keys = (
            (piece.number, made.finish, quantity)
            for piece in self.book.pieces
            for made in piece.made
            for quantity in quantities
        )
        return {key: price for key in keys if (price := own.prices.get(key)) is not None}

    def _piece(self, own: _Class, piece: Piece) -> None:
        """Prices one piece in a channel, duller finishes before brighter ones, and keeps it in order."""
        finishes: dict[int, Ladder[Price, int]] = {}
        for rank, finish in sorted((self._ranks[made.finish], made.finish) for made in piece.made):
            for price in self._finish(own, piece, finish):
                ladder = finishes.get(price.quantity)
                if ladder is None:
                    ladder = finishes[price.quantity] = Ladder(rank)
                kept = self._in_order(own, piece, price, ladder.below(rank))
                ladder.add(kept)
                own.prices[piece.number, finish, price.quantity] = kept

    def _in_order(self, own: _Class, piece: Piece, price: Price, duller: Price | None) -> Price:
        """The price, raised to what a duller finish or a smaller size costs, and taken into its size family."""
        if piece.size_family is None or piece.size is None:
            return _not_below(price, duller)
        key = (piece.size_family, price.finish, price.quantity)
        ladder = own.sizes.get(key)
        if ladder is None:
            ladder = own.sizes[key] = Ladder(piece.size)
        smaller = ladder.below(piece.size)
        dearest = smaller if duller is None or (smaller is not None and smaller.amount > duller.amount) else duller
        kept = _not_below(price, dearest)
        ladder.add(kept)
        return kept

    def _finish(self, own: _Class, piece: Piece, finish: str) -> Iterator[Price]:
        """The prices of a piece in a finish, single and at each break, before order."""
        rule = own.open.rules.winner(piece.number, piece.family, piece.groups, finish)
        single = None if rule is None else self._single(own, rule, piece, finish)
        if rule is None or single is None:
            reason = "no rule" if rule is None else "what its price is built from has no price"
            self.unpriced.append(Unpriced(own.open.channel.name, piece.number, finish, reason))
            return
        yield single
        below = single
        for offer in own.open.channel.breaks:
            below = self._at_break(own, rule, piece, offer, single, below)
            yield below

    def _single(self, own: _Class, rule: Rule, piece: Piece, finish: str) -> Price | None:
        cost = own.open.converted(self.costs[piece.number, finish].works_cost)
        return self._worked(own, rule, piece, finish, 1, cost)

    def _worked(self, own: _Class, rule: Rule, piece: Piece, finish: str, quantity: int, cost: Decimal) -> Price | None:
        """The price a rule gives through its checks, None where what it is built from has no price."""
        built = self._built(own, rule, piece, finish, quantity, cost)
        if built is None:
            return None
        opened = own.open
        amount, step = built
        draft = Draft(opened.bounds_of(rule), cost, opened.in_force.get((piece.number, finish, quantity)))
        printed = draft.checked(amount)
        steps = draft.steps
        held = isinstance(rule.method, Held)
        if held:
            printed, steps = amount, _not_moved_by(steps)
            steps += self._by_rule(own, piece, finish, quantity, cost)
        return Price(
            opened.channel.name, piece.number, finish, quantity, printed, opened.net(printed), cost,
            draft.bounds.selling_costs, draft.floor, draft.in_force, rule.name, (step, *steps), held, draft.checks,
            opened.minor_unit,
        )  # fmt: skip

    def _by_rule(self, own: _Class, piece: Piece, finish: str, quantity: int, cost: Decimal) -> list[Step]:
        """What the rules would give in place of a price set by hand."""
        rule = own.open.not_held.winner(piece.number, piece.family, piece.groups, finish)
        price = None if rule is None else self._worked(own, rule, piece, finish, quantity, cost)
        return [] if price is None else [Step("the rule would give", (price.rule, price.amount))]

    def _built(self, own: _Class, rule: Rule, piece: Piece, finish: str, quantity: int, cost: Decimal) -> Built | None:
        """The printed amount before any check, and the step that says how it was built."""
        method, bounds = rule.method, own.open.bounds_of(rule)
        selling, gross = bounds.selling_costs, bounds.gross
        if isinstance(method, ByMargin):
            amount = settled(cost * gross / (ONE - method.margin - selling))
            return amount, Step("by margin", (cost, method.margin, selling, gross, amount))
        if isinstance(method, ByMarkUp):
            amount = settled(cost * (ONE + method.mark_up) * gross / (ONE - selling))
            return amount, Step("by mark-up", (cost, method.mark_up, selling, gross, amount))
        if isinstance(method, Held):
            return method.amount, Step("held", (method.amount, method.until, method.reason))
        if isinstance(method, FromMembers):
            return _from_members(own, method, piece, finish, quantity)
        return self._from_channel(own, method, piece, finish, quantity)

    def _from_channel(self, own: _Class, method: FromChannel, piece: Piece, finish: str, quantity: int) -> Built | None:
        """Another channel's final price at the greatest of its breaks up to the quantity, without tax, in this currency."""
        source = self.classes.get(method.channel)
        if source is None:  # Only for what would act in place of a price set by hand: its class may come later.
            return None
        offers = (offer.quantity for offer in source.open.channel.breaks if offer.quantity <= quantity)
        price = source.prices.get((piece.number, finish, max(offers, default=1)))
        if price is None:
            return None
        factor, gross = ONE + method.mark_up, own.open.gross
        for discount in method.discounts:
            factor *= ONE - discount
        net = price.net
        if source.open.base_per_unit != own.open.base_per_unit:
            net = net * source.open.base_per_unit / own.open.base_per_unit
        amount = settled(net * factor * gross)
        facts = (method.channel, price.amount, price.net, net, method.discounts, method.mark_up, gross, amount)
        return amount, Step("from another price class", facts)

    def _at_break(self, own: _Class, rule: Rule, piece: Piece, offer: Break, single: Price, below: Price) -> Price:
        """The price from a break's quantity on, never above the price of the quantity below unless its floor forbids."""
        if offer.share is not None:
            return _no_dearer(_shared(own, single, offer.quantity, offer.share), below, own)
        batch = max(piece.usual_batch, offer.quantity)
        cost = own.open.converted(self._cost_at(piece, single.finish, batch))
        price = self._worked(own, rule, piece, single.finish, offer.quantity, cost)
        return below._replace(quantity=offer.quantity) if price is None else _no_dearer(price, below, own)

    def _cost_at(self, piece: Piece, finish: str, batch: int) -> Decimal:
        if batch == piece.usual_batch:
            return self.costs[piece.number, finish].works_cost
        key = (piece.number, finish, batch)
        if key not in self._at_batch:
            self._at_batch[key] = cost_sheet(self.book, piece.number, finish, batch).works_cost
        return self._at_batch[key]


def _not_moved_by(steps: list[Step]) -> list[Step]:
    """The checks that would have moved a price set by hand."""
    acted = (step for step in steps if step.code != "price point" or step.facts[1] != step.facts[2])
    return [Step("held, not moved by", (step,)) for step in acted]


def _from_members(own: _Class, method: FromMembers, piece: Piece, finish: str, quantity: int) -> Built | None:
    """The members' final prices from the same quantity on, × their counts, less the set share."""
    total = ZERO
    for part in piece.parts:
        if isinstance(part, Member):
            price = own.prices.get((part.piece, part.finish or finish, quantity))
            if price is None:
                return None
            total += price.amount * part.count
    amount = settled(total * (ONE - method.set_share))
    return amount, Step("from its members", (total, method.set_share, amount))


def _shared(own: _Class, single: Price, quantity: int, share: Decimal) -> Price:
    """The single price less a share: half-up to the minor unit, through the floor and no point."""
    opened = own.open
    least = ONE.scaleb(-opened.minor_unit)
    amount = max(half_up(single.amount * (ONE - share), opened.minor_unit), least)
    steps = [Step("break by a share", (single.amount, share, amount))]
    if single.floor is not None and amount < single.floor and not single.held:
        amount, wanted = rounded_up(single.floor, opened.minor_unit), amount
        steps.append(Step("floor", (single.floor, wanted)))
    in_force = opened.in_force.get((single.piece, single.finish, quantity))
    return single._replace(
        quantity=quantity, amount=amount, net=opened.net(amount), in_force=in_force, steps=tuple(steps)
    )


def _no_dearer(price: Price, below: Price, own: _Class) -> Price:
    """The price, at most that of the quantity below it; where its own floor forbids that, the least the floor allows."""
    if price.amount <= below.amount:
        return price
    if price.floor is None or price.held or below.amount >= price.floor:
        step = Step("no dearer than the quantity below", (below.quantity, below.amount, price.amount))
        return price._replace(amount=below.amount, net=below.net, steps=(*price.steps, step))
    points = None if price.steps[0].code == "break by a share" else own.open.channel.points
    allowed = neighbours(points, price.minor_unit, price.floor)[1]
    amount = price.amount if allowed is None else min(price.amount, allowed)
    step = Step("dearer than the quantity below: its floor forbids less", (below.quantity, below.amount, amount))
    return price._replace(amount=amount, net=own.open.net(amount), steps=(*price.steps, step))


def _not_below(price: Price, dearest: Price | None) -> Price:
    """The price raised to the dearest that may not be above it; one set by hand stays and says so."""
    if dearest is None or dearest.amount <= price.amount:
        return price
    facts = (dearest.piece, dearest.finish, dearest.amount, price.amount)
    if price.held:
        return price._replace(steps=(*price.steps, Step("held out of order", facts)))
    step = Step("raised to keep order", facts)
    return price._replace(amount=dearest.amount, net=dearest.net, steps=(*price.steps, step))


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
    with collector_off():
        return _Pricing(book, costs).run()


def agreed_price(book: Book, dealer: str, channel: str, piece: str, finish: str) -> AgreedPrice | None:
    """The price agreed with a dealer that is in effect on the book's day: it comes before every rule."""
    found = [
        agreed
        for agreed in book.agreed_prices
        if (agreed.dealer, agreed.channel, agreed.piece, agreed.finish) == (dealer, channel, piece, finish)
        and agreed.since <= book.date <= agreed.until
    ]
    return max(found, key=lambda agreed: agreed.since, default=None)
