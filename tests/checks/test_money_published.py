"""Money against published values: rounding, tax, totals and minor units; published.json names each one's source."""

from __future__ import annotations

import json
from decimal import Decimal
from typing import Any

import iso4217
import pytest

from pricing.amounts import CONTEXT, half_even, half_up, rounded_up, write_amount
from pricing.quote import read_quote, to_step, work_quote, worked_data
from tests.checks.decimal_cases import Case, carried, in_files
from tests.checks.published import CHECKS, published, record
from tests.twins.node import rounded_in_typescript, worked_in_typescript

MINOR_UNITS = [check_id for check_id in CHECKS if check_id.startswith("MO-M-")]
GBP = {"currency": "GBP", "minor_unit": 2}


def line(price: str, quantity: int = 1, **more: Any) -> dict[str, Any]:
    return {
        "piece": "TK102", "finish": "satin", "quantity": quantity, "tax": "tax",
        "prices": [{"quantity": 1, "price": price}], **more,
    }  # fmt: skip


def service(amount: str) -> dict[str, Any]:
    return {"name": "work", "amount": amount, "tax": "tax"}


def worked(rate: str = "0", inclusive: bool = False, **asked: Any) -> dict[str, Any]:
    """A quote worked, and the same from the page's side."""
    terms = {
        "channel": "any", "kind": "dealer", **GBP, "tax_inclusive": inclusive, "taxes": [{"name": "tax", "rate": rate}],
        "line_authority": "1", "order_authority": "1", **asked,
    }  # fmt: skip
    quote = read_quote(terms)
    found = worked_data(work_quote(quote), quote.minor_unit)
    (page,) = worked_in_typescript([terms])
    assert json.loads(page) == found
    return found


@pytest.mark.parametrize("check_id", MINOR_UNITS)
def test_amounts_have_the_places_of_iso_4217(check_id: str) -> None:
    """Source: ISO 4217 list one, through the package iso4217; the page says which by the record."""
    check = published(check_id)
    code = check_id.removeprefix("MO-M-")
    places = int(iso4217.Currency(code).exponent or 0)
    found = worked(currency=code, minor_unit=places, services=[service("1")])["total"]
    record(check, len(found.partition(".")[2]))
    assert len(found.partition(".")[2]) == places == check.expected


@pytest.mark.parametrize(("way", "function"), [("HALF_UP", half_up), ("HALF_EVEN", half_even), ("CEILING", rounded_up)])
def test_each_way_of_rounding_at_the_cent(way: str, function: Any) -> None:
    """Source: General Decimal Arithmetic as Python's decimal has it."""
    check = published("MO-02")
    values = [Decimal(value) for value in str(check.inputs).split(", ")]
    found = [write_amount(function(value, 2)) for value in values]
    record(check, f"{way}: {found}")
    assert found == check.expected[way]


@pytest.mark.parametrize(
    ("check_id", "value", "places"), [("MO-05a", "0.0078", 3), ("MO-05b", "0.0078", 2), ("MO-05d", "0.1", 0)]
)
def test_single_cases_of_general_decimal_arithmetic(check_id: str, value: str, places: int) -> None:
    check = published(check_id)
    found = write_amount(half_up(Decimal(value), places))
    record(check, found)
    assert found == check.expected
    assert rounded_in_typescript([("half_up", value, places)]) == [found]


def rounded(case: Case) -> Decimal:
    return (half_even if case.way == "half_even" else half_up)(case.value, case.places)


def test_both_sides_round_as_the_files_of_general_decimal_arithmetic() -> None:
    """Source: MO-04, M. Cowlishaw's test cases: those carried in fixtures, and Python's own where it has them."""
    cases = (*carried(), *in_files())
    wrong = [case for case in cases if rounded(case) != case.result]
    assert wrong == []
    page = rounded_in_typescript((case.way, write_amount(case.value), case.places) for case in cases)
    differing = [case.id for case, found in zip(cases, page, strict=True) if Decimal(found) != case.result]
    record(published("MO-04"), f"all {len(carried())} cases carried agree, and Python's own files where it has them")
    assert differing == []
    assert {case.way for case in carried()} == {"half_up", "half_even"}


def test_tax_is_rounded_once_per_rate_on_its_base() -> None:
    """MO-06, rule BR-CO-17 of EN 16931: tax = base × rate, to two decimals; here on MO-26's three lines."""
    found = worked("0.2", services=[service("1.13")] * 3)
    assert found["taxes"][0]["base"] == "3.39"
    record(published("MO-06"), found["tax"])
    assert found["tax"] == write_amount(half_up(Decimal(found["taxes"][0]["base"]) * Decimal("0.2"), 2)) == "0.68"


def test_a_price_for_a_base_quantity() -> None:
    check = published("MO-08")
    found = write_amount(half_up(CONTEXT.divide(Decimal(90 * 1585), Decimal(365)), 2))
    record(check, found)
    assert found == check.expected


