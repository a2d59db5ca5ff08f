/** What this device keeps: who is signed in, the lists, the quotes. Kept in IndexedDB and written durably. */

import { type DBSchema, type IDBPDatabase, openDB } from "idb";
import type { Request, SentList } from "../pricing/catalogue.ts";
import type { WorkedQuote } from "../pricing/quote.ts";
import type { Standing } from "../sync/outbox.ts";

export interface Who {
  name: string;
  role: "counter" | "pricing" | "owner";
  language: string;
}

export interface KeptQuote {
  quote: string;
  revision: string;
  base: string | null;
  device: string;
  provisional: string;
  number: string | null;
  author: string;
  request: Request;
  worked: WorkedQuote;
  standing: Standing;
  why: string | null;
  saved: string;
}

interface Kept extends DBSchema {
  facts: { key: string; value: unknown };
  quotes: { key: string; value: KeptQuote };
}

const NAME = "tinwright";
const VERSION = 1;

let opened: Promise<IDBPDatabase<Kept>> | null = null;

function database(): Promise<IDBPDatabase<Kept>> {
  opened ??= openDB<Kept>(NAME, VERSION, {
    upgrade(db) {
      db.createObjectStore("facts");
      db.createObjectStore("quotes", { keyPath: "quote" });
    },
  });
  return opened;
}

export async function fact<T>(name: string): Promise<T | undefined> {
  return (await (await database()).get("facts", name)) as T | undefined;
}

export async function setFact(name: string, value: unknown): Promise<void> {
  await (await database()).put("facts", value, name);
}

export async function forgetFact(name: string): Promise<void> {
  await (await database()).delete("facts", name);
}

export async function quotes(): Promise<KeptQuote[]> {
  return (await database()).getAll("quotes");
}

/** Keeps a quote; it is on the disk when this returns. */
export async function keepQuote(quote: KeptQuote): Promise<void> {
  const transaction = (await database()).transaction("quotes", "readwrite", {
    durability: "strict",
  });
  await transaction.store.put(quote);
  await transaction.done;
}

/** The next provisional number of this device, and the device's own name, made once. */
export async function nextProvisional(): Promise<{ device: string; provisional: string }> {
  const transaction = (await database()).transaction("facts", "readwrite", {
    durability: "strict",
  });
  const device = ((await transaction.store.get("device")) as string | undefined) ?? newDevice();
  const count = (((await transaction.store.get("count")) as number | undefined) ?? 0) + 1;
  await transaction.store.put(device, "device");
  await transaction.store.put(count, "count");
  await transaction.done;
  return { device, provisional: `${device.slice(0, 3)}-${count}` };
}

function newDevice(): string {
  const letters = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789";
  const bytes = crypto.getRandomValues(new Uint8Array(12));
  return [...bytes].map((byte) => letters[byte % letters.length]).join("");
}

/** A UUIDv7: the time in its first 48 bits, the rest by chance. */
export function newId(now: number): string {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  for (let i = 0; i < 6; i += 1) bytes[i] = Math.floor(now / 2 ** (8 * (5 - i))) % 256;
  bytes[6] = ((bytes[6] ?? 0) & 0x0f) | 0x70;
  bytes[8] = ((bytes[8] ?? 0) & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return `${hex.slice(0, 8)}-${hex.slice(8, 12)}-${hex.slice(12, 16)}-${hex.slice(16, 20)}-${hex.slice(20)}`;
}

export type Drawing = [string, [string, string][]];

export async function keepDrawings(drawings: Record<string, Drawing>): Promise<void> {
  await setFact("drawings", drawings);
}

export interface KeptCatalogue {
  tag: string;
  role: string;
  lists: SentList[];
}

export interface Dealer {
  number: string;
  name: string;
  channel: string;
  language: string;
}
