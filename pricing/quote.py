"""Quote arithmetic: lines at list prices to totals a reader can add up with a pencil, in both tax modes.

It works on what a published list carries and on what was asked for, and never sees a cost. `pwa/src/pricing/quote.ts`
is its twin: the same input gives the same JSON, byte for byte.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import ROUND_FLOOR, Decimal

from .amounts import ONE, ZERO, exactly, half_up, plain
from .errors import PricingError, refuse
from .quote_types import (
    Band,
    Carriage,
    CashTerms,
    Extra,
    Line,
    Notice,
    OldMetal,
    OrderDiscount,
    PriceFrom,
    Quote,
    Service,
    SmallOrder,
    Surcharge,
    Tax,
    TaxTotal,
    ValueShare,
    WorkedLine,
    WorkedQuote,
    check_quote,
    read_quote,
    worked_data,
)

__all__ = [
    "Band", "Carriage", "CashTerms", "Extra", "Line", "Notice", "OldMetal", "OrderDiscount", "PriceFrom", "Quote",
    "Service", "SmallOrder", "Surcharge", "Tax", "TaxTotal", "ValueShare", "WorkedLine", "WorkedQuote",
    "check_quote", "good_until", "kept_by", "read_quote", "takes_old_list", "to_step", "work_quote", "worked_data",
    "yearly_cost_of_cash_terms",
]  # fmt: skip

GRAMS_IN_KG = Decimal(1000)
SHARE_PLACES = 4
YEAR_DAYS = 365

ByRate = Mapping[str, Decimal]


def kept_by(discounts: Iterable[Decimal]) -> Decimal:
    """What a series of discounts leaves of a price, as a fraction: Π(1 − dᵢ)."""
    kept = ONE
    for discount in discounts:
        kept *= ONE - discount
    return kept


@exactly
def to_step(amount: Decimal, step: Decimal) -> Decimal:
    """`amount` rounded half-up to a whole multiple of `step`: of a surcharge, or of coins.

    >>> to_step(Decimal("20.43"), Decimal("0.05"))
    Decimal('20.45')
    """
    return half_up(amount / step, 0) * step


@dataclass(frozen=True, slots=True)
class _Sums:
    """What lines and services come to before anything is taken off the whole, by tax rate.

    `fixed` is all that an order discount does not change, `fixed_tax` its tax entry by entry, `discountable` what
    an order discount is a share of; the rest are sums over all rates.
    """

    fixed: ByRate
    fixed_tax: ByRate
    discountable: ByRate
    goods: Decimal
    surcharge: Decimal
    rush: Decimal
    packed_g: Decimal

    @property
    def base(self) -> Decimal:
        return sum(self.discountable.values(), ZERO)


@dataclass(frozen=True, slots=True)
class _Settled:
    """Everything that follows from an order discount: charges by value of goods, part exchange, taxes."""

    carriage: Decimal
    charge: Decimal
    allowance: Decimal
    reduced: Decimal
    taxes: tuple[TaxTotal, ...]
    tax_included: bool

    @property
    def tax(self) -> Decimal:
        return sum((rate.tax for rate in self.taxes), ZERO)

    @property
    def base(self) -> Decimal:
        return sum((rate.base for rate in self.taxes), ZERO)

    @property
    def net(self) -> Decimal:
        return self.base - self.tax if self.tax_included else self.base

    @property
    def total(self) -> Decimal:
        return self.base if self.tax_included else self.base + self.tax


class _Working:
    """One quote's arithmetic; what is worked is returned, nothing is kept here but the terms."""

    def __init__(self, quote: Quote) -> None:
        self.quote = quote
        self.places = quote.minor_unit
        self.rates = {tax.name: tax.rate for tax in quote.taxes}
        self.counted = _counted(quote.lines)

    def work(self) -> WorkedQuote:
        lines = tuple(self._line(line) for line in self.quote.lines)
        services = tuple(self.rounded(service.amount * service.count) for service in self.quote.services)
        sums = self._sums(lines, services)
        discount, missed = self._order_discount(sums)
        settled = self.settled(sums, discount)
        self._within_total(settled)
        paid = settled.allowance if self.quote.part_exchange == "payment" else ZERO
        payable = settled.total - paid
        deposit = self.rounded(payable * (self.quote.deposit_share or ZERO))
        cash = self.quote.cash_terms
        return WorkedQuote(
            lines=lines,
            services=services,
            goods=sums.goods,
            discountable=sums.base,
            order_discount=discount,
            order_discount_share=half_up(discount / sums.base, SHARE_PLACES) if sums.base else ZERO,
            surcharge=sums.surcharge,
            rush=sums.rush,
            carriage=settled.carriage,
            small_order_charge=settled.charge,
            taxes=settled.taxes,
            net=settled.net,
            tax=settled.tax,
            total=settled.total,
            part_exchange=settled.allowance,
            payable=payable,
            deposit=deposit,
            balance=payable - deposit,
            cash_price=payable if cash is None else self.rounded(payable * (ONE - cash.share)),
            cash_yearly_cost=ZERO if cash is None else half_up(_yearly_cost(cash), SHARE_PLACES),
            packed_g=sums.packed_g,
            tax_included=self.quote.tax_inclusive,
            notices=(*self._said_of_lines(lines), *self._said_of_order(sums, discount), *missed),
        )

    def rounded(self, amount: Decimal) -> Decimal:
        return half_up(amount, self.places) + ZERO

    def tax_of(self, tax: str, amount: Decimal) -> Decimal:
        """The tax on an amount, or within it in a tax-inclusive quote."""
        rate = self.rates[tax]
        return self.rounded(amount * rate / (ONE + rate) if self.quote.tax_inclusive else amount * rate)

    # Lines and services

    def _line(self, line: Line) -> WorkedLine:
        offer = self._offer(line)
        unit_net = self._unit_net(line, offer.price)
        per_unit = sum((self._extra(line, extra) for extra in line.extras if extra.per == "unit"), ZERO)
        per_line = sum((self._extra(line, extra) for extra in line.extras if extra.per == "line"), ZERO)
        return WorkedLine(
            price_from=offer.quantity,
            unit_price=offer.price,
            unit_net=unit_net,
            extras_per_unit=per_unit,
            extras_per_line=per_line,
            line_net=(unit_net + per_unit) * line.quantity + per_line,
            surcharge=self._surcharge(line),
        )

    def _offer(self, line: Line) -> PriceFrom:
        """The price at the line's quantity break, counting all lines of the piece and finish, or of the family."""
        return [offer for offer in line.prices if self._count_for(line, offer) >= offer.quantity][-1]

    def _count_for(self, line: Line, offer: PriceFrom) -> int:
        return self.counted[line.family] if offer.over_family and line.family else self.counted[line.piece, line.finish]

    def _unit_net(self, line: Line, price: Decimal) -> Decimal:
        return self.rounded(price * kept_by(line.discounts) * (ONE - (line.second or ZERO)))

    def _extra(self, line: Line, extra: Extra) -> Decimal:
        """What an extra adds, rounded by itself; the share off a flawed piece is off the piece alone."""
        return self.rounded(extra.amount * extra.count * (kept_by(line.discounts) if extra.takes_discount else ONE))

    def _discountable(self, line: Line, worked: WorkedLine) -> Decimal:
        """The part of a line's net that an order discount is a share of: the pieces and what is marked."""
        marked = [extra for extra in line.extras if extra.takes_discount]
        per_unit = sum((self._extra(line, extra) for extra in marked if extra.per == "unit"), ZERO)
        per_line = sum((self._extra(line, extra) for extra in marked if extra.per == "line"), ZERO)
        return (worked.unit_net + per_unit) * line.quantity + per_line

    def _surcharge(self, line: Line) -> Decimal:
        surcharge = line.surcharge
        if surcharge is None:
            return ZERO
        with_tax = surcharge.amount * (ONE + self.rates[line.tax] if self.quote.tax_inclusive else ONE)
        printed = self.rounded(with_tax) if surcharge.step is None else to_step(with_tax, surcharge.step)
        if surcharge.per == "unit":
            return self.rounded(printed * line.quantity)
        return self.rounded(printed * surcharge.finished_g * line.quantity / GRAMS_IN_KG)

    def _sums(self, lines: tuple[WorkedLine, ...], services: tuple[Decimal, ...]) -> _Sums:
        asked = list(zip(self.quote.lines, lines, strict=True))
        served = list(zip(self.quote.services, services, strict=True))
        nets = [(line.tax, worked.line_net) for line, worked in asked]
        nets += [(service.tax, amount) for service, amount in served]
        surcharges = [(line.tax, worked.surcharge) for line, worked in asked]
        rush = [(tax, self.rounded(amount * (self.quote.rush_share or ZERO))) for tax, amount in self._by(nets).items()]
        marked = [(line.tax, self._discountable(line, worked)) for line, worked in asked]
        marked += [(service.tax, amount) for service, amount in served if service.takes_discount]
        entries = nets + surcharges + rush
        return _Sums(
            fixed=self._by(entries),
            fixed_tax=self._by((tax, self.tax_of(tax, amount)) for tax, amount in entries),
            discountable=self._by(marked),
            goods=sum((amount for _, amount in nets), ZERO),
            surcharge=sum((amount for _, amount in surcharges), ZERO),
            rush=sum((amount for _, amount in rush), ZERO),
            packed_g=sum((line.packed_g * line.quantity for line in self.quote.lines), ZERO),
        )

    def _by(self, amounts: Iterable[tuple[str, Decimal]]) -> dict[str, Decimal]:
        sums = dict.fromkeys(self.rates, ZERO)
        for tax, amount in amounts:
            sums[tax] += amount
        return sums

    # The order

    def _order_discount(self, sums: _Sums) -> tuple[Decimal, tuple[Notice, ...]]:
        """The order discount: asked for as a share or by a named total, else what the terms give by value."""
        asked = self.quote.order_discount
        if asked is None:
            return self.rounded(self._share_by_value(sums.base) * sums.base), ()
        if asked.share is not None:
            return self.rounded(asked.share * sums.base), ()
        found, reached = _NamedTotal(self, sums, asked).found()
        if reached == asked.total:
            return found, ()
        return found, (Notice("named total missed", None, (plain(asked.total or ZERO), plain(reached))),)

    def _share_by_value(self, base: Decimal) -> Decimal:
        shares = [offer.share for offer in self.quote.order_discounts if offer.start <= base]
        return shares[-1] if shares else ZERO

    def settled(self, sums: _Sums, discount: Decimal) -> _Settled:
        """The quote's taxes and charges under an order discount.

        Raises: PricingError `carriage` where no band holds the order.
        """
        goods = sums.goods - discount
        entries = [(tax, -part) for tax, part in self._parts(discount, sums.discountable).items()]
        carriage = self._carriage(goods, sums.packed_g)
        if self.quote.carriage is not None:
            entries.append((self.quote.carriage.tax, carriage))
        charge = self._small_order_charge(goods)
        if self.quote.small_order is not None:
            entries.append((self.quote.small_order.tax, charge))
        bases = self._by([*sums.fixed.items(), *entries])
        allowance, reduced = self._allowance(), sum(bases.values(), ZERO)
        if self.quote.part_exchange == "reduction":
            reduction = [(tax, -part) for tax, part in self._parts(allowance, bases).items()]
            bases = self._by([*bases.items(), *reduction])
            entries += reduction
        taxes = self._taxes(sums, bases, entries)
        return _Settled(carriage, charge, allowance, reduced, taxes, self.quote.tax_inclusive)

    def _taxes(self, sums: _Sums, bases: ByRate, entries: list[tuple[str, Decimal]]) -> tuple[TaxTotal, ...]:
        """Tax per rate, once per rate on its whole base, or as the sum of the entries' where the terms say so."""
        if self.quote.tax_by_line:
            of_entries = ((tax, self.tax_of(tax, amount)) for tax, amount in entries)
            taxes = self._by([*sums.fixed_tax.items(), *of_entries])
        else:
            taxes = {tax: self.tax_of(tax, base) for tax, base in bases.items()}
        used = {line.tax for line in self.quote.lines} | {service.tax for service in self.quote.services}
        return tuple(
            TaxTotal(name=tax, rate=rate, base=bases[tax], tax=taxes[tax])
            for tax, rate in self.rates.items()
            if bases[tax] or tax in used
        )

    def _parts(self, amount: Decimal, weights: ByRate) -> dict[str, Decimal]:
        """`amount` shared in proportion, each part rounded; the largest (on a tie the higher rate) takes the rest."""
        held = [tax for tax in self.rates if weights[tax]]
        if not amount or not held:
            return {}
        largest = max(held, key=lambda tax: (weights[tax], self.rates[tax]))
        whole = sum((weights[tax] for tax in held), ZERO)
        parts = {tax: self.rounded(amount * weights[tax] / whole) for tax in held if tax != largest}
        parts[largest] = amount - sum(parts.values(), ZERO)
        return parts

    def _carriage(self, goods: Decimal, packed_g: Decimal) -> Decimal:
        carriage = self.quote.carriage
        if carriage is None or (carriage.paid_from is not None and goods >= carriage.paid_from):
            return ZERO
        measure = goods if carriage.by == "value" else packed_g
        for band in carriage.bands:
            if band.start <= measure and (band.end is None or measure < band.end):
                return self.rounded(band.amount)
        raise refuse("carriage", "quote", "carriage.bands", plain(measure), "a band that holds it")

    def _small_order_charge(self, goods: Decimal) -> Decimal:
        small = self.quote.small_order
        return ZERO if small is None or goods >= small.least else self.rounded(small.charge or ZERO)

    def _allowance(self) -> Decimal:
        metal = self.quote.old_metal
        return ZERO if metal is None else self.rounded(metal.mass_g * metal.per_kg / GRAMS_IN_KG)

    def _within_total(self, settled: _Settled) -> None:
        """Refuses old metal worth more than what it pays for or reduces."""
        payment = self.quote.part_exchange == "payment"
        most = settled.total if payment else settled.reduced
        if settled.allowance > most:
            allowed = f"at most {'the total of' if payment else 'what it reduces,'} {plain(most)}"
            raise refuse("part exchange", "quote", "old_metal", plain(settled.allowance), allowed)

    # What is to be said

    def _said_of_lines(self, lines: tuple[WorkedLine, ...]) -> Iterator[Notice]:
        """Quantities (once for a piece and finish), a cheaper larger quantity, a discount past the authority."""
        counted: set[tuple[str, str]] = set()
        for place, (line, worked) in enumerate(zip(self.quote.lines, lines, strict=True)):
            if (line.piece, line.finish) not in counted:
                counted.add((line.piece, line.finish))
                yield from self._said_of_quantity(place, line)
            yield from self._cheaper(place, line, worked)
            given = ONE - kept_by(line.discounts)
            if given > self.quote.line_authority:
                yield Notice("needs approval", place, (plain(half_up(given, SHARE_PLACES)),))

    def _said_of_quantity(self, place: int, line: Line) -> Iterator[Notice]:
        counted = self.counted[line.piece, line.finish]
        if counted < line.least_order:
            yield Notice("under least quantity", place, (str(line.least_order),))
        if counted % line.pack_quantity:
            yield Notice("not a whole pack", place, (str(line.pack_quantity),))

    def _cheaper(self, place: int, line: Line, worked: WorkedLine) -> Iterator[Notice]:
        """The first larger break at which this line would cost less than it does, with its quantity then."""
        for offer in line.prices:
            missing = offer.quantity - self._count_for(line, offer)
            if missing > 0:
                larger = line.quantity + missing
                total = self._unit_net(line, offer.price) * larger
                if total < worked.unit_net * line.quantity:
                    yield Notice("more would cost less", place, (str(larger), plain(total)))
                    return

    def _said_of_order(self, sums: _Sums, discount: Decimal) -> Iterator[Notice]:
        small, goods = self.quote.small_order, sums.goods - discount
        if small is not None and goods < small.least:
            yield Notice("under least order", None, (plain(small.least), plain(small.least - goods)))
        authority = max(self.quote.order_authority, self._share_by_value(sums.base))
        asked = self.quote.order_discount
        past = asked.share > authority if asked is not None and asked.share is not None else False
        if past or discount > self.rounded(authority * sums.base):
            share = half_up(discount / sums.base, SHARE_PLACES) if sums.base else ZERO
            yield Notice("needs approval", None, (plain(share),))


