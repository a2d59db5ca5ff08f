"""What a field of a record may hold, said once: for reading, checking, writing and the JSON Schema."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import MISSING, dataclass, field
from decimal import Decimal
from typing import Any

ALLOWED = "allowed"
LONGEST_NAME = 80
LONGEST_TEXT = 2000
MOST_WHOLE = 100_000_000


@dataclass(frozen=True, slots=True)
class Amount:
    """A decimal within bounds; `above` and `below` leave the bound itself out."""

    least: Decimal | None = None
    above: Decimal | None = None
    greatest: Decimal | None = None
    below: Decimal | None = None

    def holds(self, value: Decimal) -> bool:
        """Whether `value` is within the bounds."""
        return (
            (self.least is None or value >= self.least)
            and (self.above is None or value > self.above)
            and (self.greatest is None or value <= self.greatest)
            and (self.below is None or value < self.below)
        )

    def __str__(self) -> str:
        bounds = (
            ("{} or more", self.least),
            ("above {}", self.above),
            ("{} or less", self.greatest),
            ("below {}", self.below),
        )
        said = " and ".join(words.format(bound) for words, bound in bounds if bound is not None)
        return f"a decimal string, {said}" if said else "a decimal string"


@dataclass(frozen=True, slots=True)
class Whole:
    """A whole number within bounds."""

    least: int = 0
    greatest: int = MOST_WHOLE

    def holds(self, value: int) -> bool:
        """Whether `value` is within the bounds."""
        return self.least <= value <= self.greatest

    def __str__(self) -> str:
        return f"a whole number from {self.least} to {self.greatest}"


@dataclass(frozen=True, slots=True)
class Words:
    """A text: not blank unless `blank` is set, of at most `longest` characters, without control characters."""

    longest: int = LONGEST_TEXT
    blank: bool = False

    def holds(self, value: str) -> bool:
        """Whether `value` is such a text."""
        return (
            len(value) <= self.longest
            and (self.blank or bool(value.strip()))
            and all(character == "\n" or character.isprintable() for character in value)
        )

    def __str__(self) -> str:
        kind = "a text" if self.blank else "a text that is not blank"
        return f"{kind}, at most {self.longest} characters"


@dataclass(frozen=True, slots=True)
class OneOf:
    """One of a closed list of words."""

    words: tuple[str, ...]

    def holds(self, value: str) -> bool:
        """Whether `value` is in the list."""
        return value in self.words

    def __str__(self) -> str:
        return "one of " + ", ".join(f'"{word}"' for word in self.words)


@dataclass(frozen=True, slots=True)
class Measure:
    """A quantity kept in one unit that a file may also give in another, as `{"amount": …, "unit": …}`."""

    unit: str
    bounds: Amount

    def holds(self, value: Decimal) -> bool:
        """Whether `value`, in the kept unit, is within the bounds."""
        return self.bounds.holds(value)

    def __str__(self) -> str:
        other = ", or an amount with its unit or gauge system" if self.unit == "mm" else ", or an amount with its unit"
        return f"{self.bounds} in {self.unit}{other}"


Allowed = Amount | Whole | Words | OneOf | Measure


def _field(allowed: Allowed, default: Any) -> Any:
    metadata: Mapping[str, Any] = {ALLOWED: allowed}
    if default is MISSING:
        return field(metadata=metadata)
    return field(default=default, metadata=metadata)


def amount(
    *,
    least: str | None = None,
    above: str | None = None,
    greatest: str | None = None,
    below: str | None = None,
    default: Any = MISSING,
) -> Any:
    """A decimal field with bounds given as decimal strings."""
    bounds = (Decimal(bound) if bound is not None else None for bound in (least, above, greatest, below))
    return _field(Amount(*bounds), default)


def not_negative(default: Any = MISSING) -> Any:
    """A decimal field of 0 or more."""
    return amount(least="0", default=default)


def positive(default: Any = MISSING) -> Any:
    """A decimal field above 0."""
    return amount(above="0", default=default)


def fraction(default: Any = MISSING) -> Any:
    """A decimal field from 0 to 1."""
    return amount(least="0", greatest="1", default=default)


def share(default: Any = MISSING) -> Any:
    """A decimal field from 0 up to but not 1."""
    return amount(least="0", below="1", default=default)


def proportion(default: Any = MISSING) -> Any:
    """A decimal field above 0, at most 1."""
    return amount(above="0", greatest="1", default=default)


def _measure(unit: str, bounds: Amount, default: Any) -> Any:
    return _field(Measure(unit, bounds), default)


def length(default: Any = MISSING) -> Any:
    """A length above 0, kept in mm; a file may give it in inches or as a gauge of a named system."""
    return _measure("mm", Amount(above=Decimal(0)), default)


def gap(default: Any = MISSING) -> Any:
    """A length of 0 or more, kept in mm."""
    return _measure("mm", Amount(least=Decimal(0)), default)


def mass(default: Any = MISSING) -> Any:
    """A mass above 0, kept in g; a file may give it in ounces, pounds or pennyweights."""
    return _measure("g", Amount(above=Decimal(0)), default)


def volume(default: Any = MISSING) -> Any:
    """A volume above 0, kept in ml; a file may give it in pints or fluid ounces of a named system."""
    return _measure("ml", Amount(above=Decimal(0)), default)


def whole(least: int = 0, default: Any = MISSING) -> Any:
    """A whole-number field of `least` or more."""
    return _field(Whole(least), default)


def name(default: Any = MISSING) -> Any:
    """A short text that is not blank: what a record is called and found by."""
    return _field(Words(LONGEST_NAME), default)


def words(default: Any = "") -> Any:
    """A free text, which may be blank."""
    return _field(Words(blank=True), default)


def one_of(*allowed: str, default: Any = MISSING) -> Any:
    """A field that holds one word of a closed list."""
    return _field(OneOf(allowed), default)
