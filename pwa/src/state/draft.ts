/** The quote being made at the counter: lines, channel and customer, worked again at every touch. */
import { computed, signal } from "@preact/signals";
import { fact, type KeptQuote, newId, nextProvisional, setFact } from "../local/store.ts";
import { type AskedLine, type Piece, quoteOf, type Request } from "../pricing/catalogue.ts";
import { QuoteRefusal, type WorkedQuote, workQuote } from "../pricing/quote.ts";
import { keep, list, send, who } from "./state.ts";

export const lines = signal<AskedLine[]>([]);
export const channel = signal("");
export const customer = signal("");
export const dealer = signal("");
export const note = signal("");
/** What stands in a quantity field and is no quantity, by line: the quote waits until it is put right. */
export const unread = signal<ReadonlyMap<number, string>>(new Map());
export const removed = signal<{ line: AskedLine; at: number } | null>(null);

/** The channel chosen, or the first retail one of the list. */
export const chosenChannel = computed(() => {
  const channels = list.value?.sent.channels ?? [];
  const named = channels.find((one) => one.name === channel.value);
  return named ?? channels.find((one) => one.kind === "retail") ?? channels[0] ?? null;
});

const today = (): string => new Date().toLocaleDateString("sv-SE");

export const request = computed<Request | null>(() => {
  const on = list.value;
  const sold = chosenChannel.value;
  if (!on || !sold || !lines.value.length) return null;
  return {
    list_number: on.sent.number,
    channel: sold.name,
    date: today(),
    ...(dealer.value && sold.kind !== "retail" ? { dealer: dealer.value } : {}),
    ...(customer.value.trim() ? { customer: customer.value.trim() } : {}),
    lines: lines.value,
    ...(note.value.trim() ? { note: note.value.trim() } : {}),
  };
});

export const worked = computed<{ quote: WorkedQuote } | { why: string } | null>(() => {
  const asked = request.value;
  const on = list.value;
  if (!asked || !on) return null;
  try {
    return { quote: workQuote(quoteOf(on, asked)) };
  } catch (error) {
    if (error instanceof QuoteRefusal) return { why: `${error.field}: ${error.allowed}` };
    throw error;
  }
});

/** Adds a piece in the first finish that has a price, or one more of it if it is there already. */
export function add(piece: Piece): void {
  const sold = chosenChannel.value?.name ?? "";
  const made = piece.finishes.find((one) => one.offers[sold] != null) ?? piece.finishes[0];
  if (!made) return;
  const at = lines.value.findIndex(
    (line) => line.piece === piece.number && line.finish === made.finish,
  );
  if (at >= 0) count(at, 1);
  else lines.value = [...lines.value, { piece: piece.number, finish: made.finish, quantity: 1 }];
  void remember();
}

/** Quotes a dealer: at the prices of its class and those agreed with it, in its name. */
export function quoteDealer(
  found: { number: string; name: string; channel: string } | undefined,
): void {
  dealer.value = found?.number ?? "";
  customer.value = found?.name ?? "";
  if (found) channel.value = found.channel;
  void remember();
}

export const MOST_OF_ONE = 9999;

/** Takes what was typed as a quantity; what is none stays in its field, is said, and keeps the quote from being saved. */
export function typeQuantity(at: number, text: string): void {
  const written = text.trim();
  const quantity = /^[0-9]{1,5}$/.test(written) ? Number(written) : 0;
  const kept = new Map(unread.value);
  if (quantity >= 1 && quantity <= MOST_OF_ONE) {
    kept.delete(at);
    change(at, { quantity });
  } else kept.set(at, text);
  unread.value = kept;
}

/** Counts a line up or down by one, within bounds; what was typed and refused gives way to the count. */
export function count(at: number, by: 1 | -1): void {
  const quantity = (lines.value[at]?.quantity ?? 1) + by;
  if (quantity >= 1 && quantity <= MOST_OF_ONE) typeQuantity(at, String(quantity));
}

export function change(at: number, fields: Partial<AskedLine>): void {
  lines.value = lines.value.map((line, i) => (i === at ? { ...line, ...fields } : line));
  void remember();
}

let forget: ReturnType<typeof setTimeout> | undefined;

/** Takes a line away; for ten seconds it can be put back. */
export function remove(at: number): void {
  const line = lines.value[at];
  if (!line) return;
  removed.value = { line, at };
  unread.value = new Map();
  lines.value = lines.value.filter((_, i) => i !== at);
  clearTimeout(forget);
  forget = setTimeout(() => {
    removed.value = null;
  }, 10_000);
  void remember();
}

export function putBack(): void {
  const back = removed.value;
  if (!back) return;
  lines.value = [...lines.value.slice(0, back.at), back.line, ...lines.value.slice(back.at)];
  removed.value = null;
  unread.value = new Map();
  void remember();
}

/** Keeps the quote as it stands, so that a closed browser loses nothing. */
export async function remember(): Promise<void> {
  await setFact("draft", {
    lines: lines.value,
    channel: channel.value,
    customer: customer.value,
    dealer: dealer.value,
    note: note.value,
  });
}

export async function recall(): Promise<void> {
  const kept = await fact<{
    lines: AskedLine[];
    channel: string;
    customer: string;
    dealer?: string;
    note: string;
  }>("draft");
  if (!kept) return;
  lines.value = kept.lines;
  channel.value = kept.channel;
  customer.value = kept.customer;
  dealer.value = kept.dealer ?? "";
  note.value = kept.note;
}

/** Saves the quote on this device, to be sent when the server is there; its id is made here. */
export async function save(): Promise<KeptQuote | null> {
  const asked = request.value;
  const done = worked.value;
  const author = who.value;
  if (!asked || !done || !("quote" in done) || !author || unread.value.size) return null;
  const { device, provisional } = await nextProvisional();
  const now = Date.now();
  const kept: KeptQuote = {
    quote: newId(now),
    revision: newId(now),
    base: null,
    device,
    provisional,
    number: null,
    author: author.name,
    request: asked,
    worked: done.quote,
    standing: "waiting",
    why: null,
    saved: new Date(now).toISOString(),
  };
  await keep(kept);
  lines.value = [];
  customer.value = "";
  dealer.value = "";
  note.value = "";
  await remember();
  void send();
  return kept;
}
