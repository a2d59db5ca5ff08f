/** What becomes of a quote that is waiting to be sent, by the server's answer. Pure: no fetch, no clock, no storage. */

export type Standing = "draft" | "waiting" | "settled" | "needs you";

/** What an answer means for the quote it answers. */
export type Outcome =
  | { kind: "settled" }
  | { kind: "sign in" }
  | { kind: "needs you"; why: string }
  | { kind: "not now"; waitSeconds: number | null };

const NEEDS_YOU = new Set([400, 403, 404, 409, 412, 413, 415, 422]);

/** Reads a status and, where the server sent problem details, its words. */
export function outcomeOf(
  status: number,
  isJson: boolean,
  detail: string | null,
  retryAfter: string | null,
): Outcome {
  if ((status === 200 || status === 201) && isJson) return { kind: "settled" };
  if (status === 401) return { kind: "sign in" };
  // A hotel's log-in page answers 200 or 403 with HTML: that is not our server speaking.
  if (NEEDS_YOU.has(status) && isJson)
    return { kind: "needs you", why: detail ?? `answer ${status}` };
  return {
    kind: "not now",
    waitSeconds: retryAfter && /^\d+$/.test(retryAfter) ? Number(retryAfter) : null,
  };
}

const LONGEST_WAIT = 300;

/** How long to wait before trying again: doubling from two seconds to five minutes, spread by chance from 0 to 1. */
export function pause(failures: number, chance: number, asked: number | null): number {
  const own = Math.min(LONGEST_WAIT, 2 ** Math.min(failures, 9)) * (0.5 + chance / 2);
  return Math.max(own, asked ?? 0);
}
