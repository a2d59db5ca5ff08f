"""A quote as a paper: what was asked for, line by line, and totals a reader can add up with a pencil."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from pricing.amounts import ZERO
from pricing.collector import collector_off
from pricing.price_list import AskedLine, Entry, PriceList, Request, quote_of
from pricing.quote import work_quote
from pricing.quote_types import WorkedLine, WorkedQuote

from .price_list import FINISH_WORDS, named
from .render import html_of, laid_out, written
from .strings import Strings
from .texts import translator

STYLES = ("paper.css", "quote.css")


@dataclass(frozen=True, slots=True)
class QuotePaper:
    """What a quote paper is made from: the pinned list, what was asked for, its numbers, and its language."""

    price_list: PriceList
    request: Request
    number: str
    provisional: bool
    alias: str
    language: str


class QuoteWriter:
    """One quote put into the words and figures of one language."""

    def __init__(self, paper: QuotePaper) -> None:
        self.paper = paper
        self.list = paper.price_list
        self.request = paper.request
        self.channel = self.list.channel(paper.request.channel)
        self.say = translator(paper.language)
        self.own = Strings(paper.language, self.channel.currency, self.channel.minor_unit)
        self.worked: WorkedQuote = work_quote(quote_of(self.list, paper.request))
        self.entries = {entry.number: entry for entry in self.list.entries}

    @property
    def title(self) -> str:
        return self.say("Quote {number}", number=self.paper.number)

    @property
    def good_until(self) -> datetime.date:
        return self.request.date + datetime.timedelta(days=self.channel.terms.valid_days)

    def html(self) -> str:
        say = self.say
        return html_of(
            "quote.html",
            language=self.paper.language,
            title=self.title,
            foot=f"{self.list.workshop} · {self.title}",
            workshop=self.list.workshop,
            alias=say("number until sent") if self.paper.provisional else self.paper.alias,
            facts=list(self._facts()),
            heads={
                "piece": say("Piece"), "quantity": say("Quantity"), "each": say("Each"),
                "amount": f"{say('Amount')}, {self.channel.currency}",
            },
            lines=[*self._lines(), *self._services()],
            totals=list(self._totals()),
            after=list(self._after()),
        )  # fmt: skip

    def _facts(self) -> Iterator[tuple[str, str]]:
        if self.request.customer:
            yield self.say("For"), self.request.customer
        yield self.say("Date"), self.own.long_date(self.request.date)
        yield self.say("Good until"), self.own.long_date(self.good_until)

    def _lines(self) -> Iterator[dict[str, Any]]:
        for asked, worked in zip(self.request.lines, self.worked.lines, strict=True):
            entry = self.entries[asked.piece]
            finish = self.say(asked.finish) if asked.finish in FINISH_WORDS else asked.finish
            yield {
                "name": f"{entry.number} {named(entry.names, self.paper.language)}, {finish}",
                "said": list(self._said(asked, worked)),
                "quantity": self._quantity(entry, asked),
                "each": self.own.figure(worked.unit_net + worked.extras_per_unit),
                "amount": self.own.figure(worked.line_net),
            }

    def _quantity(self, entry: Entry, asked: AskedLine) -> str:
        return f"{self.own.number(asked.quantity)} {self.say(entry.unit)}"

    def _said(self, asked: AskedLine, worked: WorkedLine) -> Iterator[str]:
        """What stands under a line: its list price where that was reduced, extras, and the note that prints."""
        parts = [self.own.figure(worked.unit_price)]
        if asked.second and self.channel.terms.seconds_share is not None:
            parts.append(self.say("second, {share} off", share=self.own.percent(self.channel.terms.seconds_share)))
        parts += [self.say("less {share}", share=self.own.percent(share)) for share in asked.discounts]
        if worked.extras_per_unit:
            parts += [f"+ {self.own.figure(worked.extras_per_unit)}"]
        if len(parts) > 1:
            yield " · ".join(parts)
        for extra in asked.extras:
            yield f"{extra.name} × {extra.count}"
        if worked.extras_per_line:
            yield f"+ {self.own.figure(worked.extras_per_line)}"
        if asked.note:
            yield asked.note

    def _services(self) -> Iterator[dict[str, Any]]:
        asked = quote_of(self.list, self.request).services
        for service, amount in zip(asked, self.worked.services, strict=True):
            yield {
                "name": service.name,
                "said": [],
                "quantity": self.own.number(service.count),
                "each": self.own.figure(service.amount),
                "amount": self.own.figure(amount),
            }

    def _total(self, name: str, amount: str, grand: bool = False) -> dict[str, Any]:
        return {"name": name, "amount": amount, "grand": grand}

    def _totals(self) -> Iterator[dict[str, Any]]:
        worked, say, own = self.worked, self.say, self.own
        yield self._total(say("Goods"), own.figure(worked.goods))
        if worked.order_discount:
            share = own.percent(worked.order_discount_share)
            yield self._total(say("Order discount, {share}", share=share), own.figure(-worked.order_discount))
        for name, amount in (
            ("Metal surcharge", worked.surcharge),
            ("Small-order charge", worked.small_order_charge),
        ):
            if amount:
                yield self._total(say(name), own.figure(amount))
        if self.request.carriage:
            yield self._total(say("Carriage"), own.figure(worked.carriage))
        if self._reduces():
            yield self._total(say("Old metal in part exchange"), own.figure(-worked.part_exchange))
        yield from self._tax_and_total()
        yield from self._payment()

    def _reduces(self) -> bool:
        return bool(self.worked.part_exchange) and self.channel.terms.part_exchange == "reduction"

    def _tax_and_total(self) -> Iterator[dict[str, Any]]:
        worked, say, own = self.worked, self.say, self.own
        if not worked.tax_included:
            yield self._total(say("Net"), own.figure(worked.net))
            for tax in worked.taxes:
                words = say(
                    "Tax {name}, {rate} on {base}", name=tax.name, rate=own.percent(tax.rate), base=own.figure(tax.base)
                )
                yield self._total(words, own.figure(tax.tax))
        name = say("Total, tax included") if worked.tax_included else say("Total with tax")
        yield self._total(name, own.money(worked.total), grand=True)
        if worked.tax_included:
            for tax in worked.taxes:
                words = say(
                    "of which tax {name}, {rate} in {base}",
                    name=tax.name,
                    rate=own.percent(tax.rate),
                    base=own.figure(tax.base),
                )
                yield self._total(words, own.figure(tax.tax))

    def _payment(self) -> Iterator[dict[str, Any]]:
        worked, say, own = self.worked, self.say, self.own
        if worked.payable != worked.total:
            yield self._total(say("Old metal in part exchange"), own.figure(-worked.part_exchange))
            yield self._total(say("To pay"), own.money(worked.payable), grand=True)
        if worked.deposit != ZERO:
            yield self._total(say("Deposit"), own.figure(worked.deposit))
            yield self._total(say("Balance"), own.figure(worked.balance))

    def _after(self) -> Iterator[str]:
        say = self.say
        if self.request.note:
            yield self.request.note
        tax = "All prices include tax." if self.worked.tax_included else "Prices are without tax; tax is added below."
        yield f"{say(tax)} {say('Quoted from list {number}', number=self.list.number)}."
        if self.channel.terms.payment_days is not None:
            yield say("Payment within {days} days of the invoice.", days=self.channel.terms.payment_days)
        yield say(CARE)


CARE = (
    "Pewter softens and melts at low heat, from about 240 °C: keep it off ovens, hobs and open flame. "
    "Wash by hand with mild soap, dry at once; no dishwasher."
)


def render_quote(paper: QuotePaper) -> bytes:
    """The PDF of a quote, worked again from its pinned list.

    Raises: PricingError for what the list does not have, LookupError for a language without words.
    """
    writer = QuoteWriter(paper)
    with collector_off():
        document = laid_out(writer.html(), STYLES)
        return written(
            document,
            writer.title,
            paper.language,
            paper.request.date,
            {"Edition": paper.price_list.edition, "Author": paper.price_list.workshop},
        )
