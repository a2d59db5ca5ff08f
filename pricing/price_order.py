"""Order among prices: a bigger size or a brighter finish never costs less, and what must be priced before what."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from decimal import Decimal
from graphlib import CycleError, TopologicalSorter
from itertools import pairwise
from typing import Generic, Protocol, TypeVar

from .book import Book
from .errors import PricingError, refuse
from .piece import Member, Piece
from .rules import FromMembers


class Printed(Protocol):
    """Anything with a printed amount."""

    @property
    def amount(self) -> Decimal:
        """The amount as printed."""


P = TypeVar("P", bound=Printed)
R = TypeVar("R", int, Decimal)


class Ladder(Generic[P, R]):
    """The dearest of the prices on lower rungs, for prices that come from the lowest rung up; equal rungs do not bind."""

    __slots__ = ("_below", "_rung", "_up_to")

    def __init__(self, rung: R) -> None:
        self._rung: R = rung
        self._below: P | None = None
        self._up_to: P | None = None

    def below(self, rung: R) -> P | None:
        """The dearest price of the rungs under `rung`, which is the present rung from now on."""
        if rung > self._rung:
            self._rung, self._below = rung, self._up_to
        return self._below

    def add(self, price: P) -> None:
        """Takes in a price of the present rung."""
        if self._up_to is None or price.amount > self._up_to.amount:
            self._up_to = price


def pricing_order(book: Book) -> tuple[Piece, ...]:
    """The pieces so that smaller sizes of a family come before bigger ones, and members before sets built from them.

    Raises: PricingError `circle` where a set is a smaller size than a piece in it, so that neither can come first.
    """
    sorter: TopologicalSorter[str] = TopologicalSorter()
    for piece in book.pieces:
        sorter.add(piece.number)
    for number, before in _before(book):
        sorter.add(number, *before)
    try:
        return tuple(book.piece_by_number[number] for number in sorter.static_order())
    except CycleError as error:
        raise circle_of_sizes(error.args[1]) from None


def circle_of_sizes(numbers: list[str]) -> PricingError:
    """The refusal of sizes and sets that each wait for the other."""
    found = "a circle of sizes and sets: " + " before ".join(numbers)
    return refuse(
        "circle", f"pieces {numbers[0]}", "size", found, "sets that are no smaller a size than what is in them"
    )


def _before(book: Book) -> Iterator[tuple[str, list[str]]]:
    """A piece with those that are priced before it."""
    if any(isinstance(rule.method, FromMembers) for rule in book.rules):
        for piece in book.pieces:
            members = [part.piece for part in piece.parts if isinstance(part, Member)]
            if members:
                yield piece.number, members
    sized: dict[str, dict[Decimal, list[str]]] = defaultdict(lambda: defaultdict(list))
    for piece in book.pieces:
        if piece.size_family is not None and piece.size is not None:
            sized[piece.size_family][piece.size].append(piece.number)
    for family in sized.values():
        sizes = sorted(family)
        for smaller, bigger in pairwise(sizes):
            for number in family[bigger]:
                yield number, family[smaller]
