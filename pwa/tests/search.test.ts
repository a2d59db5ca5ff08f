import { expect, it } from "vitest";
import { openList, type SentList, search, searchKeys } from "../src/pricing/catalogue.ts";

const sent: SentList = {
  number: "2026",
  workshop: "Marlpit Row Pewterers",
  effective: "2026-01-01",
  until: "2026-12-31",
  digest: "0",
  taxes: [{ name: "vat", rate: "0.2" }],
  channels: [
    {
      name: "retail",
      kind: "retail",
      currency: "GBP",
      minor_unit: 2,
      tax_inclusive: true,
      tax: "vat",
    },
  ],
  extras: [],
  agreed: [],
  pieces: {
    families: [["Tankards"], ["Goblets"]],
    finish_names: ["satin", "bright"],
    standings: ["current"],
    units: ["each"],
    number: ["TK102", "GB102"],
    name: ["pint tankard, straight", "goblet 60 mm, plain"],
    family: [0, 1],
    unit: [0, 0],
    lead_days: [15, null],
    pack: {},
    least: {},
    old: { "0": ["T.7/a"] },
    groups: {},
    made: [[0, 1], [0]],
    standing: [[0, 0], [0]],
    packed_g: [385, 180],
    tooling: {},
  },
  prices: { retail: ["97", "100", ["59", [12, "56.64", 1]]] },
};
const list = openList(sent);
const keys = searchKeys(list);
const found = (text: string): string[] => search(list, keys, text).map((piece) => piece.number);

it("finds by number, old number and name, without case, spaces, points, slashes and hyphens", () => {
  expect(found("tk 102")).toEqual(["TK102"]);
  expect(found("t7A")).toEqual(["TK102"]);
  expect(found("PINT")).toEqual(["TK102"]);
  expect(found("60mm plain")).toEqual(["GB102"]);
  expect(found("pint goblet")).toEqual([]);
  expect(found("  ")).toEqual([]);
});

it("gives each finish its own place in the columns of prices", () => {
  expect(list.byNumber.get("TK102")?.finishes.map((made) => made.offers.retail)).toEqual([
    "97",
    "100",
  ]);
  expect(list.byNumber.get("GB102")?.finishes[0]?.offers.retail).toEqual(["59", [12, "56.64", 1]]);
});
