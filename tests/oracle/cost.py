"""Works costs in plain fractions, for books that use everything a cost can depend on.

Written from the definitions of a works cost and not from the engine: it reads the JSON data, keeps every figure as a
fraction, and rounds nothing but a works cost. What it leaves out is geometry from profiles, which has its own oracle.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction as F
from functools import cache, cached_property
from math import ceil
from typing import Any, NamedTuple

PI = F("3.14159265358979323846264338327950288")
KILOGRAMS = {"tonne": F(1000), "kg": F(1), "lb": F("0.45359237"), "troy oz": F("0.0311034768")}
METAL = ("spun", "flat", "cast")
Data = dict[str, Any]


class Masses(NamedTuple):
    """The metal of one part in grams: drawn from store, in the part, and what comes back."""

    drawn: F
    finished: F
    back: dict[str, F]


def half_even(value: F, places: int) -> F:
    """Rounded half-even."""
    return F(round(value * 10**places), 10**places)


def latest(rows: list[Data], day: str) -> Data:
    """The latest row on or before a day; ISO dates sort as texts."""
    return max((row for row in rows if row["date"] <= day), key=lambda row: str(row["date"]))


def of(rows: list[Data], **wanted: Any) -> list[Data]:
    """The rows that have these values."""
    return [row for row in rows if all(row.get(key) == value for key, value in wanted.items())]


def discs_in_row(along: F, diameter: F, web: F) -> int:
    """The most discs, a web between neighbours, that a length holds."""
    count = 0
    while (count + 1) * diameter + count * web <= along:
        count += 1
    return count


def discs_staggered(along: F, across: F, diameter: F, web: F) -> int:
    """Row by row, each half a pitch along and √3/2 of a pitch up from the last; squared, so that no root is taken."""
    pitch, total, row = diameter + web, 0, 0
    while across >= diameter and 3 * (row * pitch) ** 2 <= 4 * (across - diameter) ** 2:
        total += discs_in_row(along - (pitch / 2 if row % 2 else 0), diameter, web)
        row += 1
    return total


def discs_on_sheet(sheet: Data, diameter: F) -> int:
    """The most discs of three ways to lay out a sheet."""
    web, edge = F(sheet.get("web_mm", "0")), F(sheet.get("edge_mm", "0"))
    length, width = F(sheet["length_mm"]) - 2 * edge, F(sheet["width_mm"]) - 2 * edge
    square = discs_in_row(length, diameter, web) * discs_in_row(width, diameter, web)
    return max(square, discs_staggered(length, width, diameter, web), discs_staggered(width, length, diameter, web))


class Prices:
    """Metal prices of one book per kg in its own currency."""

    def __init__(self, data: Data) -> None:
        self.data = data
        self.form_of = {form["name"]: form for form in data["forms"]}
        self.alloy_of = {alloy["name"]: alloy for alloy in data["alloys"]}
        # The definitions below, each worked once for a book.
        self.form, self.credit, self.density = cache(self._form), cache(self._credit), cache(self._density)

    def exchange(self, currency: str | None, day: str) -> F:
        if currency in (None, self.data["currency"]):
            return F(1)
        entry = latest(of(self.data["exchange_rates"], currency=currency), day)
        return F(entry["rate"]) if entry["quoted"] == "base per unit" else 1 / F(entry["rate"])

    def per_kg(self, quotation: Data) -> F:
        rate = self.exchange(quotation["currency"], quotation["date"])
        return F(quotation["amount"]) / KILOGRAMS[quotation["unit"]] * rate

    def quoted(self, element: str, day: str) -> F:
        return self.per_kg(latest(of(self.data["quotations"], element=element), day))

    def element(self, symbol: str) -> F:
        declared = latest(of(self.data["declared_prices"], element=symbol), self.data["date"])
        if "quoted_from" not in declared:
            return self.quoted(symbol, declared["quoted_to"])
        rows = of(self.data["quotations"], element=symbol)
        window = [self.per_kg(row) for row in rows if declared["quoted_from"] <= row["date"] <= declared["quoted_to"]]
        return sum(window, F(0)) / len(window)

    def contents(self, alloy: str) -> dict[str, F]:
        return {content["element"]: F(content["fraction"]) for content in self.alloy_of[alloy]["contents"]}

    def alloy(self, name: str) -> F:
        return sum((share * self.element(symbol) for symbol, share in self.contents(name).items()), F(0))

    def _density(self, alloy: str) -> F:
        stated = self.alloy_of[alloy].get("density_g_cm3")
        if stated is not None:
            return F(stated)
        known = {element["symbol"]: F(element["density_g_cm3"]) for element in self.data["elements"]}
        return 1 / sum((share / known[symbol] for symbol, share in self.contents(alloy).items()), F(0))

    def _form(self, name: str) -> F:
        form = self.form_of[name]
        price = form.get("supplier_price")
        if price is None:
            return self.alloy(form["alloy"]) * (1 + F(form.get("premium", "0"))) + F(form.get("conversion_per_kg", "0"))
        then = F(price["amount"]) / KILOGRAMS[price["unit"]] * self.exchange(price["currency"], price["date"])
        shares = self.contents(form["alloy"]).items()
        return then + sum((w * (self.element(e) - self.quoted(e, price["date"])) for e, w in shares), F(0))

    def _credit(self, alloy: str, kind: str, stage: str | None = None) -> F:
        rows = of(self.alloy_of[alloy]["credits"], of=kind)
        row = next(iter(of(rows, stage=stage) or of(rows, stage=None)), None)
        if row is None:
            return F(0)
        return max(F(0), self.alloy(alloy) * F(row["recovery_share"]) - F(row.get("remelting_per_kg", "0")))


class Way:
    """A piece in a finish on its way through the stages: its operations, and the units that enter each stage."""

    def __init__(self, data: Data, piece: Data, finish: str) -> None:
        self.piece = piece
        self.order = [stage["name"] for stage in data["stages"]]
        self.soldering = next((stage["name"] for stage in data["stages"] if stage.get("solder")), None)
        kinds = {part["kind"] for part in piece.get("parts", [])}
        brings = {} if "member" in kinds and not kinds & set(METAL) else of(data["finishes"], name=finish)[0]
        own = [work for work in piece.get("operations", []) if work.get("finish") in (None, finish)]
        self.operations = own + brings.get("operations", [])
        self.of_finish = [work for work in own if work.get("finish")] + brings.get("operations", [])
        self.consumables = [
            (c, bool(c.get("finish"))) for c in piece.get("consumables", []) if c.get("finish") in (None, finish)
        ]
        self.consumables += [(consumable, True) for consumable in brings.get("consumables", [])]
        gone = {work["stage"] for work in self.operations if "stage" in work}
        self.through = [stage for stage in self.order if stage in gone]
        stated = {stage["name"]: F(stage.get("first_pass_yield", "1")) for stage in data["stages"]}
        stated |= {entry["stage"]: F(entry["first_pass_yield"]) for entry in piece.get("yields", [])}
        self.good = {stage: stated[stage] for stage in self.through}

    def units(self, stage: str | None) -> F:
        """Units entering a stage per good piece; 1 where there is no stage."""
        units = F(1)
        for later in self.through[self.through.index(stage) :] if stage else []:
            units /= self.good[later]
        return units

    def _at_or_after(self, stage: str) -> str | None:
        return next((s for s in self.through if self.order.index(s) >= self.order.index(stage)), None)

    def _first_of(self, operations: list[Data]) -> str | None:
        stages = {work.get("stage") for work in operations}
        return next((stage for stage in self.through if stage in stages), next(iter(self.through), None))

    def enters(self, part: Data) -> str | None:
        if "enters" in part:
            return self._at_or_after(part["enters"])
        if part["kind"] == "solder":
            last = self.through[-1] if self.through else None
            return self.soldering if self.soldering in self.through else last
        named = [work for work in self.operations if "part" in work and work["part"] == part.get("name")]
        return self._first_of(named)

    def consumed_at(self, consumable: Data, of_finish: bool) -> str | None:
        if "enters" in consumable:
            return self._at_or_after(consumable["enters"])
        return self._first_of(self.of_finish if of_finish else [])


class Costs:
    """Works costs of one book, before and after their rounding."""

    def __init__(self, data: Data) -> None:
        self.data = data
        self.prices = Prices(data)
        self.piece = {piece["number"]: piece for piece in data["pieces"]}
        self.stage = {stage["name"]: stage for stage in data["stages"]}
        self.branches = cache(self._branches)
        self._weighed: dict[int, Masses] = {}

    @cached_property
    def places(self) -> int:
        return int(of(self.data["currencies"], code=self.data["currency"])[0]["minor_unit"]) + 2

    def works_cost(self, number: str, finish: str, batch: int) -> F:
        return half_even(self.exact(number, finish, batch), self.places)

    def exact(self, number: str, finish: str, batch: int) -> F:
        """The sum of all branches."""
        return sum(self.branches(number, finish, batch).values(), F(0))

    def _branches(self, number: str, finish: str, batch: int) -> dict[str, F]:
        """Each part of the works cost by name; members and stated costs whole under their own."""
        piece = self.piece[number]
        stated = next(made for made in piece["made"] if made["finish"] == finish).get("stated_cost")
        if stated is not None:
            return {"stated": self._stated(stated)}
        way = Way(self.data, piece, finish)
        work = list(self._work(way, batch))
        found = {
            "metal": sum(self._metal(way), F(0)),
            "bought-in": sum(self._bought(way, finish, batch), F(0)),
            "tooling": sum(self._tooling(piece), F(0)),
            "labour": sum((cost for _, _, cost in work), F(0)),
            "consumables": sum(self._consumables(way), F(0)),
        }
        prime = sum(found.values(), F(0))
        found["overhead"] = sum((self._absorbed(pool, work, prime) for pool in self.data["pools"]), F(0))
        found["packing"] = F(piece.get("packing", "0"))
        found["members"] = sum(self._members(way, finish), F(0))
        return found

    # Metal

    def masses(self, part: Data) -> Masses:
        """Drawn, finished and recovered of one metal part, worked once."""
        if id(part) not in self._weighed:
            self._weighed[id(part)] = self._masses(part)
        return self._weighed[id(part)]

    def _masses(self, part: Data) -> Masses:
        if part["kind"] == "cast":
            finished = F(part["finished_g"])
            poured = finished / (1 - F(part.get("gate_share", "0")))
            return Masses(poured / (1 - F(part.get("dross_share", "0"))), finished, {"gates": poured - finished})
        form = self.prices.form_of[part["form"]]
        blank, used = self._blank(part, form, self.prices.density(form["alloy"]) * F(part["thickness_mm"]) / 1000)
        finished = F(part["finished_g"]) if "finished_g" in part else blank * (1 - F(part["trim_share"]))
        dust = finished * F(part.get("dust_share", self.data["dust_share"]))
        return Masses(blank / used, finished, {"skeleton": blank / used - blank, "trimmings": blank - finished - dust})

    def _blank(self, part: Data, form: Data, grams_per_mm2: F) -> tuple[F, F]:
        """Mass of the blank, and the share of what is drawn that it is."""
        if part["kind"] == "flat":
            area = F(part["area_mm2"]) if "area_mm2" in part else F(part["length_mm"]) * F(part["width_mm"])
            return area * grams_per_mm2, F(part.get("sheet_share", "1"))
        diameter = F(part["diameter_mm"])
        if form.get("disc_sizes_mm"):
            diameter = min(F(size) for size in form["disc_sizes_mm"] if F(size) >= diameter)
        disc = PI * diameter**2 / 4
        if "sheet" in part:
            sheet = of(self.data["sheets"], name=part["sheet"])[0]
            whole = F(sheet["length_mm"]) * F(sheet["width_mm"])
            return disc * grams_per_mm2, discs_on_sheet(sheet, diameter) * disc / whole
        return disc * grams_per_mm2, F(part.get("sheet_share", "1"))

    def _metal(self, way: Way) -> Iterator[F]:
        """What is drawn at its form's price, less what comes back at its credit."""
        entered: list[tuple[str | None, str, F]] = []
        for part in way.piece.get("parts", []):
            if part["kind"] in METAL:
                stage, alloy = way.enters(part), self.prices.form_of[part["form"]]["alloy"]
                units = way.units(stage) * part.get("count", 1) / 1000
                masses = self.masses(part)
                yield masses.drawn * units * self.prices.form(part["form"])
                yield -sum((g * self.prices.credit(alloy, kind) for kind, g in masses.back.items()), F(0)) * units
                entered.append((stage, alloy, masses.finished * part.get("count", 1) / 1000))
            elif part["kind"] == "solder":
                yield F(part["grams"]) / 1000 * way.units(way.enters(part)) * self.prices.form(part["form"])
        for leaving in way.through:
            rejects = way.units(leaving) * (1 - way.good[leaving])
            for stage, alloy, kilograms in entered:
                if stage and way.order.index(stage) <= way.order.index(leaving):
                    yield -rejects * kilograms * self.prices.credit(alloy, "rejects", leaving)

    # Bought in, sent out, tools

    def _bought(self, way: Way, finish: str, batch: int) -> Iterator[F]:
        for part in way.piece.get("parts", []):
            if part["kind"] not in ("bought-in", "outwork") or part.get("finish") not in (None, finish):
                continue
            whole = F(part["amount"]) * part.get("count", 1) * way.units(way.enters(part)) * batch
            whole = max(whole, F(part.get("least_per_batch", "0")))
            yield whole / batch * self.prices.exchange(part.get("currency"), self.data["date"])

    def _tooling(self, piece: Data) -> Iterator[F]:
        for tool in piece.get("tooling", []):
            if "over_pieces" in tool:
                yield F(tool["amount"]) / tool["over_pieces"]
            elif "life_castings" in tool:
                yield F(tool["amount"]) * tool.get("castings_per_piece", 1) / tool["life_castings"]

    # Work

    def _surface_dm2(self, piece: Data) -> F:
        parts = [part for part in piece["parts"] if part["kind"] in METAL]
        return sum((F(part["area_cm2"]) * part.get("count", 1) for part in parts), F(0)) / 100

    def _minutes(self, way: Way, work: Data, batch: int) -> F:
        """Minutes of the run per good piece, without set-up and workers."""
        minutes, basis = F(work.get("minutes", "0")), work.get("basis", "piece")
        if basis == "dm2":
            minutes *= self._surface_dm2(way.piece)
        minutes /= {"dozen": 12, "batch": way.piece.get("usual_batch", 1)}.get(basis, 1)
        units = way.units(work.get("stage"))
        if "learning_rate" in work:
            # Only at a half is the curve a fraction: unit n takes 1/n of the first.
            assert F(work["learning_rate"]) == F(1, 2)
            run = ceil(units * batch)
            minutes *= sum((F(1, unit) for unit in range(1, run + 1)), F(0)) / run
        return minutes * units * self._count(way, work)

    def _count(self, way: Way, work: Data) -> int:
        parts = way.piece.get("parts", [])
        return next(
            (part.get("count", 1) for part in parts if work.get("part") and part.get("name") == work["part"]), 1
        )

    def _work(self, way: Way, batch: int) -> Iterator[tuple[str | None, F, F]]:
        """Stage, hours and cost per good piece of each operation."""
        for work in way.operations:
            stage = work.get("stage")
            paid = self.data["bench_rate"] if stage is None else self.stage[stage]
            on_cost = 1 + F(paid.get("on_cost", "0"))
            hands = F(work.get("hands", "1"))
            run = hands * self._minutes(way, work, batch) / 60
            set_up = hands * F(work.get("set_up_minutes", "0")) / batch / 60
            cost = (run + set_up) * F(paid["wage_per_hour"]) * on_cost
            if "piece_work" in work:
                each = F(work["piece_work"]["amount"]) / (12 if work["piece_work"].get("per") == "dozen" else 1)
                pieces = way.units(stage) * self._count(way, work)
                cost = (each * pieces + set_up * F(paid["wage_per_hour"])) * on_cost
            yield stage, run + set_up, cost

    def _consumables(self, way: Way) -> Iterator[F]:
        for consumable, of_finish in way.consumables:
            amount = F(consumable["amount"]) * way.units(way.consumed_at(consumable, of_finish))
            yield amount * (self._surface_dm2(way.piece) if consumable.get("basis") == "dm2" else 1)

    def _absorbed(self, pool: Data, work: list[tuple[str | None, F, F]], prime: F) -> F:
        rate = F(pool["rate"]) if "rate" in pool else F(pool["budget"]) / F(pool["activity"])
        if pool["basis"] == "prime cost":
            return rate * prime
        stages = pool.get("stages")
        read = [(hours, cost) for stage, hours, cost in work if not stages or stage in stages]
        return rate * sum((hours if pool["basis"] == "labour hours" else cost for hours, cost in read), F(0))

    # Sets and stated costs

    def _members(self, way: Way, finish: str) -> Iterator[F]:
        for part in way.piece.get("parts", []):
            if part["kind"] == "member":
                usual = self.piece[part["piece"]].get("usual_batch", 1)
                units = way.units(way.enters(part)) * part.get("count", 1)
                yield units * self.exact(part["piece"], part.get("finish", finish), usual)

    def _stated(self, stated: Data) -> F:
        cost = F(stated["amount"])
        if "tin_content_g" in stated:
            then = F(stated["tin_per_kg"]) if "tin_per_kg" in stated else self.prices.quoted("Sn", stated["date"])
            cost += F(stated["tin_content_g"]) / 1000 * (self.prices.element("Sn") - then)
        if "minutes" in stated and "hourly_rate" in stated:
            cost += F(stated["minutes"]) / 60 * (self._hour() - F(stated["hourly_rate"]))
        return cost

    def _hour(self) -> F:
        """An hour at the bench with the overhead that rests on all labour."""
        bench = self.data["bench_rate"]
        wage = F(bench["wage_per_hour"]) * (1 + F(bench["on_cost"]))
        hour = wage
        for pool in self.data["pools"]:
            rate = F(pool["rate"]) if "rate" in pool else F(pool["budget"]) / F(pool["activity"])
            if not pool.get("stages"):
                hour += {"labour hours": rate, "labour cost": rate * wage, "prime cost": F(0)}[pool["basis"]]
        return hour

    # Weights

    def weights(self, number: str, finish: str) -> tuple[F, F]:
        """Finished mass and tin content in grams."""
        piece = self.piece[number]
        stated = next(made for made in piece["made"] if made["finish"] == finish).get("stated_cost")
        if stated is not None:
            return F(0), F(stated.get("tin_content_g", "0"))
        finished = tin = F(0)
        for part in piece.get("parts", []):
            count = part.get("count", 1)
            if part["kind"] == "member":
                own = self.weights(part["piece"], part.get("finish", finish))
                finished, tin = finished + count * own[0], tin + count * own[1]
            elif part["kind"] in (*METAL, "solder"):
                grams = F(part["grams"]) if part["kind"] == "solder" else self.masses(part).finished * count
                alloy = self.prices.form_of[part["form"]]["alloy"]
                finished, tin = finished + grams, tin + grams * self.prices.contents(alloy).get("Sn", F(0))
        return finished, tin
