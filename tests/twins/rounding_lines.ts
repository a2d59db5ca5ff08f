/** Reads [way, value, places] as JSON lines, answers each with the rounded value as the page's arithmetic has it. */
import { createInterface } from "node:readline";
import { amount, fixed, halfEven, halfUp } from "../../pwa/src/pricing/amounts.ts";

for await (const line of createInterface({ input: process.stdin })) {
  const [way, value, places] = JSON.parse(line) as [string, string, number];
  const rounded = (way === "half_even" ? halfEven : halfUp)(amount(value), places);
  process.stdout.write(`${JSON.stringify(fixed(rounded, places))}\n`);
}
