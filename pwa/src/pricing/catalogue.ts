/** A published list as a device holds it, and the quote that its prices and terms make of what was asked for. */

import { amount, ONE, plain, plus, times } from "./amounts.ts";
import { type Line, type Quote, QuoteRefusal, type Service } from "./quote.ts";

/** A price alone, or the single price and then [from, price, whether families count together]. */
export type Offers = string | null | [string, ...[number, string, number][]];

export interface Extra {
  name: string;
  channel: string;
  basis: "unit" | "letter" | "line" | "minute" | "fixed";
  amount: string;
  service?: boolean;
  takes_discount?: boolean;
}

export interface Terms {
  least_first_order?: string;
  least_further_order?: string;
  small_order_charge?: string;
  order_discounts?: { start: string; share: string }[];
  carriage_by?: "value" | "weight";
  carriage?: { start?: string; end?: string; amount: string }[];
  carriage_paid_from?: string;
  carriage_tax?: string;
  payment_days?: number;
  cash_share?: string;
  cash_days?: number;
  valid_days?: number;
  line_authority?: string;
  order_authority?: string;
  seconds_share?: string;
  tax_by_line?: boolean;
  part_exchange?: "payment" | "reduction";
  part_exchange_per_kg?: string;
}

export interface Channel {
  name: string;
  kind: "retail" | "dealer" | "export";
  currency: string;
  minor_unit: number;
  tax_inclusive: boolean;
  tax: string;
  terms?: Terms;
}

export interface Columns {
  families: string[][];
  finish_names: string[];
  standings: string[];
  units: Line["unit"][];
  number: string[];
  name: string[];
  family: number[];
  unit: number[];
  lead_days: (number | null)[];
  pack: Record<string, number>;
  least: Record<string, number>;
  old: Record<string, string[]>;
  groups: Record<string, number[]>;
  made: number[][];
  standing: number[][];
  packed_g: (number | number[])[];
  tooling: Record<string, [string, string][]>;
}

export interface SentList {
  number: string;
  workshop: string;
  effective: string;
  until: string;
  digest: string;
  taxes: { name: string; rate: string }[];
  channels: Channel[];
  extras: Extra[];
  agreed: {
    dealer: string;
    channel: string;
    piece: string;
    finish: string;
    amount: string;
    since: string;
    until: string;
  }[];
  pieces: Columns;
  prices: Record<string, Offers[]>;
}

export interface Made {
  finish: string;
  standing: string;
  packedG: number;
  /** Offers by channel. */
  offers: Record<string, Offers>;
}

export interface Piece {
  number: string;
  name: string;
  family: string;
  unit: NonNullable<Line["unit"]>;
  leadDays: number | null;
  pack: number;
  least: number;
  old: string[];
  finishes: Made[];
  tooling: [string, string][];
}

export interface PriceList {
  sent: SentList;
  pieces: Piece[];
  byNumber: Map<string, Piece>;
}

/** The list with its columns turned into pieces. */
export function openList(sent: SentList): PriceList {
  const { pieces: columns, prices } = sent;
  let place = 0;
  const pieces = columns.number.map((number, i): Piece => {
    const finishes = (columns.made[i] ?? []).map((finish, j): Made => {
      const packed = columns.packed_g[i] ?? 0;
      const offers: Record<string, Offers> = {};
      for (const channel of sent.channels)
        offers[channel.name] = prices[channel.name]?.[place] ?? null;
      place += 1;
      return {
        finish: columns.finish_names[finish] ?? "",
        standing: columns.standings[columns.standing[i]?.[j] ?? 0] ?? "",
        packedG: typeof packed === "number" ? packed : (packed[j] ?? 0),
        offers,
      };
    });
    return {
      number,
      name: columns.name[i] ?? "",
      family: columns.families[columns.family[i] ?? 0]?.[0] ?? "",
      unit: columns.units[columns.unit[i] ?? 0] ?? "each",
      leadDays: columns.lead_days[i] ?? null,
      pack: columns.pack[i] ?? 1,
      least: columns.least[i] ?? 1,
      old: columns.old[i] ?? [],
      finishes,
      tooling: columns.tooling[number] ?? [],
    };
  });
  return { sent, pieces, byNumber: new Map(pieces.map((piece) => [piece.number, piece])) };
}

