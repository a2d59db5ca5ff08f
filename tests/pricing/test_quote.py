"""Quotes worked by hand: every vector holds, every refusal is refused, and totals agree with fractions throughout."""

from __future__ import annotations

import json
import random
from dataclasses import replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from pricing.errors import BookError, PricingError
from pricing.quote import (
    Quote,
    WorkedQuote,
    check_quote,
    good_until,
    read_quote,
    takes_old_list,
    work_quote,
    worked_data,
)
from tests.twins.node import worked_in_typescript
from tests.twins.random_quotes import quote as random_quote

VECTORS = Path(__file__).parents[2] / "fixtures" / "vectors" / "quote"
SHARED = 3_000


def vectors() -> list[tuple[str, dict[str, Any]]]:
    """Every vector of every file, with its file's terms put under what its quote says."""
    found = []
    for path in sorted(VECTORS.glob("*.json")):
        page = json.loads(path.read_text(encoding="utf-8"))
        for vector in page["vectors"]:
            found.append((vector["id"], {**vector, "quote": {**page["terms"], **vector["quote"]}}))
    return found


ALL = vectors()
WORKED = [(name, vector) for name, vector in ALL if "worked" in vector]
FAULTY = [(name, vector) for name, vector in ALL if "faults" in vector]
REFUSED = [(name, vector) for name, vector in ALL if "refused" in vector]


def differences(expected: Any, found: Any, place: str = "") -> list[str]:
    """Where `found` does not hold what `expected` says; what `expected` leaves out may be anything."""
    if isinstance(expected, dict) and isinstance(found, dict):
        return [line for key in expected for line in differences(expected[key], found.get(key), f"{place}.{key}")]
    if isinstance(expected, list) and isinstance(found, list) and len(expected) == len(found):
        pairs = enumerate(zip(expected, found, strict=True))
        return [line for index, (one, other) in pairs for line in differences(one, other, f"{place}[{index}]")]
    return [] if expected == found else [f"{place}: by hand {expected}, found {found}"]


def work(asked: dict[str, Any]) -> dict[str, Any]:
    checked = read_quote(asked)
    return worked_data(work_quote(checked), checked.minor_unit)


def params(found: list[tuple[str, dict[str, Any]]]) -> list[Any]:
    return [pytest.param(vector, id=name) for name, vector in found]


@pytest.mark.parametrize("vector", params(WORKED))
def test_a_quote_worked_by_hand(vector: dict[str, Any]) -> None:
    assert differences(vector["worked"], work(vector["quote"])) == []


@pytest.mark.parametrize("vector", params(FAULTY))
def test_a_quote_with_faults_names_them_all(vector: dict[str, Any]) -> None:
    with pytest.raises(BookError) as refusal:
        read_quote(vector["quote"])
    assert sorted(fault.field for fault in refusal.value.faults) == sorted(vector["faults"])
    assert all(fault.record == "quote" and fault.found and fault.allowed for fault in refusal.value.faults)


@pytest.mark.parametrize("vector", params(REFUSED))
def test_a_figure_that_cannot_be_reached_is_refused(vector: dict[str, Any]) -> None:
    checked = read_quote(vector["quote"])
    with pytest.raises(PricingError) as refusal:
        work_quote(checked)
    assert (refusal.value.code, refusal.value.fault.field) == (vector["refused"], vector["field"])


def test_the_page_gives_every_vector_as_worked_by_hand() -> None:
    answers = worked_in_typescript(vector["quote"] for _, vector in ALL)
    wrong = []
    for (name, vector), text in zip(ALL, answers, strict=True):
        answer = json.loads(text)
        if "worked" in vector:
            wrong += [f"{name}{line}" for line in differences(vector["worked"], answer)]
        elif "faults" in vector:
            wrong += differences(
                sorted(vector["faults"]), sorted(fault.split(": ")[0] for fault in answer["faults"]), name
            )
        else:
            wrong += differences({"refused": vector["refused"], "field": vector["field"]}, answer, name)
    assert wrong == []


def test_a_third_of_the_vectors_are_refusals_and_no_name_is_used_twice() -> None:
    assert len(FAULTY) + len(REFUSED) >= len(ALL) / 3
    assert len({name for name, _ in ALL}) == len(ALL)


