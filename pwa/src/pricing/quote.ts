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
  whole,
  ZERO,
} from "./amounts.ts";

export interface Tax {
  name: string;
  rate: string;
}

export interface PriceFrom {
  quantity: number;
  price: string;
  over_family?: boolean;
}

export interface Extra {
  name: string;
  amount: string;
  count?: number;
  per?: "unit" | "line";
  takes_discount?: boolean;
}

export interface Surcharge {
  per?: "unit" | "kg";
  amount: string;
  finished_g?: string;
}

export interface Line {
  piece: string;
  finish: string;
  family?: string;
  unit?: "each" | "pair" | "set" | "dozen";
  quantity: number;
  prices: PriceFrom[];
  tax: string;
  discounts?: string[];
  second?: string | null;
  extras?: Extra[];
  surcharge?: Surcharge | null;
  packed_g?: string;
  least_order?: number;
  pack_quantity?: number;
}

export interface Service {
  name: string;
  amount: string;
  count?: number;
  tax: string;
  takes_discount?: boolean;
}

export interface OrderDiscount {
  share?: string | null;
  total?: string | null;
}

export interface Band {
  start?: string;
  end?: string | null;
  amount: string;
}

export interface Carriage {
  by: "value" | "weight";
  bands: Band[];
  tax: string;
}

export interface SmallOrder {
  least: string;
  charge?: string | null;
  tax: string;
}

export interface OldMetal {
  mass_g: string;
  per_kg: string;
}

export interface Quote {
  channel: string;
  kind: "retail" | "dealer" | "export";
  currency: string;
  minor_unit: number;
  tax_inclusive: boolean;
  taxes: Tax[];
  tax_by_line?: boolean;
  line_authority?: string;
  order_authority?: string;
  part_exchange?: "payment" | "reduction";
  lines?: Line[];
  services?: Service[];
  order_discount?: OrderDiscount | null;
  carriage?: Carriage | null;
  small_order?: SmallOrder | null;
  old_metal?: OldMetal | null;
  deposit_share?: string | null;
}

export interface WorkedLine {
  price_from: number;
  unit_price: string;
  unit_net: string;
  extras_per_unit: string;
  extras_per_line: string;
  line_net: string;
  surcharge: string;
}

export interface Notice {
  code: string;
  line: number | null;
  facts: string[];
}

export interface WorkedQuote {
  lines: WorkedLine[];
  services: string[];
  goods: string;
  order_discount: string;
  surcharge: string;
  carriage: string;
  small_order_charge: string;
  net: string;
  tax: string;
  total: string;
  part_exchange: string;
  payable: string;
  deposit: string;
  balance: string;
  order_discount_share: string;
  taxes: { name: string; rate: string; base: string; tax: string }[];
  packed_g: string;
  tax_included: boolean;
  notices: Notice[];
}

/** A figure asked for that cannot be reached: a code for programs, and the field it is about. */
export class QuoteRefusal extends Error {
  readonly code: string;
  readonly field: string;

  constructor(code: string, field: string, message: string) {
    super(message);
    this.code = code;
    this.field = field;
  }
}

const SHARE_PLACES = 4;
const GRAMS_IN_KG = whole(1000);

interface LineSums {
  offer: PriceFrom;
  unitNet: Amount;
  perUnit: Amount;
  perLine: Amount;
  net: Amount;
  surcharge: Amount;
}

const given = (text: string | null | undefined): Amount => (text == null ? ZERO : amount(text));

/** What a series of discounts leaves, as a fraction. */
function discounted(line: Line): Amount {
  return (line.discounts ?? []).reduce(
    (kept, discount) => times(kept, minus(ONE, amount(discount))),
    ONE,
  );
}

/** What discounts and the share off a second leave, as a fraction. */
const kept = (line: Line): Amount => times(discounted(line), minus(ONE, given(line.second)));

function countedByFamily(lines: Line[]): Map<string, number> {
  const counted = new Map<string, number>();
  for (const line of lines)
    counted.set(line.family ?? "", (counted.get(line.family ?? "") ?? 0) + line.quantity);
  return counted;
}

/** The price at the line's quantity break, counting the family where the break says so. */
function offerOf(line: Line, counted: Map<string, number>): PriceFrom {
  const family = line.family ?? "";
  const held = line.prices.filter(
    (price) =>
      (price.over_family && family ? (counted.get(family) ?? 0) : line.quantity) >= price.quantity,
  );
  const last = held.at(-1);
  if (last === undefined)
    throw new QuoteRefusal("prices", "lines.prices", "no price from quantity 1");
  return last;
}

