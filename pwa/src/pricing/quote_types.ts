/** A quote as it is asked for and as it is worked, the twin of pricing/quote_types.py: the same fields, read as strictly. */

import { amount, compare, isAmount, plain, whole, ZERO } from "./amounts.ts";

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
  step?: string | null;
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
  tax_included?: boolean | null;
}

export interface ValueShare {
  start: string;
  share: string;
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
  paid_from?: string | null;
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

export interface CashTerms {
  share: string;
  cash_days: number;
  net_days: number;
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
  order_discounts?: ValueShare[];
  rush_share?: string | null;
  carriage?: Carriage | null;
  small_order?: SmallOrder | null;
  old_metal?: OldMetal | null;
  deposit_share?: string | null;
  cash_terms?: CashTerms | null;
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

export interface TaxTotal {
  name: string;
  rate: string;
  base: string;
  tax: string;
}

/** tax_included is the basis of lines and charges; net is always without tax, total and all after it always with. */
export interface WorkedQuote {
  lines: WorkedLine[];
  services: string[];
  goods: string;
  discountable: string;
  order_discount: string;
  surcharge: string;
  rush: string;
  carriage: string;
  small_order_charge: string;
  net: string;
  tax: string;
  total: string;
  part_exchange: string;
  payable: string;
  deposit: string;
  balance: string;
  cash_price: string;
  order_discount_share: string;
  cash_yearly_cost: string;
  taxes: TaxTotal[];
  packed_g: string;
  tax_included: boolean;
  notices: Notice[];
}

/** One thing wrong with a quote: where it stands and what is allowed there. */
export interface Fault {
  field: string;
  allowed: string;
}

/** A quote refused as a whole, with all its faults together. */
export class QuoteFaults extends Error {
  readonly faults: readonly Fault[];

