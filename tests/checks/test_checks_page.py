"""docs/checks.md has every published value once, with its source, and a reason where it is not answered."""

from __future__ import annotations

from pathlib import Path

from tests.checks.not_answered import NOT_ANSWERED
from tests.checks.page import PAGE, after_found, before_found, found_by_check, row, unaccounted
from tests.checks.published import CHECKS, published, shown

HEADINGS = {"Check", "---"}


def rows() -> dict[str, str]:
    """The page's table lines by check id."""
    lines = [line for line in PAGE.read_text(encoding="utf-8").splitlines() if line.startswith("| ")]
    by_id = {line.split(" | ")[0].removeprefix("| "): line for line in lines}
    assert len([line for line in lines if line.split(" | ")[0].removeprefix("| ") not in HEADINGS]) == len(CHECKS)
    return {check_id: line for check_id, line in by_id.items() if check_id not in HEADINGS}


def test_every_published_value_is_answered_or_has_its_reason() -> None:
    found = rows()
    assert found.keys() == CHECKS.keys()
    assert NOT_ANSWERED.keys() <= CHECKS.keys()
    for check_id, why in NOT_ANSWERED.items():
        assert found[check_id] == row((check_id, CHECKS[check_id].quantity, why)), "run: make checks"


def test_every_answer_stands_beside_what_its_source_prints() -> None:
    found = rows()
    for check in CHECKS.values():
        if check.id not in NOT_ANSWERED:
            left, right = row(before_found(check)), row(after_found(check))
            line = found[check.id]
            assert line.startswith(left), "run: make checks"
            assert line.endswith(right), "run: make checks"
            assert len(line) > len(left) + len(right), f"{check.id} has no answer"


def test_no_path_of_a_machine_is_on_the_page() -> None:
    text = PAGE.read_text(encoding="utf-8")
    assert str(PAGE.parents[1]) not in text
    assert str(Path.home()) not in text


def test_answers_are_kept_once_and_to_ten_places() -> None:
    found = found_by_check([("A", "0.33333333333333333"), ("A", "0.33333333333333333"), ("A", "yes"), ("B", "1.50")])
    assert found == {"A": "0.3333333333; yes", "B": "1.50"}


def test_a_value_left_out_or_held_twice_is_told() -> None:
    answered = dict.fromkeys(CHECKS.keys() - NOT_ANSWERED.keys(), "found")
    assert unaccounted(answered) == []
    left_out, twice = min(answered), min(NOT_ANSWERED)
    kept = {check_id: text for check_id, text in answered.items() if check_id != left_out}
    assert unaccounted({**kept, twice: "found"}) == sorted([left_out, twice])


def test_values_of_records_in_plain_words() -> None:
    assert shown(published("AL-T1").expected) == "solidus 240; liquidus 300"
    assert shown([1, 2]) == "1, 2"
