"""The page of checks: every published value with what was found for it, or why it is not answered."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from decimal import ROUND_HALF_EVEN, Decimal
from pathlib import Path

from tests.checks.not_answered import NOT_ANSWERED
from tests.checks.published import CHECKS, Check, shown

PAGE = Path(__file__).parents[2] / "docs" / "checks.md"
ANSWERED_HEAD = ("Check", "Quantity", "Inputs", "Expected", "Found", "Source", "Seen")
UNANSWERED_HEAD = ("Check", "Quantity", "Why not")
SHOWN_PLACES = Decimal("1E-10")
LONG_DECIMAL = re.compile(r"-?\d+\.\d{11,}")
HEAD = """# Checks against published values

Made by `make checks` from a run of the tests in `tests/checks`; not written by hand. *Expected* is what the source
prints, *found* what this project works out, to ten places at most. *Seen* says whether the source was open when the
value was taken down, or the value is from memory. Where two conventions exist, the test's own words say which one is
followed and why the other figure differs.
"""


def _shorter(digits: re.Match[str]) -> str:
    return format(Decimal(digits[0]).quantize(SHOWN_PLACES, ROUND_HALF_EVEN).normalize(), "f")


def _cell(text: str) -> str:
    return text.replace("|", "\\|").replace("\n", " ")


def found_by_check(found: Iterable[tuple[str, str]]) -> dict[str, str]:
    """What was found by check, each different answer once, in the order it came."""
    answers: dict[str, dict[str, None]] = {}
    for check_id, text in found:
        answers.setdefault(check_id, {})[LONG_DECIMAL.sub(_shorter, text)] = None
    return {check_id: "; ".join(texts) for check_id, texts in answers.items()}


def before_found(check: Check) -> tuple[str, ...]:
    """The cells left of what was found."""
    return (check.id, check.quantity, shown(check.inputs), shown(check.expected))


def after_found(check: Check) -> tuple[str, ...]:
    """The cells right of what was found."""
    return (check.source, check.seen)


def row(cells: Sequence[str]) -> str:
    """A line of a table."""
    return f"| {' | '.join(_cell(cell) for cell in cells)} |"


def _table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    return "\n".join([row(head), row(["---"] * len(head)), *(row(cells) for cells in rows)])


def unaccounted(found: Mapping[str, str]) -> list[str]:
    """Published values neither answered nor named as not answered, and those that are both."""
    return sorted(check_id for check_id in CHECKS if (check_id in found) == (check_id in NOT_ANSWERED))


def page(found: Mapping[str, str]) -> str:
    """The whole page, by id."""
    answered = [CHECKS[check_id] for check_id in sorted(found)]
    rows = [(*before_found(check), found[check.id], *after_found(check)) for check in answered]
    reasons = [(check_id, CHECKS[check_id].quantity, why) for check_id, why in sorted(NOT_ANSWERED.items())]
    return "\n".join(
        [
            HEAD,
            f"## Answered: {len(rows)}\n",
            _table(ANSWERED_HEAD, rows),
            f"\n## Not answered: {len(reasons)}\n",
            _table(UNANSWERED_HEAD, reasons),
            "",
        ]
    )