  constructor(faults: readonly Fault[]) {
    super(faults.map((fault) => `${fault.field}: allowed is ${fault.allowed}`).join("\n"));
    this.faults = faults;
  }
}

// Strict reading: each kind of field says what it allows, and gives the faults of a value.

type Read = (value: unknown, field: string) => Fault[];

interface Spec {
  read: Read;
  needed: boolean;
}

const NAME_LENGTH = 80;
const TEXT_LENGTH = 2000;
const MOST_WHOLE = 100_000_000;
const UNPRINTED = /[\p{C}\p{Z}]/u;

const refused = (field: string, allowed: string): Fault[] => [{ field, allowed }];

const printed = (value: string): boolean =>
  [...value].every((character) => " \n".includes(character) || !UNPRINTED.test(character));

function text(longest: number, blank: boolean): Read {
  const kind = blank ? "a text" : "a text that is not blank";
  return (value, field) =>
    typeof value === "string" &&
    [...value].length <= longest &&
    (blank || value.trim() !== "") &&
    printed(value)
      ? []
      : refused(field, `${kind}, at most ${longest} characters`);
}

function decimal(said = "", holds: (value: string) => boolean = () => true): Read {
  const allowed = said ? `a decimal string, ${said}` : "a decimal string";
  return (value, field) => {
    if (!isAmount(value))
      return refused(field, 'a decimal string such as "12.50", at most 30 characters');
    return holds(value) ? [] : refused(field, allowed);
  };
}

const against = (value: string, bound: number): number => compare(amount(value), whole(bound));

function wholeNumber(least: number): Read {
  return (value, field) =>
    typeof value === "number" && Number.isInteger(value) && value >= least && value <= MOST_WHOLE
      ? []
      : refused(field, `a whole number from ${least} to ${MOST_WHOLE}`);
}

function oneOf(...words: string[]): Read {
  const allowed = `one of ${words.map((word) => `"${word}"`).join(", ")}`;
  return (value, field) => (words.includes(value as string) ? [] : refused(field, allowed));
}

const truth: Read = (value, field) =>
  typeof value === "boolean" ? [] : refused(field, "true or false");

function list(read: Read): Read {
  return (value, field) =>
    Array.isArray(value)
      ? value.flatMap((item, place) => read(item, `${field}[${place}]`))
      : refused(field, "a list");
}

function record(specs: Record<string, Spec>): Read {
  return (value, field) => {
    if (typeof value !== "object" || value === null || Array.isArray(value))
      return refused(field, "an object");
    const inside = (name: string): string => (field ? `${field}.${name}` : name);
    const data = value as Record<string, unknown>;
    const unknown = Object.keys(data).filter((name) => !Object.hasOwn(specs, name));
    const faults = unknown.flatMap((name) => refused(inside(name), "no field of this name"));
    for (const [name, spec] of Object.entries(specs))
      if (Object.hasOwn(data, name)) faults.push(...spec.read(data[name], inside(name)));
      else if (spec.needed)
        faults.push(...refused(inside(name), "a value: the field must be given"));
    return faults;
  };
}

const needed = (read: Read): Spec => ({ read, needed: true });
const given = (read: Read): Spec => ({ read, needed: false });
const orNull = (read: Read): Spec =>
  given((value, field) => (value === null ? [] : read(value, field)));

const name = text(NAME_LENGTH, false);
const notNegative = decimal("0 or more", (value) => against(value, 0) >= 0);
const positive = decimal("above 0", (value) => against(value, 0) > 0);
const share = decimal(
  "0 or more and below 1",
  (value) => against(value, 0) >= 0 && against(value, 1) < 0,
);
const fraction = decimal(
  "0 or more and 1 or less",
  (value) => against(value, 0) >= 0 && against(value, 1) <= 0,
);

const LINE = record({
  piece: needed(name),
  finish: needed(name),
  family: given(text(TEXT_LENGTH, true)),
  unit: given(oneOf("each", "pair", "set", "dozen")),
  quantity: needed(wholeNumber(1)),
  prices: needed(
    list(
      record({
        quantity: needed(wholeNumber(1)),
        price: needed(notNegative),
        over_family: given(truth),
      }),
    ),
  ),
  tax: needed(name),
  discounts: given(list(share)),
  second: orNull(share),
  extras: given(
    list(
      record({
        name: needed(name),
        amount: needed(notNegative),
        count: given(wholeNumber(1)),
        per: given(oneOf("unit", "line")),
        takes_discount: given(truth),
      }),
    ),
  ),
  surcharge: orNull(
    record({
      per: given(oneOf("unit", "kg")),
      amount: needed(decimal()),
      finished_g: given(notNegative),
      step: orNull(positive),
    }),
  ),
  packed_g: given(notNegative),
  least_order: given(wholeNumber(1)),
  pack_quantity: given(wholeNumber(1)),
});

const QUOTE = record({
  channel: needed(name),
  kind: needed(oneOf("retail", "dealer", "export")),
  currency: needed(name),
  minor_unit: needed(wholeNumber(0)),
  tax_inclusive: needed(truth),
  taxes: needed(list(record({ name: needed(name), rate: needed(notNegative) }))),
  tax_by_line: given(truth),
  line_authority: given(fraction),
  order_authority: given(fraction),
  part_exchange: given(oneOf("payment", "reduction")),
  lines: given(list(LINE)),
  services: given(
    list(
      record({
        name: needed(name),
        amount: needed(notNegative),
        count: given(wholeNumber(1)),
        tax: needed(name),
        takes_discount: given(truth),
      }),
    ),
  ),
  order_discount: orNull(
    record({ share: orNull(fraction), total: orNull(notNegative), tax_included: orNull(truth) }),
  ),
  order_discounts: given(list(record({ start: needed(notNegative), share: needed(share) }))),
  rush_share: orNull(fraction),
  carriage: orNull(
    record({
      by: needed(oneOf("value", "weight")),
      bands: needed(
        list(
          record({
            start: given(notNegative),
            end: orNull(positive),
            amount: needed(notNegative),
          }),
        ),
      ),
      tax: needed(name),
      paid_from: orNull(notNegative),
    }),
  ),
  small_order: orNull(
    record({ least: needed(notNegative), charge: orNull(notNegative), tax: needed(name) }),
  ),
  old_metal: orNull(record({ mass_g: needed(positive), per_kg: needed(notNegative) })),
  deposit_share: orNull(fraction),
  cash_terms: orNull(
    record({
      share: needed(share),
      cash_days: needed(wholeNumber(0)),
      net_days: needed(wholeNumber(1)),
    }),
  ),
});

const MOST_LINES = 500;
const MOST_DISCOUNTS = 5;
const MOST_MINOR_UNIT = 4;
const WHOLE_DIGITS = 12;
const PLACES = 6;

/** Amounts with more digits than the arithmetic carries without losing one. */
function digitFaults(value: unknown, field: string): Fault[] {
  if (Array.isArray(value))
    return value.flatMap((item, place) => digitFaults(item, `${field}[${place}]`));
  if (typeof value === "object" && value !== null)
    return Object.entries(value).flatMap(([key, part]) =>
      digitFaults(part, field ? `${field}.${key}` : key),
    );
  if (!isAmount(value) || WORDS.test(field)) return [];
  const [before = "", after = ""] = value.replace("-", "").split(".");
  return before.length > WHOLE_DIGITS || after.length > PLACES
    ? refused(field, `at most ${WHOLE_DIGITS} digits before the point and ${PLACES} after it`)
    : [];
}

/** Fields that hold words, even where the words are digits. */
const WORDS = /(?:^|\.)(?:name|channel|currency|piece|finish|family|tax)$/;

function taxFaults(quote: Quote): Fault[] {
  const rates = quote.taxes.map((tax) => tax.name);
  const faults =
    rates.length === 0 || new Set(rates).size !== rates.length
      ? refused("taxes", "each rate once")
      : [];
  const named = [
    ...(quote.lines ?? []).map((line, place) => [`lines[${place}].tax`, line.tax]),
    ...(quote.services ?? []).map((service, place) => [`services[${place}].tax`, service.tax]),
    ...(quote.carriage ? [["carriage.tax", quote.carriage.tax]] : []),
    ...(quote.small_order ? [["small_order.tax", quote.small_order.tax]] : []),
  ] as [string, string][];
  const unknown = named.flatMap(([field, tax]) =>
    rates.includes(tax) ? [] : refused(field, `one of ${rates.join(", ")}`),
  );
  return [...faults, ...unknown];
}

const rising = (values: number[]): boolean =>
  values.every((value, place) => place === 0 || value > (values[place - 1] ?? 0));

function lineFaults(quote: Quote, line: Line, field: string): Fault[] {
  const faults: Fault[] = [];
  const quantities = line.prices.map((offer) => offer.quantity);
  if (quantities[0] !== 1 || !rising(quantities))
    faults.push(...refused(`${field}.prices`, "prices from 1 on, quantities that rise"));
  if ((line.discounts ?? []).length > MOST_DISCOUNTS)
    faults.push(...refused(`${field}.discounts`, `${MOST_DISCOUNTS} at most`));
  if (line.second != null && quote.kind !== "retail")
    faults.push(...refused(`${field}.second`, "seconds on the counter only"));
  return faults;
}

function discountFaults(quote: Quote): Fault[] {
  const faults: Fault[] = [];
  const asked = quote.order_discount;
  if (asked) {
    if ((asked.share == null) === (asked.total == null))
      faults.push(...refused("order_discount", "a share or a named total"));
    if (asked.total != null && placesOf(asked.total) > quote.minor_unit) {
      const allowed = `a sum of ${quote.currency} with ${quote.minor_unit} places at most`;
      faults.push(...refused("order_discount.total", allowed));
    }
    if (asked.tax_included != null && asked.total == null)
      faults.push(...refused("order_discount.tax_included", "only with a named total"));
  }
  const starts = (quote.order_discounts ?? []).map((offer) => amount(offer.start));
  if (starts.some((start, place) => place > 0 && compare(starts[place - 1] ?? ZERO, start) >= 0))
    faults.push(...refused("order_discounts", "each start above the one before"));
  return faults;
}

const placesOf = (value: string): number => plain(amount(value)).split(".")[1]?.length ?? 0;

function bandFaults(quote: Quote): Fault[] {
  const faults: Fault[] = [];
  let before: string | null = "0";
  for (const [place, band] of (quote.carriage?.bands ?? []).entries()) {
    const start = amount(band.start ?? "0");
    const end = band.end ?? null;
    const overlaps = before === null || compare(start, amount(before)) < 0;
    if (overlaps || (end !== null && compare(amount(end), start) <= 0))
      faults.push(...refused(`carriage.bands[${place}]`, "bands that rise and do not overlap"));
    before = end;
  }
  return faults;
}

/** What no single field can tell. */
function faultsOf(quote: Quote): Fault[] {
  const lines = quote.lines ?? [];
  const services = quote.services ?? [];
  const cash = quote.cash_terms;
  return [
    ...digitFaults(quote, ""),
    ...taxFaults(quote),
    ...(quote.minor_unit > MOST_MINOR_UNIT ? refused("minor_unit", `0 to ${MOST_MINOR_UNIT}`) : []),
    ...(lines.length + services.length === 0
      ? refused("lines", "a line or a service at least")
      : []),
    ...(lines.length > MOST_LINES ? refused("lines", `${MOST_LINES} at most`) : []),
    ...(services.length > MOST_LINES ? refused("services", `${MOST_LINES} at most`) : []),
    ...lines.flatMap((line, place) => lineFaults(quote, line, `lines[${place}]`)),
    ...discountFaults(quote),
    ...bandFaults(quote),
    ...(cash && cash.net_days <= cash.cash_days
      ? refused("cash_terms.net_days", `more than the ${cash.cash_days} days for cash`)
      : []),
  ];
}

/** The quote that parsed JSON says. Throws QuoteFaults with every fault together. */
export function readQuote(data: unknown): Quote {
  const faults = QUOTE(data, "");
  if (faults.length > 0) throw new QuoteFaults(faults);
  const all = faultsOf(data as Quote);
  if (all.length > 0) throw new QuoteFaults(all);
  return data as Quote;
}
