"""Reasons in words: each step with its figures, in whole yen where there are no pence, and a word for every step there is."""

from __future__ import annotations

import re
from decimal import Decimal as D
from pathlib import Path
from random import Random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pricing import price, price_checks, price_reports
from pricing.book_file import read_book
from pricing.price import price_everything
from pricing.price_checks import Step
from pricing.price_reports import reports
from pricing.reasons import figure, one_line, percent, step_words, words
from tests.oracle.price_books import random_price_book
from tests.pricing.price_book import price_of, vectors

HELD = {"kind": "held", "amount": "33", "until": "2026-12-31", "reason": "for the spring leaflet"}
QUARTERS = {"bands": [{"end": "50", "step": "0.25"}, {"start": "50", "step": "0.5"}]}
MUGS = {"A": {"size_family": "mugs", "size": "1"}, "B": {"size_family": "mugs", "size": "2"}}

SAID: tuple[tuple[str, dict[str, Any], list[str]], ...] = (
    ("dealer A satin", {"channels": {"dealer": {"points": QUARTERS}}},
     ["works cost 31.00 ÷ (1 − 0.3) = 44.29", "price point 44.25 (the nearest)", "margin 29.94 % of 44.25 without tax"]),
    ("shop A satin", {"channels": {"shop": {"selling_costs": "0.05"}}, "rules": [{"channel": "shop"}]},
     ["works cost 31.00 ÷ (1 − 0.3 − 0.05) × 1.2 with tax = 57.23", "price point 57.23 (the nearest)",
      "margin 30 % of 47.69 without tax"]),
    ("dealer A satin", {"rules": [{"method": {"kind": "by mark-up", "mark_up": "0.45"}}]},
     ["works cost 31.00 × (1 + 0.45) = 44.95", "price point 44.95 (the nearest)", "margin 31.03 % of 44.95 without tax"]),
    ("dealer A satin",
     {"channels": {"shop": {}}, "rules": [
         {"channel": "shop", "method": {"kind": "held", "amount": "97", "until": "2026-12-31"}},
         {"method": {"kind": "from another price class", "channel": "shop", "discounts": ["0.45"]}}]},
     ["shop 97.00, 80.83 without tax × (1 − 0.45) = 44.46", "price point 44.46 (the nearest)",
      "margin 30.27 % of 44.46 without tax"]),
    ("dealer A satin", {"rules": [{}, {"piece": "A", "method": HELD}], "channels": {"dealer": {"checks": {"floor_margin": "0.2"}}}},
     ["set by hand at 33.00 until 2026-12-31, for the spring leaflet",
      "as it is set by hand, this does not move it: 33.00 raised to the floor 38.75",
      "by rule “rule 1” it would be 44.29", "margin 6.06 % of 33.00 without tax", "under the floor 38.75"]),
    ("dealer A satin",
     {"channels": {"dealer": {"checks": {"greatest_rise": "0.05", "floor_margin": "0.27"}}}, "was": {"dealer A satin": "40"}},
     ["works cost 31.00 ÷ (1 − 0.3) = 44.29", "44.29 held to 42.00: not dearer than 5 % on 40.00", "42.00 raised to the floor 42.47",
      "price point 42.47 (the nearest)", "margin 27.01 % of 42.47 without tax", "higher than the 42.00 that 40.00 in force allows"]),
    ("dealer B satin", {"costs": {"A": "31", "B": "20"}, "pieces": MUGS},
     ["works cost 20.00 ÷ (1 − 0.3) = 28.57", "price point 28.57 (the nearest)",
      "raised from 28.57 to 44.29, the price of A satin: a bigger size or brighter finish never costs less",
      "margin 54.84 % of 44.29 without tax"]),
    ("dealer A satin 12", {"channels": {"dealer": {"breaks": [{"quantity": 12, "share": "0.05"}]}}},
     ["single price 44.29 × (1 − 0.05) = 42.08", "margin 26.33 % of 42.08 without tax"]),
    ("dealer A satin", {"channels": {"dealer": {"currency": "JPY"}}},
     ["works cost 6200 ÷ (1 − 0.3) = 8857", "price point 8857 (the nearest)", "margin 30 % of 8857 without tax"]),
    ("abroad A satin", {"channels": {"abroad": {"currency": "USD"}}, "rules": [
        {}, {"channel": "abroad", "method": {"kind": "from another price class", "channel": "dealer", "mark_up": "0.1"}}]},
     ["dealer 44.29, 55.36 in this currency × (1 + 0.1) = 60.90", "price point 60.90 (the nearest)",
      "margin 36.37 % of 60.90 without tax"]),
)  # fmt: skip


