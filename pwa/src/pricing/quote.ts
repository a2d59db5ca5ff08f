/** Quote arithmetic, the twin of pricing/quote.py: the same input gives the same JSON, byte for byte. */

import {
  type Amount,
  amount,
  compare,
  fixed,
  halfUp,
  isZero,
  minus,
  ONE,
  plain,
  plus,
  ratioHalfUp,
  sum,
  times,
  toStep,
  whole,
  ZERO,
} from "./amounts.ts";
import type {
  CashTerms,
  Extra,
  Line,
  Notice,
  OrderDiscount,
  PriceFrom,
  Quote,
  WorkedLine,
  WorkedQuote,
} from "./quote_types.ts";

export * from "./quote_types.ts";

/** A figure asked for that cannot be reached: a code for programs, the field it is about, and what is allowed. */
export class QuoteRefusal extends Error {
  readonly code: string;
  readonly field: string;
  readonly allowed: string;

  constructor(code: string, field: string, allowed: string) {
    super(`${field}: allowed is ${allowed}`);
    this.code = code;
    this.field = field;
    this.allowed = allowed;
  }
}

const SHARE_PLACES = 4;
const YEAR_DAYS = 365;
const GRAMS_IN_KG = whole(1000);

type ByRate = Map<string, Amount>;
type Entry = [tax: string, value: Amount];

interface LineSums {
  offer: PriceFrom;
  unitNet: Amount;
  perUnit: Amount;
  perLine: Amount;
  net: Amount;
  surcharge: Amount;
}

/** What lines and services come to before anything is taken off the whole; see the twin. */
interface Sums {
  fixed: ByRate;
  fixedTax: ByRate;
  discountable: ByRate;
  base: Amount;
  goods: Amount;
  surcharge: Amount;
  rush: Amount;
  packed: Amount;
}

interface RateTotal {
  name: string;
  rate: Amount;
  base: Amount;
  tax: Amount;
}

/** Everything that follows from an order discount. */
interface Settled {
  carriage: Amount;
  charge: Amount;
  allowance: Amount;
  reduced: Amount;
  taxes: RateTotal[];
  net: Amount;
  tax: Amount;
  total: Amount;
}

const given = (text: string | null | undefined): Amount => (text == null ? ZERO : amount(text));
const negative = (value: Amount): Amount => minus(ZERO, value);
const larger = (a: Amount, b: Amount): Amount => (compare(a, b) >= 0 ? a : b);

/** What a series of discounts leaves of a price, as a fraction. */
export function keptBy(discounts: readonly string[] = []): Amount {
  return discounts.reduce((kept, discount) => times(kept, minus(ONE, amount(discount))), ONE);
}

const pieceKey = (line: Line): string => JSON.stringify([line.piece, line.finish]);

/** How many units the whole quote has of each family and of each piece and finish. */
function countedIn(lines: Line[]): Map<string, number> {
  const counted = new Map<string, number>();
  for (const line of lines)
    for (const key of [line.family ?? "", pieceKey(line)])
      counted.set(key, (counted.get(key) ?? 0) + line.quantity);
  return counted;
}

const sumOf = (values: Iterable<Entry>): Amount => sum([...values].map(([, value]) => value));

class Working {
  readonly quote: Quote;
  readonly places: number;
  private readonly lines: Line[];
  private readonly rates = new Map<string, Amount>();
  private readonly counted: Map<string, number>;

  constructor(quote: Quote) {
    this.quote = quote;
    this.places = quote.minor_unit;
    this.lines = quote.lines ?? [];
    this.counted = countedIn(this.lines);
    for (const tax of quote.taxes) this.rates.set(tax.name, amount(tax.rate));
  }

