/** The vectors worked by hand, on the page's side, and the days of a quote. */
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import {
  goodUntil,
  QuoteFaults,
  QuoteRefusal,
  readQuote,
  takesOldList,
  workQuote,
} from "../../src/pricing/quote.ts";

const FOLDER = join(import.meta.dirname, "../../../fixtures/vectors/quote");

interface Vector {
  id: string;
  says: string;
  quote: Record<string, unknown>;
  worked?: Record<string, unknown>;
  faults?: string[];
  refused?: string;
  field?: string;
}

interface Page {
  says: string;
  terms: Record<string, unknown>;
  vectors: Vector[];
}

const pages = readdirSync(FOLDER).map(
  (name) => JSON.parse(readFileSync(join(FOLDER, name), "utf8")) as Page,
);

function thrown(work: () => unknown): unknown {
  try {
    return work();
  } catch (error) {
    return error;
  }
}

function holds({ worked, faults, refused, field }: Vector, asked: unknown): void {
  const answer = thrown(() => workQuote(readQuote(asked)));
  if (worked) expect(answer).toMatchObject(worked);
  else if (faults) {
    expect(answer).toBeInstanceOf(QuoteFaults);
    const fields = (answer as QuoteFaults).faults.map((fault) => fault.field);
    expect(fields.sort()).toEqual([...faults].sort());
  } else {
    expect(answer).toBeInstanceOf(QuoteRefusal);
    expect(answer).toMatchObject({ code: refused, field });
  }
}

for (const page of pages)
  describe(page.says, () => {
    for (const vector of page.vectors)
      it(`${vector.id}: ${vector.says}`, () => holds(vector, { ...page.terms, ...vector.quote }));
  });

describe("days", () => {
  it("a quote is good until its last day, over a month's and a leap year's end", () => {
    expect(goodUntil("2026-01-20", 30)).toBe("2026-02-19");
    expect(goodUntil("2028-02-01", 28)).toBe("2028-02-29");
  });

  it("an order before the change-over, delivered within grace, takes the old list", () => {
    expect(takesOldList("2026-02-28", "2026-03-29", "2026-03-01", 28)).toBe(true);
    expect(takesOldList("2026-02-28", "2026-03-30", "2026-03-01", 28)).toBe(false);
    expect(takesOldList("2026-03-01", "2026-03-02", "2026-03-01", 28)).toBe(false);
  });
});