class Working {
  private readonly quote: Quote;
  private readonly places: number;
  private readonly rates = new Map<string, Amount>();
  private readonly bases = new Map<string, Amount>();
  private readonly discountable = new Map<string, Amount>();
  private readonly byLine = new Map<string, Amount>();
  private readonly notices: Notice[] = [];

  constructor(quote: Quote) {
    this.quote = quote;
    this.places = quote.minor_unit;
    for (const tax of quote.taxes) {
      this.rates.set(tax.name, amount(tax.rate));
      for (const sums of [this.bases, this.discountable, this.byLine]) sums.set(tax.name, ZERO);
    }
  }

  work(): WorkedQuote {
    const lines = this.quote.lines ?? [];
    const counted = countedByFamily(lines);
    const sums = lines.map((line, place) => this.line(place, line, counted));
    const services = (this.quote.services ?? []).map((service) => this.service(service));
    const goods = plus(sum(sums.map((line) => line.net)), sum(services));
    const surcharge = sum(sums.map((line) => line.surcharge));
    const packed = sum(lines.map((line) => times(given(line.packed_g), whole(line.quantity))));
    const discount = this.orderDiscount(goods, surcharge, packed);
    const charge = this.smallOrder(minus(goods, discount));
    const carriage = this.carriage(minus(goods, discount), packed);
    this.give(discount);
    if (this.quote.carriage) this.add(this.quote.carriage.tax, carriage);
    if (this.quote.small_order && !isZero(charge)) this.add(this.quote.small_order.tax, charge);
    lines.forEach((line, place) => {
      const extra = sums[place]?.surcharge ?? ZERO;
      if (!isZero(extra)) this.add(line.tax, extra);
    });
    return this.totals(sums, services, goods, discount, surcharge, carriage, charge, packed);
  }

  private rounded(value: Amount): Amount {
    return halfUp(value, this.places);
  }

  private rate(tax: string): Amount {
    const rate = this.rates.get(tax);
    if (rate === undefined) throw new QuoteRefusal("tax", "taxes", `no rate named ${tax}`);
    return rate;
  }

  private increase(sums: Map<string, Amount>, tax: string, value: Amount): void {
    sums.set(tax, plus(sums.get(tax) ?? ZERO, value));
  }

  private add(tax: string, value: Amount): void {
    this.increase(this.bases, tax, value);
    this.increase(this.byLine, tax, this.taxOf(tax, value));
  }

  private taxOf(tax: string, value: Amount): Amount {
    const rate = this.rate(tax);
    return this.quote.tax_inclusive
      ? ratioHalfUp(times(value, rate), plus(ONE, rate), this.places)
      : this.rounded(times(value, rate));
  }

  private line(place: number, line: Line, counted: Map<string, number>): LineSums {
    const offer = offerOf(line, counted);
    const unitNet = this.unitNet(line, offer.price);
    const [perUnit, markedUnit] = this.extras(line, "unit");
    const [perLine, markedLine] = this.extras(line, "line");
    const quantity = whole(line.quantity);
    const net = plus(times(plus(unitNet, perUnit), quantity), perLine);
    this.add(line.tax, net);
    const marked = plus(times(plus(unitNet, markedUnit), quantity), markedLine);
    this.increase(this.discountable, line.tax, marked);
    this.said(place, line, offer, unitNet);
    return { offer, unitNet, perUnit, perLine, net, surcharge: this.surcharge(line) };
  }

  private unitNet(line: Line, price: string): Amount {
    return this.rounded(times(amount(price), kept(line)));
  }

  private extras(line: Line, per: "unit" | "line"): [Amount, Amount] {
    let total = ZERO;
    let marked = ZERO;
    for (const extra of line.extras ?? []) {
      if ((extra.per ?? "unit") !== per) continue;
      const full = times(amount(extra.amount), whole(extra.count ?? 1));
      const value = this.rounded(extra.takes_discount ? times(full, kept(line)) : full);
      total = plus(total, value);
      if (extra.takes_discount) marked = plus(marked, value);
    }
    return [total, marked];
  }

  private surcharge(line: Line): Amount {
    const surcharge = line.surcharge;
    if (!surcharge) return ZERO;
    const factor = this.quote.tax_inclusive ? plus(ONE, this.rate(line.tax)) : ONE;
    const quantity = whole(line.quantity);
    const value = times(amount(surcharge.amount), factor);
    if ((surcharge.per ?? "unit") === "unit") return times(this.rounded(value), quantity);
    const grams = times(given(surcharge.finished_g), quantity);
    return ratioHalfUp(times(value, grams), GRAMS_IN_KG, this.places);
  }