  work(): WorkedQuote {
    const lines = this.lines.map((line) => this.line(line));
    const services = (this.quote.services ?? []).map((service) =>
      this.rounded(times(amount(service.amount), whole(service.count ?? 1))),
    );
    const sums = this.sums(lines, services);
    const [discount, missed] = this.orderDiscount(sums);
    const settled = this.settled(sums, discount);
    this.withinTotal(settled);
    const paid = this.quote.part_exchange === "reduction" ? ZERO : settled.allowance;
    const payable = minus(settled.total, paid);
    const deposit = this.rounded(times(payable, given(this.quote.deposit_share)));
    const cash = this.quote.cash_terms;
    const cashPrice = cash ? this.rounded(times(payable, minus(ONE, amount(cash.share)))) : payable;
    const money = (value: Amount): string => fixed(value, this.places);
    return {
      lines: lines.map((line) => this.lineData(line)),
      services: services.map(money),
      goods: money(sums.goods),
      discountable: money(sums.base),
      order_discount: money(discount),
      surcharge: money(sums.surcharge),
      rush: money(sums.rush),
      carriage: money(settled.carriage),
      small_order_charge: money(settled.charge),
      net: money(settled.net),
      tax: money(settled.tax),
      total: money(settled.total),
      part_exchange: money(settled.allowance),
      payable: money(payable),
      deposit: money(deposit),
      balance: money(minus(payable, deposit)),
      cash_price: money(cashPrice),
      order_discount_share: plain(this.shareOf(discount, sums.base)),
      cash_yearly_cost: plain(cash ? yearlyCost(cash) : ZERO),
      taxes: settled.taxes.map((entry) => ({
        name: entry.name,
        rate: plain(entry.rate),
        base: money(entry.base),
        tax: money(entry.tax),
      })),
      packed_g: plain(sums.packed),
      tax_included: this.quote.tax_inclusive,
      notices: [...this.saidOfLines(lines), ...this.saidOfOrder(sums, discount), ...missed],
    };
  }

  private lineData(line: LineSums): WorkedLine {
    return {
      price_from: line.offer.quantity,
      unit_price: plain(amount(line.offer.price)),
      unit_net: fixed(line.unitNet, this.places),
      extras_per_unit: fixed(line.perUnit, this.places),
      extras_per_line: fixed(line.perLine, this.places),
      line_net: fixed(line.net, this.places),
      surcharge: fixed(line.surcharge, this.places),
    };
  }

  private rounded(value: Amount): Amount {
    return halfUp(value, this.places);
  }

  private rate(tax: string): Amount {
    return this.rates.get(tax) ?? ZERO;
  }

  /** The tax on a value, or within it in a tax-inclusive quote. */
  private taxOf(tax: string, value: Amount): Amount {
    const rate = this.rate(tax);
    return this.quote.tax_inclusive
      ? ratioHalfUp(times(value, rate), plus(ONE, rate), this.places)
      : this.rounded(times(value, rate));
  }

  private shareOf(discount: Amount, base: Amount): Amount {
    return isZero(base) ? ZERO : ratioHalfUp(discount, base, SHARE_PLACES);
  }

  // Lines and services

  private line(line: Line): LineSums {
    const offer = this.offer(line);
    const unitNet = this.unitNet(line, offer.price);
    const perUnit = this.extras(line, "unit", false);
    const perLine = this.extras(line, "line", false);
    const net = plus(times(plus(unitNet, perUnit), whole(line.quantity)), perLine);
    return { offer, unitNet, perUnit, perLine, net, surcharge: this.surcharge(line) };
  }

  /** The price at the line's quantity break, counting all lines of the piece and finish, or of the family. */
  private offer(line: Line): PriceFrom {
    const held = line.prices.filter((offer) => this.countFor(line, offer) >= offer.quantity);
    const last = held.at(-1);
    if (last === undefined)
      throw new QuoteRefusal("prices", "lines.prices", "prices from 1 on, quantities that rise");
    return last;
  }

  private countFor(line: Line, offer: PriceFrom): number {
    return this.counted.get(offer.over_family && line.family ? line.family : pieceKey(line)) ?? 0;
  }

  private unitNet(line: Line, price: string): Amount {
    const kept = times(keptBy(line.discounts), minus(ONE, given(line.second)));
    return this.rounded(times(amount(price), kept));
  }

  /** What an extra adds, rounded by itself; the share off a flawed piece is off the piece alone. */
  private extra(line: Line, extra: Extra): Amount {
    const full = times(amount(extra.amount), whole(extra.count ?? 1));
    return this.rounded(extra.takes_discount ? times(full, keptBy(line.discounts)) : full);
  }

