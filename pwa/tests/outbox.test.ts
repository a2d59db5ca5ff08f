import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { outcomeOf, pause } from "../src/sync/outbox.ts";

describe("what an answer means for a quote that waits", () => {
  it("settles only on a success that is ours", () => {
    expect(outcomeOf(201, true, null, null)).toEqual({ kind: "settled" });
    expect(outcomeOf(200, true, null, null)).toEqual({ kind: "settled" });
    expect(outcomeOf(200, false, null, null).kind).toBe("not now");
  });

  it("waits for its author on 401 and loses nothing", () => {
    expect(outcomeOf(401, true, null, null)).toEqual({ kind: "sign in" });
  });

  it.each([403, 404, 409, 412, 413, 422])("sets %i aside with the reason in words", (status) => {
    expect(outcomeOf(status, true, "the reason", null)).toEqual({
      kind: "needs you",
      why: "the reason",
    });
  });

  it.each([408, 425, 429, 500, 502, 503, 504])("tries again later on %i", (status) => {
    expect(outcomeOf(status, true, null, "7")).toEqual({ kind: "not now", waitSeconds: 7 });
  });

  it("takes a log-in page of somebody else's for no answer of ours", () => {
    for (const status of [200, 403, 404, 511])
      expect(outcomeOf(status, false, null, null).kind).toBe("not now");
  });

  it("never throws a quote away, whatever is answered", () => {
    fc.assert(
      fc.property(fc.integer({ min: 100, max: 599 }), fc.boolean(), (status, isJson) => {
        const { kind } = outcomeOf(status, isJson, null, null);
        expect(["settled", "sign in", "needs you", "not now"]).toContain(kind);
        if (kind === "settled") expect([200, 201]).toContain(status);
      }),
    );
  });

  it("waits longer each time, at most five minutes, and as long as the server asks", () => {
    fc.assert(
      fc.property(fc.nat(40), fc.double({ min: 0, max: 1, noNaN: true }), (failures, chance) => {
        const waited = pause(failures, chance, null);
        expect(waited).toBeGreaterThan(0);
        expect(waited).toBeLessThanOrEqual(300);
      }),
    );
    expect(pause(1, 0, 400)).toBe(400);
  });
});
