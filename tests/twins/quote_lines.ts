/** Reads quotes as JSON lines, answers each with its worked quote, its faults or its refusal as a JSON line. */
import { createInterface } from "node:readline";
import { QuoteFaults, QuoteRefusal, readQuote, workQuote } from "../../pwa/src/pricing/quote.ts";

function answer(line: string): unknown {
  try {
    return workQuote(readQuote(JSON.parse(line)));
  } catch (error) {
    if (error instanceof QuoteFaults)
      return { faults: error.faults.map((fault) => `${fault.field}: ${fault.allowed}`).sort() };
    if (error instanceof QuoteRefusal)
      return { refused: error.code, field: error.field, allowed: error.allowed };
    throw error;
  }
}

const answers: string[] = [];
for await (const line of createInterface({ input: process.stdin })) {
  answers.push(JSON.stringify(answer(line)));
  if (answers.length >= 1000) process.stdout.write(`${answers.splice(0).join("\n")}\n`);
}
if (answers.length) process.stdout.write(`${answers.join("\n")}\n`);
