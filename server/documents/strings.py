"""Values of the trade as strings of a language: money, dates, weights, capacities, by CLDR."""

from __future__ import annotations

import datetime
from decimal import Decimal

from babel import Locale
from babel.dates import format_date
from babel.numbers import format_currency, format_decimal, format_percent, get_currency_symbol

from pricing.amounts import half_up

NO_BREAK = "\u00a0"
KILO_FROM = Decimal(1000)


class Strings:
    """Formats values for one language. Amounts are rounded half-up to the minor unit before they are formatted."""

    def __init__(self, language: str, currency: str, minor_unit: int) -> None:
        self.locale = Locale.parse(language, sep="-")
        self.currency = currency
        self.minor_unit = minor_unit

    def money(self, amount: Decimal) -> str:
        """An amount with its currency, a no-break space between a three-letter code and the figure."""
        rounded = half_up(amount, self.minor_unit)
        text = format_currency(
            rounded, self.currency, locale=self.locale, currency_digits=False, format=self._pattern()
        )
        symbol = get_currency_symbol(self.currency, locale=self.locale)
        if symbol == self.currency and text.startswith(symbol) and text[len(symbol)].isdigit():
            text = f"{symbol}{NO_BREAK}{text[len(symbol) :]}"
        return text

    def _pattern(self) -> str:
        places = f"0.{'0' * self.minor_unit}" if self.minor_unit else "0"
        pattern = str(self.locale.currency_formats["standard"].pattern)
        return ";".join(part.replace("0.00", places) for part in pattern.split(";"))

    def figure(self, amount: Decimal) -> str:
        """An amount without its currency, with its minor unit, for a column whose head names the currency."""
        places = f"#,##0.{'0' * self.minor_unit}" if self.minor_unit else "#,##0"
        return format_decimal(half_up(amount, self.minor_unit), format=places, locale=self.locale)

    def date(self, day: datetime.date) -> str:
        """A date, medium."""
        return format_date(day, format="medium", locale=self.locale)

    def long_date(self, day: datetime.date) -> str:
        """A date with the month in words."""
        return format_date(day, format="long", locale=self.locale)

    def number(self, value: Decimal | int, places: int = 2) -> str:
        """A number with at most so many places."""
        return format_decimal(half_up(Decimal(value), places), locale=self.locale)

    def percent(self, share: Decimal) -> str:
        """A share in percent, at most two places."""
        return format_percent(half_up(share, 4), locale=self.locale, format=self._percent())

    def _percent(self) -> str:
        return str(self.locale.percent_formats[None].pattern).replace("#,##0", "#,##0.##")

    def weight(self, grams: Decimal) -> str:
        """A weight: grams below a kilogram, else kilograms with two places."""
        if grams >= KILO_FROM:
            return f"{self.number(grams / 1000, 2)}{NO_BREAK}kg"
        return f"{self.number(grams, 0)}{NO_BREAK}g"

    def capacity(self, ml: Decimal) -> str:
        """A capacity: millilitres below a litre, else litres with two places."""
        if ml >= KILO_FROM:
            return f"{self.number(ml / 1000, 2)}{NO_BREAK}l"
        return f"{self.number(ml, 0)}{NO_BREAK}ml"
