"""Passwords: hashed with argon2id, long enough for what they open, and none that everybody tries first."""

from __future__ import annotations

from functools import cache

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from pricing.errors import refuse

LEAST = {"counter": 8, "pricing": 12, "owner": 12}
LONGEST = 200
COMMON = ("password", "123456", "qwerty", "letmein", "welcome", "iloveyou", "pewter", "tinwright", "changeme")

_HASHER = PasswordHasher()


def hashed(password: str, role: str) -> str:
    """The hash to keep of a password.

    Raises: PricingError `password` for one too short or too common for the role.
    """
    least = LEAST[role]
    if not least <= len(password) <= LONGEST:
        raise refuse(
            "password", "people", "password", f"{len(password)} characters", f"{least} to {LONGEST} characters"
        )
    plain = "".join(character for character in password.lower() if character.isalnum())
    if any(
        plain.replace(word, "").isdigit() or plain == word * (len(plain) // len(word))
        for word in COMMON
        if word in plain
    ):
        raise refuse(
            "password", "people", "password", "one that is tried first", "one that is not a common word with digits"
        )
    return _HASHER.hash(password)


@cache
def nobodys_hash() -> str:
    """A hash to try a password on when nobody has the name, so that an unknown name takes as long."""
    return _HASHER.hash("nobody has this password")


def matches(kept: str, password: str) -> bool:
    """Whether a password is the one that was hashed."""
    try:
        return _HASHER.verify(kept, password)
    except (VerificationError, InvalidHashError):
        return False