def half_up(value: Fraction, places: int) -> Fraction:
    """A fraction rounded with whole numbers only, a half away from nothing: a second way to the same figure."""
    scaled = abs(value) * 10**places
    rounded = Fraction((2 * scaled.numerator + scaled.denominator) // (2 * scaled.denominator), 10**places)
    return rounded if value >= 0 else -rounded


def fraction(amount: Decimal | None) -> Fraction:
    return Fraction(amount or 0)


def kept(discounts: tuple[Decimal, ...]) -> Fraction:
    left = Fraction(1)
    for discount in discounts:
        left *= 1 - fraction(discount)
    return left


def check_lines(asked: Quote, worked: WorkedQuote) -> None:
    """Each line's net again, from its printed unit price."""
    for line, found in zip(asked.lines, worked.lines, strict=True):
        unit = fraction(found.unit_price) * kept(line.discounts) * (1 - fraction(line.second))
        net = half_up(unit, asked.minor_unit) * line.quantity
        for extra in line.extras:
            share = kept(line.discounts) if extra.takes_discount else 1
            charge = half_up(fraction(extra.amount) * extra.count * share, asked.minor_unit)
            net += charge * (line.quantity if extra.per == "unit" else 1)
        assert fraction(found.line_net) == net


def check_taxes(asked: Quote, worked: WorkedQuote) -> None:
    """Tax again from the bases, once per rate, and what is taxed again from what is charged."""
    reduced = worked.part_exchange if asked.part_exchange == "reduction" else Decimal(0)
    charged = worked.goods - worked.order_discount + worked.surcharge + worked.rush
    charged += worked.carriage + worked.small_order_charge - reduced
    assert sum(rate.base for rate in worked.taxes) == charged
    for rate in worked.taxes:
        share = fraction(rate.rate) / (1 + fraction(rate.rate) if asked.tax_inclusive else 1)
        if not asked.tax_by_line:
            assert fraction(rate.tax) == half_up(fraction(rate.base) * share, asked.minor_unit)


def check_sums(asked: Quote, worked: WorkedQuote) -> None:
    """What a reader with a pencil does: the printed figures add up."""
    paid = worked.part_exchange if asked.part_exchange == "payment" else Decimal(0)
    assert worked.goods == sum((line.line_net for line in worked.lines), Decimal(0)) + sum(worked.services)
    assert worked.tax == sum(rate.tax for rate in worked.taxes)
    assert worked.total == worked.net + worked.tax
    assert worked.payable == worked.total - paid
    assert worked.balance == worked.payable - worked.deposit


def test_random_quotes_agree_with_fractions() -> None:
    """Lines, taxes and sums of random quotes, reckoned again with whole-number fractions."""
    seed = random.randrange(1, 10**9)
    print("seed", seed)
    chance, checked = random.Random(seed), 0
    for _ in range(SHARED):
        try:
            asked = read_quote(random_quote(chance))
            worked = work_quote(asked)
        except PricingError:
            continue
        checked += 1
        for check in (check_lines, check_taxes, check_sums):
            check(asked, worked)
    assert checked > SHARED / 2


def test_an_order_discount_is_given_whole_and_in_proportion() -> None:
    """Every part is within a minor unit of its proportion, save the one that takes the rest; together they are all."""
    chance = random.Random(4)
    for _ in range(500):
        bases = [chance.randrange(1, 10**6) for _ in range(3)]
        share = chance.choice(("0.025", "0.05", "0.333", "0.1"))
        rates = ("0.2", "0.05", "0")
        asked = read_quote(
            {
                "channel": "d", "kind": "dealer", "currency": "GBP", "minor_unit": 2, "tax_inclusive": False,
                "taxes": [{"name": rate, "rate": rate} for rate in rates],
                "services": [
                    {"name": "work", "amount": f"{base / 100:.2f}", "tax": rate, "takes_discount": True}
                    for base, rate in zip(bases, rates, strict=True)
                ],
                "order_discount": {"share": share},
            }
        )  # fmt: skip
        worked = work_quote(asked)
        parts = [Fraction(base, 100) - Fraction(rate.base) for base, rate in zip(bases, worked.taxes, strict=True)]
        assert sum(parts) == Fraction(worked.order_discount)
        for base, part in zip(bases, parts, strict=True):
            exact = Fraction(worked.order_discount) * base / sum(bases)
            if base != max(bases):
                assert part == half_up(exact, 2)


def test_a_named_total_is_met_or_said_to_be_missed() -> None:
    chance, met, missed = random.Random(8), 0, 0
    while met + missed < 300:
        data = random_quote(chance)
        discount = data.get("order_discount")
        if not isinstance(discount, dict) or "total" not in discount:
            continue
        try:
            asked = read_quote(data)
            worked = work_quote(asked)
        except PricingError:
            continue
        assert asked.order_discount is not None
        with_tax = asked.order_discount.tax_included
        reached = worked.total if (asked.tax_inclusive if with_tax is None else with_tax) else worked.net
        said = [notice for notice in worked.notices if notice.code == "named total missed"]
        assert reached == asked.order_discount.total if not said else reached < (asked.order_discount.total or 0)
        met, missed = met + (not said), missed + bool(said)
    assert met > 200


def test_a_quote_is_good_until_its_last_day() -> None:
    assert good_until(date(2026, 1, 20), 30) == date(2026, 2, 19)


def test_an_order_before_the_change_over_delivered_within_grace_takes_the_old_list() -> None:
    change = date(2026, 3, 1)
    assert takes_old_list(date(2026, 2, 28), date(2026, 3, 29), change, 28)
    assert not takes_old_list(date(2026, 2, 28), date(2026, 3, 30), change, 28)
    assert not takes_old_list(date(2026, 3, 1), date(2026, 3, 2), change, 28)


def test_a_quote_put_together_otherwise_is_checked_as_strictly() -> None:
    """What reading finds in a file, `check_quote` finds in a quote made from a list and a request."""
    asked = read_quote(
        {**ALL[0][1]["quote"], "lines": [], "services": [{"name": "work", "amount": "1", "tax": "standard"}]}
    )
    assert check_quote(asked) is asked
    with pytest.raises(BookError) as refusal:
        check_quote(replace(asked, services=(), minor_unit=7))
    assert {fault.field for fault in refusal.value.faults} == {"lines", "minor_unit"}
