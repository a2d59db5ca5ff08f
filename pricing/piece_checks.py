"""Faults of a piece that only working it shows, and what a careful eye would question in a sound book."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from .amounts import exactly, half_up, plain
from .blank import Blank, BlankRule, difference_share
from .book import Book
from .cost import Costing, is_assembled, surface_cm2
from .errors import Fault, PricingError
from .finish import Finish
from .labour import PER_DM2
from .metal import derived_diameter_mm, turned_profile
from .piece import CONSTANT_VOLUME, CastPart, FlatPart, Made, Outwork, Piece, SpunPart

BLANK_SHARE = Decimal("0.02")


def piece_faults(book: Book, piece: Piece) -> Iterator[Fault]:
    """What stands against working a piece: each a fault naming record, field, what was found and what is allowed."""
    yield from _piece_faults(Costing(book), piece)


def worked_faults(book: Book) -> Iterator[Fault]:
    """What stands against working any piece of a book, each fault once: a book without one can be costed whole."""
    costing = Costing(book)
    yield from dict.fromkeys(fault for piece in book.pieces for fault in _piece_faults(costing, piece))


def _piece_faults(costing: Costing, piece: Piece) -> Iterator[Fault]:
    faults = [fault for made in piece.made for fault in _nothing_to_cost(piece, made)]
    if any(made.stated_cost is None for made in piece.made):
        faults += _parts(costing, piece)
        faults += _surface(costing.book, piece)
    yield from faults
    if not faults:
        for made in piece.made:
            yield from _cost(costing, piece, made)


def _nothing_to_cost(piece: Piece, made: Made) -> Iterator[Fault]:
    parts = [part for part in piece.parts if not isinstance(part, Outwork) or part.finish in (None, made.finish)]
    work = [operation for operation in piece.operations if operation.finish in (None, made.finish)]
    if made.stated_cost is None and not parts and not work:
        allowed = "parts, operations or a stated cost"
        yield Fault(f"pieces {piece.number}", f"made {made.finish}", "nothing to cost", allowed)


def _parts(costing: Costing, piece: Piece) -> Iterator[Fault]:
    """Faults of every metal part: its blank, its masses and its profile."""
    record = f"pieces {piece.number}"
    for part in piece.parts:
        if isinstance(part, SpunPart | FlatPart | CastPart):
            try:
                if isinstance(part, SpunPart) and part.profile:
                    turned_profile(part, record)
                costing.metal(piece, part)
            except PricingError as error:
                yield from error.faults


def _surface(book: Book, piece: Piece) -> Iterator[Fault]:
    worked = (book.finish_by_name[made.finish] for made in piece.made if made.stated_cost is None)
    owners: tuple[Piece | Finish, ...] = (piece,) if is_assembled(piece) else (piece, *worked)
    bases = {operation.basis for owner in owners for operation in owner.operations}
    bases |= {consumable.basis for owner in owners for consumable in owner.consumables}
    if PER_DM2 in bases:
        try:
            surface_cm2(piece)
        except PricingError as error:
            yield from error.faults


def _cost(costing: Costing, piece: Piece, made: Made) -> Iterator[Fault]:
    """What only the whole cost shows: a price, a rate or a density that is missing, a cost below nothing."""
    try:
        costing.sheet(piece, made.finish, piece.usual_batch)
    except PricingError as error:
        yield from error.faults


@exactly
def warnings_of(book: Book, share: Decimal = BLANK_SHARE) -> tuple[Fault, ...]:
    """Blanks as really cut that are further than `share` from what their profile gives; the blank as cut still counts."""
    return tuple(
        warning
        for piece in book.pieces
        for part in piece.parts
        if isinstance(part, SpunPart)
        for warning in _blank_warnings(part, f"pieces {piece.number}", share)
    )


def _blank_warnings(part: SpunPart, record: str, share: Decimal) -> Iterator[Fault]:
    underivable = not part.profile or (part.blank_rule == CONSTANT_VOLUME and part.thinning is None)
    if part.diameter_mm is None or underivable:
        return
    derived = derived_diameter_mm(part, record)
    off = difference_share(Blank(part.diameter_mm, BlankRule.AS_CUT), Blank(derived, BlankRule(part.blank_rule)))
    if off > share:
        found = f"{plain(part.diameter_mm)} mm, {plain(half_up(off * 100, 1))} % from the profile's"
        allowed = f"within {plain(share * 100)} % of {plain(derived)} mm, by {part.blank_rule}"
        yield Fault(record, f"part {part.name}, diameter_mm", found, allowed)
