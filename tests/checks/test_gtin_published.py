"""Check digits of trade item numbers against published examples, with python-stdnum beside; published.json has the sources."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stdnum import ean

from pricing.gtin import check_digit, is_gtin
from tests.checks.published import CHECKS, published, record

EXAMPLES = [check_id for check_id in CHECKS if check_id.startswith("GT-") and CHECKS[check_id].tolerance == "exact"]
DIGITS = st.text("0123456789", min_size=13, max_size=13)


@pytest.mark.parametrize("check_id", EXAMPLES)
def test_check_digits_of_printed_examples(check_id: str) -> None:
    check = published(check_id)
    digits = str(check.inputs)
    found = check_digit(digits)
    record(check, found)
    assert found == check.expected
    assert ean.calc_check_digit(digits) == str(found)
    assert is_gtin(f"{digits}{found}")
    assert not is_gtin(f"{digits}{(found + 1) % 10}")


@given(DIGITS, st.sampled_from([7, 11, 12, 13]))
def test_check_digits_agree_with_python_stdnum(digits: str, length: int) -> None:
    """Oracle: python-stdnum, module ean."""
    start = digits[:length]
    assert str(check_digit(start)) == ean.calc_check_digit(start)
    for last in "0123456789":
        assert is_gtin(start + last) == ean.is_valid(start + last)


@pytest.mark.parametrize(
    "text", ["", "629104150021", "6291041500214", "62910415002133", "629104150021³", "6291-041500213"]
)
def test_what_is_no_trade_item_number(text: str) -> None:
    assert not is_gtin(text)


@pytest.mark.parametrize("text", ["", "62910415002x", "٦٢٩"])
def test_a_check_digit_needs_digits(text: str) -> None:
    with pytest.raises(ValueError, match="digits 0 to 9"):
        check_digit(text)
