/** Reads a published list, then requests, one JSON line each; answers each with the worked quote the page would show. */
import { createInterface } from "node:readline";
import { openList, type PriceList, quoteOf, type Request } from "../../pwa/src/pricing/catalogue.ts";
import { QuoteRefusal, workQuote } from "../../pwa/src/pricing/quote.ts";

let list: PriceList | null = null;
const answers: string[] = [];
for await (const line of createInterface({ input: process.stdin })) {
  if (list === null) {
    list = openList(JSON.parse(line));
    continue;
  }
  try {
    answers.push(JSON.stringify(workQuote(quoteOf(list, JSON.parse(line) as Request))));
  } catch (error) {
    if (!(error instanceof QuoteRefusal)) throw error;
    answers.push(JSON.stringify({ refused: error.code }));
  }
}
process.stdout.write(`${answers.join("\n")}\n`);