  private say(code: string, line: number | null, ...facts: string[]): void {
    this.notices.push({ code, line, facts });
  }

  private said(place: number, line: Line, offer: PriceFrom, unitNet: Amount): void {
    const least = line.least_order ?? 1;
    const pack = line.pack_quantity ?? 1;
    if (line.quantity < least) this.say("under least quantity", place, String(least));
    if (line.quantity % pack) this.say("not a whole pack", place, String(pack));
    const now = times(unitNet, whole(line.quantity));
    for (const larger of line.prices) {
      if (larger.quantity <= line.quantity || larger.quantity <= offer.quantity) continue;
      const total = times(this.unitNet(line, larger.price), whole(larger.quantity));
      if (compare(total, now) < 0) {
        this.say("more would cost less", place, String(larger.quantity), plain(total));
        break;
      }
    }
    const off = minus(ONE, discounted(line));
    if (compare(off, given(this.quote.line_authority)) > 0)
      this.say("needs approval", place, plain(halfUp(off, SHARE_PLACES)));
  }

  private service(service: Service): Amount {
    const value = this.rounded(times(amount(service.amount), whole(service.count ?? 1)));
    this.add(service.tax, value);
    if (service.takes_discount) this.increase(this.discountable, service.tax, value);
    return value;
  }

  private orderDiscount(goods: Amount, surcharge: Amount, packed: Amount): Amount {
    const wanted = this.quote.order_discount;
    if (!wanted) return ZERO;
    const base = sum(this.discountable.values());
    if (wanted.share != null) return this.rounded(times(amount(wanted.share), base));
    const named = this.rounded(given(wanted.total));
    for (const charge of this.charges())
      for (const carriage of this.carriages(packed)) {
        const all = plus(plus(goods, surcharge), plus(carriage, charge));
        const discount = minus(all, named);
        const within = compare(discount, ZERO) >= 0 && compare(discount, base) <= 0;
        if (within && this.agrees(minus(goods, discount), carriage, charge, packed))
          return discount;
      }
    throw new QuoteRefusal(
      "named total",
      "order_discount.total",
      "no discount on these lines reaches this total",
    );
  }

  private charges(): Amount[] {
    const charge = this.quote.small_order?.charge;
    return charge == null ? [ZERO] : [ZERO, this.rounded(amount(charge))];
  }

  private carriages(packed: Amount): Amount[] {
    const carriage = this.quote.carriage;
    if (!carriage) return [ZERO];
    if (carriage.by === "weight") return [this.carriage(ZERO, packed)];
    return carriage.bands.map((band) => this.rounded(amount(band.amount)));
  }

  private agrees(goods: Amount, carriage: Amount, charge: Amount, packed: Amount): boolean {
    const small = this.quote.small_order;
    const under = small != null && small.charge != null && compare(goods, amount(small.least)) < 0;
    const due = under ? this.rounded(given(small.charge)) : ZERO;
    const found = this.band(goods, packed);
    return compare(due, charge) === 0 && found !== null && compare(found, carriage) === 0;
  }

  private band(goods: Amount, packed: Amount): Amount | null {
    const carriage = this.quote.carriage;
    if (!carriage) return ZERO;
    const measure = carriage.by === "value" ? goods : packed;
    const band = carriage.bands.find(
      ({ start, end }) =>
        compare(given(start), measure) <= 0 && (end == null || compare(measure, amount(end)) < 0),
    );
    return band === undefined ? null : this.rounded(amount(band.amount));
  }

  private carriage(goods: Amount, packed: Amount): Amount {
    const found = this.band(goods, packed);
    if (found === null)
      throw new QuoteRefusal("carriage", "carriage.bands", "no band of carriage holds this order");
    return found;
  }

  private smallOrder(goods: Amount): Amount {
    const small = this.quote.small_order;
    if (!small) return ZERO;
    const least = amount(small.least);
    if (compare(goods, least) >= 0) return ZERO;
    this.say("under least order", null, plain(least), plain(minus(least, goods)));
    return small.charge == null ? ZERO : this.rounded(amount(small.charge));
  }

  private give(value: Amount): void {
    for (const [tax, part] of this.parts(value, this.discountable))
      this.add(tax, minus(ZERO, part));
  }

