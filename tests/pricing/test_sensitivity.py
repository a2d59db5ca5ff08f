"""How a works cost moves with a metal: exact slopes, proved by costing again at another price."""

from __future__ import annotations

import dataclasses
from decimal import Decimal as D
from fractions import Fraction as F
from typing import Any

import pytest

from pricing.alloy import DeclaredPrice, Quotation
from pricing.amounts import exactly
from pricing.book import Book
from pricing.cost import CostSheet, cost_sheet, sensitivity, works_costs
from pricing.metal_prices import costing_price
from tests.demo_book import demo_book
from tests.pricing.small_book import ROUND, book_with

NEAR = F(1, 10**26)
GATED = {
    "parts": [
        {"kind": "cast", "name": "knob", "form": "ingot", "method": "solid", "finished_g": "80", "gate_share": "0.2"}
    ]
}  # poured and melted 100 g, gates 20 g


@exactly
def at_price(book: Book, element: str, per_kg: D) -> Book:
    """The book with a metal declared at a price of its own day; every earlier quotation stays."""
    quotation = Quotation(element=element, date=book.date, amount=per_kg, currency=book.currency, unit="kg")
    declared = DeclaredPrice(element=element, date=book.date, quoted_to=book.date)
    return dataclasses.replace(
        book, quotations=(*book.quotations, quotation), declared_prices=(*book.declared_prices, declared)
    )


def exacts(book: Book) -> dict[tuple[str, str], F]:
    return {key: F(sheet.exact) for key, sheet in works_costs(book).items()}


@pytest.mark.parametrize("element", ["Sn", "Sb", "Cu", "Bi"])
def test_every_cost_of_the_demo_workshop_is_affine_in_each_metal(element: str) -> None:
    """At prices 10 % down, 10 % and 40 % up: cost − cost now = slope × change, to 26 places."""
    book = demo_book()
    now = exactly(costing_price)(book, element).per_kg
    sheets = works_costs(book)
    slopes = {key: F(sensitivity(book, sheet, element)) for key, sheet in sheets.items()}
    assert any(slopes.values())
    for factor in ("0.9", "1.1", "1.4"):
        price = (now * D(factor)).quantize(D("0.0001"))
        moved = exacts(at_price(book, element, price))
        change = F(price) - F(now)
        for key, sheet in sheets.items():
            assert abs(moved[key] - F(sheet.exact) - slopes[key] * change) < NEAR, (key, factor)


def priced(share: str, remelting: str, **more: Any) -> tuple[Book, CostSheet]:
    credit = {"of": "gates", "recovery_share": share, "remelting_per_kg": remelting}
    book = book_with(GATED, alloys=[{**ROUND["alloys"][0], "credits": [credit]}], **more)
    return book, cost_sheet(book, "A1", "satin")


def move(book: Book, change: str) -> F:
    before, after = F(cost_sheet(book, "A1", "satin").exact), at_price(book, "Sn", D(20) + D(change))
    return (F(cost_sheet(after, "A1", "satin").exact) - before) / F(change)


def test_above_a_credits_zero_the_gates_take_their_share_off() -> None:
    """0.1 kg × 0.9 less 0.02 kg × 0.9 × 0.9."""
    book, sheet = priced("0.9", "0.6")
    assert sensitivity(book, sheet) == D("0.09") - D("0.0162")


def test_below_its_zero_they_take_nothing_off() -> None:
    book, sheet = priced("0.9", "18")
    assert sensitivity(book, sheet) == D("0.09")


def test_at_its_zero_the_slope_is_that_of_a_rise() -> None:
    """Metal 19.00 × 0.9 = 17.10: dearer tin gives gates a worth, cheaper tin does not."""
    book, sheet = priced("0.9", "17.1")
    assert (sensitivity(book, sheet), move(book, "1"), move(book, "-1")) == (D("0.0738"), F("0.0738"), F("0.09"))


def test_a_pool_on_prime_cost_carries_metal_with_it() -> None:
    pools = [{"name": "buying", "basis": "prime cost", "rate": "0.1"}]
    book, sheet = priced("0.9", "0.6", pools=pools)
    assert F(sensitivity(book, sheet)) == F("0.0738") * F("1.1") == move(book, "3")


def test_yields_and_rejects_are_in_the_slope() -> None:
    """N 1.25: 0.125 kg melted × 0.9, rejects 0.25 × 0.08 kg × 0.5 × 0.9, no gates credited."""
    piece = {**GATED, "operations": [{"stage": "cast", "minutes": "1"}]}
    piece["yields"] = [{"stage": "cast", "first_pass_yield": "0.8"}]
    credit = {"of": "rejects", "recovery_share": "0.5"}
    book = book_with(piece, alloys=[{**ROUND["alloys"][0], "credits": [credit]}])
    sheet = cost_sheet(book, "A1", "satin")
    assert F(sensitivity(book, sheet)) == F("0.1125") - F("0.009") == move(book, "2")


def test_a_stated_cost_moves_by_its_tin_content_and_by_no_other_metal() -> None:
    stated = {"amount": "10", "date": "2025-06-10", "tin_content_g": "500"}
    book = book_with({"made": [{"finish": "satin", "stated_cost": stated}]})
    sheet = cost_sheet(book, "A1", "satin")
    assert (sensitivity(book, sheet), sensitivity(book, sheet, "Sb")) == (D("0.5"), 0)
    assert move(book, "4") == F("0.5")


def test_what_has_no_metal_in_it_does_not_move() -> None:
    book = book_with({"operations": [{"stage": "spin", "minutes": "5"}]})
    assert sensitivity(book, cost_sheet(book, "A1", "satin")) == 0