  private extras(line: Line, per: "unit" | "line", markedOnly: boolean): Amount {
    const held = (line.extras ?? []).filter(
      (extra) => (extra.per ?? "unit") === per && (extra.takes_discount || !markedOnly),
    );
    return sum(held.map((extra) => this.extra(line, extra)));
  }

  /** The part of a line's net that an order discount is a share of: the pieces and what is marked. */
  private discountable(line: Line, sums: LineSums): Amount {
    const unit = plus(sums.unitNet, this.extras(line, "unit", true));
    return plus(times(unit, whole(line.quantity)), this.extras(line, "line", true));
  }

  private surcharge(line: Line): Amount {
    const surcharge = line.surcharge;
    if (!surcharge) return ZERO;
    const factor = this.quote.tax_inclusive ? plus(ONE, this.rate(line.tax)) : ONE;
    const withTax = times(amount(surcharge.amount), factor);
    const printed =
      surcharge.step == null ? this.rounded(withTax) : toStep(withTax, amount(surcharge.step));
    const all = times(printed, whole(line.quantity));
    if ((surcharge.per ?? "unit") === "unit") return this.rounded(all);
    return ratioHalfUp(times(all, given(surcharge.finished_g)), GRAMS_IN_KG, this.places);
  }

  private sums(lines: LineSums[], services: Amount[]): Sums {
    const each = <T>(work: (line: Line, sums: LineSums) => T): T[] =>
      lines.map((sums, place) => work(this.lines[place] as Line, sums));
    const served = (this.quote.services ?? []).map((service, place) => ({
      service,
      entry: [service.tax, services[place] ?? ZERO] as Entry,
    }));
    const nets: Entry[] = [
      ...each<Entry>((line, sums) => [line.tax, sums.net]),
      ...served.map(({ entry }) => entry),
    ];
    const surcharges = each<Entry>((line, sums) => [line.tax, sums.surcharge]);
    const rush = [...this.by(nets)].map<Entry>(([tax, value]) => [
      tax,
      this.rounded(times(value, given(this.quote.rush_share))),
    ]);
    const marked: Entry[] = [
      ...each<Entry>((line, sums) => [line.tax, this.discountable(line, sums)]),
      ...served.filter(({ service }) => service.takes_discount).map(({ entry }) => entry),
    ];
    const entries = [...nets, ...surcharges, ...rush];
    return {
      fixed: this.by(entries),
      fixedTax: this.by(entries.map(([tax, value]) => [tax, this.taxOf(tax, value)])),
      discountable: this.by(marked),
      base: sumOf(marked),
      goods: sumOf(nets),
      surcharge: sumOf(surcharges),
      rush: sumOf(rush),
      packed: sum(this.lines.map((line) => times(given(line.packed_g), whole(line.quantity)))),
    };
  }

  private by(entries: Iterable<Entry>): ByRate {
    const sums: ByRate = new Map([...this.rates.keys()].map((tax) => [tax, ZERO]));
    for (const [tax, value] of entries) sums.set(tax, plus(sums.get(tax) ?? ZERO, value));
    return sums;
  }

  // The order

  private orderDiscount(sums: Sums): [Amount, Notice[]] {
    const asked = this.quote.order_discount;
    if (!asked) return [this.rounded(times(this.shareByValue(sums.base), sums.base)), []];
    if (asked.share != null) return [this.rounded(times(amount(asked.share), sums.base)), []];
    const [found, reached] = new NamedTotal(this, sums, asked).found();
    const named = given(asked.total);
    if (compare(reached, named) === 0) return [found, []];
    const facts = [plain(named), plain(reached)];
    return [found, [{ code: "named total missed", line: null, facts }]];
  }

  private shareByValue(base: Amount): Amount {
    const held = (this.quote.order_discounts ?? []).filter(
      (offer) => compare(amount(offer.start), base) <= 0,
    );
    return given(held.at(-1)?.share);
  }

