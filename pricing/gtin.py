"""Global trade item numbers: the check digit of GS1 and whether a text is such a number."""

from __future__ import annotations

LENGTHS = frozenset({8, 12, 13, 14})


def check_digit(digits: str) -> int:
    """The check digit that follows `digits`, the number without it: weights 3 and 1 by turns, 3 at the right end.

    Raises: ValueError for anything but ASCII digits.
    Source: GS1 General Specifications, section 7.9, standard check digit calculation.

    >>> check_digit("629104150021")
    3
    """
    if not (digits.isascii() and digits.isdigit()):
        raise ValueError(f"a check digit needs digits 0 to 9, found {digits!r}")
    total = sum(int(digit) * (1 if place % 2 else 3) for place, digit in enumerate(reversed(digits)))
    return -total % 10


def is_gtin(text: str) -> bool:
    """Whether `text` is a GTIN of 8, 12, 13 or 14 digits with its right check digit, and nothing beside digits."""
    if len(text) not in LENGTHS or not (text.isascii() and text.isdigit()):
        return False
    return check_digit(text[:-1]) == int(text[-1])
