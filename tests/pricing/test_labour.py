"""Time at the bench: set-up, workers, bases of entry, piece-work and the learning curve."""

from __future__ import annotations

from decimal import Decimal as D
from fractions import Fraction as F
from math import isclose, log2
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pricing.cost import cost_sheet, learning_mean
from tests.pricing.small_book import book_with, cost_of

A_MINUTE = F("0.6")  # spin 0.50 and overhead 0.10


def spin(minutes: str, **more: Any) -> dict[str, Any]:
    return {"operations": [{"stage": "spin", "minutes": minutes, **more}]}


@settings(deadline=None)
@given(
    minutes=st.decimals("0", "90", places=2),
    set_up=st.decimals("0", "120", places=0),
    hands=st.sampled_from(["1", "2", "1.5"]),
    batch=st.integers(1, 300),
)
def test_minutes_a_piece_are_workers_times_minutes_and_a_share_of_the_set_up(
    minutes: D, set_up: D, hands: str, batch: int
) -> None:
    sheet = cost_of(spin(str(minutes), set_up_minutes=str(set_up), hands=hands), batch)
    expected = F(hands) * (F(minutes) + F(set_up) / batch)
    assert abs(F(sheet.total_minutes) - expected) < F(1, 10**40)
    assert abs(F(sheet.exact) - expected * A_MINUTE) < F(1, 10**28)


@settings(deadline=None)
@given(minutes=st.decimals("0", "600", places=1), batch=st.integers(1, 50))
def test_what_is_written_per_dozen_or_batch_is_the_same_per_piece(minutes: D, batch: int) -> None:
    dozen = cost_of(spin(str(minutes), basis="dozen"))
    usual = cost_of({**spin(str(minutes), basis="batch"), "usual_batch": batch})
    assert abs(F(dozen.exact) - F(minutes) / 12 * A_MINUTE) < F(1, 10**28)
    assert abs(F(usual.exact) - F(minutes) / batch * A_MINUTE) < F(1, 10**28)


def test_stages_replace_a_cards_minutes_and_may_be_split_at_will() -> None:
    whole = cost_of(spin("10"))
    parts = cost_of({"operations": [{"stage": "spin", "minutes": m} for m in ("1", "2.5", "6.5")]})
    assert whole.exact == parts.exact == 6
    assert abs(F(parts.total_minutes) - 10) + abs(F(whole.total_minutes) - 10) < F(1, 10**40)


def test_minutes_stand_in_the_order_of_work_and_bench_minutes_last() -> None:
    work = [{"minutes": "1"}, *({"stage": stage, "minutes": "1"} for stage in ("pack", "finish", "cast", "spin"))]
    assert [stage for stage, _ in cost_of({"operations": work}).minutes] == ["cast", "spin", "finish", "pack", None]


def test_piece_work_takes_on_cost_and_its_set_up_is_paid_by_time() -> None:
    """1.20 × 1.25 = 1.50; set-up 20/10 = 2 min × 0.50 = 1.00; overhead (5 + 2) × 0.10 = 0.70."""
    sheet = cost_of(spin("5", set_up_minutes="20", piece_work={"amount": "1.20"}))
    assert (sheet.branch("labour"), sheet.branch("overhead"), sheet.exact) == (D("2.50"), D("0.70"), D("3.20"))


def test_work_a_finish_brings_is_told_apart() -> None:
    book = book_with({"made": [{"finish": "satin"}, {"finish": "bright"}], **spin("5")})
    assert cost_sheet(book, "A1", "satin").of_finish == 0
    assert cost_sheet(book, "A1", "bright").of_finish == D("2") * D("0.25") + D("0.12")


@pytest.mark.parametrize("rate", ["0.5", "0.75", "0.8", "0.95", "1"])
@pytest.mark.parametrize("units", [1, 2, 3, 10, 100])
def test_learning_is_the_mean_of_powers(rate: str, units: int) -> None:
    """Source: T. P. Wright, 1936: y = x^b with b = log r / log 2; here of unit n. Floats are near enough for a check."""
    expected = sum(n ** log2(float(rate)) for n in range(1, units + 1)) / units
    assert isclose(float(learning_mean(D(rate), units)), expected, rel_tol=1e-12)


def test_learning_at_half_is_the_harmonic_series_to_fifty_digits() -> None:
    for units in (1, 2, 3, 7, 30):
        harmonic = sum((F(1, n) for n in range(1, units + 1)), F(0)) / units
        assert abs(F(learning_mean(D("0.5"), units)) - harmonic) < F(1, 10**45)


def test_learning_saves_more_the_longer_the_run_and_nothing_on_one_piece() -> None:
    means = [learning_mean(D("0.85"), units) for units in (1, 2, 5, 20, 200)]
    assert means[0] == 1
    assert means == sorted(means, reverse=True)


def test_learning_leaves_set_up_alone() -> None:
    sheet = cost_of(spin("10", learning_rate="0.5", set_up_minutes="8"), batch=4)
    assert abs(F(sheet.total_minutes) - (10 * F(25, 48) + 2)) < F(1, 10**40)
