/** Reads quotes as JSON lines, answers each with its worked quote or its refusal as a JSON line. */
import { createInterface } from "node:readline";
import { type Quote, QuoteRefusal, workQuote } from "../../pwa/src/pricing/quote.ts";

function answer(line: string): unknown {
  try {
    return workQuote(JSON.parse(line) as Quote);
  } catch (error) {
    if (error instanceof QuoteRefusal) return { refused: error.code, field: error.field };
    throw error;
  }
}

const answers: string[] = [];
for await (const line of createInterface({ input: process.stdin })) {
  answers.push(JSON.stringify(answer(line)));
  if (answers.length >= 1000) process.stdout.write(`${answers.splice(0).join("\n")}\n`);
}
if (answers.length) process.stdout.write(`${answers.join("\n")}\n`);
