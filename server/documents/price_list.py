"""The dealer price list as a paper: cover, contents, families with pictures and prices, index, terms and care."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from markupsafe import Markup

from pricing.collector import collector_off
from pricing.piece import Text
from pricing.price_list import Entry, ListedChannel, ListedFinish, Offer, PriceList

from .drawing import Drawing
from .render import html_of, laid_out, page_of_anchors, written
from .strings import Strings
from .texts import translator

STYLES = ("paper.css", "price_list.css")
FRONT_PAGES = 2
MARKS = ("new", "to order", "last few", "waiting", "discontinued")
MOTIF = "TK102"
GREY, PALE = "#66717a", "#aab3ba"


class WrongPages(Exception):
    """Contents or index of a finished list that do not name the page a piece is on; nothing is written then."""


@dataclass(frozen=True, slots=True)
class ListPaper:
    """What a price list paper is made from: the list, the channel it is for, its language, and the drawings."""

    price_list: PriceList
    channel: str
    language: str
    drawings: Mapping[str, Drawing]


def named(names: tuple[Text, ...], language: str) -> str:
    """The name in a language, else in one of the same tongue, else the first."""
    by_language = {text.language: text.text for text in names}
    tongue = language.split("-")[0]
    same = next((text for tag, text in by_language.items() if tag.split("-")[0] == tongue), None)
    return by_language.get(language) or same or names[0].text


class _Writer:
    """One list put into the words and figures of one language."""

    def __init__(self, paper: ListPaper) -> None:
        self.list = paper.price_list
        self.channel = self.list.channel(paper.channel)
        self.language = paper.language
        self.drawings = paper.drawings
        self.say = translator(paper.language)
        self.own = Strings(paper.language, self.channel.currency, self.channel.minor_unit)
        self.retail = _retail(self.list, self.channel)

    # Heads and cover

    @property
    def title(self) -> str:
        return self.say("Dealer price list {number}", number=self.list.number)

    @property
    def foot(self) -> str:
        return self.say(
            "{workshop} · price list {number} · {channel} · in effect from {date}",
            workshop=self.list.workshop,
            number=self.list.number,
            channel=self.channel_words,
            date=self.own.date(self.list.effective),
        )

    @property
    def channel_words(self) -> str:
        return self.say(self.channel.name) if self.channel.name in CHANNEL_WORDS else self.channel.name

    def common(self) -> dict[str, Any]:
        return {"language": self.language, "title": self.title, "foot": self.foot}

    def front(self, pages: Mapping[str, int]) -> str:
        say = self.say
        motif = self.drawings.get(MOTIF) or next(iter(self.drawings.values()))
        facts = [
            (say("List"), self.list.number),
            (say("Price class"), self.channel_words),
            (say("In effect from"), self.own.long_date(self.list.effective)),
            (say("Good until"), self.own.long_date(self.list.until)),
            (say("Currency"), self.channel.currency),
        ]
        contents = [
            {"anchor": _family_anchor(name), "words": named(names, self.language), "page": pages[_family_anchor(name)]}
            for name, names in self._families()
        ]
        contents.append({"anchor": "index", "words": say("Index by number"), "page": pages["index"]})
        contents.append({"anchor": "terms", "words": say("Terms, care and metal"), "page": pages["terms"]})
        return html_of(
            "price_list_front.html",
            **self.common(),
            workshop=self.list.workshop,
            heading=say("Dealer price list"),
            facts=facts,
            basis=self.basis(),
            motif=Markup(motif.svg(PALE)),  # drawn by the program from figures, never from a user's text
            contents_words=say("Contents"),
            contents=contents,
        )

    def basis(self) -> str:
        tax = self.say("with tax") if self.channel.tax_inclusive else self.say("without tax")
        return self.say("Dealer prices are {tax}. Suggested retail prices include tax and are not binding.", tax=tax)

    # Families

    def _families(self) -> list[tuple[str, tuple[Text, ...]]]:
        held = {entry.family for entry in self.entries()}
        return [(family.name, family.names) for family in self.list.families if family.name in held]

    def entries(self) -> list[Entry]:
        return [entry for entry in self.list.entries if any(self._offers(f, self.channel) for f in entry.finishes)]

    @staticmethod
    def _offers(finish: ListedFinish, channel: ListedChannel | None) -> tuple[Offer, ...]:
        if channel is None:
            return ()
        return next((price.offers for price in finish.prices if price.channel == channel.name), ())

    def body(self) -> str:
        say = self.say
        entries = self.entries()
        families = [
            {
                "anchor": _family_anchor(name),
                "name": named(names, self.language),
                "pieces": [self._item(entry) for entry in entries if entry.family == name],
            }
            for name, names in self._families()
        ]
        heads = {
            "picture": say("Picture"),
            "piece": say("Number, name and measures"),
            "finish": say("Finish"),
            "dealer": say("Dealer, {currency}", currency=self.channel.currency),
            "suggested": say("Suggested retail with tax, {currency}", currency=self._retail_currency()),
        }
        return html_of("price_list_body.html", **self.common(), families=families, heads=heads)

    def _retail_currency(self) -> str:
        return self.retail.currency if self.retail is not None else self.channel.currency

    def _item(self, entry: Entry) -> dict[str, Any]:
        return {
            "anchor": _piece_anchor(entry.number),
            "number": entry.number,
            "name": named(entry.names, self.language),
            "measures": " · ".join(self._measures(entry)),
            "order": " · ".join(self._order(entry)),
            "drawn": Markup(self.drawings[entry.number].svg(GREY)),
            "mark": self._mark(entry),
            "rows": [self._row(entry, finish) for finish in entry.finishes if self._offers(finish, self.channel)],
        }

    def _mark(self, entry: Entry) -> str:
        """The standing of the whole piece, where all its finishes share it and it is worth a word."""
        standings = {finish.standing for finish in entry.finishes}
        return self.say(entry.finishes[0].standing) if len(standings) == 1 and standings <= set(MARKS) else ""

    def _measures(self, entry: Entry) -> list[str]:
        said = [entry.dimensions] if entry.dimensions else []
        if entry.brim_ml is not None:
            said.append(self.say("{capacity} to the brim", capacity=self.own.capacity(entry.brim_ml)))
        weight = max(finish.weight_g for finish in entry.finishes)
        if weight:
            said.append(self.own.weight(weight))
        if entry.unit != "each":
            said.append(self.say(f"price per {entry.unit}"))
        return said

    def _order(self, entry: Entry) -> list[str]:
        said = []
        if entry.least_order > 1:
            said.append(self.say("at least {count}", count=entry.least_order))
        if entry.pack_quantity > 1:
            said.append(self.say("in packs of {count}", count=entry.pack_quantity))
        return said

    def _row(self, entry: Entry, finish: ListedFinish) -> dict[str, Any]:
        offers = self._offers(finish, self.channel)
        suggested = self._offers(finish, self.retail)
        retail = self.retail
        money = Strings(self.language, retail.currency, retail.minor_unit) if retail is not None else self.own
        return {
            "finish": self.say(finish.finish) if finish.finish in FINISH_WORDS else finish.finish,
            "mark": self.say(finish.standing) if finish.standing in MARKS and not self._mark(entry) else "",
            "price": self.own.figure(offers[0].amount),
            "offers": [
                self.say("from {count}: {price}", count=offer.quantity, price=self.own.figure(offer.amount))
                for offer in offers[1:]
            ],
            "suggested": money.figure(suggested[0].amount) if suggested else "–",
        }

    # Index and terms

    def back(self, pages: Mapping[str, int]) -> str:
        index = [
            {"anchor": _piece_anchor(entry.number), "words": entry.number, "page": pages[_piece_anchor(entry.number)]}
            for entry in sorted(self.entries(), key=lambda entry: entry.number)
        ]
        return html_of(
            "price_list_back.html",
            **self.common(),
            index=index,
            index_words=self.say("Index by number"),
            terms_words=self.say("Terms, care and metal"),
            terms=self.terms(),
        )

    def terms(self) -> list[dict[str, Any]]:
        say = self.say
        paragraphs = [
            (say("Prices"), self._price_terms()),
            (say("Orders"), self._order_terms()),
            (say("Carriage"), self._carriage_terms()),
            (say("Payment"), self._payment_terms()),
            (
                say("Care"),
                [
                    say(
                        "Pewter softens and melts at low heat, from about 240 °C: keep it off ovens, hobs and open flame. Wash by hand with mild soap, dry at once; no dishwasher."
                    )
                ],
            ),
            (say("Metal"), self._metal_terms()),
        ]
        return [{"heading": heading, "said": said} for heading, said in paragraphs if said]

    def _price_terms(self) -> list[str]:
        say, own = self.say, self.own
        said = [
            self.basis(),
            say("Dealers set their own prices."),
            say(
                "Prices hold from {start} to {end}.",
                start=own.long_date(self.list.effective),
                end=own.long_date(self.list.until),
            ),
        ]
        if self.channel.terms.grace_days:
            said.append(
                say(
                    "An order dated before a new list takes effect and delivered within {days} days takes this list.",
                    days=self.channel.terms.grace_days,
                )
            )
        said.append(say("Tax is charged at the rates in force; check with your own adviser what applies to you."))
        return said

    def _order_terms(self) -> list[str]:
        say, own, terms = self.say, self.own, self.channel.terms
        said = []
        if terms.least_first_order is not None:
            said.append(say("First order at least {amount}.", amount=own.money(terms.least_first_order)))
        if terms.least_further_order is not None:
            said.append(say("Further orders at least {amount}.", amount=own.money(terms.least_further_order)))
        if terms.small_order_charge is not None:
            said.append(say("A smaller order is charged {amount}.", amount=own.money(terms.small_order_charge)))
        for share in terms.order_discounts:
            said.append(
                say(
                    "From {amount} an order, {share} off.",
                    amount=own.money(share.start),
                    share=own.percent(share.share),
                )
            )
        return said

    def _carriage_terms(self) -> list[str]:
        say, own, terms = self.say, self.own, self.channel.terms
        said = []
        if terms.carriage_paid_from is not None:
            said.append(say("Carriage paid from {amount}.", amount=own.money(terms.carriage_paid_from)))
        for band in terms.carriage:
            if band.amount:
                said.append(self._band(band.start, band.end, band.amount, terms.carriage_by))
        return said

    def _band(self, start: Decimal, end: Decimal | None, amount: Decimal, by: str) -> str:
        shown = self.own.weight if by == "weight" else self.own.money
        if end is None:
            return self.say("From {start}: {amount}.", start=shown(start), amount=self.own.money(amount))
        return self.say(
            "From {start} to under {end}: {amount}.", start=shown(start), end=shown(end), amount=self.own.money(amount)
        )

    def _payment_terms(self) -> list[str]:
        say, terms = self.say, self.channel.terms
        said = []
        if terms.payment_days is not None:
            said.append(say("Payment within {days} days of the invoice.", days=terms.payment_days))
        if terms.cash_share is not None and terms.cash_days is not None:
            share = self.own.percent(terms.cash_share)
            said.append(say("{share} off when paid within {days} days.", share=share, days=terms.cash_days))
        return said

    def _metal_terms(self) -> list[str]:
        say = self.say
        said = []
        for metal in self.list.metals:
            if metal.bought_to:
                said.append(
                    say("{name}: {claim}.", name=metal.name, claim=self._claim(metal.lead_limit_ppm, metal.bought_to))
                )
        said.append(
            say(
                "Limits for lead differ by country and use, for children's articles above all: ask before you make a claim of your own."
            )
        )
        said.append(say("Every piece carries our touch mark."))
        return said

    def _claim(self, limit: Decimal | None, bought_to: str) -> str:
        if limit is None:
            return bought_to
        return self.say(
            "bought to a lead content of at most {limit} parts per million", limit=self.own.number(limit, 0)
        )


FINISH_WORDS = ("satin", "bright", "antique")
CHANNEL_WORDS = ("dealer A", "dealer B", "export", "retail")


def _retail(price_list: PriceList, own: ListedChannel) -> ListedChannel | None:
    """The retail channel whose prices are suggested, if the list has one other than the paper's own."""
    return next((c for c in price_list.channels if c.kind == "retail" and c.name != own.name), None)