class _NamedTotal:
    """The search for the order discount that makes the total a named sum.

    Charges by value of goods change in steps, so the discount is looked for between one step and the next, where the
    total falls with it but for a few units of rounding. The least discount that meets the sum is taken; where tax
    leaves no discount that does, the nearest total under it.
    """

    def __init__(self, working: _Working, sums: _Sums, asked: OrderDiscount) -> None:
        self.working = working
        self.sums = sums
        self.total = asked.total or ZERO
        inclusive = working.quote.tax_inclusive
        self.with_tax = inclusive if asked.tax_included is None else asked.tax_included
        self.near = 2 * len(working.rates) + 2
        self.most = int(sums.base.scaleb(working.places))

    def found(self) -> tuple[Decimal, Decimal]:
        """The discount and the total it reaches.

        Raises: PricingError `named total` where no discount on these lines comes to it or under it.
        """
        best: tuple[Decimal, int] | None = None
        without = self._reached(0)
        if without is not None and without < self.total:
            raise self._refused(f"at most {plain(without)}, the total without it")
        for first, last in self._ranges():
            for units in self._candidates(first, last):
                reached = self._reached(units)
                if reached == self.total:
                    return self._discount(units), reached
                if reached is not None and reached < self.total and (best is None or reached > best[0]):
                    best = reached, units
        if best is None:
            raise self._refused("a total that a discount on these lines can reach")
        return self._discount(best[1]), best[0]

    def _refused(self, allowed: str) -> PricingError:
        return refuse("named total", "quote", "order_discount.total", plain(self.total), allowed)

    def _discount(self, units: int) -> Decimal:
        return Decimal(units).scaleb(-self.working.places)

    def _reached(self, units: int) -> Decimal | None:
        try:
            settled = self.working.settled(self.sums, self._discount(units))
        except PricingError:
            return None
        return settled.total if self.with_tax else settled.net

    def _ranges(self) -> Iterator[tuple[int, int]]:
        """Ranges of the discount in minor units, rising, in each of which charges by value stay as they are."""
        last_of = {self.most}
        for edge in self._edges():
            units = int((self.sums.goods - edge).scaleb(self.working.places).to_integral_value(ROUND_FLOOR))
            if 0 <= units < self.most:
                last_of.add(units)
        first = 0
        for last in sorted(last_of):
            yield first, last
            first = last + 1

    def _edges(self) -> Iterator[Decimal]:
        quote = self.working.quote
        if quote.small_order is not None:
            yield quote.small_order.least
        if quote.carriage is not None:
            if quote.carriage.paid_from is not None:
                yield quote.carriage.paid_from
            if quote.carriage.by == "value":
                for band in quote.carriage.bands:
                    yield band.start
                    if band.end is not None:
                        yield band.end

    def _candidates(self, first: int, last: int) -> range:
        """The discounts of a range about the least one whose total is not above the named sum."""
        low, high = first, last + 1
        while low < high:
            middle = (low + high) // 2
            reached = self._reached(middle)
            if reached is None or reached <= self.total:
                high = middle
            else:
                low = middle + 1
        return range(max(first, low - self.near), min(last, low + self.near) + 1)