/** The single printed price of a piece in a finish and channel, null where it has none. */
export function singlePrice(made: Made, channel: string): string | null {
  const offers = made.offers[channel] ?? null;
  return Array.isArray(offers) ? offers[0] : offers;
}

export interface AskedExtra {
  name: string;
  count?: number;
  per?: "unit" | "line";
}

export interface AskedLine {
  piece: string;
  finish: string;
  quantity: number;
  discounts?: string[];
  second?: boolean;
  extras?: AskedExtra[];
  note?: string;
}

/** What a customer or dealer asked for, as it travels to the server. */
export interface Request {
  list_number: string;
  channel: string;
  date: string;
  dealer?: string;
  customer?: string;
  contact?: string;
  lines: AskedLine[];
  services?: { name: string; count?: number }[];
  order_discount?: { share?: string; total?: string } | null;
  carriage?: boolean;
  first_order?: boolean;
  old_metal_g?: string;
  deposit_share?: string;
  note?: string;
  own_note?: string;
}

const refuse = (code: string, field: string, allowed: string): QuoteRefusal =>
  new QuoteRefusal(code, field, allowed);

export function channelOf(list: PriceList, name: string): Channel {
  const channel = list.sent.channels.find((one) => one.name === name);
  if (!channel) throw refuse("channel", "channel", "a price class of the list");
  return channel;
}

function pricesOf(offers: Offers): Line["prices"] | null {
  if (offers === null) return null;
  if (typeof offers === "string") return [{ quantity: 1, price: offers }];
  const [single, ...breaks] = offers;
  return [
    { quantity: 1, price: single },
    ...breaks.map(([quantity, price, family]) => ({
      quantity,
      price,
      over_family: family === 1,
    })),
  ];
}

function agreedPrice(list: PriceList, asked: Request, line: AskedLine): string | null {
  const held = list.sent.agreed
    .filter(
      (item) =>
        item.dealer === asked.dealer &&
        item.channel === asked.channel &&
        item.piece === line.piece &&
        item.finish === line.finish &&
        item.since <= asked.date &&
        asked.date <= item.until,
    )
    .sort((a, b) => (a.since < b.since ? -1 : 1));
  return held.at(-1)?.amount ?? null;
}

function listedExtra(list: PriceList, channel: string, name: string, service: boolean): Extra {
  const found = list.sent.extras.find(
    (extra) =>
      extra.channel === channel && extra.name === name && (extra.service ?? false) === service,
  );
  if (!found) throw refuse(service ? "service" : "extra", "extras", `one of "${channel}"`);
  return found;
}

function found(list: PriceList, line: AskedLine): { piece: Piece; made: Made } {
  const piece = list.byNumber.get(line.piece);
  if (!piece) throw refuse("piece", "lines.piece", `a piece of list ${list.sent.number}`);
  const made = piece.finishes.find((one) => one.finish === line.finish);
  if (!made) throw refuse("finish", "lines.finish", `a finish that ${piece.number} is made in`);
  return { piece, made };
}

function lineOf(list: PriceList, channel: Channel, asked: Request, line: AskedLine): Line {
  const { piece, made } = found(list, line);
  const agreed = agreedPrice(list, asked, line);
  const prices = agreed
    ? [{ quantity: 1, price: agreed }]
    : pricesOf(made.offers[channel.name] ?? null);
  if (!prices) throw refuse("price", "lines.piece", `a piece with a price in "${channel.name}"`);
  const second = line.second ? channel.terms?.seconds_share : undefined;
  if (line.second && (channel.kind !== "retail" || second === undefined))
    throw refuse("second", "lines.second", "seconds on the counter, where its terms say so");
  return {
    piece: line.piece,
    finish: line.finish,
    family: piece.family,
    unit: piece.unit,
    quantity: line.quantity,
    prices,
    tax: channel.tax,
    discounts: line.discounts ?? [],
    second: second ?? null,
    extras: (line.extras ?? []).map((asked) => {
      const extra = listedExtra(list, channel.name, asked.name, false);
      return {
        name: extra.name,
        amount: extra.amount,
        count: asked.count ?? 1,
        per: asked.per ?? "unit",
        takes_discount: extra.takes_discount ?? false,
      };
    }),
    packed_g: String(made.packedG),
    least_order: piece.least,
    pack_quantity: channel.kind === "retail" ? 1 : piece.pack,
  };
}

