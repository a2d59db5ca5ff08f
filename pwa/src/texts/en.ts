/** The page's words. */

export const words = {
  find: "Number or name",
  quotes: "Quotes",
  quote: "New quote",
  pieces: "Costs",
  lists: "Lists",
  save: "Save quote",
  signIn: "Sign in",
  signOut: "Sign out",
  name: "Name",
  password: "Password",
  customer: "Customer or dealer (may stay empty)",
  priceClass: "Price class",
  dealer: "Dealer",
  total: "Total",
  waitingToSend: "waiting to send",
  settled: "sent",
  needsYou: "needs you",
  draft: "draft",
} as const;

export const standingWords = {
  draft: words.draft,
  waiting: words.waitingToSend,
  settled: words.settled,
  "needs you": words.needsYou,
} as const;

const money = new Map<string, Intl.NumberFormat>();

/** An amount with its currency; the amount already has its minor unit, so nothing is rounded here. */
export function moneyWords(amount: string, currency: string): string {
  const places = amount.includes(".") ? amount.length - amount.indexOf(".") - 1 : 0;
  const key = `${currency}${places}`;
  const format =
    money.get(key) ??
    new Intl.NumberFormat("en-GB", {
      style: "currency",
      currency,
      minimumFractionDigits: places,
      maximumFractionDigits: places,
    });
  money.set(key, format);
  return format.format(amount as unknown as number);
}

export const dayWords = (day: string): string =>
  new Date(`${day.slice(0, 10)}T12:00:00`).toLocaleDateString("en-GB", {
    day: "numeric",
    month: "long",
    year: "numeric",
  });
