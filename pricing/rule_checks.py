"""Faults of a book's rules among each other: equal claims, circles, shares that leave no price, bands that overlap."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from decimal import Decimal

from .amounts import ONE, ZERO
from .book import Book
from .errors import Fault
from .piece import Member, Piece
from .price_point import PricePoints
from .rules import (
    ByMargin,
    Channel,
    Checks,
    FromChannel,
    FromMembers,
    Rule,
    RulesOfChannel,
    in_effect,
    scope,
)


def rule_faults(book: Book) -> Iterator[Fault]:
    """Every fault of the channels and rules that reading one record cannot show."""
    for channel in book.channels:
        yield from _channel(channel)
    for rule in book.rules:
        yield from _rule(book, rule)
    yield from _claims(book)
    yield from _group_claims(book)
    yield from _circles(book)


def _channel(channel: Channel) -> Iterator[Fault]:
    record = f"channels {channel.name}"
    yield from _checks(record, channel.checks, channel.selling_costs)
    quantities = [offer.quantity for offer in channel.breaks]
    if quantities != sorted(set(quantities)):
        yield Fault(record, "breaks", f"quantities {quantities}", "quantities that rise")
    if channel.points is not None:
        yield from _points(record, channel.points)
    bands = [(band.start, band.end) for band in channel.terms.carriage]
    yield from _bands(record, "terms.carriage", bands)
    starts = [entry.start for entry in channel.terms.order_discounts]
    if starts != sorted(set(starts)):
        yield Fault(record, "terms.order_discounts", "starts out of order", "starts that rise")


def _points(record: str, points: PricePoints) -> Iterator[Fault]:
    if not points.bands:
        yield Fault(record, "points.bands", "no band", "one band at least")
    yield from _bands(record, "points.bands", [(band.start, band.end) for band in points.bands])
    for index, band in enumerate(points.bands):
        low = ((band.start - band.ending) / band.step).to_integral_value(rounding="ROUND_CEILING")
        first = low * band.step + band.ending
        if band.end is not None and first >= band.end:
            allowed = f"a step and ending with a point from {band.start} up to {band.end}"
            yield Fault(record, f"points.bands[{index}]", "no point inside", allowed)
        if first <= ZERO and band.start <= ZERO and band.ending <= ZERO and index == 0 and first < ZERO:
            yield Fault(record, f"points.bands[{index}].ending", str(band.ending), "points of 0 or more")


def _bands(record: str, field: str, bands: list[tuple[Decimal, Decimal | None]]) -> Iterator[Fault]:
    for index, (start, end) in enumerate(bands):
        if end is not None and end <= start:
            yield Fault(record, f"{field}[{index}].end", str(end), f"more than its start {start}")
        if index and (bands[index - 1][1] is None or start < (bands[index - 1][1] or ZERO)):
            allowed = "bands that rise and do not overlap; only the last without an end"
            yield Fault(record, f"{field}[{index}].start", str(start), allowed)


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
    floor = rule.checks.floor_margin if rule.checks.floor_margin is not None else channel.checks.floor_margin
    yield from _checks(record, Checks(least=rule.checks.least, greatest=rule.checks.greatest), selling)
    if floor is not None and floor + selling >= ONE:
        yield Fault(
            record,
            "checks.floor_margin",
            f"least margin {floor} with selling costs {selling}",
            "a sum below 1",
        )
    if isinstance(rule.method, FromChannel):
        yield from _discounts(record, rule.method)
    if isinstance(rule.method, FromMembers):
        for piece in _pieces_of(book, rule):
            if not any(isinstance(part, Member) for part in piece.parts):
                yield Fault(record, "method", f"members' prices for {piece.number}", "pieces made of other pieces")


def _discounts(record: str, method: FromChannel) -> Iterator[Fault]:
    for index, discount in enumerate(method.discounts):
        if not ZERO <= discount < ONE:
            yield Fault(record, f"method.discounts[{index}]", str(discount), "a fraction from 0 to below 1")
    if method.discounts and method.mark_up:
        yield Fault(record, "method.mark_up", "a mark-up beside discounts", "one or the other")


def _pieces_of(book: Book, rule: Rule) -> list[Piece]:
    """The pieces a rule claims by its scope."""
    return [
        piece
        for piece in book.pieces
        if rule.piece in (None, piece.number)
        and rule.family in (None, piece.family)
        and (rule.group is None or rule.group in piece.groups)
    ]


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


def _group_claims(book: Book) -> Iterator[Fault]:
    """Rules of two of a piece's groups from the same day: neither is the latest. Told once for each pair of rules."""
    told: set[tuple[str, ...]] = set()
    for channel in book.channels:
        rules = RulesOfChannel(book.rules_by_channel.get(channel.name, ()), book.date)
        for piece in book.pieces:
            for finish in (*(made.finish for made in piece.made), None):
                names = tuple(rule.name for rule in rules.rivals(piece.groups, finish))
                if names and names not in told:
                    told.add(names)
                    found = f"groups of {piece.number} claimed from one day by: {', '.join(names)}"
                    yield Fault(f"rules {names[0]}", "since", found, "one latest rule among a piece's groups")


def _circles(book: Book) -> Iterator[Fault]:
    """Channels built from each other in a circle, each circle named once."""
    sources: dict[str, set[str]] = defaultdict(set)
    for rule in book.rules:
        if isinstance(rule.method, FromChannel) and in_effect(rule, book.date):
            sources[rule.channel].add(rule.method.channel)
    told: set[str] = set()

    def follow(channel: str, path: tuple[str, ...]) -> Iterator[Fault]:
        if channel in path:
            circle = path[path.index(channel) :]
            if not told & set(circle):
                told.update(circle)
                found = " from ".join((*circle, channel))
                yield Fault(f"channels {channel}", "rules", f"a circle: {found}", "channels built in one direction")
            return
        for source in sorted(sources[channel]):
            yield from follow(source, (*path, channel))

    for name in list(sources):
        yield from follow(name, ())