  /** A value shared in proportion, each part rounded; the largest (on a tie the higher rate) takes the rest. */
  private parts(value: Amount, weights: Map<string, Amount>): Map<string, Amount> {
    const held = [...this.rates.keys()].filter((tax) => !isZero(weights.get(tax) ?? ZERO));
    const parts = new Map<string, Amount>();
    const [first, ...rest] = held;
    if (isZero(value) || first === undefined) return parts;
    const weight = (tax: string): Amount => weights.get(tax) ?? ZERO;
    const larger = (a: string, b: string): boolean =>
      compare(weight(a), weight(b)) > 0 ||
      (compare(weight(a), weight(b)) === 0 && compare(this.rate(a), this.rate(b)) > 0);
    const largest = rest.reduce((best, tax) => (larger(tax, best) ? tax : best), first);
    const total = sum(held.map(weight));
    for (const tax of held)
      if (tax !== largest)
        parts.set(tax, ratioHalfUp(times(value, weight(tax)), total, this.places));
    parts.set(largest, minus(value, sum(parts.values())));
    return parts;
  }

  private partExchange(): Amount {
    const metal = this.quote.old_metal;
    if (!metal) return ZERO;
    const worth = times(amount(metal.mass_g), amount(metal.per_kg));
    const allowance = ratioHalfUp(worth, GRAMS_IN_KG, this.places);
    if (this.quote.part_exchange === "reduction") {
      if (compare(allowance, sum(this.bases.values())) > 0)
        throw new QuoteRefusal("part exchange", "old_metal", "more than what it reduces");
      for (const [tax, part] of this.parts(allowance, new Map(this.bases)))
        this.add(tax, minus(ZERO, part));
    }
    return allowance;
  }

  private taxes(): { name: string; rate: Amount; base: Amount; tax: Amount }[] {
    const used = new Set(
      [...(this.quote.lines ?? []), ...(this.quote.services ?? [])].map((entry) => entry.tax),
    );
    return [...this.rates]
      .filter(([name]) => !isZero(this.bases.get(name) ?? ZERO) || used.has(name))
      .map(([name, rate]) => {
        const base = this.bases.get(name) ?? ZERO;
        const tax = this.quote.tax_by_line
          ? (this.byLine.get(name) ?? ZERO)
          : this.taxOf(name, base);
        return { name, rate, base, tax };
      });
  }

  private totals(
    lines: LineSums[],
    services: Amount[],
    goods: Amount,
    discount: Amount,
    surcharge: Amount,
    carriage: Amount,
    charge: Amount,
    packed: Amount,
  ): WorkedQuote {
    const exchange = this.partExchange();
    const taxes = this.taxes();
    const base = sum(taxes.map((entry) => entry.base));
    const tax = sum(taxes.map((entry) => entry.tax));
    const total = this.quote.tax_inclusive ? base : plus(base, tax);
    const paid = this.quote.part_exchange === "reduction" ? ZERO : exchange;
    if (compare(paid, total) > 0)
      throw new QuoteRefusal("part exchange", "old_metal", "more than the total");
    const share = this.discountShare(discount);
    const payable = minus(total, paid);
    const deposit = this.rounded(times(payable, given(this.quote.deposit_share)));
    const money = (value: Amount): string => fixed(value, this.places);
    return {
      lines: lines.map((line) => ({
        price_from: line.offer.quantity,
        unit_price: plain(amount(line.offer.price)),
        unit_net: money(line.unitNet),
        extras_per_unit: money(line.perUnit),
        extras_per_line: money(line.perLine),
        line_net: money(line.net),
        surcharge: money(line.surcharge),
      })),
      services: services.map(money),
      goods: money(goods),
      order_discount: money(discount),
      surcharge: money(surcharge),
      carriage: money(carriage),
      small_order_charge: money(charge),
      net: money(minus(total, tax)),
      tax: money(tax),
      total: money(total),
      part_exchange: money(exchange),
      payable: money(payable),
      deposit: money(deposit),
      balance: money(minus(payable, deposit)),
      order_discount_share: plain(share),
      taxes: taxes.map((entry) => ({
        name: entry.name,
        rate: plain(entry.rate),
        base: money(entry.base),
        tax: money(entry.tax),
      })),
      packed_g: plain(packed),
      tax_included: this.quote.tax_inclusive,
      notices: this.notices,
    };
  }

  private discountShare(discount: Amount): Amount {
    const base = sum(this.discountable.values());
    const share = isZero(base) ? ZERO : ratioHalfUp(discount, base, SHARE_PLACES);
    if (compare(discount, times(given(this.quote.order_authority), base)) > 0)
      this.say("needs approval", null, plain(share));
    return share;
  }
}

/** The figures of a quote. Throws a QuoteRefusal where a figure asked for cannot be reached. */
export function workQuote(quote: Quote): WorkedQuote {
  return new Working(quote).work();
}
