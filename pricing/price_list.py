"""A price list as it is published: what each piece costs in each finish and channel, and nothing of how it came about.

A list carries no works cost, margin, minute or rule. It is made from a priced book and keeps that book's edition.
"""

from __future__ import annotations

import datetime
import hashlib
import json
from collections.abc import Iterable
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from . import fields
from . import quote_types as quote
from .amounts import ONE, ZERO, exactly, half_up
from .book import Family
from .book_file import edition
from .errors import BookError, Fault, refuse
from .piece import Piece, Text
from .price import Price, PricedBook
from .quote_types import Quote
from .records import parse_json, plain_data, read_record, record_data
from .rules import Break, Channel, Extra, Terms
from .taxes import tax_rate

FORMAT = "tinwright price list"
WEIGHT_PLACES = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """A printed unit price from a quantity on."""

    quantity: int = fields.whole(1, default=1)
    amount: Decimal = fields.not_negative()
    over_family: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class ChannelPrices:
    """The offers of one channel for a piece and finish, rising by quantity; `was` is the single price of the list before."""

    channel: str = fields.name()
    offers: tuple[Offer, ...]
    was: Decimal | None = fields.not_negative(default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class ListedFinish:
    """A finish of a piece: its own item number, standing, GTIN, weight in g and prices."""

    finish: str = fields.name()
    item: str = fields.name()
    standing: str = fields.name()
    gtin: str | None = fields.name(default=None)
    weight_g: Decimal = fields.not_negative(default=ZERO)
    packed_g: Decimal = fields.not_negative(default=ZERO)
    first_order: tuple[FirstOrder, ...] = ()
    prices: tuple[ChannelPrices, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstOrder:
    """Tooling charged on its own line of the first order, as an amount without tax."""

    name: str = fields.name()
    amount: Decimal = fields.not_negative()


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """A piece of the list."""

    number: str = fields.name()
    names: tuple[Text, ...]
    family: str = fields.name()
    unit: str = fields.name()
    dimensions: str = fields.words()
    brim_ml: Decimal | None = fields.positive(default=None)
    line_ml: Decimal | None = fields.positive(default=None)
    lead_days: int | None = fields.whole(default=None)
    least_order: int = fields.whole(1, default=1)
    pack_quantity: int = fields.whole(1, default=1)
    engravable: bool = False
    groups: tuple[str, ...] = ()
    old_numbers: tuple[str, ...] = ()
    finishes: tuple[ListedFinish, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ListedTax:
    """A tax rate as the list pins it."""

    name: str = fields.name()
    rate: Decimal = fields.not_negative()


@dataclass(frozen=True, slots=True, kw_only=True)
class ListedChannel:
    """A channel as the list pins it: currency, tax basis and terms."""

    name: str = fields.name()
    kind: str = fields.name()
    currency: str = fields.name()
    minor_unit: int = fields.whole()
    tax_inclusive: bool
    tax: str = fields.name()
    terms: Terms = Terms()


@dataclass(frozen=True, slots=True, kw_only=True)
class ListedAgreement:
    """A price agreed with one dealer, to the last day of `until`."""

    dealer: str = fields.name()
    channel: str = fields.name()
    piece: str = fields.name()
    finish: str = fields.name()
    amount: Decimal = fields.positive()
    since: datetime.date
    until: datetime.date


@dataclass(frozen=True, slots=True, kw_only=True)
class ListedMetal:
    """An alloy the workshop uses, with its lead limit and what it was bought to: what a paper may claim of it."""

    name: str = fields.name()
    lead_limit_ppm: Decimal | None = fields.not_negative(default=None)
    bought_to: str = fields.words()


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceList:
    """A dated list: in effect from `effective` to the last day of `until`, worked from the book of `edition`."""

    number: str = fields.name()
    workshop: str = fields.name()
    effective: datetime.date
    until: datetime.date
    edition: str = fields.name()
    taxes: tuple[ListedTax, ...]
    channels: tuple[ListedChannel, ...]
    families: tuple[Family, ...]
    entries: tuple[Entry, ...]
    extras: tuple[Extra, ...] = ()
    agreed: tuple[ListedAgreement, ...] = ()
    metals: tuple[ListedMetal, ...] = ()

    def channel(self, name: str) -> ListedChannel:
        """The channel of a name.

        Raises: PricingError `channel` where the list has none of it.
        """
        for channel in self.channels:
            if channel.name == name:
                return channel
        allowed = ", ".join(f'"{channel.name}"' for channel in self.channels)
        raise refuse("channel", f"list {self.number}", "channels", f'"{name}"', f"one of {allowed}")


@exactly
def make_price_list(
    priced: PricedBook,
    number: str,
    effective: datetime.date,
    until: datetime.date,
    channels: Iterable[str] | None = None,
) -> PriceList:
    """The list of a priced book for some channels (all unless said), pieces in the order of their families.

    Raises: PricingError `dates` where the list would end before it begins, `channel` for one the book does not have.
    """
    if until < effective:
        raise refuse("dates", f"list {number}", "until", until, f"a day from {effective} on")
    book = priced.book
    names = book.channel_by_name.keys() if channels is None else tuple(channels)
    for name in names:
        if name not in book.channel_by_name:
            allowed = ", ".join(f'"{known}"' for known in book.channel_by_name)
            raise refuse("channel", f"list {number}", "channels", f'"{name}"', f"one of {allowed}")
    wanted = [channel for channel in book.channels if channel.name in names]
    order = {family.name: place for place, family in enumerate(book.families)}
    pieces = sorted(book.pieces, key=lambda piece: order[piece.family])
    taxes = dict.fromkeys(
        name for channel in wanted for name in (channel.tax, channel.terms.carriage_tax) if name is not None
    )
    return PriceList(
        number=number,
        workshop=book.workshop,
        effective=effective,
        until=until,
        edition=edition(book),
        taxes=tuple(ListedTax(name=name, rate=tax_rate(book, name)) for name in taxes),
        channels=tuple(_channel(priced, channel) for channel in wanted),
        families=book.families,
        entries=tuple(entry for piece in pieces if (entry := _entry(priced, piece, wanted)) is not None),
        extras=tuple(extra for extra in book.extras if extra.channel in {c.name for c in wanted}),
        agreed=tuple(
            ListedAgreement(
                dealer=agreed.dealer, channel=agreed.channel, piece=agreed.piece, finish=agreed.finish,
                amount=agreed.amount, since=agreed.since, until=agreed.until,
            )
            for agreed in book.agreed_prices
            if agreed.channel in {c.name for c in wanted}
        ),
        metals=tuple(
            ListedMetal(name=alloy.name, lead_limit_ppm=alloy.lead_limit_ppm, bought_to=alloy.bought_to)
            for alloy in book.alloys
        ),
    )  # fmt: skip


def _channel(priced: PricedBook, channel: Channel) -> ListedChannel:
    currency = priced.book.currency_of(channel)
    return ListedChannel(
        name=channel.name,
        kind=channel.kind,
        currency=currency,
        minor_unit=priced.book.minor_units[currency],
        tax_inclusive=channel.tax_inclusive,
        tax=channel.tax,
        terms=channel.terms,
    )


def _entry(priced: PricedBook, piece: Piece, channels: list[Channel]) -> Entry | None:
    """A piece with the finishes that have a price in one of the channels; None where none has."""
    finishes = []
    for made in piece.made:
        prices = tuple(_prices(priced, piece, made.finish, channel) for channel in channels)
        held = tuple(price for price in prices if price is not None)
        if held:
            sheet = priced.costs[piece.number, made.finish]
            suffix = priced.book.finish_by_name[made.finish].suffix
            finishes.append(
                ListedFinish(
                    finish=made.finish,
                    item=f"{piece.number}{suffix}",
                    standing=made.standing,
                    gtin=made.gtin,
                    weight_g=half_up(sheet.finished_g, WEIGHT_PLACES),
                    packed_g=half_up(sheet.packed_g, WEIGHT_PLACES),
                    first_order=tuple(FirstOrder(name=name, amount=amount) for name, amount in sheet.first_order),
                    prices=held,
                )
            )
    if not finishes:
        return None
    return Entry(
        number=piece.number,
        names=piece.names,
        family=piece.family,
        unit=piece.unit,
        dimensions=piece.dimensions,
        brim_ml=piece.brim_ml,
        line_ml=piece.line_ml,
        lead_days=piece.lead_days,
        least_order=piece.least_order,
        pack_quantity=piece.pack_quantity,
        engravable=piece.engravable,
        groups=piece.groups,
        old_numbers=piece.old_numbers,
        finishes=tuple(finishes),
    )


def _prices(priced: PricedBook, piece: Piece, finish: str, channel: Channel) -> ChannelPrices | None:
    found = priced.by_channel[channel.name]
    single = found.get((piece.number, finish, 1))
    if single is None:
        return None
    offers = [_offer(single, None)]
    offers += [_offer(found[piece.number, finish, offer.quantity], offer) for offer in channel.breaks]
    return ChannelPrices(channel=channel.name, offers=tuple(offers), was=single.in_force)


def _offer(price: Price, offer: Break | None) -> Offer:
    return Offer(quantity=price.quantity, amount=price.amount, over_family=offer is not None and offer.over_family)


def for_channels(price_list: PriceList, channels: Iterable[str], agreed: bool = False) -> PriceList:
    """The list with some channels only, and the prices agreed with dealers only where said: what a role may see."""
    wanted = set(channels)
    entries = []
    for entry in price_list.entries:
        finishes = tuple(
            replace(finish, prices=tuple(price for price in finish.prices if price.channel in wanted))
            for finish in entry.finishes
        )
        held = tuple(finish for finish in finishes if finish.prices)
        if held:
            entries.append(replace(entry, finishes=held))
    return replace(
        price_list,
        channels=tuple(channel for channel in price_list.channels if channel.name in wanted),
        entries=tuple(entries),
        extras=tuple(extra for extra in price_list.extras if extra.channel in wanted),
        agreed=tuple(item for item in price_list.agreed if agreed and item.channel in wanted),
    )


def list_data(price_list: PriceList) -> dict[str, Any]:
    """The list as plain JSON data."""
    return {"format": FORMAT, **record_data(price_list)}


def parse_list(text: str) -> PriceList:
    """The list that a JSON text says: what `list_data` wrote comes back equal.

    Raises: BookError for a text that is no price list, with every fault together.
    """
    data = parse_json(text, "list")
    if not isinstance(data, dict) or data.pop("format", None) != FORMAT:
        raise BookError([Fault("list", "format", "no price list", f'"{FORMAT}"')])
    return read_record(PriceList, data, "list")


def digest(price_list: PriceList) -> str:
    """The SHA-256 of the list's canonical JSON: two lists of one digest print the same."""
    data = json.dumps(plain_data(price_list), ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(data.encode()).hexdigest()


# From a list and what was asked for to the arithmetic of a quote


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedExtra:
    """An extra of the list by name, so many times, for each unit or once for the line."""

    name: str = fields.name()
    count: int = fields.whole(1, default=1)
    per: str = fields.one_of("unit", "line", default="unit")


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedLine:
    """A piece in a finish and quantity, with discounts, a share off for a second, extras, and a note that prints."""

    piece: str = fields.name()
    finish: str = fields.name()
    quantity: int = fields.whole(1)
    discounts: tuple[Decimal, ...] = fields.share(default=())
    second: bool = False
    extras: tuple[AskedExtra, ...] = ()
    note: str = fields.words()


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedService:
    """A service of the list by name, so many times."""

    name: str = fields.name()
    count: int = fields.whole(1, default=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Request:
    """What a customer or dealer asked for, priced from one list and channel on one day.

    `customer` and `contact` are both optional; `note` prints, `own_note` does not.
    """

    list_number: str = fields.name()
    channel: str = fields.name()
    date: datetime.date
    dealer: str | None = fields.name(default=None)
    customer: str = fields.words()
    contact: str = fields.words()
    lines: tuple[AskedLine, ...] = ()
    services: tuple[AskedService, ...] = ()
    order_discount: quote.OrderDiscount | None = None
    carriage: bool = False
    first_order: bool = False
    old_metal_g: Decimal | None = fields.positive(default=None)
    deposit_share: Decimal | None = fields.fraction(default=None)
    note: str = fields.words()
    own_note: str = fields.words()


@exactly
def quote_of(price_list: PriceList, asked: Request) -> Quote:
    """The arithmetic's input for what was asked for: prices, taxes and terms of the pinned list put beside it.

    Raises: PricingError naming what the list does not have: channel, piece, finish, extra, or terms asked for;
    BookError with all that is at odds in what was asked for.
    """
    if asked.list_number != price_list.number:
        raise refuse("list", "quote", "list_number", f'"{asked.list_number}"', f'"{price_list.number}"')
    channel = price_list.channel(asked.channel)
    terms = channel.terms
    lines = tuple(_line(price_list, channel, asked, place) for place in range(len(asked.lines)))
    services = tuple(_service(price_list, channel, service) for service in asked.services)
    if asked.first_order:
        services += tuple(_tooling(price_list, channel, asked))
    made = Quote(
        channel=channel.name,
        kind=channel.kind,
        currency=channel.currency,
        minor_unit=channel.minor_unit,
        tax_inclusive=channel.tax_inclusive,
        taxes=tuple(quote.Tax(name=tax.name, rate=tax.rate) for tax in _taxes(price_list, channel)),
        tax_by_line=terms.tax_by_line,
        line_authority=terms.line_authority,
        order_authority=terms.order_authority,
        part_exchange=terms.part_exchange,
        lines=lines,
        services=services,
        order_discount=asked.order_discount,
        order_discounts=tuple(quote.ValueShare(start=s.start, share=s.share) for s in terms.order_discounts),
        cash_terms=_cash_terms(terms),
        carriage=_carriage(channel) if asked.carriage else None,
        small_order=_small_order(channel, asked.first_order),
        old_metal=_old_metal(channel, asked.old_metal_g),
        deposit_share=asked.deposit_share,
    )
    return quote.check_quote(made)


def _taxes(price_list: PriceList, channel: ListedChannel) -> tuple[ListedTax, ...]:
    used = {channel.tax, channel.terms.carriage_tax or channel.tax}
    return tuple(tax for tax in price_list.taxes if tax.name in used)


def _found(price_list: PriceList, line: AskedLine, field: str) -> tuple[Entry, ListedFinish]:
    for entry in price_list.entries:
        if entry.number == line.piece:
            for finish in entry.finishes:
                if finish.finish == line.finish:
                    return entry, finish
            allowed = ", ".join(f'"{finish.finish}"' for finish in entry.finishes)
            raise refuse("finish", "quote", f"{field}.finish", f'"{line.finish}"', f"one of {allowed}")
    raise refuse("piece", "quote", f"{field}.piece", f'"{line.piece}"', f"a piece of list {price_list.number}")


def _line(price_list: PriceList, channel: ListedChannel, asked: Request, place: int) -> quote.Line:
    line, field = asked.lines[place], f"lines[{place}]"
    entry, finish = _found(price_list, line, field)
    offers = next((price.offers for price in finish.prices if price.channel == channel.name), None)
    if offers is None:
        found = f'no price in "{channel.name}"'
        raise refuse("price", "quote", f"{field}.piece", found, f'a piece with a price in "{channel.name}"')
    agreed = _agreed(price_list, channel, asked, line)
    prices = (
        tuple(quote.PriceFrom(quantity=o.quantity, price=o.amount, over_family=o.over_family) for o in offers)
        if agreed is None
        else (quote.PriceFrom(quantity=1, price=agreed),)
    )
    return quote.Line(
        piece=line.piece,
        finish=line.finish,
        family=entry.family,
        unit=entry.unit,
        quantity=line.quantity,
        prices=prices,
        tax=channel.tax,
        discounts=line.discounts,
        second=_second(channel, line, field),
        extras=tuple(_extra(price_list, channel, extra, field) for extra in line.extras),
        packed_g=finish.packed_g,
        least_order=entry.least_order,
        pack_quantity=1 if channel.kind == "retail" else entry.pack_quantity,
    )


def _agreed(price_list: PriceList, channel: ListedChannel, asked: Request, line: AskedLine) -> Decimal | None:
    """The price agreed with the dealer for the piece on the quote's day: it comes before the list."""
    held = [
        item
        for item in price_list.agreed
        if (item.dealer, item.channel, item.piece, item.finish) == (asked.dealer, channel.name, line.piece, line.finish)
        and item.since <= asked.date <= item.until
    ]
    return max(held, key=lambda item: item.since).amount if held else None


def _second(channel: ListedChannel, line: AskedLine, field: str) -> Decimal | None:
    if not line.second:
        return None
    if channel.kind != "retail" or channel.terms.seconds_share is None:
        raise refuse("second", "quote", f"{field}.second", "a second", "seconds on the counter, where its terms say so")
    return channel.terms.seconds_share


def _listed_extra(price_list: PriceList, channel: ListedChannel, name: str, service: bool) -> Extra | None:
    for extra in price_list.extras:
        if extra.channel == channel.name and extra.name == name and extra.service == service:
            return extra
    return None


def _extra(price_list: PriceList, channel: ListedChannel, asked: AskedExtra, field: str) -> quote.Extra:
    extra = _listed_extra(price_list, channel, asked.name, service=False)
    if extra is None:
        raise refuse("extra", "quote", f"{field}.extras", f'"{asked.name}"', f'an extra of "{channel.name}"')
    return quote.Extra(
        name=extra.name, amount=extra.amount, count=asked.count, per=asked.per, takes_discount=extra.takes_discount
    )


def _service(price_list: PriceList, channel: ListedChannel, asked: AskedService) -> quote.Service:
    extra = _listed_extra(price_list, channel, asked.name, service=True)
    if extra is None:
        raise refuse("service", "quote", "services", f'"{asked.name}"', f'a service of "{channel.name}"')
    return quote.Service(
        name=extra.name, amount=extra.amount, count=asked.count, tax=channel.tax, takes_discount=extra.takes_discount
    )


def _tooling(price_list: PriceList, channel: ListedChannel, asked: Request) -> Iterable[quote.Service]:
    """Tooling of the pieces asked for, on its own line of the first order, once for each piece."""
    rate = next(tax.rate for tax in price_list.taxes if tax.name == channel.tax)
    first = {line.piece: line for line in reversed(asked.lines)}
    for piece in dict.fromkeys(line.piece for line in asked.lines):
        _, finish = _found(price_list, first[piece], "lines")
        for tooling in finish.first_order:
            gross = tooling.amount * (ONE + rate) if channel.tax_inclusive else tooling.amount
            amount = half_up(gross, channel.minor_unit)
            yield quote.Service(name=f"{tooling.name}, {piece}", amount=amount, tax=channel.tax)


def _carriage(channel: ListedChannel) -> quote.Carriage:
    terms = channel.terms
    if not terms.carriage:
        raise refuse("carriage", "quote", "carriage", "carriage", f'terms of "{channel.name}" with carriage')
    return quote.Carriage(
        by=terms.carriage_by,
        bands=tuple(quote.Band(start=band.start, end=band.end, amount=band.amount) for band in terms.carriage),
        tax=terms.carriage_tax or channel.tax,
        paid_from=terms.carriage_paid_from,
    )


def _cash_terms(terms: Terms) -> quote.CashTerms | None:
    if terms.cash_share is None or terms.cash_days is None or terms.payment_days is None:
        return None
    return quote.CashTerms(share=terms.cash_share, cash_days=terms.cash_days, net_days=terms.payment_days)


def _small_order(channel: ListedChannel, first: bool) -> quote.SmallOrder | None:
    least = channel.terms.least_first_order if first else channel.terms.least_further_order
    if least is None:
        return None
    return quote.SmallOrder(least=least, charge=channel.terms.small_order_charge, tax=channel.tax)


def _old_metal(channel: ListedChannel, grams: Decimal | None) -> quote.OldMetal | None:
    if grams is None:
        return None
    per_kg = channel.terms.part_exchange_per_kg
    if per_kg is None:
        allowed = f'terms of "{channel.name}" with an allowance per kg'
        raise refuse("part exchange", "quote", "old_metal_g", f"{grams} g", allowed)
    return quote.OldMetal(mass_g=grams, per_kg=per_kg)
