"""The terms page of a dealer price list: prices, extras, orders, carriage, payment, care and metal, in words."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from pricing.price_list import ListedChannel, PriceList
from pricing.rules import CarriageBand, Extra, Terms

from . import words
from .strings import Strings

PER = {
    "unit": "{name}: {amount} each",
    "letter": "{name}: {amount} a letter",
    "line": "{name}: {amount} a line",
    "minute": "{name}: {amount} a minute",
    "fixed": "{name}: {amount}",
}


class ListTerms:
    """The terms of one channel of a list, as headings with what is said under each."""

    def __init__(self, price_list: PriceList, channel: ListedChannel, say: words.Say, own: Strings, basis: str) -> None:
        self.list = price_list
        self.channel = channel
        self.terms: Terms = channel.terms
        self.say = say
        self.own = own
        self.basis = basis

    def paragraphs(self) -> list[dict[str, Any]]:
        """Every heading that has something to say."""
        said = (
            ("Prices", self._prices()),
            ("Engraving and extras", self._extras()),
            ("Orders", self._orders()),
            ("Carriage", self._carriage()),
            ("Payment", self._payment()),
            ("Care", iter((self.say(words.CARE),))),
            ("Metal", self._metal()),
        )
        told = [(self.say(heading), list(lines)) for heading, lines in said]
        return [{"heading": heading, "said": lines} for heading, lines in told if lines]

    def _prices(self) -> Iterator[str]:
        say, own = self.say, self.own
        yield self.basis
        yield say("Dealers set their own prices.")
        yield say(
            "Prices hold from {start} to {end}.",
            start=own.long_date(self.list.effective),
            end=own.long_date(self.list.until),
        )
        if self.terms.grace_days:
            yield say(
                "An order dated before a new list takes effect and delivered within {days} days takes this list.",
                days=self.terms.grace_days,
            )
        yield say("A quote is good for {days} days.", days=self.terms.valid_days)
        yield say(words.TAX_ADVICE)

    def _extras(self) -> Iterator[str]:
        for extra in self.list.extras:
            if extra.channel == self.channel.name:
                yield f"{self._extra(extra)}."

    def _extra(self, extra: Extra) -> str:
        return self.say(PER[extra.basis], name=extra.name, amount=self.own.money(extra.amount))

    def _orders(self) -> Iterator[str]:
        say, own, terms = self.say, self.own, self.terms
        if terms.least_first_order is not None:
            yield say("First order at least {amount}.", amount=own.money(terms.least_first_order))
        if terms.least_further_order is not None:
            yield say("Further orders at least {amount}.", amount=own.money(terms.least_further_order))
        if terms.small_order_charge is not None:
            yield say("A smaller order is charged {amount}.", amount=own.money(terms.small_order_charge))
        for offer in terms.order_discounts:
            yield say(
                "From {amount} an order, {share} off.",
                amount=own.money(offer.start),
                share=own.percent(offer.share),
            )

    def _carriage(self) -> Iterator[str]:
        for band in self.terms.carriage:
            if band.amount:
                yield self._band(band)
        if self.terms.carriage_paid_from is not None:
            yield self.say("Carriage paid from {amount}.", amount=self.own.money(self.terms.carriage_paid_from))

    def _band(self, band: CarriageBand) -> str:
        amount = self.own.money(band.amount)
        start, end = self._bound(band.start), None if band.end is None else self._bound(band.end)
        if end is None:
            return self.say("From {start}: {amount}.", start=start, amount=amount)
        if not band.start:
            return self.say("Under {end}: {amount}.", end=end, amount=amount)
        return self.say("From {start} to under {end}: {amount}.", start=start, end=end, amount=amount)

    def _bound(self, figure: Decimal) -> str:
        return self.own.weight(figure) if self.terms.carriage_by == "weight" else self.own.money(figure)

    def _payment(self) -> Iterator[str]:
        say, terms = self.say, self.terms
        if terms.payment_days is not None:
            yield say("Payment within {days} days of the invoice.", days=terms.payment_days)
        if terms.cash_share is not None and terms.cash_days is not None:
            share = self.own.percent(terms.cash_share)
            yield say("{share} off when paid within {days} days.", share=share, days=terms.cash_days)

    def _metal(self) -> Iterator[str]:
        for metal in self.list.metals:
            if metal.bought_to:
                yield words.lead_claim(self.say, self.own, metal)
        yield self.say(words.LEAD_ADVICE)
        yield self.say("Every piece carries our touch mark.")