function servicesOf(list: PriceList, channel: Channel, asked: Request): Service[] {
  const services = (asked.services ?? []).map(({ name, count }): Service => {
    const extra = listedExtra(list, channel.name, name, true);
    return {
      name,
      amount: extra.amount,
      count: count ?? 1,
      tax: channel.tax,
      takes_discount: extra.takes_discount ?? false,
    };
  });
  return asked.first_order ? [...services, ...toolingOf(list, channel, asked)] : services;
}

/** Tooling of the pieces asked for, on its own line of the first order, once for each piece and finish. */
function toolingOf(list: PriceList, channel: Channel, asked: Request): Service[] {
  const rate = list.sent.taxes.find((tax) => tax.name === channel.tax)?.rate ?? "0";
  const seen = new Set(asked.lines.map((line) => line.piece));
  return [...seen].flatMap((number) =>
    (list.byNumber.get(number)?.tooling ?? []).map(([name, without]): Service => {
      const worth = amount(without);
      const gross = channel.tax_inclusive ? times(worth, plus(ONE, amount(rate))) : worth;
      return { name: `${name}, ${number}`, amount: plain(gross), tax: channel.tax };
    }),
  );
}

/** The arithmetic's input for what was asked for: the twin of `quote_of` in pricing/price_list.py. */
export function quoteOf(list: PriceList, asked: Request): Quote {
  const channel = channelOf(list, asked.channel);
  const terms = channel.terms ?? {};
  const carriageTax = terms.carriage_tax ?? channel.tax;
  const least = asked.first_order ? terms.least_first_order : terms.least_further_order;
  const cash =
    terms.cash_share && terms.cash_days !== undefined && terms.payment_days !== undefined;
  return {
    channel: channel.name,
    kind: channel.kind,
    currency: channel.currency,
    minor_unit: channel.minor_unit,
    tax_inclusive: channel.tax_inclusive,
    taxes: list.sent.taxes.filter((tax) => tax.name === channel.tax || tax.name === carriageTax),
    tax_by_line: terms.tax_by_line ?? false,
    line_authority: terms.line_authority ?? "0",
    order_authority: terms.order_authority ?? "0",
    part_exchange: terms.part_exchange ?? "payment",
    lines: asked.lines.map((line) => lineOf(list, channel, asked, line)),
    services: servicesOf(list, channel, asked),
    order_discount: asked.order_discount ?? null,
    order_discounts: terms.order_discounts ?? [],
    carriage:
      asked.carriage && terms.carriage?.length
        ? {
            by: terms.carriage_by ?? "value",
            bands: terms.carriage,
            tax: carriageTax,
            paid_from: terms.carriage_paid_from ?? null,
          }
        : null,
    small_order:
      least === undefined
        ? null
        : { least, charge: terms.small_order_charge ?? null, tax: channel.tax },
    old_metal:
      asked.old_metal_g && terms.part_exchange_per_kg
        ? { mass_g: asked.old_metal_g, per_kg: terms.part_exchange_per_kg }
        : null,
    deposit_share: asked.deposit_share ?? null,
    cash_terms:
      cash && terms.cash_share !== undefined
        ? {
            share: terms.cash_share,
            cash_days: terms.cash_days ?? 0,
            net_days: terms.payment_days ?? 0,
          }
        : null,
  };
}

const folded = (text: string): string =>
  text
    .normalize("NFD")
    .replace(/\p{M}/gu, "")
    .toLowerCase()
    .replace(/[\s./-]+/g, "");

/** What a piece is found by: number, old numbers and name, without case, spaces, points, slashes and hyphens. */
export function searchKeys(list: PriceList): string[] {
  return list.pieces.map((piece) =>
    folded([piece.number, ...piece.old, piece.name, piece.family].join("|")),
  );
}

/** The pieces that every word of the search is found in; those whose number or name begins with it first. */
export function search(list: PriceList, keys: string[], text: string): Piece[] {
  const words = text.split(/\s+/).map(folded).filter(Boolean);
  if (!words.length) return [];
  const hits = list.pieces.filter((_, i) => words.every((word) => keys[i]?.includes(word)));
  const first = words[0] ?? "";
  const rank = (piece: Piece): number =>
    folded(piece.number).startsWith(first) ? 0 : folded(piece.name).includes(first) ? 1 : 2;
  return hits
    .map((piece, i) => ({ piece, i }))
    .sort((a, b) => rank(a.piece) - rank(b.piece) || a.i - b.i)
    .map(({ piece }) => piece);
}
