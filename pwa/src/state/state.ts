/** What the page knows: who is signed in, the lists, the quotes, and whether the server is there. */

import { computed, signal } from "@preact/signals";
import {
  type Dealer,
  type Drawing,
  fact,
  forgetFact,
  type KeptCatalogue,
  type KeptQuote,
  keepDrawings,
  keepQuote,
  quotes as keptQuotes,
  setFact,
  type Who,
} from "../local/store.ts";
import { openList, type PriceList, searchKeys } from "../pricing/catalogue.ts";
import { outcomeOf, pause } from "../sync/outbox.ts";
import { ask, detailOf } from "../sync/server.ts";

export const who = signal<Who | null>(null);
export const loaded = signal(false);
export const reachable = signal(navigator.onLine);
export const mustSignIn = signal(false);
export const lists = signal<PriceList[]>([]);
export const quotes = signal<KeptQuote[]>([]);
export const drawings = signal<Record<string, Drawing>>({});
export const dealers = signal<Dealer[]>([]);
export const newVersion = signal<ServiceWorker | null>(null);

const day = (): string => new Date().toLocaleDateString("sv-SE");

/** The list in force today; before the first one takes effect, the first. */
export const list = computed<PriceList | null>(() => {
  const today = day();
  const begun = lists.value.filter((one) => one.sent.effective <= today);
  return begun.at(-1) ?? lists.value[0] ?? null;
});
export const keys = computed<string[]>(() => (list.value ? searchKeys(list.value) : []));
export const waiting = computed(
  () => quotes.value.filter((quote) => quote.standing === "waiting").length,
);
export const needing = computed(
  () => quotes.value.filter((quote) => quote.standing === "needs you").length,
);

/** Reads what the device kept, so that the page opens without a network. */
export async function openKept(): Promise<void> {
  who.value = (await fact<Who>("who")) ?? null;
  await readCatalogue();
  drawings.value = (await fact<Record<string, Drawing>>("drawings")) ?? {};
  dealers.value = (await fact<Dealer[]>("dealers")) ?? [];
  quotes.value = newestFirst(await keptQuotes());
  loaded.value = true;
}

async function readCatalogue(): Promise<void> {
  const kept = await fact<KeptCatalogue>("catalogue");
  if (kept && kept.role === who.value?.role) lists.value = kept.lists.map(openList);
}

const newestFirst = (all: KeptQuote[]): KeptQuote[] =>
  [...all].sort((a, b) => (a.saved < b.saved ? 1 : -1));

/** Keeps a quote and shows it. */
export async function keep(quote: KeptQuote): Promise<void> {
  await keepQuote(quote);
  quotes.value = newestFirst([...quotes.value.filter((q) => q.quote !== quote.quote), quote]);
}

export async function signIn(name: string, password: string): Promise<string | null> {
  const answer = await ask("POST", "/session", { name, password, device: navigator.platform });
  if (answer === null) return "The server cannot be reached: signing in needs a signal.";
  if (answer.status !== 200 || !answer.isJson)
    return detailOf(answer.data) ?? "Signing in did not work.";
  const person = answer.data as Who;
  if (who.value && who.value.role !== person.role) lists.value = [];
  await setFact("who", person);
  who.value = person;
  mustSignIn.value = false;
  await readCatalogue();
  await renew();
  return null;
}

/** Signs out; quotes that are waiting stay on the device for their author. */
export async function signOut(): Promise<void> {
  await ask("DELETE", "/session");
  await forgetFact("who");
  await forgetFact("catalogue");
  await forgetFact("dealers");
  dealers.value = [];
  lists.value = [];
  who.value = null;
}

async function renewCatalogue(): Promise<void> {
  const kept = await fact<KeptCatalogue>("catalogue");
  const same = kept && kept.role === who.value?.role;
  const answer = await ask(
    "GET",
    "/catalogue",
    undefined,
    same ? { "If-None-Match": kept.tag } : {},
  );
  if (answer?.status === 200 && answer.isJson && who.value) {
    const sent = (answer.data as { lists: KeptCatalogue["lists"] }).lists;
    const tag = answer.headers.get("ETag") ?? "";
    await setFact("catalogue", { tag, role: who.value.role, lists: sent } satisfies KeptCatalogue);
    lists.value = sent.map(openList);
    await renewDrawings();
    await renewDealers();
  }
  seen(answer?.status ?? null);
}

