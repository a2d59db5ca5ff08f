"""Metal prices of a book on its day: elements, alloys, their forms and what recovered metal is worth, per kg."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from decimal import Decimal
from functools import cached_property
from typing import NamedTuple, TypeVar

from .alloy import BASE_PER_UNIT, Alloy, DeclaredPrice, ExchangeRate, Form, Quotation
from .amounts import CONTEXT, ONE, ZERO
from .book import Book
from .errors import refuse
from .units import kg_in

Dated = TypeVar("Dated", ExchangeRate, Quotation, DeclaredPrice)


class Rate(NamedTuple):
    """An amount per kg with where it was read and its date, for the cost sheet."""

    per_kg: Decimal
    source: str
    date: datetime.date | None


def latest(records: Iterable[Dated], day: datetime.date) -> Dated | None:
    """The latest record on or before `day`."""
    held = [record for record in records if record.date <= day]
    return max(held, key=lambda record: record.date) if held else None


def exchange_rate(book: Book, currency: str, day: datetime.date) -> Decimal:
    """Base units for one unit of `currency`, by the latest entry on or before `day`; 1 for the base itself.

    Raises: PricingError `exchange rate` where there is no entry.
    """
    if currency == book.currency:
        return ONE
    entry = latest((rate for rate in book.exchange_rates if rate.currency == currency), day)
    if entry is None:
        allowed = f"an entry on or before {day}"
        raise refuse("exchange rate", f"exchange_rates {currency}", "date", "no entry", allowed)
    return entry.rate if entry.quoted == BASE_PER_UNIT else CONTEXT.divide(ONE, entry.rate)


def _quoted_per_kg(book: Book, quotation: Quotation) -> Decimal:
    entry = latest((rate for rate in book.exchange_rates if rate.currency == quotation.currency), quotation.date)
    per_kg = quotation.amount / kg_in(quotation.unit, f"quotations {quotation.element}", "unit")
    # Dividing by a rate quoted the other way round keeps 33,000 / 1,000 / 1.27 exact to the last digit.
    if quotation.currency != book.currency and entry is not None and entry.quoted != BASE_PER_UNIT:
        return per_kg / entry.rate
    return per_kg * exchange_rate(book, quotation.currency, quotation.date)


def quoted_price(book: Book, element: str, day: datetime.date) -> Rate:
    """The quotation of a metal of a day, the latest on or before it, per kg in the base currency.

    Raises: PricingError `quotation` where there is none.
    """
    quotation = latest((entry for entry in book.quotations if entry.element == element), day)
    if quotation is None:
        raise refuse("quotation", f"quotations {element}", "date", "no entry", f"an entry on or before {day}")
    return Rate(_quoted_per_kg(book, quotation), quotation.source, quotation.date)


def costing_price(book: Book, element: str) -> Rate:
    """The declared price of a metal on the book's day, per kg in the base currency.

    Raises: PricingError `declared price` or `quotation` where the diary does not give it.
    """
    declared = latest((entry for entry in book.declared_prices if entry.element == element), book.date)
    if declared is None:
        allowed = f"an entry on or before {book.date}"
        raise refuse("declared price", f"declared_prices {element}", "date", "no entry", allowed)
    if declared.quoted_from is None:
        quoted = quoted_price(book, element, declared.quoted_to)
        return Rate(quoted.per_kg, quoted.source, quoted.date)
    window = [
        _quoted_per_kg(book, entry)
        for entry in book.quotations
        if entry.element == element and declared.quoted_from <= entry.date <= declared.quoted_to
    ]
    if not window:
        allowed = f"a quotation from {declared.quoted_from} to {declared.quoted_to}"
        raise refuse("quotation", f"declared_prices {element}", "quoted_from", "no quotation", allowed)
    mean = sum(window, ZERO) / len(window)
    return Rate(mean, f"mean of {len(window)} quotations", declared.quoted_to)


def density(book: Book, alloy: Alloy) -> Decimal:
    """The density of an alloy in g/cm³: as stated, else by 1/ρ = Σ wᵢ/ρᵢ.

    Raises: PricingError `density` where neither the alloy nor one of its elements has one.
    """
    if alloy.density_g_cm3 is not None:
        return alloy.density_g_cm3
    volume = ZERO
    for content in alloy.contents:
        known = book.element_by_symbol[content.element].density_g_cm3
        if known is None:
            allowed = "a density of the alloy, or of each of its elements"
            raise refuse("density", f"alloys {alloy.name}", "density_g_cm3", f"none for {content.element}", allowed)
        volume += content.fraction / known
    return ONE / volume


class MetalPrices:
    """The metal prices of one book, each worked once when it is first asked for."""

    def __init__(self, book: Book) -> None:
        self._book = book
        self._elements: dict[str, Rate] = {}
        self._alloys: dict[str, Rate] = {}
        self._forms: dict[str, Rate] = {}
        self._credits: dict[tuple[str, str, str | None], Rate] = {}
        self._densities: dict[str, Decimal] = {}

    @cached_property
    def tin(self) -> Decimal:
        """The costing price of tin per kg."""
        return self.element("Sn").per_kg

    def element(self, symbol: str) -> Rate:
        """The costing price of an element per kg."""
        if symbol not in self._elements:
            self._elements[symbol] = costing_price(self._book, symbol)
        return self._elements[symbol]

    def alloy(self, name: str) -> Rate:
        """Σ wᵢ·pᵢ per kg, with the fractions as stated."""
        if name not in self._alloys:
            contents = self._book.alloy_by_name[name].contents
            rates = [(content.fraction, self.element(content.element)) for content in contents]
            per_kg = sum((fraction * rate.per_kg for fraction, rate in rates), ZERO)
            read = max((rate.date for _, rate in rates if rate.date is not None), default=None)
            self._alloys[name] = Rate(per_kg, "declared metal prices", read)
        return self._alloys[name]

    def density(self, alloy: str) -> Decimal:
        """The density of an alloy in g/cm³."""
        if alloy not in self._densities:
            self._densities[alloy] = density(self._book, self._book.alloy_by_name[alloy])
        return self._densities[alloy]

    def form(self, name: str) -> Rate:
        """The price of a form per kg.

        Raises: PricingError `form price` where a supplier's price moved with its metals falls below zero.
        """
        if name not in self._forms:
            form = self._book.form_by_name[name]
            rate = self._supplied(form) if form.supplier_price else self._made_up(form)
            if rate.per_kg < 0:
                raise refuse("form price", f"forms {name}", "supplier_price", rate.per_kg, "a price of 0 or more")
            self._forms[name] = rate
        return self._forms[name]

    def _made_up(self, form: Form) -> Rate:
        alloy = self.alloy(form.alloy)
        per_kg = alloy.per_kg * (ONE + form.premium) + form.conversion_per_kg
        return Rate(per_kg, "alloy price with premium and conversion", alloy.date)

    def _supplied(self, form: Form) -> Rate:
        """A supplier's price of a date, moved by Σ wᵢ·(pᵢ now − pᵢ quoted on that date)."""
        price = form.supplier_price
        assert price is not None
        unit = kg_in(price.unit, f"forms {form.name}", "supplier_price.unit")
        then = price.amount / unit * exchange_rate(self._book, price.currency, price.date)
        moved = ZERO
        for content in self._book.alloy_by_name[form.alloy].contents:
            quoted = quoted_price(self._book, content.element, price.date).per_kg
            moved += content.fraction * (self.element(content.element).per_kg - quoted)
        return Rate(then + moved, price.source or "supplier's price", price.date)

    def credit(self, alloy: str, of: str, stage: str | None = None) -> Rate:
        """What a kg of recovered metal is worth: max(0, alloy price × share − remelting); nothing unless stated.

        For rejects the credit of the stage they leave comes before the one without a stage.
        """
        key = (alloy, of, stage)
        if key not in self._credits:
            rate = self.alloy(alloy)
            found = self._stated(alloy, of, stage)
            worth = ZERO if found is None else rate.per_kg * found[0] - found[1]
            self._credits[key] = Rate(max(ZERO, worth), "alloy price × recovery share − remelting", rate.date)
        return self._credits[key]

    def _stated(self, alloy: str, of: str, stage: str | None) -> tuple[Decimal, Decimal] | None:
        found = {credit.stage: credit for credit in self._book.alloy_by_name[alloy].credits if credit.of == of}
        credit = found.get(stage) or found.get(None)
        return None if credit is None else (credit.recovery_share, credit.remelting_per_kg)

    def form_slope(self, name: str, element: str) -> Decimal:
        """∂(form price per kg)/∂(price per kg of an element)."""
        form = self._book.form_by_name[name]
        fraction = self.fraction(form.alloy, element)
        return fraction if form.supplier_price else fraction * (ONE + form.premium)

    def credit_slope(self, alloy: str, of: str, stage: str | None, element: str) -> Decimal:
        """∂(credit per kg)/∂(price per kg of an element); where the credit sits at its zero, the slope for a rise."""
        found = self._stated(alloy, of, stage)
        if found is None or self.alloy(alloy).per_kg * found[0] - found[1] < 0:
            return ZERO
        return self.fraction(alloy, element) * found[0]

    def fraction(self, alloy: str, element: str) -> Decimal:
        """The mass fraction of an element in an alloy."""
        contents = self._book.alloy_by_name[alloy].contents
        return sum((content.fraction for content in contents if content.element == element), ZERO)
