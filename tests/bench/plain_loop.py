"""The same prices as the plainest possible loop: one function, decimals, no sheet, no reasons, nothing kept.

It knows only what the demo's table needs (no yields, no set-up, no outwork) and is a yardstick, not an oracle.
"""

from __future__ import annotations

from decimal import ROUND_HALF_EVEN, Decimal, localcontext

from pricing.amounts import CONTEXT, PI
from pricing.book import Book
from pricing.cost import Costing
from pricing.piece import BoughtIn, CastPart, FlatPart, Member, Piece, Solder, SpunPart

TWENTY, HUNDRED = Decimal(20), Decimal(100)
POINT_95 = Decimal("0.95")


def loop(book: Book) -> int:
    """Prices every piece, finish and channel of the demo; returns how many prices were worked."""
    with localcontext(CONTEXT):
        return _loop(book)


def _loop(book: Book) -> int:
    costing = Costing(book)
    prices = costing.prices
    count = 0
    costs: dict[tuple[str, str], Decimal] = {}
    for piece in book.pieces:
        for made in piece.made:
            cost = _cost(book, costing, piece, made.finish, costs)
            costs[piece.number, made.finish] = cost
            rounded = cost.quantize(Decimal("0.0001"), ROUND_HALF_EVEN)
            dealer = _nearest(rounded / Decimal("0.7"), Decimal("0.25"))
            second = _nearest(dealer * Decimal("1.06"), Decimal("0.25"))
            retail = _retail(dealer / Decimal("0.55") * Decimal("1.2"))
            export = _nearest(rounded * Decimal("1.16") / Decimal("0.63"), Decimal(1))
            count += len((dealer, second, second * Decimal("0.96"), retail, export))
    assert prices
    return count


def _nearest(amount: Decimal, step: Decimal) -> Decimal:
    return (amount / step).to_integral_value() * step


def _retail(amount: Decimal) -> Decimal:
    if amount < TWENTY:
        return (amount - POINT_95).to_integral_value() + POINT_95
    return _nearest(amount, Decimal(1) if amount < HUNDRED else Decimal(5))


def _cost(book: Book, costing: Costing, piece: Piece, finish: str, costs: dict[tuple[str, str], Decimal]) -> Decimal:
    total = piece.packing
    hours = Decimal(0)
    for part in piece.parts:
        if isinstance(part, SpunPart) and part.diameter_mm is not None and part.finished_g is not None:
            blank = Decimal("7.28") * part.thickness_mm * PI * part.diameter_mm**2 / 4000
            drawn = blank / Decimal("0.75") if part.sheet else blank
            form, back = (
                costing.prices.form(part.form).per_kg,
                costing.prices.credit("pewter 92/6/2", "trimmings").per_kg,
            )
            total += (drawn * form - (drawn - part.finished_g) * back) / 1000 * part.count
        elif isinstance(part, FlatPart) and part.area_mm2 is not None:
            blank = Decimal("7.28") * part.thickness_mm * part.area_mm2 / 1000
            total += blank / part.sheet_share * costing.prices.form(part.form).per_kg / 1000 * part.count
        elif isinstance(part, CastPart):
            poured = part.finished_g / (1 - part.gate_share)
            melted = poured / (1 - part.dross_share)
            total += melted * costing.prices.form(part.form).per_kg / 1000 * part.count
        elif isinstance(part, Solder):
            total += part.grams * costing.prices.form(part.form).per_kg / 1000
        elif isinstance(part, BoughtIn):
            total += part.amount * part.count
        elif isinstance(part, Member):
            total += costs.get((part.piece, part.finish or finish), Decimal(0)) * part.count
    for operation in piece.operations:
        if operation.finish in (None, finish):
            stage = operation.stage
            rate = costing.stages[stage].per_hour if stage else Decimal("18.5")
            total += operation.minutes / 60 * rate
            hours += operation.minutes / 60
    for consumable in piece.consumables:
        if consumable.finish in (None, finish):
            total += consumable.amount
    for pool in book.pools:
        total += hours * ((pool.budget or Decimal(0)) / (pool.activity or Decimal(1)))
    return total
