"""Metal prices per kg: quotations in any currency and unit, declared prices, alloys, forms, credits and their slopes."""

from __future__ import annotations

import datetime
from decimal import Decimal as D
from fractions import Fraction as F
from typing import Any

import pytest

from pricing.amounts import exactly
from pricing.book import Book
from pricing.errors import PricingError
from pricing.metal_prices import MetalPrices, costing_price, density, exchange_rate, quoted_price
from tests.pricing.small_book import ROUND, book_with

TIN, ANTIMONY = ROUND["quotations"][1], ROUND["quotations"][2]
NOTES: dict[str, Any] = {
    "exchange_rates": [{"currency": "USD", "date": "2026-01-02", "rate": "1.27", "quoted": "units per base"}],
    "elements": [{"symbol": "Sn"}, {"symbol": "Sb"}, {"symbol": "Cu"}],
    "quotations": [
        {"element": element, "date": "2026-01-05", "amount": amount, "currency": "USD", "unit": "tonne"}
        for element, amount in (("Sn", "33000"), ("Sb", "25000"), ("Cu", "9500"))
    ],
    "declared_prices": [{"element": e, "date": "2026-01-10", "quoted_to": "2026-01-09"} for e in ("Sn", "Sb", "Cu")],
    "alloys": [
        {
            "name": "metal",
            "density_g_cm3": "7.28",
            "contents": [
                {"element": "Sn", "fraction": "0.92"},
                {"element": "Sb", "fraction": "0.06"},
                {"element": "Cu", "fraction": "0.02"},
            ],
            "credits": [{"of": "skeleton", "recovery_share": "0.90", "remelting_per_kg": "0.60"}],
        }
    ],
}


@exactly
def near(found: D, exact: F) -> bool:
    """Equal to fifty digits."""
    return abs(F(found) - exact) <= abs(exact) * F(1, 10**48)


@exactly
def tin(book: Book) -> D:
    return costing_price(book, "Sn").per_kg


@exactly
def credit(book: Book, of: str = "gates", stage: str | None = None) -> D:
    return MetalPrices(book).credit("metal", of, stage).per_kg


def gates(share: str, remelting: str) -> Book:
    stated = {"of": "gates", "recovery_share": share, "remelting_per_kg": remelting}
    return book_with(alloys=[{**ROUND["alloys"][0], "credits": [stated]}])


def test_alloy_forms_and_scrap_of_the_trades_notes() -> None:
    """Common practice: 92/6/2 with tin at 33,000, antimony 25,000, copper 9,500 USD/t and 1.27 is £25.24, scrap £22.11."""
    prices = MetalPrices(book_with(**NOTES))
    assert round(prices.alloy("metal").per_kg, 2) == D("25.24")
    assert round(prices.credit("metal", "skeleton").per_kg, 2) == D("22.11")


def test_dollars_to_the_pound_divide_and_never_multiply() -> None:
    """Common practice: 33,000 USD/t at 1.27 is £25.98 a kg, not £41.91."""
    assert near(tin(book_with(**NOTES)), F(33000, 1000) / F("1.27"))
    assert round(tin(book_with(**NOTES)), 2) == D("25.98")


def test_a_rate_may_be_read_either_way_round() -> None:
    other = [{"currency": "USD", "date": "2026-01-02", "rate": "0.8", "quoted": "base per unit"}]
    assert tin(book_with(exchange_rates=other)) == tin(book_with()) == 20


@pytest.mark.parametrize(
    ("unit", "kilograms"),
    [("tonne", F(1000)), ("short ton", F("907.18474")), ("long ton", F("1016.0469088")), ("lb", F("0.45359237"))],
)
def test_a_quotation_in_any_unit_of_mass(unit: str, kilograms: F) -> None:
    """Source: the international pound of 1959, 0.45359237 kg; 2,000 and 2,240 of them to the short and the long ton."""
    quotation = {**TIN, "amount": "100", "currency": "GBP", "unit": unit}
    assert near(tin(book_with(quotations=[quotation, ANTIMONY])), 100 / kilograms)


def test_the_latest_entry_on_or_before_a_day_counts() -> None:
    book = book_with()
    first, second = datetime.date(2025, 6, 1), datetime.date(2026, 1, 5)
    one = datetime.timedelta(days=1)
    assert [quoted_price(book, "Sn", day).per_kg for day in (first, second - one, second)] == [16, 16, 20]
    with pytest.raises(PricingError, match="an entry on or before 2025-05-31") as refusal:
        quoted_price(book, "Sn", first - one)
    assert refusal.value.code == "quotation"


