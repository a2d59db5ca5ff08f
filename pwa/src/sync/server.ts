/** Talking to the server: every request with a deadline, every answer read for what it is. */

export const DEADLINE_MS = 10_000;

export interface Answer {
  status: number;
  isJson: boolean;
  data: unknown;
  headers: Headers;
}

/** Asks the server; null when it cannot be reached or does not answer in time. */
export async function ask(
  method: string,
  path: string,
  body?: unknown,
  headers: Record<string, string> = {},
): Promise<Answer | null> {
  try {
    const reply = await fetch(`/api/v1${path}`, {
      method,
      headers: {
        "Tinwright-Page": "1",
        ...(body === undefined ? {} : { "Content-Type": "application/json" }),
        ...headers,
      },
      ...(body === undefined ? {} : { body: JSON.stringify(body) }),
      credentials: "same-origin",
      cache: "no-store",
      signal: AbortSignal.timeout(DEADLINE_MS),
    });
    const isJson = (reply.headers.get("Content-Type") ?? "").includes("json");
    const data: unknown = isJson && reply.status !== 304 ? await reply.json() : null;
    return { status: reply.status, isJson, data, headers: reply.headers };
  } catch {
    return null;
  }
}

/** The words of a problem details answer. */
export function detailOf(data: unknown): string | null {
  const detail = (data as { detail?: unknown } | null)?.detail;
  return typeof detail === "string" ? detail : null;
}
