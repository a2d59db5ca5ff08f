"""Quote arithmetic: lines at list prices to totals a reader can add up with a pencil, in both tax modes.

It works on what a published list carries and on what was asked for, and never sees a cost. `pwa/src/pricing/quote.ts`
is its twin: the same input gives the same JSON, byte for byte.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from . import fields
from .amounts import ONE, ZERO, exactly, half_up, plain
from .errors import BookError, Fault, refuse
from .records import read_record

GRAMS_IN_KG = Decimal(1000)
SHARE_PLACES = 4
YEAR_DAYS = 365


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
    """A metal surcharge on a line, without tax: an amount per unit, or per kg of finished weight at a rate."""

    per: str = fields.one_of("unit", "kg", default="unit")
    amount: Decimal = fields.not_negative()
    finished_g: Decimal = fields.not_negative(default=ZERO)


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
    discounts: tuple[Decimal, ...] = ()
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
    """A share off the order, or the named total that the order is to come to, in the quote's own tax basis."""

    share: Decimal | None = fields.fraction(default=None)
    total: Decimal | None = fields.not_negative(default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """Carriage from `start` up to but not at `end`, in money or grams."""

    start: Decimal = fields.not_negative(default=ZERO)
    end: Decimal | None = fields.positive(default=None)
    amount: Decimal = fields.not_negative()


@dataclass(frozen=True, slots=True, kw_only=True)
class Carriage:
    """Carriage by bands of goods value (after order discount) or of packed weight, with its tax."""

    by: str = fields.one_of("value", "weight")
    bands: tuple[Band, ...]
    tax: str = fields.name()


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
class Quote:
    """All that a quote's figures depend on: terms of the channel and pinned list, and what was asked for."""

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
    carriage: Carriage | None = None
    small_order: SmallOrder | None = None
    old_metal: OldMetal | None = None
    deposit_share: Decimal | None = fields.fraction(default=None)


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
    """A quote's figures, each rounded where a reader sees it, so that totals are sums of what is printed."""

    lines: tuple[WorkedLine, ...]
    services: tuple[Decimal, ...]
    goods: Decimal
    order_discount: Decimal
    order_discount_share: Decimal
    surcharge: Decimal
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
    packed_g: Decimal
    tax_included: bool
    notices: tuple[Notice, ...]


def read_quote(data: Any) -> Quote:
    """The checked quote that parsed JSON says.

    Raises: BookError with every fault together.
    """
    quote = read_record(Quote, data, "quote")
    faults = _faults(quote)
    if faults:
        raise BookError(faults)
    return quote


def _faults(quote: Quote) -> list[Fault]:
    rates = [tax.name for tax in quote.taxes]
    named = [(f"lines[{place}].tax", line.tax) for place, line in enumerate(quote.lines)]
    named += [(f"services[{place}].tax", service.tax) for place, service in enumerate(quote.services)]
    if quote.carriage is not None:
        named.append(("carriage.tax", quote.carriage.tax))
    if quote.small_order is not None:
        named.append(("small_order.tax", quote.small_order.tax))
    faults = [
        Fault("quote", field, f'"{tax}"', "one of " + ", ".join(rates)) for field, tax in named if tax not in rates
    ]
    if len(set(rates)) != len(rates):
        faults.append(Fault("quote", "taxes", "a rate named twice", "each rate once"))
    if quote.minor_unit > 4:
        faults.append(Fault("quote", "minor_unit", str(quote.minor_unit), "0 to 4"))
    if not quote.lines and not quote.services:
        faults.append(Fault("quote", "lines", "nothing", "a line or a service at least"))
    for place, line in enumerate(quote.lines):
        faults += _line_faults(quote, line, f"lines[{place}]")
    faults += _order_faults(quote)
    return faults


def _line_faults(quote: Quote, line: Line, field: str) -> list[Fault]:
    faults = []
    quantities = [price.quantity for price in line.prices]
    if not quantities or quantities[0] != 1 or quantities != sorted(set(quantities)):
        faults.append(Fault("quote", f"{field}.prices", f"from {quantities}", "prices from 1 on, quantities that rise"))
    for place, discount in enumerate(line.discounts):
        if not ZERO <= discount < ONE:
            faults.append(Fault("quote", f"{field}.discounts[{place}]", plain(discount), "0 to below 1"))
    if line.second is not None and quote.kind != "retail":
        faults.append(
            Fault("quote", f"{field}.second", f"a second on a {quote.kind} quote", "seconds on the counter only")
        )
    return faults


def _order_faults(quote: Quote) -> list[Fault]:
    faults = []
    discount = quote.order_discount
    if discount is not None and (discount.share is None) == (discount.total is None):
        faults.append(Fault("quote", "order_discount", "neither or both", "a share or a named total"))
    if quote.carriage is not None:
        ends = [ZERO, *(band.end for band in quote.carriage.bands)]
        for place, band in enumerate(quote.carriage.bands):
            before = ends[place]
            if before is None or band.start < before or (band.end is not None and band.end <= band.start):
                allowed = "bands that rise and do not overlap"
                faults.append(Fault("quote", f"carriage.bands[{place}]", f"from {plain(band.start)}", allowed))
    return faults


class _Working:
    """One quote on its way to its totals."""

    def __init__(self, quote: Quote) -> None:
        self.quote = quote
        self.places = quote.minor_unit
        self.rates = {tax.name: tax.rate for tax in quote.taxes}
        self.bases: dict[str, Decimal] = dict.fromkeys(self.rates, ZERO)
        self.discountable: dict[str, Decimal] = dict.fromkeys(self.rates, ZERO)
        self.by_line: dict[str, Decimal] = dict.fromkeys(self.rates, ZERO)
        self.notices: list[Notice] = []

    def rounded(self, amount: Decimal) -> Decimal:
        return half_up(amount, self.places)

    def add(self, tax: str, amount: Decimal) -> None:
        """Adds an amount, already rounded, to the base of its rate."""
        self.bases[tax] += amount
        self.by_line[tax] += self.tax_of(tax, amount)

    def tax_of(self, tax: str, amount: Decimal) -> Decimal:
        rate = self.rates[tax]
        return self.rounded(amount * rate / (ONE + rate) if self.quote.tax_inclusive else amount * rate)

    def work(self) -> WorkedQuote:
        counted = _counted(self.quote.lines)
        lines = tuple(self._line(place, line, counted) for place, line in enumerate(self.quote.lines))
        services = tuple(self._service(service) for service in self.quote.services)
        goods = sum((line.line_net for line in lines), ZERO) + sum(services, ZERO)
        surcharge = sum((line.surcharge for line in lines), ZERO)
        packed = sum((line.packed_g * line.quantity for line in self.quote.lines), ZERO)
        discount = self._order_discount(goods, surcharge, packed)
        charge = self._small_order(goods - discount)
        carriage = self._carriage(goods - discount, packed)
        self._give(discount)
        if self.quote.carriage is not None:
            self.add(self.quote.carriage.tax, carriage)
        if self.quote.small_order is not None and charge:
            self.add(self.quote.small_order.tax, charge)
        for line, worked in zip(self.quote.lines, lines, strict=True):
            if worked.surcharge:
                self.add(line.tax, worked.surcharge)
        return self._totals(lines, services, goods, discount, surcharge, carriage, charge, packed)

    # Lines

    def _line(self, place: int, line: Line, counted: Mapping[str, int]) -> WorkedLine:
        offer = _offer(line, counted)
        unit_net = self._unit_net(line, offer.price)
        per_unit, marked_unit = self._extras(line, "unit")
        per_line, marked_line = self._extras(line, "line")
        net = (unit_net + per_unit) * line.quantity + per_line
        self.add(line.tax, net)
        self.discountable[line.tax] += (unit_net + marked_unit) * line.quantity + marked_line
        self._said(place, line, offer, unit_net)
        return WorkedLine(
            price_from=offer.quantity,
            unit_price=offer.price,
            unit_net=unit_net,
            extras_per_unit=per_unit,
            extras_per_line=per_line,
            line_net=net,
            surcharge=self._surcharge(line),
        )

    def _unit_net(self, line: Line, price: Decimal) -> Decimal:
        return self.rounded(price * _kept(line))

    def _extras(self, line: Line, per: str) -> tuple[Decimal, Decimal]:
        """What extras add, and how much of it takes an order discount; each is rounded by itself."""
        total = marked = ZERO
        for extra in line.extras:
            if extra.per == per:
                amount = self.rounded(extra.amount * extra.count * (_kept(line) if extra.takes_discount else ONE))
                total += amount
                marked += amount if extra.takes_discount else ZERO
        return total, marked

    def _surcharge(self, line: Line) -> Decimal:
        if line.surcharge is None:
            return ZERO
        factor = ONE + self.rates[line.tax] if self.quote.tax_inclusive else ONE
        if line.surcharge.per == "unit":
            return self.rounded(line.surcharge.amount * factor) * line.quantity
        kilograms = line.surcharge.finished_g / GRAMS_IN_KG * line.quantity
        return self.rounded(line.surcharge.amount * kilograms * factor)

    def _said(self, place: int, line: Line, offer: PriceFrom, unit_net: Decimal) -> None:
        """What is to be said of a line: quantities, a cheaper larger quantity, a discount past the authority."""
        if line.quantity < line.least_order:
            self.notices.append(Notice("under least quantity", place, (str(line.least_order),)))
        if line.quantity % line.pack_quantity:
            self.notices.append(Notice("not a whole pack", place, (str(line.pack_quantity),)))
        for larger in line.prices:
            if larger.quantity > line.quantity and larger.quantity > offer.quantity:
                total = self._unit_net(line, larger.price) * larger.quantity
                if total < unit_net * line.quantity:
                    self.notices.append(Notice("more would cost less", place, (str(larger.quantity), plain(total))))
                    break
        given = ONE - _discounted(line)
        if given > self.quote.line_authority:
            self.notices.append(Notice("needs approval", place, (plain(half_up(given, SHARE_PLACES)),)))

    def _service(self, service: Service) -> Decimal:
        amount = self.rounded(service.amount * service.count)
        self.add(service.tax, amount)
        if service.takes_discount:
            self.discountable[service.tax] += amount
        return amount

    # The order

    def _order_discount(self, goods: Decimal, surcharge: Decimal, packed: Decimal) -> Decimal:
        wanted = self.quote.order_discount
        if wanted is None:
            return ZERO
        base = sum(self.discountable.values(), ZERO)
        if wanted.share is not None:
            return self.rounded(wanted.share * base)
        assert wanted.total is not None
        named = self.rounded(wanted.total)
        for charge in self._charges():
            for carriage in self._carriages(packed):
                discount = goods + surcharge + carriage + charge - named
                if ZERO <= discount <= base and self._agrees(goods - discount, carriage, charge, packed):
                    return discount
        allowed = "a total that a discount on these lines can reach"
        raise refuse("named total", "quote", "order_discount.total", plain(wanted.total), allowed)

    def _charges(self) -> tuple[Decimal, ...]:
        small = self.quote.small_order
        return (ZERO, self.rounded(small.charge)) if small is not None and small.charge is not None else (ZERO,)

    def _carriages(self, packed: Decimal) -> Iterable[Decimal]:
        """What carriage may come to: by weight it is known; by value each band in turn."""
        carriage = self.quote.carriage
        if carriage is None:
            return (ZERO,)
        if carriage.by == "weight":
            return (self._carriage(ZERO, packed),)
        return tuple(self.rounded(band.amount) for band in carriage.bands)

    def _agrees(self, goods: Decimal, carriage: Decimal, charge: Decimal, packed: Decimal) -> bool:
        """Whether goods after discount bring the carriage and small-order charge that were reckoned with."""
        small = self.quote.small_order
        due = ZERO
        if small is not None and small.charge is not None and goods < small.least:
            due = self.rounded(small.charge)
        found = self._band(goods, packed)
        return due == charge and found is not None and found == carriage

    def _band(self, goods: Decimal, packed: Decimal) -> Decimal | None:
        carriage = self.quote.carriage
        if carriage is None:
            return ZERO
        measure = goods if carriage.by == "value" else packed
        for band in carriage.bands:
            if band.start <= measure and (band.end is None or measure < band.end):
                return self.rounded(band.amount)
        return None

    def _carriage(self, goods: Decimal, packed: Decimal) -> Decimal:
        found = self._band(goods, packed)
        if found is None:
            measure = goods if self.quote.carriage is not None and self.quote.carriage.by == "value" else packed
            raise refuse("carriage", "quote", "carriage.bands", plain(measure), "a band that holds it")
        return found

    def _small_order(self, goods: Decimal) -> Decimal:
        small = self.quote.small_order
        if small is None or goods >= small.least:
            return ZERO
        self.notices.append(Notice("under least order", None, (plain(small.least), plain(small.least - goods))))
        return ZERO if small.charge is None else self.rounded(small.charge)

    def _give(self, amount: Decimal) -> None:
        """Takes the order discount off the rates in proportion to what can be discounted under each."""
        for tax, part in self._parts(amount, self.discountable).items():
            self.add(tax, -part)

    def _parts(self, amount: Decimal, weights: Mapping[str, Decimal]) -> dict[str, Decimal]:
        """`amount` shared in proportion, each part rounded; the largest (on a tie the higher rate) takes the rest."""
        held = [tax for tax in self.rates if weights[tax]]
        if not amount or not held:
            return {}
        largest = max(held, key=lambda tax: (weights[tax], self.rates[tax]))
        whole = sum((weights[tax] for tax in held), ZERO)
        parts = {tax: self.rounded(amount * weights[tax] / whole) for tax in held if tax != largest}
        parts[largest] = amount - sum(parts.values(), ZERO)
        return parts

    # Totals

    def _totals(
        self,
        lines: tuple[WorkedLine, ...],
        services: tuple[Decimal, ...],
        goods: Decimal,
        discount: Decimal,
        surcharge: Decimal,
        carriage: Decimal,
        charge: Decimal,
        packed: Decimal,
    ) -> WorkedQuote:
        exchange = self._part_exchange()
        taxes = self._taxes()
        base = sum((tax.base for tax in taxes), ZERO)
        tax = sum((entry.tax for entry in taxes), ZERO)
        total = base if self.quote.tax_inclusive else base + tax
        paid = exchange if self.quote.part_exchange == "payment" else ZERO
        if paid > total:
            raise refuse("part exchange", "quote", "old_metal", plain(paid), f"at most the total of {plain(total)}")
        share = self._discount_share(discount)
        deposit = self.rounded((total - paid) * (self.quote.deposit_share or ZERO))
        return WorkedQuote(
            lines=lines,
            services=services,
            goods=goods,
            order_discount=discount,
            order_discount_share=share,
            surcharge=surcharge,
            carriage=carriage,
            small_order_charge=charge,
            taxes=taxes,
            net=total - tax,
            tax=tax,
            total=total,
            part_exchange=exchange,
            payable=total - paid,
            deposit=deposit,
            balance=total - paid - deposit,
            packed_g=packed,
            tax_included=self.quote.tax_inclusive,
            notices=tuple(self.notices),
        )

    def _discount_share(self, discount: Decimal) -> Decimal:
        """The order discount as a share of what it was taken from, held to the authority."""
        base = sum(self.discountable.values(), ZERO)
        share = half_up(discount / base, SHARE_PLACES) if base else ZERO
        if discount > self.quote.order_authority * base:
            self.notices.append(Notice("needs approval", None, (plain(share),)))
        return share

    def _part_exchange(self) -> Decimal:
        metal = self.quote.old_metal
        if metal is None:
            return ZERO
        allowance = self.rounded(metal.mass_g / GRAMS_IN_KG * metal.per_kg)
        if self.quote.part_exchange == "reduction":
            whole = sum(self.bases.values(), ZERO)
            if allowance > whole:
                allowed = f"at most the {plain(whole)} it reduces"
                raise refuse("part exchange", "quote", "old_metal", plain(allowance), allowed)
            for tax, part in self._parts(allowance, dict(self.bases)).items():
                self.add(tax, -part)
        return allowance

    def _taxes(self) -> tuple[TaxTotal, ...]:
        """Tax per rate, once per rate on its whole base, or as the sum of the lines' where the terms say so."""
        return tuple(
            TaxTotal(
                name=tax,
                rate=rate,
                base=self.bases[tax],
                tax=self.by_line[tax] if self.quote.tax_by_line else self.tax_of(tax, self.bases[tax]),
            )
            for tax, rate in self.rates.items()
            if self._used(tax)
        )

    def _used(self, tax: str) -> bool:
        entries: list[Line | Service] = [*self.quote.lines, *self.quote.services]
        return bool(self.bases[tax]) or any(entry.tax == tax for entry in entries)


def _discounted(line: Line) -> Decimal:
    """What a series of discounts leaves, as a fraction."""
    kept = ONE
    for discount in line.discounts:
        kept *= ONE - discount
    return kept


def _kept(line: Line) -> Decimal:
    """What discounts and the share off a second leave, as a fraction."""
    return _discounted(line) * (ONE - (line.second or ZERO))


def _counted(lines: Iterable[Line]) -> dict[str, int]:
    """How many units each family has in the whole quote."""
    counted: dict[str, int] = {}
    for line in lines:
        counted[line.family] = counted.get(line.family, 0) + line.quantity
    return counted


def _offer(line: Line, counted: Mapping[str, int]) -> PriceFrom:
    """The price at the line's quantity break, counting the family where the break says so."""
    held = [
        price
        for price in line.prices
        if (counted[line.family] if price.over_family and line.family else line.quantity) >= price.quantity
    ]
    return held[-1]


@exactly
def work_quote(quote: Quote) -> WorkedQuote:
    """The figures of a quote, every amount in its currency and rounded half-up to the minor unit where it is printed.

    Raises: PricingError `named total`, `carriage` or `part exchange` where a figure asked for cannot be reached.
    """
    return _Working(quote).work()


@exactly
def yearly_cost_of_cash_terms(share: Decimal, cash_days: int, net_days: int) -> Decimal:
    """What letting a cash discount go costs the buyer a year, simple: d ÷ (1 − d) × 365 ÷ (net − cash days), a fraction.

    Raises: PricingError `cash terms` where the net term is not longer than the cash term.
    """
    if net_days <= cash_days:
        raise refuse("cash terms", "terms", "payment_days", net_days, f"more than the {cash_days} days for cash")
    return share / (ONE - share) * YEAR_DAYS / (net_days - cash_days)


def worked_data(worked: WorkedQuote, minor_unit: int) -> dict[str, Any]:
    """A worked quote as plain JSON data: amounts as decimal strings with the currency's places, nothing left out."""
    money = {name: _money(getattr(worked, name), minor_unit) for name in _MONEY}
    return {
        "lines": [_line_data(line, minor_unit) for line in worked.lines],
        "services": [_money(amount, minor_unit) for amount in worked.services],
        **money,
        "order_discount_share": plain(worked.order_discount_share),
        "taxes": [
            {
                "name": tax.name,
                "rate": plain(tax.rate),
                "base": _money(tax.base, minor_unit),
                "tax": _money(tax.tax, minor_unit),
            }
            for tax in worked.taxes
        ],
        "packed_g": plain(worked.packed_g),
        "tax_included": worked.tax_included,
        "notices": [
            {"code": notice.code, "line": notice.line, "facts": list(notice.facts)} for notice in worked.notices
        ],
    }


def _money(amount: Decimal, minor_unit: int) -> str:
    return f"{amount:.{minor_unit}f}"


_MONEY = (
    "goods", "order_discount", "surcharge", "carriage", "small_order_charge", "net", "tax", "total",
    "part_exchange", "payable", "deposit", "balance",
)  # fmt: skip


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