  /** The quote's taxes and charges under an order discount. */
  settled(sums: Sums, discount: Amount): Settled {
    const goods = minus(sums.goods, discount);
    const taken = (parts: ByRate): Entry[] =>
      [...parts].map(([tax, part]) => [tax, negative(part)]);
    const entries = taken(this.parts(discount, sums.discountable));
    const carriage = this.carriage(goods, sums.packed);
    if (this.quote.carriage) entries.push([this.quote.carriage.tax, carriage]);
    const charge = this.smallOrderCharge(goods);
    if (this.quote.small_order) entries.push([this.quote.small_order.tax, charge]);
    let bases = this.by([...sums.fixed, ...entries]);
    const allowance = this.allowance();
    const reduced = sum(bases.values());
    if (this.quote.part_exchange === "reduction") {
      const reduction = taken(this.parts(allowance, bases));
      bases = this.by([...bases, ...reduction]);
      entries.push(...reduction);
    }
    const taxes = this.taxes(sums, bases, entries);
    const base = sum(taxes.map((entry) => entry.base));
    const tax = sum(taxes.map((entry) => entry.tax));
    const inclusive = this.quote.tax_inclusive;
    const net = inclusive ? minus(base, tax) : base;
    return { carriage, charge, allowance, reduced, taxes, net, tax, total: plus(net, tax) };
  }

  /** Tax per rate, once per rate on its whole base, or as the sum of the entries' where the terms say so. */
  private taxes(sums: Sums, bases: ByRate, entries: Entry[]): RateTotal[] {
    const ofEntries = entries.map<Entry>(([tax, value]) => [tax, this.taxOf(tax, value)]);
    const taxes = this.quote.tax_by_line
      ? this.by([...sums.fixedTax, ...ofEntries])
      : new Map([...bases].map(([tax, base]) => [tax, this.taxOf(tax, base)]));
    const used = new Set([...this.lines, ...(this.quote.services ?? [])].map((entry) => entry.tax));
    return [...this.rates]
      .filter(([name]) => !isZero(bases.get(name) ?? ZERO) || used.has(name))
      .map(([name, rate]) => ({
        name,
        rate,
        base: bases.get(name) ?? ZERO,
        tax: taxes.get(name) ?? ZERO,
      }));
  }

  /** A value shared in proportion, each part rounded; the largest (on a tie the higher rate) takes the rest. */
  private parts(value: Amount, weights: ByRate): ByRate {
    const held = [...weights].filter(([, weight]) => !isZero(weight));
    const parts: ByRate = new Map();
    const [first, ...others] = held;
    if (isZero(value) || first === undefined) return parts;
    const [largest] = others.reduce((best, entry) => {
      const order = compare(entry[1], best[1]);
      const higher = compare(this.rate(entry[0]), this.rate(best[0])) > 0;
      return order > 0 || (order === 0 && higher) ? entry : best;
    }, first);
    const total = sumOf(held);
    for (const [tax, weight] of held)
      if (tax !== largest) parts.set(tax, ratioHalfUp(times(value, weight), total, this.places));
    parts.set(largest, minus(value, sum(parts.values())));
    return parts;
  }

  private carriage(goods: Amount, packed: Amount): Amount {
    const carriage = this.quote.carriage;
    const paid = carriage?.paid_from;
    if (!carriage || (paid != null && compare(goods, amount(paid)) >= 0)) return ZERO;
    const measure = carriage.by === "value" ? goods : packed;
    const band = carriage.bands.find(
      ({ start, end }) =>
        compare(given(start), measure) <= 0 && (end == null || compare(measure, amount(end)) < 0),
    );
    if (band === undefined)
      throw new QuoteRefusal("carriage", "carriage.bands", "a band that holds it");
    return this.rounded(amount(band.amount));
  }

  private smallOrderCharge(goods: Amount): Amount {
    const small = this.quote.small_order;
    if (!small || compare(goods, amount(small.least)) >= 0) return ZERO;
    return this.rounded(given(small.charge));
  }

  private allowance(): Amount {
    const metal = this.quote.old_metal;
    if (!metal) return ZERO;
    const worth = times(amount(metal.mass_g), amount(metal.per_kg));
    return ratioHalfUp(worth, GRAMS_IN_KG, this.places);
  }

