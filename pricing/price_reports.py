"""What a draft of a price list is told: order between price classes, dear sets, terms that do not hold, floors passed."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from .amounts import ONE, ZERO, exactly, settled
from .book import Book
from .metal_prices import exchange_rate
from .piece import Member, Piece
from .price import Price, PricedBook
from .price_checks import Step
from .rules import RETAIL, Channel


@exactly
def reports(priced: PricedBook) -> tuple[Step, ...]:
    """Everything a draft is told of its prices, each kind in the order of the book; nothing of it changes a price."""
    return (
        *_between_classes(priced),
        *_dear_sets(priced),
        *_outside_terms(priced),
        *_breaches(priced),
    )


def _rate(book: Book, channel: Channel, other: Channel) -> Decimal:
    """Units of a channel's currency for one unit of another's."""
    own, its = book.currency_of(channel), book.currency_of(other)
    return ONE if own == its else exchange_rate(book, its, book.date) / exchange_rate(book, own, book.date)


def _between_classes(priced: PricedBook) -> Iterator[Step]:
    """Where a class's best price, order discount and breaks in, is above what another at its usual discount allows."""
    book = priced.book
    for channel in book.channels:
        for limit in channel.never_above:
            other = book.channel_by_name[limit.channel]
            keep = (ONE - other.usual_discount) * limit.share * _rate(book, channel, other)
            for best, quantity, price in _best(priced, channel):
                against = priced.by_channel[other.name].get((price.piece, price.finish, 1))
                if against is not None and settled(best) > settled(against.net * keep):
                    facts = (channel.name, price.piece, price.finish, quantity, best, other.name, against.net * keep)
                    yield Step("order between price classes", facts)


def _best(priced: PricedBook, channel: Channel) -> Iterator[tuple[Decimal, int, Price]]:
    """The least a channel sells each piece for, without tax, the quantity it takes, and its single price."""
    prices = priced.by_channel[channel.name]
    quantities = (1, *(offer.quantity for offer in channel.breaks))
    for (piece, finish, quantity), single in prices.items():
        if quantity == 1:
            best = min((prices[piece, finish, q] for q in quantities), key=lambda price: (price.net, price.quantity))
            yield best.net * (ONE - channel.best_discount), best.quantity, single


def _dear_sets(priced: PricedBook) -> Iterator[Step]:
    """Sets dearer than their pieces bought singly."""
    sets = [piece for piece in priced.book.pieces if any(isinstance(part, Member) for part in piece.parts)]
    for channel in priced.book.channels:
        for piece in sets:
            for made in piece.made:
                price = priced.by_channel[channel.name].get((piece.number, made.finish, 1))
                singly = None if price is None else _singly(priced, channel, piece, made.finish)
                if price is not None and singly is not None and price.amount > singly:
                    facts = (channel.name, piece.number, made.finish, price.amount, singly)
                    yield Step("set dearer than its pieces", facts)


def _singly(priced: PricedBook, channel: Channel, piece: Piece, finish: str) -> Decimal | None:
    """What the pieces of a set cost bought singly; None where one has no price, or the set holds more than pieces."""
    total = ZERO
    for part in piece.parts:
        if not isinstance(part, Member):
            return None
        price = priced.by_channel[channel.name].get((part.piece, part.finish or finish, 1))
        if price is None:
            return None
        total += price.amount * part.count
    return total


def _outside_terms(priced: PricedBook) -> Iterator[Step]:
    """Lines where the share off retail that a class's terms state is not what its prices give, by more than they allow."""
    book = priced.book
    shops = [channel for channel in book.channels if channel.kind == RETAIL]
    for channel in book.channels:
        stated, tolerance = channel.terms.stated_discount, channel.terms.stated_tolerance
        for shop in shops if stated is not None else ():
            rate = _rate(book, channel, shop)
            for (piece, finish, quantity), price in priced.by_channel[channel.name].items():
                retail = priced.by_channel[shop.name].get((piece, finish, 1))
                if stated is None or retail is None or quantity != 1:
                    continue
                off = settled(ONE - price.net / (retail.net * rate))
                if abs(off - stated) > tolerance:
                    facts = (channel.name, piece, finish, price.net, shop.name, retail.net * rate, off, stated)
                    yield Step("outside the stated terms", facts)


def _breaches(priced: PricedBook) -> Iterator[Step]:
    """Printed prices that do not keep one of their checks."""
    for price in priced.prices:
        for breach in price.breaches:
            yield Step("check not kept", (price.channel, price.piece, price.finish, price.quantity, breach))


@exactly
def under_floor_after(priced: PricedBook, channel: str, share: Decimal) -> tuple[Price, ...]:
    """The prices of a channel that would be under their floor after `share` off: to be shown before terms are saved."""
    return tuple(
        price
        for price in priced.by_channel[channel].values()
        if price.floor is not None and settled(price.amount * (ONE - share)) < price.floor
    )
