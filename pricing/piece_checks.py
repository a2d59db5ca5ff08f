"""Faults of a piece that only working it shows: blanks, masses, surfaces, prices of its metals, nothing to cost."""

from __future__ import annotations

from collections.abc import Iterator

from .book import Book
from .cost import Costing, surface_cm2
from .errors import Fault, PricingError
from .labour import PER_DM2
from .piece import Made, Piece


def piece_faults(book: Book, piece: Piece) -> Iterator[Fault]:
    """What stands against working a piece: each a fault naming record, field, what was found and what is allowed."""
    worked = [made for made in piece.made if made.stated_cost is None]
    for made in piece.made:
        yield from _nothing_to_cost(piece, made)
    if worked:
        yield from _parts(book, piece)
        yield from _surface(book, piece)


def _nothing_to_cost(piece: Piece, made: Made) -> Iterator[Fault]:
    if made.stated_cost is None and not piece.parts and not piece.operations:
        allowed = "parts, operations or a stated cost"
        yield Fault(f"pieces {piece.number}", f"made {made.finish}", "nothing to cost", allowed)


def _parts(book: Book, piece: Piece) -> Iterator[Fault]:
    try:
        Costing(book).metals(piece)
    except PricingError as error:
        yield from error.faults


def _surface(book: Book, piece: Piece) -> Iterator[Fault]:
    finishes = [book.finish_by_name[made.finish] for made in piece.made]
    by_surface = [
        *(operation.basis for operation in piece.operations),
        *(consumable.basis for consumable in piece.consumables),
        *(operation.basis for finish in finishes for operation in finish.operations),
        *(consumable.basis for finish in finishes for consumable in finish.consumables),
    ]
    if PER_DM2 in by_surface:
        try:
            surface_cm2(piece)
        except PricingError as error:
            yield from error.faults
