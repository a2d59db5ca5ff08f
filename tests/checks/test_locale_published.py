"""Money, numbers and dates on papers against published strings of CLDR; published.json names each one's source."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from decimal import Decimal

import iso4217
import pytest
from babel.numbers import format_currency, format_decimal, format_percent

from server.documents.strings import NO_BREAK, Strings
from tests.checks.published import CHECKS, Check, published, record
from tests.demo_book import demo_book

AMOUNT = Decimal("1234.5")
AMOUNTS = [check for check in CHECKS.values() if check.topic == "9 locale" and check.quantity.startswith("1234.5 as ")]


def strings(locale: str, currency: str = "GBP") -> Strings:
    return Strings(locale.replace("_", "-"), currency, int(iso4217.Currency(currency).exponent or 0))


def by_locale(check: Check) -> Mapping[str, str]:
    return dict(check.expected)


@pytest.mark.parametrize("check", AMOUNTS, ids=lambda check: check.id)
def test_an_amount_as_a_paper_prints_it(check: Check) -> None:
    locale, currency = check.id.removeprefix("LO-").split("-")
    found = strings(locale, currency).money(AMOUNT)
    record(check, found)
    assert found == check.expected


@pytest.mark.parametrize(
    ("check_id", "locale", "currency", "amount"),
    [("LO-JPY", "ja_JP", "JPY", "1234"), ("LO-BHD", "ar_BH", "BHD", "1234.5")],
)
def test_an_amount_of_no_or_three_decimals(check_id: str, locale: str, currency: str, amount: str) -> None:
    check = published(check_id)
    found = strings(locale, currency).money(Decimal(amount))
    record(check, found)
    assert found == check.expected


@pytest.mark.parametrize(
    ("check_id", "locale", "currency", "amounts"),
    [("LO-T1", "en_US", "JPY", ("0.5", "1.5", "2.5", "1234.5")), ("LO-T2", "en_GB", "GBP", ("2.125", "0.005"))],
)
def test_half_a_unit_goes_up_before_it_is_printed(
    check_id: str, locale: str, currency: str, amounts: tuple[str, ...]
) -> None:
    """Papers differ from Babel here on purpose: half-up as all prices, which is what browsers print too."""
    check = published(check_id)
    found = [strings(locale, currency).money(Decimal(amount)) for amount in amounts]
    record(check, ", ".join(found))
    assert found == check.expected["intl"]
    assert [format_currency(Decimal(a), currency, locale=locale) for a in amounts] == check.expected["babel"]


def test_a_three_letter_code_stands_off_its_figure() -> None:
    """Papers differ from Babel here on purpose: CLDR's currency spacing, which Babel leaves out."""
    check = published("LO-T3")
    found = strings("en_GB", "CHF").money(AMOUNT)
    record(check, found)
    assert found == check.expected["intl"]
    assert format_currency(AMOUNT, "CHF", locale="en_GB") == check.expected["babel"]


def test_the_swiss_grouping_mark_is_babels() -> None:
    check = published("LO-T4")
    found = strings("de_CH", "CHF").money(AMOUNT)
    record(check, found)
    assert found == check.expected["babel"]


def test_amounts_below_nothing() -> None:
    """The accounting form with brackets is on no paper; Babel has it."""
    check = published("LO-N1")
    amount = Decimal("-1234.56")
    found = {
        name: format_currency(amount, "GBP", locale=name.removesuffix("_accounting"), format_type="accounting")
        if name.endswith("_accounting")
        else strings(name).money(amount)
        for name in by_locale(check)
    }
    record(check, found)
    assert found == by_locale(check)


def test_numbers() -> None:
    check = published("LO-N2")
    found = {locale: strings(locale).number(Decimal("1234567.891"), 3) for locale in by_locale(check)}
    record(check, found)
    assert found == by_locale(check)
    assert found == {locale: format_decimal(Decimal("1234567.891"), locale=locale) for locale in found}


def test_percent() -> None:
    check = published("LO-N3")
    share = Decimal("0.125")
    found = {locale: strings(locale).percent(share) for locale in by_locale(check)}
    record(check, found)
    assert found == by_locale(check)
    assert found == {locale: format_percent(share, locale=locale, decimal_quantization=False) for locale in found}


def test_dates() -> None:
    check = published("LO-N4")
    found = {locale: strings(locale).date(datetime.date(2026, 3, 5)) for locale in by_locale(check)}
    record(check, found)
    assert found == by_locale(check)


def test_weights() -> None:
    """CLDR separates French units by a narrow no-break space; papers put the ordinary no-break space everywhere."""
    check = published("LO-N5")
    found = {locale: strings(locale).weight(Decimal(1500)) for locale in by_locale(check)}
    record(check, found)
    expected = {
        locale: text.replace("\u202f", NO_BREAK).replace(" ", NO_BREAK) for locale, text in by_locale(check).items()
    }
    assert found == expected


def test_the_demo_currencies_have_the_minor_units_of_iso_4217() -> None:
    """Source: ISO 4217 list one, through the package iso4217; MO-M-GBP and MO-M-EUR are among the published ones."""
    for code, places in demo_book().minor_units.items():
        assert places == iso4217.Currency(code).exponent
        if f"MO-M-{code}" in CHECKS:
            assert places == published(f"MO-M-{code}").expected
