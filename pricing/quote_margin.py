"""What a quote leaves over its works cost, for whoever may see costs: margin and floor, line by line and whole.

It stands apart from the quote arithmetic, whose twin on the counter's page never sees a cost.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from .amounts import ONE, ZERO, exactly, settled
from .errors import refuse
from .quote_types import Quote, WorkedQuote


@dataclass(frozen=True, slots=True, kw_only=True)
class LineCost:
    """The works cost of one unit of a line at its quantity, in the quote's currency, and its class's floor margin.

    `selling_costs` and `floor_margin` are fractions of the price without tax.
    """

    line: int
    works_cost: Decimal
    selling_costs: Decimal = ZERO
    floor_margin: Decimal | None = None


@dataclass(frozen=True, slots=True)
class LineMargin:
    """A line without tax after every discount, extras left out: what it brings, costs and leaves.

    `margin` is a fraction of `net`, None where nothing is paid; `floor` is the least unit price without tax.
    """

    line: int
    net: Decimal
    cost: Decimal
    margin: Decimal | None
    floor: Decimal | None
    below_floor: bool


@dataclass(frozen=True, slots=True)
class QuoteMargin:
    """The lines whose cost is known, together, and whether the quote needs a named approval.

    It does where a line is under its floor or a discount is past the authority.
    """

    lines: tuple[LineMargin, ...]
    net: Decimal
    cost: Decimal
    margin: Decimal | None
    needs_approval: bool


def _margin(net: Decimal, selling: Decimal, cost: Decimal) -> Decimal | None:
    return settled((net - selling - cost) / net) if net else None


def _net(quote: Quote, worked: WorkedQuote, place: int) -> Decimal:
    """What a line's pieces bring without tax, its part of the order discount off."""
    line = quote.lines[place]
    goods = worked.lines[place].unit_net * line.quantity
    if worked.order_discount:
        goods -= goods * worked.order_discount / worked.discountable
    rate = next(tax.rate for tax in quote.taxes if tax.name == line.tax)
    return settled(goods / (ONE + rate) if quote.tax_inclusive else goods)


def _line_margin(quote: Quote, worked: WorkedQuote, cost: LineCost) -> LineMargin:
    quantity = quote.lines[cost.line].quantity
    net, whole = _net(quote, worked, cost.line), cost.works_cost * quantity
    left = None if cost.floor_margin is None else ONE - cost.floor_margin - cost.selling_costs
    if left is not None and left <= ZERO:
        found = f"{cost.floor_margin} and selling costs of {cost.selling_costs}"
        raise refuse("floor", "quote", f"lines[{cost.line}]", f"a floor margin of {found}", "less than 1 together")
    return LineMargin(
        line=cost.line,
        net=net,
        cost=whole,
        margin=_margin(net, net * cost.selling_costs, whole),
        floor=None if left is None else settled(cost.works_cost / left),
        below_floor=left is not None and net * left < whole,
    )


@exactly
def quote_margin(quote: Quote, worked: WorkedQuote, costs: Iterable[LineCost]) -> QuoteMargin:
    """Margin = (net − selling costs − works cost) ÷ net, without tax, of each line with a cost and of them together.

    Raises: PricingError `line` for a cost of a line there is not, `floor` where floor margin and selling costs reach 1.
    """
    known = tuple(costs)
    for cost in known:
        if not 0 <= cost.line < len(quote.lines):
            raise refuse("line", "quote", "lines", cost.line, f"0 to {len(quote.lines) - 1}")
    lines = tuple(_line_margin(quote, worked, cost) for cost in known)
    net = sum((line.net for line in lines), ZERO)
    whole = sum((line.cost for line in lines), ZERO)
    selling = sum((line.net * cost.selling_costs for line, cost in zip(lines, known, strict=True)), ZERO)
    beyond = any(notice.code == "needs approval" for notice in worked.notices)
    return QuoteMargin(
        lines=lines,
        net=net,
        cost=whole,
        margin=_margin(net, selling, whole),
        needs_approval=beyond or any(line.below_floor for line in lines),
    )
