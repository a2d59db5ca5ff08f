"""Discs on sheets and strips against published counts; published.json names each one's source."""

from decimal import Decimal

import pytest

from pricing.sheet_layout import Pattern, best_layout, layouts, strip_utilisation
from tests.checks.published import agrees, published, record

SHEET = Decimal(1200), Decimal(600)


@pytest.mark.parametrize(("number", "diameter"), [("BL-25", 150), ("BL-26", 60)])
def test_counts_on_a_sheet_without_web(number, diameter):
    check = published(number)
    square, along_long, along_short = layouts(*SHEET, Decimal(diameter))
    record(check, f"{square.count} square, {along_long.count} rows long, {along_short.count} rows short")
    assert square.count == check.expected["square"]
    assert along_long.count == check.expected["staggered_rows_long"]
    assert along_short.count == check.expected["staggered_rows_short"]


def test_the_share_of_the_sheet_in_the_best_pattern():
    check = published("BL-26")
    best = best_layout(*SHEET, Decimal(60))
    assert best.pattern is Pattern.STAGGERED_LONG
    assert agrees(check, best.utilisation, check.expected["best_utilisation"])


def test_one_row_in_a_strip():
    assert agrees(published("BL-28"), strip_utilisation(Decimal(100), Decimal(2), Decimal(2)))


def test_two_staggered_rows_in_a_strip():
    assert agrees(published("BL-29"), strip_utilisation(Decimal(100), Decimal(2), Decimal(2), rows=2))


@pytest.mark.parametrize(("number", "rows", "width"), [("BL-28", 1, "104"), ("BL-29", 2, "192.334592")])
def test_a_long_sheet_comes_to_the_share_of_the_strip(number, rows, width):
    check = published(number)
    metres = 100_000
    found = best_layout(Decimal(metres), Decimal(width), Decimal(100), Decimal(2), Decimal(2))
    # 100 m lose less than one pitch in the length at their end.
    assert 0 <= check.expected - found.utilisation <= Decimal("0.001") + check.tolerance


def test_the_limit_of_staggered_rows_is_never_reached():
    check = published("BL-24")
    best = best_layout(Decimal(10**6), Decimal(10**6), Decimal(1))
    assert agrees(check, best.utilisation)
    assert best.utilisation < Decimal("0.90689968212")


@pytest.mark.parametrize(("diameter", "count", "share"), [(216, 12, "0.61"), (245, 8, "0.52")])
@pytest.mark.parametrize("web_and_edge", [3, 4, 5])
def test_large_discs_on_a_common_sheet(diameter, count, share, web_and_edge):
    """Common practice: 1200 x 600 mm gives 12 of 216 mm and 8 of 245 mm, with 3 to 5 mm of web and edge."""
    allowances = Decimal(web_and_edge), Decimal(web_and_edge)
    best = best_layout(*SHEET, Decimal(diameter), *allowances)
    assert best.count == count
    assert round(best.utilisation, 2) == Decimal(share)
