"""The dealer price list as a paper: cover, contents, families with pictures and prices, index, terms and care."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from markupsafe import Markup

from pricing.collector import collector_off
from pricing.price_list import Entry, ListedChannel, ListedFinish, Offer, PriceList

from . import words
from .drawing import Drawing, in_a_row
from .list_terms import ListTerms
from .render import html_of, laid_out, page_of_anchors, page_style, written
from .strings import Strings
from .texts import translator

STYLES = ("paper.css", "price_list.css")
MARKS = ("new", "to order", "last few", "waiting", "discontinued")
ON_THE_SHELF = 6
METAL, LINE, SHELF_METAL = "#d9dee2", "#46525c", "#c3cbd1"
SHELF_PEN = Decimal("0.0032")
WIDE = Decimal("1.5")
UNITS = {"pair": "price per pair", "set": "price per set", "dozen": "price per dozen"}


class WrongPages(Exception):
    """Contents or index of a finished list that do not name the page a piece is on; nothing is written then."""


@dataclass(frozen=True, slots=True)
class ListPaper:
    """What a price list paper is made from: the list, the channel it is for, its language, drawings, and page size."""

    price_list: PriceList
    channel: str
    language: str
    drawings: Mapping[str, Drawing]
    size: str = "A4"


class ListWriter:
    """One list put into the words and figures of one language, as the HTML of its three parts."""

    def __init__(self, paper: ListPaper) -> None:
        self.list = paper.price_list
        self.channel = self.list.channel(paper.channel)
        self.language = paper.language
        self.drawings = paper.drawings
        self.say = translator(paper.language)
        self.own = Strings(paper.language, self.channel.currency, self.channel.minor_unit)
        self.retail = _retail(self.list, self.channel)
        self.entries = tuple(e for e in self.list.entries if any(_offers(f, self.channel) for f in e.finishes))
        held = {entry.family for entry in self.entries}
        self.families = tuple(family for family in self.list.families if family.name in held)
        # Links go by place: no text of a user's is ever an attribute.
        self.anchors = {entry.number: f"piece-{place}" for place, entry in enumerate(self.entries)}
        self.family_anchors = {family.name: f"family-{place}" for place, family in enumerate(self.families)}

    @property
    def title(self) -> str:
        """The paper's name, as its file says it."""
        return self.say("Dealer price list {number}", number=self.list.number)

    @property
    def anchors_in_use(self) -> tuple[str, ...]:
        """Every anchor that contents or index name."""
        return (*self.family_anchors.values(), *self.anchors.values(), "index", "terms")

    def _common(self) -> dict[str, Any]:
        return {"language": self.language, "title": self.title, "foot": self._foot()}

    def _foot(self) -> str:
        return self.say(
            "{workshop} · price list {number} · {channel} · in effect from {date}",
            workshop=self.list.workshop,
            number=self.list.number,
            channel=words.channel(self.say, self.channel.name),
            date=self.own.date(self.list.effective),
        )

    # Cover and contents

    def front(self, pages: Mapping[str, int], total: int) -> str:
        """Cover and contents, with the page each anchor is on and how many pages there are."""
        say = self.say
        contents = [
            {
                "anchor": self.family_anchors[family.name],
                "words": words.named(family.names, self.language),
                "page": pages[self.family_anchors[family.name]],
            }
            for family in self.families
        ]
        contents.append({"anchor": "index", "words": say("Index by number"), "page": pages["index"]})
        contents.append({"anchor": "terms", "words": say("Terms, care and metal"), "page": pages["terms"]})
        return html_of(
            "price_list_front.html",
            **self._common(),
            workshop=self.list.workshop,
            heading=say("Dealer price list"),
            facts=list(self._facts(total)),
            basis=self._basis(),
            shelf=self._shelf(),
            contents_words=say("Contents"),
            contents=contents,
        )

    def _facts(self, total: int) -> Iterator[tuple[str, str]]:
        say = self.say
        yield say("List"), self.list.number
        yield say("Price class"), words.channel(say, self.channel.name)
        yield say("In effect from"), self.own.long_date(self.list.effective)
        yield say("Good until"), self.own.long_date(self.list.until)
        yield say("Currency"), self.channel.currency
        yield say("Pages"), self.own.number(total)

    def _basis(self) -> str:
        say = self.say
        if self.channel.tax_inclusive:
            own = say("Dealer prices include tax ({tax}).", tax=self._tax(self.channel))
        else:
            own = say("Dealer prices are without tax ({tax}).", tax=self._tax(self.channel))
        if self.retail is None:
            return own
        return f"{own} {say('Suggested retail prices include tax and are not binding.')}"

    def _tax(self, channel: ListedChannel) -> str:
        return words.tax(self.say, self.own, self.list.taxes, channel.tax)

    def _shelf(self) -> Markup:
        """A shelf of shapes for the cover, to one scale: the tallest that stands of each of the tallest families."""
        tallest = []
        for family in self.families:
            drawn = (self.drawings[e.number] for e in self.entries if e.family == family.name and e.unit != "set")
            standing = [
                drawing for drawing in drawn if drawing.upright and drawing.view_box[2] < WIDE * drawing.view_box[3]
            ]
            tallest += sorted(standing, key=_height)[-1:]
        shown = [drawing for drawing in tallest if drawing in sorted(tallest, key=_height)[-ON_THE_SHELF:]]
        row = in_a_row(shown) if shown else next(iter(self.drawings.values()))
        return row.lined(SHELF_METAL, LINE, self.say("Outlines of some of our pieces"), SHELF_PEN)

    # Families

    def body(self) -> str:
        """Every family with its pieces."""
        say = self.say
        families = [
            {
                "anchor": self.family_anchors[family.name],
                "name": words.named(family.names, self.language),
                "pieces": [self._item(entry) for entry in self.entries if entry.family == family.name],
            }
            for family in self.families
        ]
        heads = {
            "picture": say("Picture"),
            "piece": say("Number, name and measures"),
            "finish": say("Finish"),
            "dealer": say("Dealer, {currency}", currency=self.channel.currency),
            "dealer_tax": say("with tax") if self.channel.tax_inclusive else say("without tax"),
            "suggested": say("Suggested retail, {currency}", currency=(self.retail or self.channel).currency),
            "suggested_tax": say("with tax, not binding"),
        }
        return html_of("price_list_body.html", **self._common(), families=families, heads=heads)

    def _item(self, entry: Entry) -> dict[str, Any]:
        name = words.named(entry.names, self.language)
        return {
            "anchor": self.anchors[entry.number],
            "number": entry.number,
            "name": name,
            "measures": " · ".join(self._measures(entry)),
            "order": " · ".join(self._order(entry)),
            "drawn": self.drawings[entry.number].lined(METAL, LINE, self.say("Outline: {name}", name=name)),
            "mark": self._mark(entry),
            "rows": [self._row(entry, finish) for finish in entry.finishes if _offers(finish, self.channel)],
        }

    def _mark(self, entry: Entry) -> str:
        """The standing of the whole piece, where all its finishes share it and it is worth a word."""
        standings = {finish.standing for finish in entry.finishes}
        return self._standing(entry, entry.finishes[0]) if len(standings) == 1 else ""

    def _standing(self, entry: Entry, finish: ListedFinish) -> str:
        """A standing worth a word; how long it takes to order."""
        if finish.standing == "to order" and entry.lead_days:
            return self.say("to order, {days} days", days=entry.lead_days)
        return self.say(finish.standing) if finish.standing in MARKS else ""

    def _measures(self, entry: Entry) -> Iterator[str]:
        if entry.dimensions:
            yield entry.dimensions
        if entry.brim_ml is not None:
            yield self.say("{capacity} to the brim", capacity=self.own.capacity(entry.brim_ml))
        if entry.line_ml is not None:
            yield self.say("{capacity} to the line", capacity=self.own.capacity(entry.line_ml))
        weight = max(finish.weight_g for finish in entry.finishes)
        if weight:
            yield self.own.weight(weight)

    def _order(self, entry: Entry) -> Iterator[str]:
        if entry.unit in UNITS:
            yield self.say(UNITS[entry.unit])
        if entry.least_order > 1:
            yield self.say("at least {count}", count=entry.least_order)
        if entry.pack_quantity > 1:
            yield self.say("in packs of {count}", count=entry.pack_quantity)

    def _row(self, entry: Entry, finish: ListedFinish) -> dict[str, Any]:
        offers = _offers(finish, self.channel)
        return {
            "finish": words.finish(self.say, finish.finish),
            "mark": "" if self._mark(entry) else self._standing(entry, finish),
            "price": self.own.figure(offers[0].amount),
            "offers": [
                self.say("from {count}: {price}", count=offer.quantity, price=self.own.figure(offer.amount))
                for offer in offers[1:]
            ],
            "suggested": self._suggested(finish),
        }

    def _suggested(self, finish: ListedFinish) -> str:
        suggested = _offers(finish, self.retail)
        if self.retail is None or not suggested:
            return "–"
        return Strings(self.language, self.retail.currency, self.retail.minor_unit).figure(suggested[0].amount)

    # Index and terms

    def back(self, pages: Mapping[str, int]) -> str:
        """Index and terms, with the page each anchor is on."""
        index = [
            {
                "anchor": self.anchors[entry.number],
                "number": entry.number,
                "name": words.named(entry.names, self.language),
                "page": pages[self.anchors[entry.number]],
            }
            for entry in sorted(self.entries, key=lambda entry: entry.number)
        ]
        terms = ListTerms(self.list, self.channel, self.say, self.own, self._basis())
        return html_of(
            "price_list_back.html",
            **self._common(),
            index=index,
            index_words=self.say("Index by number"),
            terms_words=self.say("Terms, care and metal"),
            terms=terms.paragraphs(),
        )