def test_a_mean_takes_each_day_at_its_own_rate() -> None:
    rates = [
        *ROUND["exchange_rates"],
        {"currency": "USD", "date": "2026-01-01", "rate": "1.28", "quoted": "units per base"},
    ]
    window = [
        {"element": "Sn", "date": "2026-01-10", "quoted_from": "2025-06-01", "quoted_to": "2026-01-05"},
        ROUND["declared_prices"][1],
    ]
    book = book_with(exchange_rates=rates, declared_prices=window)
    assert near(tin(book), (F(20) / F("1.25") + F(25) / F("1.28")) / 2)
    assert costing_price(book, "Sn").source == "mean of 2 quotations"


def test_a_price_says_where_and_when_it_was_read() -> None:
    book = book_with(quotations=[{**TIN, "source": "the week's market letter"}, ANTIMONY])
    rate = costing_price(book, "Sn")
    assert (rate.source, rate.date) == ("the week's market letter", datetime.date(2026, 1, 5))


def test_the_latest_declaration_counts_and_one_still_to_come_does_not() -> None:
    old = {"element": "Sn", "date": "2025-07-01", "quoted_to": "2025-07-01"}
    coming = {"element": "Sn", "date": "2026-04-01", "quoted_to": "2025-07-01"}
    assert tin(book_with(declared_prices=[old, *ROUND["declared_prices"], coming])) == 20
    assert tin(book_with(declared_prices=[old, ROUND["declared_prices"][1], coming])) == 16


def test_the_base_currency_is_worth_itself() -> None:
    assert exchange_rate(book_with(), "GBP", datetime.date(1900, 1, 1)) == 1


def test_a_suppliers_price_is_itself_on_its_day_and_then_moves_by_content() -> None:
    def form(day: str) -> Book:
        price = {"amount": "22", "currency": "GBP", "date": day}
        return book_with(forms=[{"name": "ingot", "alloy": "metal", "kind": "ingot", "supplier_price": price}])

    assert MetalPrices(form("2026-01-05")).form("ingot").per_kg == 22
    assert MetalPrices(form("2025-06-01")).form("ingot").per_kg == D(22) + D("0.9") * (20 - 16)


def test_fractions_are_used_as_stated_though_they_miss_1_by_a_little() -> None:
    contents = [{"element": "Sn", "fraction": "0.9"}, {"element": "Sb", "fraction": "0.0995"}]
    book = book_with(alloys=[{**ROUND["alloys"][0], "contents": contents}])
    assert MetalPrices(book).alloy("metal").per_kg == D("18.995")


def test_a_stated_density_wins_over_the_rule_of_mixtures() -> None:
    stated = book_with()
    mixed = book_with(alloys=[{key: value for key, value in ROUND["alloys"][0].items() if key != "density_g_cm3"}])
    assert density(stated, stated.alloys[0]) == 8
    assert near(exactly(density)(mixed, mixed.alloys[0]), 1 / (F("0.9") / F("7.2") + F("0.1") / F("6.25")))


def test_a_credit_is_a_share_of_the_alloy_less_remelting_and_never_below_nothing() -> None:
    assert [credit(gates("0.9", remelting)) for remelting in ("0.6", "17.1", "17.2")] == [D("16.50"), 0, 0]


def test_rejects_take_the_credit_of_the_stage_they_leave() -> None:
    book = book_with()
    assert [credit(book, "rejects", stage) for stage in ("solder", "spin", None)] == [0, 9, 9]


def test_what_is_not_stated_is_worth_nothing() -> None:
    assert credit(gates("0.9", "0.6"), "trimmings") == 0


def test_the_slope_of_a_credit_is_that_of_a_rise_at_its_kink() -> None:
    slopes = [
        MetalPrices(gates("0.9", remelting)).credit_slope("metal", "gates", None, "Sn")
        for remelting in ("0.6", "17.1", "17.2")
    ]
    assert slopes == [D("0.81"), D("0.81"), 0]


def test_slopes_of_forms_are_the_content_with_the_premium_and_without_it_for_a_supplier() -> None:
    price = {"amount": "22", "currency": "GBP", "date": "2026-01-05"}
    supplied = {"name": "bar", "alloy": "metal", "kind": "ingot", "supplier_price": price}
    prices = MetalPrices(book_with(forms=[*ROUND["forms"], supplied]))
    assert [prices.form_slope(name, "Sn") for name in ("ingot", "sheet", "bar")] == [D("0.9"), D("0.99"), D("0.9")]
    assert [prices.form_slope(name, "Cu") for name in ("ingot", "sheet", "bar")] == [0, 0, 0]
