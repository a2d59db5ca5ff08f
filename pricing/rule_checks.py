"""Faults of a book's rules among each other: equal claims, circles, shares that leave no price, bands that overlap."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from .amounts import ONE, ZERO, plain
from .book import Book
from .errors import Fault, PricingError
from .piece import Member, Piece
from .price_class import sources_of
from .price_order import pricing_order
from .price_point import PricePoints, first_point
from .rules import ByMargin, Channel, Checks, FromChannel, FromMembers, Held, Rule, RulesOfChannel, in_effect, scope


def rule_faults(book: Book) -> Iterator[Fault]:
    """Every fault of the channels and rules that reading one record cannot show."""
    for channel in book.channels:
        yield from _channel(book, channel)
    for rule in book.rules:
        yield from _rule(book, rule)
    yield from _printed(book)
    yield from _claims(book)
    yield from _of_winners(book)
    yield from _circles(book)
    yield from _circle_of_sizes(book)


def _channel(book: Book, channel: Channel) -> Iterator[Fault]:
    record = f"channels {channel.name}"
    yield from _checks(record, channel.checks, channel.selling_costs)
    quantities = [offer.quantity for offer in channel.breaks]
    if quantities != sorted(set(quantities)):
        yield Fault(record, "breaks", f"quantities {quantities}", "quantities that rise")
    if channel.points is not None:
        yield from _points(record, channel.points, book.minor_units[book.currency_of(channel)])
    bands = [(band.start, band.end) for band in channel.terms.carriage]
    yield from _bands(record, "terms.carriage", bands)
    starts = [entry.start for entry in channel.terms.order_discounts]
    if starts != sorted(set(starts)):
        yield Fault(record, "terms.order_discounts", "starts out of order", "starts that rise")


def _points(record: str, points: PricePoints, minor_unit: int) -> Iterator[Fault]:
    if not points.bands:
        yield Fault(record, "points.bands", "no band", "one band at least")
    yield from _bands(record, "points.bands", [(band.start, band.end) for band in points.bands])
    for index, band in enumerate(points.bands):
        field = f"points.bands[{index}]"
        if first_point(PricePoints(bands=(band,))) is None:
            allowed = f"a step and ending with a point above 0 from {band.start} up to {band.end}"
            yield Fault(record, field, "no point inside", allowed)
        for name in ("step", "ending"):
            yield from _places(record, f"{field}.{name}", getattr(band, name), minor_unit)


def _bands(record: str, field: str, bands: list[tuple[Decimal, Decimal | None]]) -> Iterator[Fault]:
    for index, (start, end) in enumerate(bands):
        if end is not None and end <= start:
            yield Fault(record, f"{field}[{index}].end", str(end), f"more than its start {start}")
        if index and (bands[index - 1][1] is None or start < (bands[index - 1][1] or ZERO)):
            allowed = "bands that rise and do not overlap; only the last without an end"
            yield Fault(record, f"{field}[{index}].start", str(start), allowed)


def _places(record: str, field: str, amount: Decimal, minor_unit: int) -> Iterator[Fault]:
    """A fault for an amount to be printed that is finer than the minor unit of its currency."""
    if amount != round(amount, minor_unit):
        allowed = f"a printed amount: at most {minor_unit} decimal places" if minor_unit else "a whole printed amount"
        yield Fault(record, field, plain(amount), allowed)


def _printed(book: Book) -> Iterator[Fault]:
    """Amounts that print as they stand."""
    unit_of = {channel.name: book.minor_units[book.currency_of(channel)] for channel in book.channels}
    for rule in book.rules:
        if isinstance(rule.method, Held):
            yield from _places(f"rules {rule.name}", "method.amount", rule.method.amount, unit_of[rule.channel])
    for price in book.prices_in_force:
        unit = unit_of[price.channel] if price.currency is None else book.minor_units[price.currency]
        record = f"prices_in_force {price.channel} {price.piece} {price.finish}"
        yield from _places(record, "amount", price.amount, unit)
    for agreed in book.agreed_prices:
        record = f"agreed_prices {agreed.channel} {agreed.piece} {agreed.finish}"
        yield from _places(record, "amount", agreed.amount, unit_of[agreed.channel])


def _checks(record: str, checks: Checks, selling: Decimal) -> Iterator[Fault]:
    if checks.least is not None and checks.greatest is not None and checks.least > checks.greatest:
        yield Fault(record, "checks.least", str(checks.least), f"at most the greatest amount {checks.greatest}")
    if checks.floor_margin is not None and checks.floor_margin + selling >= ONE:
        found = f"least margin {checks.floor_margin} with selling costs {selling}"
        yield Fault(record, "checks.floor_margin", found, "a sum below 1")


def _rule(book: Book, rule: Rule) -> Iterator[Fault]:
    record = f"rules {rule.name}"
    narrowed = [rule.piece, rule.family, rule.group]
    if sum(value is not None for value in narrowed) > 1:
        yield Fault(record, "piece", "more than one of piece, family and group", "one of them at most")
    channel = book.channel_by_name[rule.channel]
    selling = rule.selling_costs if rule.selling_costs is not None else channel.selling_costs
    if isinstance(rule.method, ByMargin) and rule.method.margin + selling >= ONE:
        found = f"margin {rule.method.margin} with selling costs {selling}"
        yield Fault(record, "method.margin", found, "a sum below 1")
    if rule.checks != Checks() or rule.selling_costs is not None:
        yield from _checks(record, rule.checks.over(channel.checks), selling)
    if isinstance(rule.method, FromChannel):
        yield from _discounts(record, rule.method)


def _discounts(record: str, method: FromChannel) -> Iterator[Fault]:
    for index, discount in enumerate(method.discounts):
        if not ZERO <= discount < ONE:
            yield Fault(record, f"method.discounts[{index}]", str(discount), "a fraction from 0 to below 1")
    if method.discounts and method.mark_up:
        yield Fault(record, "method.mark_up", "a mark-up beside discounts", "one or the other")


def _claims(book: Book) -> Iterator[Fault]:
    """Two rules of one channel with the same scope from the same day, both in effect."""
    seen: dict[tuple[object, ...], str] = {}
    for rule in book.rules:
        if not in_effect(rule, book.date):
            continue
        claim = (rule.channel, scope(rule), rule.since)
        if claim in seen:
            allowed = f'another day or scope than rule "{seen[claim]}"'
            yield Fault(f"rules {rule.name}", "since", f"the same claim from {rule.since}", allowed)
        seen.setdefault(claim, rule.name)


def _of_winners(book: Book) -> Iterator[Fault]:
    """Faults of the rules that price each piece, told once: rivals among its groups, members it does not have."""
    told: set[Fault] = set()
    for channel in book.channels:
        rules = RulesOfChannel(book.rules_by_channel.get(channel.name, ()), book.date)
        for piece in book.pieces:
            for made in piece.made:
                winner = rules.winner(piece.number, piece.family, piece.groups, made.finish)
                if winner is not None:
                    faults = (*_rivals(rules, piece, winner), *_memberless(piece, winner))
                    yield from (fault for fault in faults if fault not in told)
                    told.update(faults)


def _rivals(rules: RulesOfChannel, piece: Piece, winner: Rule) -> Iterator[Fault]:
    rivals = rules.rivals(piece.groups, winner)
    if rivals:
        names = ", ".join(rule.name for rule in rivals)
        found = f"groups of {piece.number} claimed from one day by: {names}"
        yield Fault(f"rules {rivals[0].name}", "since", found, "one latest rule among a piece's groups")


def _memberless(piece: Piece, winner: Rule) -> Iterator[Fault]:
    if isinstance(winner.method, FromMembers) and not any(isinstance(part, Member) for part in piece.parts):
        found = f"members' prices for {piece.number}"
        yield Fault(f"rules {winner.name}", "method", found, "pieces made of other pieces")


def _circles(book: Book) -> Iterator[Fault]:
    """Channels built from each other in a circle by the rules that act, each circle named once."""
    sources = {channel.name: sources_of(book, channel.name) for channel in book.channels}
    done: set[str] = set()

    def follow(channel: str, path: tuple[str, ...]) -> Iterator[Fault]:
        if channel in path:
            found = " from ".join((*path[path.index(channel) :], channel))
            yield Fault(f"channels {channel}", "rules", f"a circle: {found}", "channels built in one direction")
        elif channel not in done:
            for source in sources[channel]:
                yield from follow(source, (*path, channel))
            done.add(channel)

    for name in sources:
        yield from follow(name, ())


def _circle_of_sizes(book: Book) -> Iterator[Fault]:
    """Sets and sizes that each wait for the other's price."""
    try:
        pricing_order(book)
    except PricingError as error:
        yield error.fault
