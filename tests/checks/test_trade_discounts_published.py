"""Discounts, tax and margins against published worked examples; published.json names each one's source."""

from __future__ import annotations

import datetime
import re
from decimal import Decimal
from typing import Any

import pytest

from pricing.amounts import ONE, exactly, half_up
from pricing.book_file import read_book
from pricing.price import price_everything
from pricing.quote import kept_by, read_quote, work_quote, yearly_cost_of_cash_terms
from pricing.quote_margin import LineCost, quote_margin
from pricing.quote_types import Quote, WorkedQuote
from tests.checks.published import CHECKS, agrees, published, record

SERIES = [check_id for check_id in CHECKS if check_id in {"PR-01", "PR-02", "PR-04", "PR-05", "PR-06"}]


def asked(price: str, discounts: tuple[str, ...] = (), rate: str = "0", **more: Any) -> Quote:
    return read_quote(
        {
            "channel": "any", "kind": "dealer", "currency": "GBP", "minor_unit": 2, "tax_inclusive": False,
            "line_authority": "1", "taxes": [{"name": "tax", "rate": rate}],
            "lines": [
                {
                    "piece": "TK102", "finish": "satin", "quantity": 1, "tax": "tax", "discounts": list(discounts),
                    "prices": [{"quantity": 1, "price": price}],
                }
            ],
            **more,
        }
    )  # fmt: skip


def worked(price: str, discounts: tuple[str, ...] = (), rate: str = "0", **more: Any) -> WorkedQuote:
    return work_quote(asked(price, discounts, rate, **more))


@exactly
def series(text: str) -> Decimal:
    """What a series written as 40/20/10 leaves, as a fraction."""
    return kept_by(tuple(Decimal(part) / 100 for part in text.split("/")))


@pytest.mark.parametrize("check_id", SERIES)
def test_a_series_of_discounts_and_the_single_one_equal_to_it(check_id: str) -> None:
    check = published(check_id)
    left = series(str(check.inputs))
    record(check, {"npf": str(left), "sed": str(ONE - left)})
    assert left == Decimal(check.expected["npf"])
    assert ONE - left == Decimal(check.expected["sed"])
    backwards = "/".join(reversed(str(check.inputs).split("/")))
    assert series(backwards) == left


def test_the_list_price_behind_a_net_price() -> None:
    """PR-08: 28 net after 25/15/10 comes from 48.80; the quote of 48.80 gives 28 back."""
    check = published("PR-08")
    found = half_up(exactly(lambda: Decimal(28) / series("25/15/10"))(), 2)
    assert agrees(check, found)
    assert worked(str(found), ("0.25", "0.15", "0.10")).total == Decimal("28.00")


def test_a_series_on_a_real_list_price() -> None:
    check = published("PR-09")
    assert agrees(check, worked("20192.00", ("0.40", "0.15", "0.05")).total)


def test_discounts_of_a_textbook() -> None:
    check = published("PR-10")
    found = [worked("75.80", ("0.25",)).total, worked("168.90", ("0.30",)).total]
    record(check, found)
    assert found == [Decimal(str(value)) for value in check.expected]


def test_the_price_before_a_discount() -> None:
    """PR-12: 450 after 10 % was 500, 90 after 75 % was 360: the quotes of 500 and 360 come to 450 and 90."""
    check = published("PR-12")
    found = [
        worked(str(price), (discount,)).total for price, discount in zip(check.expected, ("0.1", "0.75"), strict=True)
    ]
    record(check, [str(price) for price in check.expected])
    assert found == [Decimal(450), Decimal(90)]


def marked_up(cost: str, mark_up: str) -> Decimal:
    """The price that a book's mark-up rule puts on a stated works cost."""
    day = datetime.date(2026, 1, 5).isoformat()
    book = read_book(
        {
            "format": "tinwright book", "version": 1, "workshop": "Marlpit Row Pewterers", "date": day,
            "currency": "GBP", "currencies": [{"code": "GBP", "minor_unit": 2}],
            "taxes": [{"name": "none", "rate": "0", "since": day}],
            "families": [{"name": "Beakers"}],
            "finishes": [{"name": "satin"}],
            "pieces": [
                {
                    "number": "BK1", "names": [{"language": "en-GB", "text": "Beaker"}], "family": "Beakers",
                    "made": [{"finish": "satin", "stated_cost": {"amount": cost, "date": day}}],
                }
            ],
            "channels": [{"name": "dealer", "kind": "dealer", "tax_inclusive": False, "tax": "none"}],
            "rules": [
                {"name": "all", "channel": "dealer", "since": day, "method": {"kind": "by mark-up", "mark_up": mark_up}}
            ],
        }
    )  # fmt: skip
    return price_everything(book).price("dealer", "BK1", "satin").amount


def test_mark_up_on_cost() -> None:
    check = published("PR-13")
    found = [marked_up(*pair) for pair in (("62.00", "0.15"), ("750.00", "0.45"), ("1.30", "0.60"))]
    record(check, [str(price) for price in found])
    assert found == [Decimal(str(value)) for value in check.expected]


def test_keystone_is_twice_the_cost() -> None:
    """PR-20, trade usage, from memory."""
    check = published("PR-20")
    assert agrees(check, marked_up("12.50", "1"))


def test_the_mark_up_that_leads_from_cost_to_price() -> None:
    """PR-14: the printed percentages put back as mark-ups give the prices; they are printed to two decimals."""
    check = published("PR-14")
    pairs = re.findall(r"([\d.]+) to ([\d.]+)", str(check.inputs))
    for (cost, price), percent in zip(pairs, check.expected, strict=True):
        mark_up = exactly(lambda percent=percent: Decimal(str(percent)) / 100)()
        assert marked_up(cost, str(mark_up)) == Decimal(price)
    record(check, [str(percent) for percent in check.expected])


def test_sales_tax_half_up_to_the_cent() -> None:
    check = published("PR-16")
    found = [str(worked(price, rate="0.0825").tax) for price in ("428.99", "34.88")]
    record(check, found)
    assert found == check.expected["tax"]


def test_the_price_before_tax() -> None:
    check = published("PR-17")
    assert agrees(check, worked("36.56", rate="0.0575", tax_inclusive=True).net)


def test_margin_is_on_the_price_and_mark_up_on_the_cost() -> None:
    """PR-18: sold at 49.95 for a cost of 30.00, a margin of 39.94 % and a mark-up of 66.5 %."""
    check = published("PR-18")
    quote = asked("49.95")
    margin = quote_margin(quote, work_quote(quote), [LineCost(line=0, works_cost=Decimal(30))]).margin
    assert margin is not None
    assert agrees(check, margin * 100, check.expected["margin_pct"])
    assert marked_up("30.00", "0.665") == Decimal("49.95")


def test_a_cash_discount_taken() -> None:
    check = published("PR-21")
    found = worked("1600", cash_terms={"share": "0.02", "cash_days": 10, "net_days": 30})
    answer = {"pay": found.cash_price, "discount": found.payable - found.cash_price}
    record(check, {name: str(amount) for name, amount in answer.items()})
    assert answer == check.expected


def test_a_trade_discount_before_the_invoice() -> None:
    check = published("PR-22")
    assert agrees(check, worked("4000", ("0.15",)).total)


def test_what_letting_a_cash_discount_go_costs_a_year() -> None:
    """PR-24, a formula of finance textbooks, from memory: 2/10 net 30 on a year of 365 days."""
    check = published("PR-24")
    assert agrees(check, yearly_cost_of_cash_terms(Decimal("0.02"), 10, 30) * 100)