  /** Refuses old metal worth more than what it pays for or reduces. */
  private withinTotal(settled: Settled): void {
    const reduction = this.quote.part_exchange === "reduction";
    const most = reduction ? settled.reduced : settled.total;
    if (compare(settled.allowance, most) <= 0) return;
    const said = reduction ? "what it reduces," : "the total of";
    throw new QuoteRefusal("part exchange", "old_metal", `at most ${said} ${plain(most)}`);
  }

  // What is to be said

  private saidOfLines(lines: LineSums[]): Notice[] {
    const counted = new Set<string>();
    return this.lines.flatMap((line, place) => {
      const first = !counted.has(pieceKey(line));
      counted.add(pieceKey(line));
      const off = minus(ONE, keptBy(line.discounts));
      return [
        ...(first ? this.saidOfQuantity(place, line) : []),
        ...this.cheaper(place, line, lines[place]?.unitNet ?? ZERO),
        ...(compare(off, given(this.quote.line_authority)) > 0
          ? [{ code: "needs approval", line: place, facts: [plain(halfUp(off, SHARE_PLACES))] }]
          : []),
      ];
    });
  }

  private saidOfQuantity(line: number, asked: Line): Notice[] {
    const counted = this.counted.get(pieceKey(asked)) ?? 0;
    const least = asked.least_order ?? 1;
    const pack = asked.pack_quantity ?? 1;
    return [
      ...(counted < least ? [{ code: "under least quantity", line, facts: [String(least)] }] : []),
      ...(counted % pack ? [{ code: "not a whole pack", line, facts: [String(pack)] }] : []),
    ];
  }

  /** The first larger break at which this line would cost less than it does, with its quantity then. */
  private cheaper(place: number, line: Line, unitNet: Amount): Notice[] {
    const now = times(unitNet, whole(line.quantity));
    for (const offer of line.prices) {
      const missing = offer.quantity - this.countFor(line, offer);
      if (missing <= 0) continue;
      const quantity = line.quantity + missing;
      const total = times(this.unitNet(line, offer.price), whole(quantity));
      if (compare(total, now) < 0) {
        const facts = [String(quantity), plain(total)];
        return [{ code: "more would cost less", line: place, facts }];
      }
    }
    return [];
  }

  private saidOfOrder(sums: Sums, discount: Amount): Notice[] {
    const notices: Notice[] = [];
    const small = this.quote.small_order;
    const goods = minus(sums.goods, discount);
    if (small && compare(goods, amount(small.least)) < 0) {
      const least = amount(small.least);
      const facts = [plain(least), plain(minus(least, goods))];
      notices.push({ code: "under least order", line: null, facts });
    }
    const authority = larger(given(this.quote.order_authority), this.shareByValue(sums.base));
    const share = this.quote.order_discount?.share;
    const past = share != null && compare(amount(share), authority) > 0;
    if (past || compare(discount, this.rounded(times(authority, sums.base))) > 0) {
      const facts = [plain(this.shareOf(discount, sums.base))];
      notices.push({ code: "needs approval", line: null, facts });
    }
    return notices;
  }
}

/** The search for the order discount that makes the total a named sum; see the twin for how. */
class NamedTotal {
  private readonly working: Working;
  private readonly sums: Sums;
  private readonly total: Amount;
  private readonly withTax: boolean;
  private readonly near: bigint;
  private readonly most: bigint;

  constructor(working: Working, sums: Sums, asked: OrderDiscount) {
    this.working = working;
    this.sums = sums;
    this.total = given(asked.total);
    this.withTax = asked.tax_included ?? working.quote.tax_inclusive;
    this.near = BigInt(2 * working.quote.taxes.length + 2);
    this.most = this.unitsBelow(sums.base);
  }

