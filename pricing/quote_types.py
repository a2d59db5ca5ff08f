"""A quote as it is asked for and as it is worked: the records, strict reading, and plain JSON data.

`pwa/src/pricing/quote_types.ts` is the twin: the same fields under the same names, read as strictly.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, is_dataclass
from dataclasses import fields as fields_of
from decimal import Decimal
from typing import Any

from . import fields
from .amounts import ZERO, exactly, plain
from .errors import BookError, Fault
from .records import read_record

MOST_LINES = 500
MOST_DISCOUNTS = 5
MOST_MINOR_UNIT = 4
WHOLE_DIGITS = 12
PLACES = 6
_TOO_LARGE = Decimal(10) ** WHOLE_DIGITS


@dataclass(frozen=True, slots=True, kw_only=True)
class Tax:
    """A tax rate of the pinned list, as a fraction."""

    name: str = fields.name()
    rate: Decimal = fields.not_negative()


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceFrom:
    """A printed unit price from a quantity on; with `over_family` all lines of the family count together."""

    quantity: int = fields.whole(1)
    price: Decimal = fields.not_negative()
    over_family: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Extra:
    """Engraving, an own mark, a gift box: amount × count, for each unit or once for the line."""

    name: str = fields.name()
    amount: Decimal = fields.not_negative()
    count: int = fields.whole(1, default=1)
    per: str = fields.one_of("unit", "line", default="unit")
    takes_discount: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Surcharge:
    """A metal surcharge on a line, without tax: an amount per unit, or a rate per kg of finished weight.

    The printed amount or rate is rounded half-up to `step`; without one, to the currency's minor unit.
    """

    per: str = fields.one_of("unit", "kg", default="unit")
    amount: Decimal = fields.amount()
    finished_g: Decimal = fields.not_negative(default=ZERO)
    step: Decimal | None = fields.positive(default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A piece in a finish and quantity, at the prices of the list.

    `discounts` are a series, each on what the one before left. `second` is the share off a flawed piece, sold on
    the counter only. `packed_g` is what carriage by weight reads.
    """

    piece: str = fields.name()
    finish: str = fields.name()
    family: str = fields.words()
    unit: str = fields.one_of("each", "pair", "set", "dozen", default="each")
    quantity: int = fields.whole(1)
    prices: tuple[PriceFrom, ...]
    tax: str = fields.name()
    discounts: tuple[Decimal, ...] = fields.share(default=())
    second: Decimal | None = fields.share(default=None)
    extras: tuple[Extra, ...] = ()
    surcharge: Surcharge | None = None
    packed_g: Decimal = fields.not_negative(default=ZERO)
    least_order: int = fields.whole(1, default=1)
    pack_quantity: int = fields.whole(1, default=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Service:
    """Work or a thing sold by itself (a repair, refinishing, tooling on a first order): amount × count."""

    name: str = fields.name()
    amount: Decimal = fields.not_negative()
    count: int = fields.whole(1, default=1)
    tax: str = fields.name()
    takes_discount: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderDiscount:
    """A share off the order, or the named total that the order is to come to.

    `tax_included` says whether the named total has tax in it; unset, it is in the quote's own basis.
    """

    share: Decimal | None = fields.fraction(default=None)
    total: Decimal | None = fields.not_negative(default=None)
    tax_included: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ValueShare:
    """A share off the order by the terms of its class, from a value of what takes discount on."""

    start: Decimal = fields.not_negative()
    share: Decimal = fields.share()


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """Carriage from `start` up to but not at `end`, in money or grams."""

    start: Decimal = fields.not_negative(default=ZERO)
    end: Decimal | None = fields.positive(default=None)
    amount: Decimal = fields.not_negative()


@dataclass(frozen=True, slots=True, kw_only=True)
class Carriage:
    """Carriage by bands of goods value (after order discount) or of packed weight, with its tax.

    Goods from `paid_from` on, after order discount, go carriage paid whatever the bands say.
    """

    by: str = fields.one_of("value", "weight")
    bands: tuple[Band, ...]
    tax: str = fields.name()
    paid_from: Decimal | None = fields.not_negative(default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class SmallOrder:
    """The least order by value of goods, and what a smaller one is charged; no charge means it is only said."""

    least: Decimal = fields.not_negative()
    charge: Decimal | None = fields.not_negative(default=None)
    tax: str = fields.name()


@dataclass(frozen=True, slots=True, kw_only=True)
class OldMetal:
    """Old metal taken in part exchange: its mass and the allowance per kg."""

    mass_g: Decimal = fields.positive()
    per_kg: Decimal = fields.not_negative()


@dataclass(frozen=True, slots=True, kw_only=True)
class CashTerms:
    """A share off for payment within `cash_days`, all due in `net_days`: 2/10 net 30 is 0.02, 10, 30."""

    share: Decimal = fields.share()
    cash_days: int = fields.whole()
    net_days: int = fields.whole(1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Quote:
    """All that a quote's figures depend on: terms of the channel and pinned list, and what was asked for.

    `order_discounts` are the class's shares by order value; an `order_discount` asked for takes their place.
    `rush_share` is a share of lines and services charged on top, without discount.
    """

    channel: str = fields.name()
    kind: str = fields.one_of("retail", "dealer", "export")
    currency: str = fields.name()
    minor_unit: int = fields.whole()
    tax_inclusive: bool
    taxes: tuple[Tax, ...]
    tax_by_line: bool = False
    line_authority: Decimal = fields.fraction(default=ZERO)
    order_authority: Decimal = fields.fraction(default=ZERO)
    part_exchange: str = fields.one_of("payment", "reduction", default="payment")
    lines: tuple[Line, ...] = ()
    services: tuple[Service, ...] = ()
    order_discount: OrderDiscount | None = None
    order_discounts: tuple[ValueShare, ...] = ()
    rush_share: Decimal | None = fields.fraction(default=None)
    carriage: Carriage | None = None
    small_order: SmallOrder | None = None
    old_metal: OldMetal | None = None
    deposit_share: Decimal | None = fields.fraction(default=None)
    cash_terms: CashTerms | None = None


@dataclass(frozen=True, slots=True)
class WorkedLine:
    """A line worked: unit price at its break, after discounts, extras, net of the line, and its surcharge."""

    price_from: int
    unit_price: Decimal
    unit_net: Decimal
    extras_per_unit: Decimal
    extras_per_line: Decimal
    line_net: Decimal
    surcharge: Decimal


@dataclass(frozen=True, slots=True)
class TaxTotal:
    """One tax rate's share of the quote: what is taxed (with tax inside, in a tax-inclusive quote) and the tax."""

    name: str
    rate: Decimal
    base: Decimal
    tax: Decimal


@dataclass(frozen=True, slots=True)
class Notice:
    """Something to be said about a quote: a code, the line it is about (None: the whole) and figures."""

    code: str
    line: int | None
    facts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WorkedQuote:
    """A quote's figures, each rounded where a reader sees it, so that totals are sums of what is printed.

    `tax_included` is the basis of every figure of lines and charges (`goods` to `small_order_charge`); `net` is
    always without tax, `total` and all after it always with. `discountable` is what the order discount is a share of,
    `cash_price` is `payable` less the cash discount.
    """

    lines: tuple[WorkedLine, ...]
    services: tuple[Decimal, ...]
    goods: Decimal
    discountable: Decimal
    order_discount: Decimal
    order_discount_share: Decimal
    surcharge: Decimal
    rush: Decimal
    carriage: Decimal
    small_order_charge: Decimal
    taxes: tuple[TaxTotal, ...]
    net: Decimal
    tax: Decimal
    total: Decimal
    part_exchange: Decimal
    payable: Decimal
    deposit: Decimal
    balance: Decimal
    cash_price: Decimal
    cash_yearly_cost: Decimal
    packed_g: Decimal
    tax_included: bool
    notices: tuple[Notice, ...]


@exactly
def read_quote(data: Any) -> Quote:
    """The checked quote that parsed JSON says.

    Raises: BookError with every fault together.
    """
    return check_quote(read_record(Quote, data, "quote"))


@exactly
def check_quote(quote: Quote) -> Quote:
    """The same quote, once nothing in it is at odds: for one put together from a list and a request.

    Raises: BookError with every fault together.
    """
    faults = tuple(_faults(quote))
    if faults:
        raise BookError(faults)
    return quote


def _fault(field: str, found: object, allowed: str) -> Fault:
    return Fault("quote", field, str(found), allowed)


def _faults(quote: Quote) -> Iterator[Fault]:
    """What no single field can tell: figures past what is worked exactly, names that lead nowhere, terms at odds."""
    yield from _digit_faults(quote, "")
    yield from _tax_faults(quote)
    if quote.minor_unit > MOST_MINOR_UNIT:
        yield _fault("minor_unit", quote.minor_unit, f"0 to {MOST_MINOR_UNIT}")
    if not quote.lines and not quote.services:
        yield _fault("lines", "nothing", "a line or a service at least")
    for field, entries in (("lines", quote.lines), ("services", quote.services)):
        if len(entries) > MOST_LINES:
            yield _fault(field, len(entries), f"{MOST_LINES} at most")
    for place, line in enumerate(quote.lines):
        yield from _line_faults(quote, line, f"lines[{place}]")
    yield from _discount_faults(quote)
    yield from _band_faults(quote)
    if quote.cash_terms is not None and quote.cash_terms.net_days <= quote.cash_terms.cash_days:
        allowed = f"more than the {quote.cash_terms.cash_days} days for cash"
        yield _fault("cash_terms.net_days", quote.cash_terms.net_days, allowed)


def _digit_faults(value: Any, field: str) -> Iterator[Fault]:
    """Amounts with more digits than the arithmetic carries without losing one."""
    if isinstance(value, Decimal):
        places = -int(value.as_tuple().exponent)
        if abs(value) >= _TOO_LARGE or places > PLACES:
            allowed = f"at most {WHOLE_DIGITS} digits before the point and {PLACES} after it"
            yield _fault(field, f'"{value:f}"', allowed)
    elif isinstance(value, tuple):
        for place, item in enumerate(value):
            yield from _digit_faults(item, f"{field}[{place}]")
    elif is_dataclass(value):
        for part in fields_of(value):
            inner = f"{field}.{part.name}" if field else part.name
            yield from _digit_faults(getattr(value, part.name), inner)


def _tax_faults(quote: Quote) -> Iterator[Fault]:
    rates = [tax.name for tax in quote.taxes]
    if not rates or len(set(rates)) != len(rates):
        yield _fault("taxes", "none" if not rates else "a rate named twice", "each rate once")
    named = [(f"lines[{place}].tax", line.tax) for place, line in enumerate(quote.lines)]
    named += [(f"services[{place}].tax", service.tax) for place, service in enumerate(quote.services)]
    if quote.carriage is not None:
        named.append(("carriage.tax", quote.carriage.tax))
    if quote.small_order is not None:
        named.append(("small_order.tax", quote.small_order.tax))
    for field, tax in named:
        if tax not in rates:
            yield _fault(field, f'"{tax}"', "one of " + ", ".join(rates))


def _line_faults(quote: Quote, line: Line, field: str) -> Iterator[Fault]:
    quantities = [price.quantity for price in line.prices]
    if not quantities or quantities[0] != 1 or quantities != sorted(set(quantities)):
        yield _fault(f"{field}.prices", f"from {quantities}", "prices from 1 on, quantities that rise")
    if len(line.discounts) > MOST_DISCOUNTS:
        yield _fault(f"{field}.discounts", len(line.discounts), f"{MOST_DISCOUNTS} at most")
    if line.second is not None and quote.kind != "retail":
        yield _fault(f"{field}.second", f"a second on a {quote.kind} quote", "seconds on the counter only")


def _discount_faults(quote: Quote) -> Iterator[Fault]:
    asked = quote.order_discount
    if asked is not None:
        if (asked.share is None) == (asked.total is None):
            yield _fault("order_discount", "neither or both", "a share or a named total")
        if asked.total is not None and -int(asked.total.normalize().as_tuple().exponent) > quote.minor_unit:
            allowed = f"a sum of {quote.currency} with {quote.minor_unit} places at most"
            yield _fault("order_discount.total", f'"{asked.total:f}"', allowed)
        if asked.tax_included is not None and asked.total is None:
            yield _fault("order_discount.tax_included", "no named total", "only with a named total")
    starts = [offer.start for offer in quote.order_discounts]
    if starts != sorted(set(starts)):
        yield _fault("order_discounts", "starts that do not rise", "each start above the one before")


def _band_faults(quote: Quote) -> Iterator[Fault]:
    if quote.carriage is None:
        return
    before: Decimal | None = ZERO
    for place, band in enumerate(quote.carriage.bands):
        if before is None or band.start < before or (band.end is not None and band.end <= band.start):
            yield _fault(f"carriage.bands[{place}]", f"from {plain(band.start)}", "bands that rise and do not overlap")
        before = band.end


_MONEY = (
    "goods", "discountable", "order_discount", "surcharge", "rush", "carriage", "small_order_charge", "net", "tax",
    "total", "part_exchange", "payable", "deposit", "balance", "cash_price",
)  # fmt: skip


def worked_data(worked: WorkedQuote, minor_unit: int) -> dict[str, Any]:
    """A worked quote as plain JSON data: amounts as decimal strings with the currency's places, nothing left out."""
    money = {name: _money(getattr(worked, name), minor_unit) for name in _MONEY}
    return {
        "lines": [_line_data(line, minor_unit) for line in worked.lines],
        "services": [_money(amount, minor_unit) for amount in worked.services],
        **money,
        "order_discount_share": plain(worked.order_discount_share),
        "cash_yearly_cost": plain(worked.cash_yearly_cost),
        "taxes": [_tax_data(tax, minor_unit) for tax in worked.taxes],
        "packed_g": plain(worked.packed_g),
        "tax_included": worked.tax_included,
        "notices": [
            {"code": notice.code, "line": notice.line, "facts": list(notice.facts)} for notice in worked.notices
        ],
    }


def _money(amount: Decimal, minor_unit: int) -> str:
    return f"{amount:.{minor_unit}f}"


def _line_data(line: WorkedLine, minor_unit: int) -> dict[str, Any]:
    return {
        "price_from": line.price_from,
        "unit_price": plain(line.unit_price),
        "unit_net": _money(line.unit_net, minor_unit),
        "extras_per_unit": _money(line.extras_per_unit, minor_unit),
        "extras_per_line": _money(line.extras_per_line, minor_unit),
        "line_net": _money(line.line_net, minor_unit),
        "surcharge": _money(line.surcharge, minor_unit),
    }


def _tax_data(tax: TaxTotal, minor_unit: int) -> dict[str, Any]:
    return {
        "name": tax.name,
        "rate": plain(tax.rate),
        "base": _money(tax.base, minor_unit),
        "tax": _money(tax.tax, minor_unit),
    }
