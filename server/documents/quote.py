"""A quote as a paper: what was asked for, line by line, and totals a reader can add up with a pencil."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from pricing.amounts import ONE, ZERO, half_up
from pricing.collector import collector_off
from pricing.price_list import AskedLine, Entry, ListedTax, PriceList, Request, quote_of
from pricing.quote import kept_by, work_quote
from pricing.quote_types import Extra, Line, Quote, Service, TaxTotal, WorkedLine, WorkedQuote

from . import words
from .render import html_of, laid_out, page_style, written
from .strings import Strings
from .texts import translator

STYLES = ("paper.css", "quote.css")
UNITS = {
    "each": ("{count}", "{count}"),
    "pair": ("{count} pair", "{count} pairs"),
    "set": ("{count} set", "{count} sets"),
    "dozen": ("{count} dozen", "{count} dozen"),
}
OLD_METAL = "Old metal may hold lead: it never goes into the pot for new ware."


@dataclass(frozen=True, slots=True)
class QuotePaper:
    """What a quote paper is made from: the pinned list, what was asked for, its numbers, its language and page size.

    A `provisional` quote has no number but `alias` yet, the one its device gave it; a settled one has both.
    """

    price_list: PriceList
    request: Request
    number: str
    provisional: bool
    alias: str
    language: str
    size: str = "A4"


class QuoteWriter:
    """One quote put into the words and figures of one language."""

    def __init__(self, paper: QuotePaper) -> None:
        self.paper = paper
        self.list = paper.price_list
        self.request = paper.request
        self.channel = self.list.channel(paper.request.channel)
        self.say = translator(paper.language)
        self.own = Strings(paper.language, self.channel.currency, self.channel.minor_unit)
        self.quote: Quote = quote_of(self.list, paper.request)
        self.worked: WorkedQuote = work_quote(self.quote)
        self.entries = {entry.number: entry for entry in self.list.entries}

    @property
    def title(self) -> str:
        """The paper's name, as its head and file say it."""
        return self.say("Quote {number}", number=self.paper.number)

    @property
    def good_until(self) -> datetime.date:
        """The last day the quote holds."""
        return self.request.date + datetime.timedelta(days=self.channel.terms.valid_days)

    def html(self) -> str:
        """The whole paper."""
        say = self.say
        return html_of(
            "quote.html",
            language=self.paper.language,
            title=self.title,
            foot=f"{self.list.workshop} · {self.title}",
            workshop=self.list.workshop,
            alias=self._alias(),
            facts=list(self._facts()),
            heads={
                "piece": say("Piece"), "quantity": say("Quantity"), "each": say("Each"),
                "amount": f"{say('Amount')}, {self.channel.currency}",
            },
            lines=list(self._carried([*self._lines(), *self._services()])),
            totals=list(self._totals()),
            after=list(self._after()),
        )  # fmt: skip

    def _alias(self) -> str:
        if self.paper.provisional:
            return self.say("number until sent")
        return self.say("number until sent: {alias}", alias=self.paper.alias) if self.paper.alias else ""

    def _facts(self) -> Iterator[tuple[str, str]]:
        if self.request.customer:
            yield self.say("For"), self.request.customer
        yield self.say("Date"), self.own.long_date(self.request.date)
        yield self.say("Good until"), self.own.long_date(self.good_until)
        yield self.say("List"), self.list.number

    # Lines

    def _carried(self, lines: list[tuple[dict[str, Any], Decimal]]) -> Iterator[dict[str, Any]]:
        """The lines with what a page that ends or begins there says it carries over."""
        total = ZERO
        for line, amount in lines:
            total += amount
            sum_words = self.own.figure(total)
            yield line | {
                "carried": self.say("Carried forward {amount}", amount=sum_words),
                "brought": self.say("Brought forward {amount}", amount=sum_words),
            }

    def _lines(self) -> Iterator[tuple[dict[str, Any], Decimal]]:
        for asked, line, worked in zip(self.request.lines, self.quote.lines, self.worked.lines, strict=True):
            entry = self.entries[asked.piece]
            name = words.named(entry.names, self.paper.language)
            shown = {
                "number": entry.number,
                "name": f"{name}, {words.finish(self.say, asked.finish)}",
                "said": [*self._said(line, worked), *([asked.note] if asked.note else [])],
                "quantity": self._quantity(entry, asked),
                "each": self.own.figure(worked.unit_net + worked.extras_per_unit),
                "amount": self.own.figure(worked.line_net),
            }
            yield shown, worked.line_net

    def _quantity(self, entry: Entry, asked: AskedLine) -> str:
        one, more = UNITS[entry.unit]
        return self.say(one if asked.quantity == 1 else more, count=self.own.number(asked.quantity))

    def _said(self, line: Line, worked: WorkedLine) -> Iterator[str]:
        """How a line's price came about, step by step, where it is not the list's alone."""
        figure = self.own.figure
        less = self._less(line)
        if less:
            yield f"{figure(worked.unit_price)} {' '.join(less)} = {figure(worked.unit_net)}"
        for extra in line.extras:
            yield self._extra(line, extra)
        if worked.extras_per_unit:
            each = worked.unit_net + worked.extras_per_unit
            yield f"{figure(worked.unit_net)} + {figure(worked.extras_per_unit)} = {figure(each)}"

    def _less(self, line: Line) -> list[str]:
        less = [self.say("less {share}", share=self.own.percent(share)) for share in line.discounts if share]
        if line.second:
            less.append(self.say("second, {share} off", share=self.own.percent(line.second)))
        return less

    def _extra(self, line: Line, extra: Extra) -> str:
        """An extra with its count and what it comes to, for each unit or once for the line."""
        kept = kept_by(line.discounts) if extra.takes_discount else ONE
        comes_to = half_up(extra.amount * extra.count * kept, self.channel.minor_unit)
        steps = self.own.figure(extra.amount)
        if extra.count > 1:
            steps = f"{extra.count} × {steps}"
        if kept != ONE:
            off = (self.say("less {share}", share=self.own.percent(share)) for share in line.discounts)
            steps = f"{steps} {' '.join(off)}"
        if extra.count > 1 or kept != ONE:
            steps = f"{steps} = {self.own.figure(comes_to)}"
        message = "{name}: {sum} each" if extra.per == "unit" else "{name}: {sum} once"
        return self.say(message, name=extra.name, sum=steps)

    def _services(self) -> Iterator[tuple[dict[str, Any], Decimal]]:
        for service, amount in zip(self.quote.services, self.worked.services, strict=True):
            yield self._service(service, amount), amount

    def _service(self, service: Service, amount: Decimal) -> dict[str, Any]:
        return {
            "number": "",
            "name": service.name,
            "said": [],
            "quantity": self.own.number(service.count),
            "each": self.own.figure(service.amount),
            "amount": self.own.figure(amount),
        }

    # Totals

    def _total(self, name: str, amount: str, grand: bool = False) -> dict[str, Any]:
        return {"name": name, "amount": amount, "grand": grand}

    def _totals(self) -> Iterator[dict[str, Any]]:
        worked, say, own = self.worked, self.say, self.own
        yield self._total(say("Goods"), own.figure(worked.goods))
        if worked.order_discount:
            share = own.percent(worked.order_discount_share)
            name = say("Order discount, {share} of {base}", share=share, base=own.figure(worked.discountable))
            yield self._total(name, own.figure(-worked.order_discount))
        for name, amount in (
            ("Metal surcharge", worked.surcharge),
            ("Rush", worked.rush),
            ("Small-order charge", worked.small_order_charge),
        ):
            if amount:
                yield self._total(say(name), own.figure(amount))
        if self.request.carriage:
            name = say("Carriage") if worked.carriage else say("Carriage paid")
            yield self._total(name, own.figure(worked.carriage))
        if self._reduces():
            yield self._total(self._old_metal(), own.figure(-worked.part_exchange))
        yield from self._tax_and_total()
        yield from self._payment()

    def _reduces(self) -> bool:
        return bool(self.worked.part_exchange) and self.channel.terms.part_exchange == "reduction"

    def _old_metal(self) -> str:
        mass = self.request.old_metal_g or ZERO
        return self.say("Old metal in part exchange, {weight}", weight=self.own.weight(mass))

    def _tax_and_total(self) -> Iterator[dict[str, Any]]:
        worked, say, own = self.worked, self.say, self.own
        if not worked.tax_included:
            yield self._total(say("Net"), own.figure(worked.net))
            for tax in worked.taxes:
                yield self._total(self._tax("{tax} on {base}", tax), own.figure(tax.tax))
        name = say("Total, tax included") if worked.tax_included else say("Total with tax")
        yield self._total(name, own.money(worked.total), grand=True)
        if worked.tax_included:
            for tax in worked.taxes:
                yield self._total(self._tax("of which {tax} in {base}", tax), own.figure(tax.tax))

    def _tax(self, message: str, tax: TaxTotal) -> str:
        named = words.tax(self.say, self.own, [ListedTax(name=tax.name, rate=tax.rate)], tax.name)
        return self.say(message, tax=named, base=self.own.figure(tax.base))

    def _payment(self) -> Iterator[dict[str, Any]]:
        worked, say, own = self.worked, self.say, self.own
        if worked.payable != worked.total:
            yield self._total(self._old_metal(), own.figure(-worked.part_exchange))
            yield self._total(say("To pay"), own.money(worked.payable), grand=True)
        if worked.deposit != ZERO:
            name = say("Deposit, {share}", share=own.percent(self.request.deposit_share or ZERO))
            yield self._total(name, own.figure(worked.deposit))
            yield self._total(say("Balance"), own.figure(worked.balance))

    # What is said below

    def _after(self) -> Iterator[str]:
        say, terms = self.say, self.channel.terms
        if self.request.note:
            yield self.request.note
        basis = "All prices include tax." if self.worked.tax_included else "Prices are without tax; tax is added above."
        yield f"{say(basis)} {say('Quoted from list {number}', number=self.list.number)}."
        if terms.payment_days is not None:
            yield say("Payment within {days} days of the invoice.", days=terms.payment_days)
        cash = self.quote.cash_terms
        if cash is not None:
            yield say(
                "{share} off when paid within {days} days: {amount}.",
                share=self.own.percent(cash.share),
                days=cash.cash_days,
                amount=self.own.money(self.worked.cash_price),
            )
        if self.worked.part_exchange:
            yield say(OLD_METAL)
        yield say(words.CARE)


def render_quote(paper: QuotePaper) -> bytes:
    """The PDF of a quote, worked again from its pinned list.

    Raises: PricingError for what the list does not have, LookupError for a language without words.
    """
    writer = QuoteWriter(paper)
    with collector_off():
        document = laid_out(writer.html(), STYLES, page_style(paper.size))
        return written(
            document,
            writer.title,
            paper.language,
            paper.request.date,
            paper.price_list.workshop,
            {"Edition": paper.price_list.edition},
        )