@pytest.mark.parametrize(("key", "case", "said"), SAID)
def test_a_reason_step_by_step(key: str, case: dict[str, Any], said: list[str]) -> None:
    assert words(price_of(key, **case)) == said


def test_the_reason_on_one_line_is_its_steps() -> None:
    assert one_line(price_of(channels={"dealer": {"points": QUARTERS}})) == (
        "works cost 31.00 ÷ (1 − 0.3) = 44.29; price point 44.25 (the nearest)"
    )


def test_every_step_the_engine_can_take_has_words() -> None:
    """Every code written in the source is put into words by a vector or a random book, and none fails."""
    source = "".join(
        Path(module.__file__ or "").read_text(encoding="utf-8") for module in (price, price_checks, price_reports)
    )
    codes = set(re.findall(r'Step\(\s*"([^"]+)"', source)) | {"point moved", "point above the floor"}
    met: set[str] = set()
    books = [vector for vector in vectors() if "prices" in vector]
    for vector in books:
        for key in vector["prices"]:
            found = price_of(key, **vector)
            assert words(found)
            met |= {step.code for step in (*found.steps, *found.breaches)}
    chance = Random(7)
    for _ in range(25):
        for report in reports(price_everything(read_book(random_price_book(chance)))):
            assert step_words(report)
            met.add(report.code)
    rare = {
        "dearer than the quantity below: its floor forbids less",
        "order between price classes",
        "outside the stated terms",
    }
    assert codes - met <= rare


@pytest.mark.parametrize(
    ("step", "said"),
    [
        (Step("dearer than the quantity below: its floor forbids less", (12, D(20), D(30))),
         "30.00 is dearer than 20.00 from 12: its own floor forbids less"),
        (Step("order between price classes", ("dealer", "A", "satin", 12, D("40"), "shop", D("38.5"))),
         "A satin: best dealer price 40.00 from 12 is above the 38.50 that shop allows"),
        (Step("outside the stated terms", ("dealer", "A", "satin", D("50"), "shop", D("80"), D("0.375"), D("0.45"))),
         "A satin: dealer 50.00 is 37.5 % off shop 80.00 without tax; its terms say 45 %"),
    ],
)  # fmt: skip
def test_the_rare_ones(step: Step, said: str) -> None:
    assert step_words(step) == said


@given(st.integers(0, 10**9))
@settings(max_examples=15, deadline=None)
def test_the_last_amount_said_is_the_price_printed(seed: int) -> None:
    """A reader who follows a reason to its end arrives at the price: in the margin's line, which takes the tax out."""
    for found in price_everything(read_book(random_price_book(Random(seed)))).prices:
        margin = next(said for said in words(found) if said.startswith("margin "))
        assert margin.endswith(f" of {figure(found.net, found.minor_unit)} without tax")
        assert margin.startswith(f"margin {percent(found.margin)} of ")


def test_figures_and_percents() -> None:
    assert [figure(D("44.285"), places) for places in (0, 2, 3)] == ["44", "44.29", "44.285"]
    assert [percent(D(text)) for text in ("0.3", "0.29944", "0.56125", "-0.05")] == [
        "30 %",
        "29.94 %",
        "56.13 %",
        "-5 %",
    ]
