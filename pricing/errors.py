"""The one tree of errors the engine raises, each with its facts kept apart from its words."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, order=True)
class Fault:
    """One thing wrong with one record: where it stands, what was found and what is allowed."""

    record: str
    field: str
    found: str
    allowed: str

    def __str__(self) -> str:
        place = f"{self.record}, {self.field}" if self.field else self.record
        return f"{place}: found {self.found}; allowed is {self.allowed}"


class PricingError(Exception):
    """A refusal by the engine: a stable `code` for programs and a `Fault` for people."""

    def __init__(self, code: str, fault: Fault) -> None:
        super().__init__(str(fault))
        self.code = code
        self.fault = fault

    @property
    def faults(self) -> tuple[Fault, ...]:
        """Every fault this error reports; one, unless the error is a `BookError`."""
        return (self.fault,)


class BookError(PricingError):
    """A book refused as a whole: all its faults together, in the order of the book."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self._faults = tuple(faults)
        if not self._faults:
            raise ValueError("a BookError needs at least one fault")
        super().__init__("book", self._faults[0])
        self.args = ("\n".join(str(fault) for fault in self._faults),)

    @property
    def faults(self) -> tuple[Fault, ...]:
        """All the faults of the book."""
        return self._faults


def refuse(code: str, record: str, field: str, found: object, allowed: str) -> PricingError:
    """The error to raise for one fault; `found` is shown as written."""
    return PricingError(code, Fault(record, field, str(found), allowed))
