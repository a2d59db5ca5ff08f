"""The demo's quotes, worked from its list with a pencil; its dealers; its people."""

from __future__ import annotations

import datetime
import json
from decimal import Decimal as D
from functools import cache
from typing import Any

import pytest

from pricing.price_list import PriceList, Request, make_price_list, quote_of
from pricing.quote import work_quote
from pricing.quote_types import WorkedQuote
from pricing.records import parse_json, read_record
from tests.demo_book import WORKSHOP, demo_book, demo_priced

QUOTES = sorted(path.stem for path in (WORKSHOP / "quotes").glob("*.json"))


@cache
def demo_list() -> PriceList:
    return make_price_list(demo_priced(), "2026", datetime.date(2026, 1, 1), datetime.date(2026, 12, 31))


def asked(name: str) -> Request:
    text = (WORKSHOP / "quotes" / f"{name}.json").read_text(encoding="utf-8")
    return read_record(Request, parse_json(text, name), name)


def worked(name: str) -> WorkedQuote:
    return work_quote(quote_of(demo_list(), asked(name)))


def dealers() -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = json.loads((WORKSHOP / "dealers.json").read_text(encoding="utf-8"))
    return found


@pytest.mark.parametrize("name", QUOTES)
def test_every_quote_is_worked_without_a_complaint(name: str) -> None:
    quote = worked(name)
    assert quote.total > 0
    assert quote.notices == ()


def test_a_christening_cup_engraved_and_boxed_comes_under_sixty() -> None:
    """51.00 + seven letters at 0.60 + a box at 4.50 = 59.70, of it a sixth tax: 9.95."""
    quote = worked("christening-under-sixty")
    assert (quote.total, quote.tax) == (D("59.70"), D("9.95"))


def test_a_team_gets_its_tankards_with_a_twentieth_off() -> None:
    """6 × (97 + 18 × 0.60) + 100 + 2 × 6.50 + 4.50 = 764.30; a twentieth of 686.50 is 34.325, so 34.33; carriage 7.50."""
    quote = worked("tankards-for-a-team")
    assert (quote.goods, quote.order_discount, quote.total) == (D("764.30"), D("34.33"), D("737.47"))
    assert quote.deposit + quote.balance == quote.total


def test_a_round_sum_is_reached_and_shown_as_its_share() -> None:
    quote = worked("wedding-in-a-round-sum")
    assert quote.total == 625
    assert quote.goods - quote.order_discount + D("7.50") == 625


def test_old_pewter_is_payment_and_the_tax_is_on_the_whole_price() -> None:
    """1,340 g at 12.00 a kg = 16.08; 25 minutes at 0.95 = 23.75; the tankard is a second, 30 % off."""
    quote = worked("old-pewter-in-part-exchange")
    tankard = demo_priced().price("retail", "TK202", "satin").amount * D("0.7")
    pots = demo_priced().price("retail", "CN102", "satin").amount
    assert quote.total == tankard + pots + D("23.75")
    assert quote.payable == quote.total - D("16.08")
    assert quote.tax == (quote.total / 6).quantize(D("0.01"), "ROUND_HALF_UP")


def test_a_first_order_pays_for_its_badge_master_once() -> None:
    """The agreed price of the christening cup comes before the list; the badge master is 85.00 on its own line."""
    quote = worked("first-order-of-a-branch")
    price = {n: demo_priced().price("dealer A", n, "satin").amount for n in ("BB202", "OR101", "PL601")}
    goods = 12 * D(22) + 6 * price["BB202"] + 24 * price["OR101"] + 10 * (price["PL601"] + D("1.20")) + 85
    assert quote.goods == goods
    assert quote.tax == (goods * D("0.2")).quantize(D("0.01"), "ROUND_HALF_UP")


def test_a_large_order_at_agreed_prices_takes_the_share_of_its_value() -> None:
    """200 × 42.00 + 24 × 34.50 = 9,228.00; 5 % from 4,000 on = 461.40; 8,766.60 and a fifth = 10,519.92."""
    quote = worked("two-hundred-for-the-club")
    assert (quote.order_discount, quote.net, quote.total) == (D("461.40"), D("8766.60"), D("10519.92"))


def test_a_dozen_assorted_counts_all_lines_of_the_family() -> None:
    quote = worked("a-dozen-assorted")
    singles = [demo_priced().price("dealer B", line.piece, "satin").amount for line in asked("a-dozen-assorted").lines]
    broken = [(price * D("0.96")).quantize(D("0.01"), "ROUND_HALF_UP") for price in singles]
    assert quote.net == sum(4 * price for price in broken)


def test_a_german_dealer_is_quoted_in_euro_without_tax() -> None:
    quote = worked("zinnstube-im-april")
    assert demo_list().channel("export").currency == "EUR"
    assert quote.tax == 0
    assert quote.carriage == 49


def test_dealers_have_a_class_of_the_book_and_agreed_prices_name_a_dealer() -> None:
    classes = {channel.name for channel in demo_book().channels if channel.kind != "retail"}
    numbers = {dealer["number"]: dealer for dealer in dealers()}
    assert 8 <= len(numbers) == len(dealers()) <= 12
    assert {dealer["price_class"] for dealer in dealers()} == classes
    assert {dealer["language"] for dealer in dealers()} == {"en-GB", "de-DE"}
    for agreed in demo_book().agreed_prices:
        assert numbers[agreed.dealer]["price_class"] == agreed.channel
    for name in QUOTES:
        request = asked(name)
        if request.dealer is not None:
            assert numbers[request.dealer]["price_class"] == request.channel


def test_demo_people_have_one_role_each_and_a_password_of_twelve_characters() -> None:
    people = json.loads((WORKSHOP / "people.json").read_text(encoding="utf-8"))
    assert {person["role"] for person in people} == {"counter", "pricing", "owner"}
    assert all(len(person["password"]) >= 12 for person in people)
