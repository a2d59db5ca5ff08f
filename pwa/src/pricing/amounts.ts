/** Exact decimal amounts as a whole number and its decimal places: the twin of pricing/amounts.py. No floats. */

export interface Amount {
  readonly digits: bigint;
  readonly places: number;
}

export const ZERO: Amount = { digits: 0n, places: 0 };
export const ONE: Amount = { digits: 1n, places: 0 };
const LONGEST_AMOUNT = 30;
const TIE_PLACES = 24;
const WRITTEN = /^-?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?$/;

/** Whether a value is a strict decimal string: ASCII digits, an optional leading minus, one point. */
export function isAmount(value: unknown): value is string {
  return typeof value === "string" && value.length <= LONGEST_AMOUNT && WRITTEN.test(value);
}

/** The amount that a strict decimal string says. Throws a RangeError for anything else. */
export function amount(text: string): Amount {
  if (!isAmount(text)) throw new RangeError(`not an amount: ${text}`);
  const point = text.indexOf(".");
  const places = point < 0 ? 0 : text.length - point - 1;
  return { digits: BigInt(text.replace(".", "")), places };
}

export const whole = (value: number): Amount => ({ digits: BigInt(value), places: 0 });

const power = (places: number): bigint => 10n ** BigInt(places);

const at = (value: Amount, places: number): bigint => value.digits * power(places - value.places);

export function plus(a: Amount, b: Amount): Amount {
  const places = Math.max(a.places, b.places);
  return { digits: at(a, places) + at(b, places), places };
}

export function minus(a: Amount, b: Amount): Amount {
  return plus(a, { digits: -b.digits, places: b.places });
}

export function times(a: Amount, b: Amount): Amount {
  return { digits: a.digits * b.digits, places: a.places + b.places };
}

/** Negative, zero or positive as a is below, equal to or above b. */
export function compare(a: Amount, b: Amount): number {
  const difference = minus(a, b).digits;
  return difference < 0n ? -1 : difference > 0n ? 1 : 0;
}

export const isZero = (value: Amount): boolean => value.digits === 0n;

/** Twice the dividend compared with the divisor tells which way a rest goes; both are 0 or more. */
function rounded(dividend: bigint, divisor: bigint, tieUp: (whole: bigint) => boolean): bigint {
  const down = dividend / divisor;
  const twice = 2n * (dividend - down * divisor);
  return twice > divisor || (twice === divisor && tieUp(down)) ? down + 1n : down;
}

/** dividend ÷ divisor as a whole number, a half going where `tieUp` says by the size of what is below it. */
function divided(dividend: bigint, divisor: bigint, tieUp: (whole: bigint) => boolean): bigint {
  const negative = dividend < 0n !== divisor < 0n;
  const size = rounded(
    dividend < 0n ? -dividend : dividend,
    divisor < 0n ? -divisor : divisor,
    tieUp,
  );
  return negative ? -size : size;
}

const away = (): boolean => true;
const toEven = (down: bigint): boolean => down % 2n === 1n;

/** a ÷ b at 24 decimal places, half-even: what every rounding reads. */
function settledRatio(a: Amount, b: Amount): Amount {
  const dividend = a.digits * power(b.places + TIE_PLACES);
  return { digits: divided(dividend, b.digits * power(a.places), toEven), places: TIE_PLACES };
}

const settled = (value: Amount): Amount =>
  value.places <= TIE_PLACES ? value : settledRatio(value, ONE);

function atPlaces(value: Amount, places: number, tieUp: (down: bigint) => boolean): Amount {
  if (value.places <= places) return { digits: at(value, places), places };
  return { digits: divided(value.digits, power(value.places - places), tieUp), places };
}

/** The amount rounded to places, a half going away from zero. */
export const halfUp = (value: Amount, places: number): Amount =>
  atPlaces(settled(value), places, away);

/** The amount rounded to places, a half going to the even neighbour. */
export const halfEven = (value: Amount, places: number): Amount =>
  atPlaces(settled(value), places, toEven);

/** a ÷ b rounded to places, a half going away from zero. */
export const ratioHalfUp = (a: Amount, b: Amount, places: number): Amount =>
  atPlaces(settledRatio(a, b), places, away);

/** The amount rounded half-up to a whole multiple of a step: of a surcharge, or of coins. */
export const toStep = (value: Amount, step: Amount): Amount =>
  times(ratioHalfUp(value, step, 0), step);

export const sum = (values: Iterable<Amount>): Amount => {
  let total = ZERO;
  for (const value of values) total = plus(total, value);
  return total;
};

/** A plain decimal string with exactly so many places; the amount must have no more. */
export function fixed(value: Amount, places: number): string {
  const digits = at(value, places);
  const text = (digits < 0n ? -digits : digits).toString().padStart(places + 1, "0");
  const sign = digits < 0n ? "-" : "";
  return places === 0
    ? `${sign}${text}`
    : `${sign}${text.slice(0, text.length - places)}.${text.slice(text.length - places)}`;
}

/** The shortest plain decimal string of the value. */
export function plain(value: Amount): string {
  const text = fixed(value, value.places);
  const short = text.includes(".") ? text.replace(/0+$/, "").replace(/\.$/, "") : text;
  return short === "-0" ? "0" : short;
}
