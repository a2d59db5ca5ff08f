"""The published values that checks are held against, each with its source, and what each check found."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

RECORDS = Path(__file__).parents[2] / "fixtures" / "references" / "published.json"


@dataclass(frozen=True, slots=True)
class Check:
    """One published value: what is measured, from which inputs, what is expected, how near, and who says so.

    `seen` is `opened` where the source was open when the value was taken down, `memory` where it was not.
    Numbers of `expected` and `tolerance` are Decimals with the digits the source prints.
    """

    id: str
    topic: str
    quantity: str
    inputs: Any
    expected: Any
    tolerance: Any
    source: str
    seen: str
    how: str
    note: str


def _read() -> Mapping[str, Check]:
    rows = json.loads(RECORDS.read_text(encoding="utf-8"), parse_float=Decimal)
    return {row["id"]: Check(**row) for row in rows}


CHECKS = _read()
FOUND: list[tuple[str, str]] = []


def published(record_id: str) -> Check:
    """The published value of that id; a KeyError where there is none."""
    return CHECKS[record_id]


def of_topic(topic: str) -> tuple[Check, ...]:
    """Every published value of a topic such as "3 blank", in the order of the file."""
    return tuple(check for check in CHECKS.values() if check.topic == topic)


def shown(value: Any) -> str:
    """A value in plain words: numbers as printed, lists by commas, names before their values."""
    if isinstance(value, Mapping):
        return "; ".join(f"{name} {shown(one)}" for name, one in value.items())
    if isinstance(value, list):
        return ", ".join(shown(one) for one in value)
    return format(value, "f") if isinstance(value, Decimal) else str(value)


def record(check: Check, found: object) -> None:
    """Note what the engine found for a check, for the page that lists checks with their sources."""
    FOUND.append((check.id, shown(found)))


def agrees(check: Check, found: Decimal, expected: object = None) -> bool:
    """Note `found`; say whether it is within tolerance of the expected value, or of `expected`."""
    record(check, found)
    wanted = check.expected if expected is None else expected
    return abs(found - Decimal(str(wanted))) <= Decimal(str(check.tolerance))
