"""Cases of rounding from the General Decimal Arithmetic test files: those carried, and all where Python has them.

Source: M. Cowlishaw, IBM, General Decimal Arithmetic Testcases 2.59, as CPython's test package ships them in
`test/decimaltestdata`. Distributions may leave that folder out; the cases carried in fixtures are from it.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from pathlib import Path

import test as cpython_tests

CARRIED = Path(__file__).parents[2] / "fixtures" / "references" / "decimal_rounding.json"
WAYS = ("half_up", "half_even")
MOST_PLACES = 24
_CASE = re.compile(r"(\w+)\s+(quantize|add)\s+'?([-+.\dE]+?)'?\s+'?([-+.\dEe]+?)'?\s+->\s+'?([-+.\dE]+?)'?(?:\s|$)")


@dataclass(frozen=True, slots=True)
class Case:
    """A value to round to so many places, the way to go at a half, and the result."""

    id: str
    way: str
    value: Decimal
    places: int
    result: Decimal


def carried() -> tuple[Case, ...]:
    """The cases kept in fixtures."""
    rows = json.loads(CARRIED.read_text(encoding="utf-8"))["cases"]
    return tuple(Case(name, way, Decimal(value), places, Decimal(result)) for name, way, value, places, result in rows)


def in_files() -> tuple[Case, ...]:
    """The cases of the running Python's own test files, none where it has no such files."""
    found: list[Case] = []
    for folder in cpython_tests.__path__:
        for name in ("quantize", "rounding"):
            path = Path(folder) / "decimaltestdata" / f"{name}.decTest"
            if path.exists():
                found += _cases(path.read_text(encoding="latin-1"))
    return tuple(found)


def _cases(text: str) -> Iterator[Case]:
    way = ""
    for line in text.splitlines():
        if line.lower().startswith("rounding:"):
            way = line.split(":")[1].strip()
        matched = _CASE.match(line)
        if matched and way in WAYS:
            case = _case(way, *matched.groups())
            if case is not None:
                yield case


def _case(way: str, name: str, operation: str, first: str, second: str, result: str) -> Case | None:
    """A quantize to places, or a sum rounded to five digits that are all before the point; None for any other."""
    try:
        a, b, rounded = Decimal(first), Decimal(second), Decimal(result)
    except InvalidOperation:
        return None
    value, exponent = (a, b.as_tuple().exponent) if operation == "quantize" else (a + b, 0)
    if operation == "add" and not 10_000 <= abs(rounded) < 100_000:
        return None
    fine = -int(value.as_tuple().exponent) <= MOST_PLACES and abs(value) < Decimal(10) ** 12
    if not fine or not -MOST_PLACES <= int(exponent) <= 0:
        return None
    return Case(name, way, value, -int(exponent), rounded)