def _height(drawing: Drawing) -> Decimal:
    return drawing.view_box[3]


def _offers(finish: ListedFinish, channel: ListedChannel | None) -> tuple[Offer, ...]:
    if channel is None:
        return ()
    return next((price.offers for price in finish.prices if price.channel == channel.name), ())


def _retail(price_list: PriceList, own: ListedChannel) -> ListedChannel | None:
    """The retail channel whose prices are suggested, if the list has one other than the paper's own."""
    return next((c for c in price_list.channels if c.kind == "retail" and c.name != own.name), None)


def render_price_list(paper: ListPaper) -> bytes:
    """The PDF of a price list for one channel and language; page numbers in contents and index are verified.

    Raises: PricingError for a channel the list lacks, LookupError for a language without words, WrongPages.
    """
    writer = ListWriter(paper)
    nowhere = dict.fromkeys(writer.anchors_in_use, 0)
    with collector_off():
        before = len(laid_out(writer.front(nowhere, 0), STYLES, page_style(paper.size)).pages)
        body = laid_out(writer.body(), STYLES, page_style(paper.size, before))
        behind = before + len(body.pages)
        pages = nowhere | page_of_anchors(body, before)
        back = laid_out(writer.back(pages), STYLES, page_style(paper.size, behind))
        pages |= page_of_anchors(back, behind)
        front = laid_out(writer.front(pages, behind + len(back.pages)), STYLES, page_style(paper.size))
        whole = front.copy([*front.pages, *body.pages, *back.pages])
        _verify(page_of_anchors(whole, 0), pages)
        return written(
            whole, writer.title, paper.language, paper.price_list.effective, paper.price_list.workshop,
            {"Edition": paper.price_list.edition},
        )  # fmt: skip


def _verify(found: Mapping[str, int], printed: Mapping[str, int]) -> None:
    wrong = [anchor for anchor, page in printed.items() if found.get(anchor) != page]
    if wrong:
        raise WrongPages(f"{len(wrong)} page numbers would be wrong, first: {wrong[0]}")