def test_a_price_finer_than_the_penny() -> None:
    check = published("MO-09")
    found = worked(services=[{**service("0.41375"), "count": 1701}])["net"]
    record(check, found)
    assert found == check.expected


def test_tax_on_a_total_and_a_sum_to_whole_coins() -> None:
    """MO-10: 25 % on 1,562.39, and what is paid in whole crowns."""
    check = published("MO-10")
    found = worked("0.25", services=[service("390.82"), service("467.78"), service("703.79")])
    pay = to_step(Decimal(found["total"]), Decimal(1))
    answer = {
        "tax": found["tax"],
        "gross": found["total"],
        "rounding": write_amount(pay - Decimal(found["total"])),
        "pay": write_amount(pay),
    }
    record(check, answer)
    assert answer == check.expected


def test_allowances_and_charges_on_one_base() -> None:
    """MO-12: 200,000 less 6 % and 20 %, with 12 % on top, all of the same base."""
    check = published("MO-12")
    found = worked(lines=[line("2000", 100)], order_discount={"share": "0.26"}, rush_share="0.12")["net"]
    record(check, found)
    assert Decimal(found) == check.expected


def test_allowances_on_a_falling_base() -> None:
    """MO-13: 5,000 less 20 %, less 25 % of what is left, with half of that on top."""
    check = published("MO-13")
    found = worked(lines=[line("5000", discounts=["0.2", "0.25"])], rush_share="0.5")["net"]
    record(check, found)
    assert Decimal(found) == check.expected


def test_allowance_and_charges_on_the_whole() -> None:
    """MO-14: 176,500 less a tenth of 4,500, with 2 % of 176,500 and 100 on top, at 25 %."""
    check = published("MO-14")
    found = worked(
        "0.25",
        lines=[line("4500"), line("172000", finish="bright")],
        order_discount={"total": "179680"},
        rush_share="0.02",
        carriage={"by": "value", "bands": [{"amount": "100"}], "tax": "tax"},
    )
    answer = {"net": found["net"], "tax": found["tax"], "gross": found["total"]}
    record(check, {**answer, "allowance": found["order_discount"]})
    assert {name: Decimal(value) for name, value in answer.items()} == check.expected
    assert found["order_discount"] == "450.00"


def test_a_price_by_the_dozen_and_prices_of_five_decimals() -> None:
    """MO-16: 132 at 15.24 a dozen are eleven dozen; 16,000 at 0.00880 and at 0.00101."""
    check = published("MO-16")
    dozens = worked(lines=[line("15.24", 11, unit="dozen")])["net"]
    fine = [worked(services=[{**service(price), "count": 16000}])["net"] for price in ("0.00880", "0.00101")]
    record(check, [dozens, *fine])
    assert [dozens, *fine] == check.expected


@pytest.mark.parametrize("check_id", ["MO-24", "MO-25"])
def test_tax_is_not_only_rounded_down(check_id: str) -> None:
    """Sources as recorded: the tax authority's notice and the court's rulings allow no rounding down alone."""
    up, down = (worked("0.2", services=[service(amount)])["tax"] for amount in ("1.13", "1.12"))
    record(published(check_id), f"0.226 → {up}, 0.224 → {down}")
    assert (up, down) == ("0.23", "0.22")


def test_rounding_by_line_against_the_total() -> None:
    check = published("MO-26")
    services = [service("1.13")] * 3
    found = {
        "per_line_sum": worked("0.2", services=services, tax_by_line=True)["tax"],
        "on_total": worked("0.2", services=services)["tax"],
    }
    record(check, found)
    assert found == check.expected


def test_tax_within_a_price() -> None:
    check = published("MO-28")
    asked = (("60.00", "0.2"), ("80.00", "0.05"), ("24.00", "0.2"), ("24.00", "0.175"))
    found = [worked(rate, inclusive=True, services=[service(price)])["tax"] for price, rate in asked]
    record(check, found)
    assert found == check.expected


def test_cash_to_five_cents() -> None:
    """MO-29: endings 1 and 2 down, 3 and 4 up, 6 and 7 down, 8 and 9 up."""
    check = published("MO-29")
    step = Decimal("0.05")
    found = [write_amount(to_step(Decimal(value), step)) for value in ("20.42", "20.43")]
    record(check, found)
    assert found == check.expected
    endings = [to_step(Decimal(f"20.4{ending}"), step) for ending in range(10)]
    assert endings == [Decimal(text) for text in ["20.40"] * 3 + ["20.45"] * 5 + ["20.50"] * 2]


def test_cash_to_the_smallest_coin_of_a_country() -> None:
    """MO-30, steps of CLDR: every sum goes to a whole number of coins, no further than half of one."""
    check = published("MO-30")
    found = {code: to_step(Decimal("123.38"), Decimal(step)) for code, step in check.expected.items()}
    record(check, {code: str(amount) for code, amount in found.items()})
    for code, step in check.expected.items():
        assert found[code] % Decimal(step) == 0
        assert abs(found[code] - Decimal("123.38")) <= Decimal(step) / 2