  /** The discount and the total it reaches. */
  found(): [Amount, Amount] {
    const without = this.reached(0n);
    if (without !== null && compare(without, this.total) < 0)
      throw this.refused(`at most ${plain(without)}, the total without it`);
    let best: [Amount, Amount] | null = null;
    for (const [first, last] of this.ranges())
      for (const units of this.candidates(first, last)) {
        const reached = this.reached(units);
        if (reached === null) continue;
        const order = compare(reached, this.total);
        if (order === 0) return [this.discount(units), reached];
        if (order < 0 && (best === null || compare(reached, best[1]) > 0))
          best = [this.discount(units), reached];
      }
    if (best === null) throw this.refused("a total that a discount on these lines can reach");
    return best;
  }

  private refused(allowed: string): QuoteRefusal {
    return new QuoteRefusal("named total", "order_discount.total", allowed);
  }

  private discount(units: bigint): Amount {
    return { digits: units, places: this.working.places };
  }

  private reached(units: bigint): Amount | null {
    try {
      const settled = this.working.settled(this.sums, this.discount(units));
      return this.withTax ? settled.total : settled.net;
    } catch (error) {
      if (error instanceof QuoteRefusal) return null;
      throw error;
    }
  }

  /** The most whole minor units that are not above a value. */
  private unitsBelow(value: Amount): bigint {
    const scaled = value.digits * 10n ** BigInt(this.working.places);
    const unit = 10n ** BigInt(value.places);
    const down = scaled / unit;
    return scaled < 0n && down * unit !== scaled ? down - 1n : down;
  }

  /** Ranges of the discount in minor units, rising, in each of which charges by value stay as they are. */
  private ranges(): [bigint, bigint][] {
    const lasts = new Set([this.most]);
    for (const edge of this.edges()) {
      const units = this.unitsBelow(minus(this.sums.goods, edge));
      if (units >= 0n && units < this.most) lasts.add(units);
    }
    let first = 0n;
    return [...lasts]
      .sort((a, b) => (a < b ? -1 : 1))
      .map((last) => {
        const range: [bigint, bigint] = [first, last];
        first = last + 1n;
        return range;
      });
  }

  private edges(): Amount[] {
    const { small_order: small, carriage } = this.working.quote;
    const bands = carriage?.by === "value" ? carriage.bands : [];
    return [
      ...(small ? [amount(small.least)] : []),
      ...(carriage?.paid_from != null ? [amount(carriage.paid_from)] : []),
      ...bands.flatMap(({ start, end }) => [given(start), ...(end == null ? [] : [amount(end)])]),
    ];
  }

  /** The discounts of a range about the least one whose total is not above the named sum. */
  private *candidates(first: bigint, last: bigint): Generator<bigint> {
    let low = first;
    let high = last + 1n;
    while (low < high) {
      const middle = (low + high) / 2n;
      const reached = this.reached(middle);
      if (reached === null || compare(reached, this.total) <= 0) high = middle;
      else low = middle + 1n;
    }
    const from = low - this.near < first ? first : low - this.near;
    for (let units = from; units <= last && units <= low + this.near; units += 1n) yield units;
  }
}

/** What letting a cash discount go costs the buyer a year, simple, as a fraction: d ÷ (1 − d) × 365 ÷ days between. */
function yearlyCost(terms: CashTerms): Amount {
  const share = amount(terms.share);
  const days = whole(terms.net_days - terms.cash_days);
  return ratioHalfUp(times(share, whole(YEAR_DAYS)), times(minus(ONE, share), days), SHARE_PLACES);
}

/** The figures of a quote as `readQuote` gives it. Throws a QuoteRefusal where a figure cannot be reached. */
export function workQuote(quote: Quote): WorkedQuote {
  return new Working(quote).work();
}

/** A day so many days after an ISO day. */
function daysAfter(day: string, days: number): string {
  const [year = 0, month = 1, date = 1] = day.split("-").map(Number);
  return new Date(Date.UTC(year, month - 1, date + days)).toISOString().slice(0, 10);
}

/** The last day a quote of `day` holds. */
export const goodUntil = (day: string, validDays: number): string => daysAfter(day, validDays);

/** Whether an order takes the list before the one of `changeOver`: ordered earlier, delivered within its grace. */
export function takesOldList(
  ordered: string,
  delivered: string,
  changeOver: string,
  graceDays: number,
): boolean {
  return ordered < changeOver && delivered <= daysAfter(changeOver, graceDays);
}