def _counted(lines: Iterable[Line]) -> dict[str | tuple[str, str], int]:
    """How many units the whole quote has of each family and of each piece and finish."""
    counted: dict[str | tuple[str, str], int] = {}
    for line in lines:
        for key in (line.family, (line.piece, line.finish)):
            counted[key] = counted.get(key, 0) + line.quantity
    return counted


@exactly
def work_quote(quote: Quote) -> WorkedQuote:
    """The figures of a quote, every amount in its currency and rounded half-up to the minor unit where it is printed.

    Raises: PricingError `named total`, `carriage` or `part exchange` where a figure asked for cannot be reached.
    """
    return _Working(quote).work()


def _yearly_cost(terms: CashTerms) -> Decimal:
    return terms.share * YEAR_DAYS / ((ONE - terms.share) * (terms.net_days - terms.cash_days))


@exactly
def yearly_cost_of_cash_terms(share: Decimal, cash_days: int, net_days: int) -> Decimal:
    """What letting a cash discount go costs the buyer a year, simple, as a fraction.

    It is d ÷ (1 − d) × 365 ÷ (net days − cash days).

    Raises: PricingError `cash terms` where the net term is not longer than the cash term.
    """
    if net_days <= cash_days:
        raise refuse("cash terms", "terms", "payment_days", net_days, f"more than the {cash_days} days for cash")
    return _yearly_cost(CashTerms(share=share, cash_days=cash_days, net_days=net_days))


def good_until(day: datetime.date, valid_days: int) -> datetime.date:
    """The last day a quote of `day` holds."""
    return day + datetime.timedelta(days=valid_days)


def takes_old_list(
    ordered: datetime.date, delivered: datetime.date, change_over: datetime.date, grace_days: int
) -> bool:
    """Whether an order takes the list before the one of `change_over`: ordered earlier, delivered within its grace."""
    return ordered < change_over and delivered <= change_over + datetime.timedelta(days=grace_days)