def _family_anchor(name: str) -> str:
    return "family-" + "-".join("".join(c if c.isalnum() else " " for c in name.lower()).split())


def _piece_anchor(number: str) -> str:
    return "piece-" + "".join(c if c.isalnum() else "-" for c in number)


def _offset(pages: int) -> str:
    return f"@page :first {{ counter-reset: page {pages + 1}; }}"


def render_price_list(paper: ListPaper) -> bytes:
    """The PDF of a price list for one channel and language; page numbers in contents and index are verified.

    Raises: PricingError for a channel the list lacks, LookupError for a language without words, WrongPages.
    """
    writer = _Writer(paper)
    with collector_off():
        body = laid_out(writer.body(), STYLES, _offset(FRONT_PAGES))
        pages = page_of_anchors(body, FRONT_PAGES)
        behind = FRONT_PAGES + len(body.pages)
        provisional = dict(pages) | {"index": behind + 1, "terms": behind + 2}
        back = laid_out(writer.back(provisional), STYLES, _offset(behind))
        pages |= page_of_anchors(back, behind)
        front = laid_out(writer.front(pages), STYLES)
        if len(front.pages) != FRONT_PAGES:
            raise WrongPages(f"cover and contents take {len(front.pages)} pages, not {FRONT_PAGES}")
        whole = front.copy([*front.pages, *body.pages, *back.pages])
        _verify(page_of_anchors(whole, 0), pages)
        return written(
            whole,
            writer.title,
            paper.language,
            paper.price_list.effective,
            {"Edition": paper.price_list.edition, "Author": paper.price_list.workshop},
        )


def _verify(found: Mapping[str, int], printed: Mapping[str, int]) -> None:
    wrong = [anchor for anchor, page in printed.items() if found.get(anchor) != page]
    if wrong:
        raise WrongPages(f"{len(wrong)} page numbers would be wrong, first: {wrong[0]}")
