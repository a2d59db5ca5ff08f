"""The book: a frozen snapshot of everything the prices of one day depend on."""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property

from . import fields
from .alloy import Alloy, DeclaredPrice, Element, ExchangeRate, Form, Quotation, SheetSize
from .amounts import ZERO
from .finish import Finish
from .labour import BenchRate, Stage
from .overhead import Pool
from .piece import Piece, Text
from .rules import AgreedPrice, Channel, Extra, PriceInForce, Rule, Tax


@dataclass(frozen=True, slots=True, kw_only=True)
class Currency:
    """A currency by its ISO 4217 code with its minor unit, which is data here and never guessed."""

    code: str = fields.name()
    minor_unit: int = fields.whole()


@dataclass(frozen=True, slots=True, kw_only=True)
class Family:
    """A family of the catalogue with its names by language; families print in the order of the book."""

    name: str = fields.name()
    names: tuple[Text, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Book:
    """Everything a price depends on, on one day: read with `book_file.read_book`, changed with `book_checks.replace`.

    Same book, same prices, for ever. A what-if is a second book; comparing two books is the whole of it.
    """

    workshop: str = fields.name()
    date: datetime.date
    currency: str = fields.name()
    language: str = fields.name(default="en-GB")
    dust_share: Decimal = fields.share(default=ZERO)
    currencies: tuple[Currency, ...]
    taxes: tuple[Tax, ...] = ()
    exchange_rates: tuple[ExchangeRate, ...] = ()
    elements: tuple[Element, ...] = ()
    quotations: tuple[Quotation, ...] = ()
    declared_prices: tuple[DeclaredPrice, ...] = ()
    alloys: tuple[Alloy, ...] = ()
    forms: tuple[Form, ...] = ()
    sheets: tuple[SheetSize, ...] = ()
    stages: tuple[Stage, ...] = ()
    bench_rate: BenchRate | None = None
    pools: tuple[Pool, ...] = ()
    finishes: tuple[Finish, ...] = ()
    families: tuple[Family, ...] = ()
    pieces: tuple[Piece, ...] = ()
    channels: tuple[Channel, ...] = ()
    rules: tuple[Rule, ...] = ()
    agreed_prices: tuple[AgreedPrice, ...] = ()
    prices_in_force: tuple[PriceInForce, ...] = ()
    extras: tuple[Extra, ...] = ()

    @cached_property
    def minor_units(self) -> Mapping[str, int]:
        """Minor unit by currency code."""
        return {currency.code: currency.minor_unit for currency in self.currencies}

    @cached_property
    def minor_unit(self) -> int:
        """Decimal places of the base currency."""
        return self.minor_units[self.currency]

    @cached_property
    def element_by_symbol(self) -> Mapping[str, Element]:
        """Elements by symbol."""
        return {element.symbol: element for element in self.elements}

    @cached_property
    def alloy_by_name(self) -> Mapping[str, Alloy]:
        """Alloys by name."""
        return {alloy.name: alloy for alloy in self.alloys}

    @cached_property
    def form_by_name(self) -> Mapping[str, Form]:
        """Metal forms by name."""
        return {form.name: form for form in self.forms}

    @cached_property
    def sheet_by_name(self) -> Mapping[str, SheetSize]:
        """Sheet sizes by name."""
        return {sheet.name: sheet for sheet in self.sheets}

    @cached_property
    def stage_by_name(self) -> Mapping[str, Stage]:
        """Stages by name."""
        return {stage.name: stage for stage in self.stages}

    @cached_property
    def stage_order(self) -> Mapping[str, int]:
        """The place of each stage in the order of work."""
        return {stage.name: place for place, stage in enumerate(self.stages)}

    @cached_property
    def finish_by_name(self) -> Mapping[str, Finish]:
        """Finishes by name."""
        return {finish.name: finish for finish in self.finishes}

    @cached_property
    def family_by_name(self) -> Mapping[str, Family]:
        """Families by name."""
        return {family.name: family for family in self.families}

    @cached_property
    def piece_by_number(self) -> Mapping[str, Piece]:
        """Pieces by number."""
        return {piece.number: piece for piece in self.pieces}

    @cached_property
    def channel_by_name(self) -> Mapping[str, Channel]:
        """Channels by name."""
        return {channel.name: channel for channel in self.channels}

    @cached_property
    def rules_by_channel(self) -> Mapping[str, tuple[Rule, ...]]:
        """Rules by channel, in the order of the book."""
        found: dict[str, list[Rule]] = defaultdict(list)
        for rule in self.rules:
            found[rule.channel].append(rule)
        return {channel: tuple(rules) for channel, rules in found.items()}

    @cached_property
    def in_force(self) -> Mapping[tuple[str, str, str, int], PriceInForce]:
        """The price in force by channel, piece, finish and break quantity."""
        return {(price.channel, price.piece, price.finish, price.quantity): price for price in self.prices_in_force}

    def currency_of(self, channel: Channel) -> str:
        """The currency a channel prints in."""
        return channel.currency or self.currency