/** The dealers, for whoever may quote them; for others the device holds none. */
async function renewDealers(): Promise<void> {
  if (!lists.value.some((one) => one.sent.channels.some((channel) => channel.kind !== "retail")))
    return;
  const answer = await ask("GET", "/dealers");
  if (answer?.status !== 200 || !answer.isJson) return;
  dealers.value = answer.data as Dealer[];
  await setFact("dealers", dealers.value);
}

async function renewDrawings(): Promise<void> {
  const answer = await ask("GET", "/outlines");
  if (answer?.status === 200 && answer.isJson) {
    drawings.value = answer.data as Record<string, Drawing>;
    await keepDrawings(drawings.value);
  }
}

function seen(status: number | null): void {
  reachable.value = status !== null && status < 500;
  if (status === 401) mustSignIn.value = true;
}

interface Settled {
  quote: string;
  revision: string;
  number: string;
  alias: string;
  device: string;
  author: string;
  received: string;
  request: KeptQuote["request"];
  worked: KeptQuote["worked"];
}

let failures = 0;
let timer: ReturnType<typeof setTimeout> | undefined;

/** Sends what is waiting, one sender over all tabs, each quote until the server has answered for it. */
export async function send(): Promise<void> {
  clearTimeout(timer);
  if (!who.value) return;
  await navigator.locks.request("send", { ifAvailable: true }, async (lock) => {
    if (lock) await sendAll();
  });
}

async function sendAll(): Promise<void> {
  for (const quote of [...quotes.value].reverse()) {
    // Nobody's work is sent in somebody else's name: it waits until its author signs in again.
    if (quote.standing !== "waiting" || quote.author !== who.value?.name) continue;
    const answer = await ask("PUT", `/quotes/${quote.revision}`, {
      quote: quote.quote,
      base: quote.base,
      device: quote.device,
      provisional: quote.provisional,
      request: quote.request,
      shown: {
        net: quote.worked.net,
        tax: quote.worked.tax,
        total: quote.worked.total,
        payable: quote.worked.payable,
      },
    });
    seen(answer?.status ?? null);
    const outcome = answer
      ? outcomeOf(
          answer.status,
          answer.isJson,
          detailOf(answer.data),
          answer.headers.get("Retry-After"),
        )
      : ({ kind: "not now", waitSeconds: null } as const);
    if (outcome.kind === "settled") {
      failures = 0;
      const settled = answer?.data as Settled;
      await keep({ ...quote, number: settled.number, standing: "settled", why: null });
    } else if (outcome.kind === "needs you") {
      await keep({ ...quote, standing: "needs you", why: outcome.why });
    } else if (outcome.kind === "sign in") {
      return;
    } else {
      failures += 1;
      later(pause(failures, Math.random(), outcome.waitSeconds));
      return;
    }
  }
}

function later(seconds: number): void {
  clearTimeout(timer);
  timer = setTimeout(() => void send(), seconds * 1000);
}

/** Takes in quotes that other devices settled; one being written here is never overwritten. */
async function pull(): Promise<void> {
  let after = (await fact<string>("after")) ?? "0";
  for (;;) {
    const answer = await ask("GET", `/quotes?after=${after}`);
    seen(answer?.status ?? null);
    if (answer?.status === 410 && after !== "0") {
      // The server's database is another one now: what it holds is taken in anew.
      after = "0";
      continue;
    }
    if (answer?.status !== 200 || !answer.isJson) return;
    const page = answer.data as { quotes: Settled[]; next: string; more: boolean };
    for (const settled of page.quotes) await takeIn(settled);
    after = page.next;
    await setFact("after", after);
    if (!page.more) return;
  }
}

async function takeIn(settled: Settled): Promise<void> {
  const mine = quotes.value.find((quote) => quote.quote === settled.quote);
  if (mine && mine.standing !== "settled" && mine.revision !== settled.revision) return;
  await keep({
    quote: settled.quote,
    revision: settled.revision,
    base: null,
    device: settled.device,
    provisional: settled.alias,
    number: settled.number,
    author: settled.author,
    request: settled.request,
    worked: settled.worked,
    standing: "settled",
    why: null,
    saved: mine?.saved ?? settled.received,
  });
}

/** Everything that needs the server, in turn: send, take in, renew the lists. */
export async function renew(): Promise<void> {
  if (!who.value) return;
  await send();
  await pull();
  await renewCatalogue();
}

/** Tries again on its own: when the page comes to the front, when the device says it is on line, every half minute. */
export function keepTrying(): void {
  const again = (): void => void renew();
  addEventListener("online", again);
  addEventListener("offline", () => {
    reachable.value = false;
  });
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible") again();
  });
  setInterval(() => {
    if (waiting.value > 0 || !reachable.value) void renew();
  }, 30_000);
}
