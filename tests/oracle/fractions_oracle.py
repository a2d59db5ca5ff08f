"""Works costs and prices of the random books in plain fractions, written from the definitions and not from the engine.

It reads the JSON data, not the engine's records, and rounds only where a price or a works cost is rounded.
"""

from __future__ import annotations

from fractions import Fraction as F
from math import ceil, floor
from typing import Any

PI = F("3.14159265358979323846264338327950288")
Key = tuple[str, str]


def half_even(value: F, places: int) -> F:
    """Rounded half-even."""
    return F(round(value * 10**places), 10**places)


def half_up(value: F, places: int) -> F:
    """Rounded half-up, for amounts of 0 or more."""
    return F(floor(value * 10**places + F(1, 2)), 10**places)


class Costs:
    """Works costs of one book."""

    def __init__(self, data: dict[str, Any]) -> None:
        self.data = data
        self.order = [stage["name"] for stage in data["stages"]]
        self.stage = {stage["name"]: stage for stage in data["stages"]}
        self.piece = {piece["number"]: piece for piece in data["pieces"]}
        metal = {q["element"]: F(q["amount"]) / 1000 / F("1.27") for q in data["quotations"]}
        self.alloy = F("0.93") * metal["Sn"] + F("0.07") * metal["Sb"]
        credit = data["alloys"][0]["credits"][0]
        self.back = {
            c["of"]: max(F(0), self.alloy * F(c["recovery_share"]) - F(c["remelting_per_kg"]))
            for c in data["alloys"][0]["credits"]
        }
        assert credit["of"] in self.back
        self.form = {
            form["name"]: self.alloy * (1 + F(form.get("premium", "0"))) + F(form["conversion_per_kg"])
            for form in data["forms"]
        }

    def rate(self, stage: str | None) -> F:
        row = self.data["bench_rate"] if stage is None else self.stage[stage]
        return F(row["wage_per_hour"]) * (1 + F(row["on_cost"]))

    def exact(self, number: str, finish: str, batch: int | None = None) -> F:
        """The works cost before rounding."""
        piece = self.piece[number]
        size = batch or piece["usual_batch"]
        own = [o for o in piece["operations"] if o.get("finish") in (None, finish)]
        made = next(f for f in self.data["finishes"] if f["name"] == finish)
        if all(part["kind"] == "member" for part in piece["parts"]):
            made = {}  # Its members are finished already.
        brought = made.get("operations", [])
        operations = own + brought
        finishing = brought + [o for o in own if o.get("finish")]
        through = [s for s in self.order if any(o.get("stage") == s for o in operations)]
        yields = {s: F(self.stage[s].get("first_pass_yield", "1")) for s in through}
        yields |= {y["stage"]: F(y["first_pass_yield"]) for y in piece.get("yields", []) if y["stage"] in through}
        entering = {}
        for place, stage in enumerate(through):
            product = F(1)
            for later in through[place:]:
                product *= yields[later]
            entering[stage] = 1 / product

        def enters(part: dict[str, Any]) -> str | None:
            wanted = part.get("enters")
            if wanted:
                return next((s for s in through if self.order.index(s) >= self.order.index(wanted)), None)
            if part["kind"] == "solder":
                return "solder" if "solder" in through else (through[-1] if through else None)
            for stage in through:
                if any(o.get("part") == part.get("name") and o["stage"] == stage for o in operations if o.get("part")):
                    return stage
            return through[0] if through else None

        metal = bought = F(0)
        finished: list[tuple[str | None, F]] = []
        for part in piece["parts"]:
            stage = enters(part)
            units = entering[stage] if stage else F(1)
            count = part.get("count", 1)
            if part["kind"] == "spun":
                blank = F("7.28") * F(part["thickness_mm"]) * PI * F(part["diameter_mm"]) ** 2 / 4000
                drawn = blank / F(part.get("sheet_share", "1"))
                done = blank * (1 - F(part["trim_share"]))
                trimmings = blank - done - done * F("0.012")
                cost = drawn * self.form[part["form"]] - (drawn - blank) * self.back["skeleton"]
                metal += (cost - trimmings * self.back["trimmings"]) / 1000 * units * count
                finished.append((stage, done * count))
            elif part["kind"] == "cast":
                done = F(part["finished_g"])
                poured = done / (1 - F(part["gate_share"]))
                melted = poured / (1 - F(part["dross_share"]))
                metal += (melted * self.form["ingot"] - (poured - done) * self.back["gates"]) / 1000 * units * count
                finished.append((stage, done * count))
            elif part["kind"] == "solder":
                metal += F(part["grams"]) / 1000 * self.form["wire"] * units
            elif part["kind"] == "bought-in":
                bought += F(part["amount"]) * units * count
            elif part["kind"] == "outwork":
                whole = max(F(part["amount"]) * units * count * size, F(part["least_per_batch"]))
                bought += whole / size
        for leaving in through:
            rejects = entering[leaving] * (1 - yields[leaving])
            for stage, grams in finished:
                if stage and self.order.index(stage) <= self.order.index(leaving):
                    metal -= rejects * grams / 1000 * self.back["rejects"]

        labour = hours = spinning = F(0)
        for operation in operations:
            stage = operation.get("stage")
            units = entering[stage] if stage else F(1)
            minutes = F(operation.get("minutes", "0"))
            minutes /= {"piece": 1, "dozen": 12, "batch": piece["usual_batch"]}[operation.get("basis", "piece")]
            if operation.get("part"):
                minutes *= next(p for p in piece["parts"] if p.get("name") == operation["part"]).get("count", 1)
            hands = F(operation.get("hands", "1"))
            set_up = hands * F(operation.get("set_up_minutes", "0")) / size
            run = hands * minutes * units
            hours += (run + set_up) / 60
            work = operation.get("piece_work")
            if work:
                each = F(work["amount"]) / (12 if work["per"] == "dozen" else 1)
                row = self.data["bench_rate"] if stage is None else self.stage[stage]
                times = 1
                if operation.get("part"):
                    times = next(p for p in piece["parts"] if p.get("name") == operation["part"]).get("count", 1)
                cost = each * units * times * (1 + F(row["on_cost"])) + set_up / 60 * self.rate(stage)
            else:
                cost = (run + set_up) / 60 * self.rate(stage)
            labour += cost
            spinning += cost if stage == "spin" else 0

        consumables = F(0)
        for consumable in piece.get("consumables", []):
            consumables += F(consumable["amount"]) * (entering[through[0]] if through else 1)
        for consumable in made.get("consumables", []):
            at = next(
                (s for s in through if any(o.get("stage") == s for o in finishing)), through[0] if through else None
            )
            consumables += F(consumable["amount"]) * (entering[at] if at else 1)
        tooling = sum((F(t["amount"]) / t["over_pieces"] for t in piece.get("tooling", [])), F(0))
        prime = metal + bought + labour + consumables + tooling
        overhead = F(0)
        for pool in self.data["pools"]:
            if pool["basis"] == "labour hours":
                overhead += hours * F(pool["budget"]) / F(pool["activity"])
            elif pool["basis"] == "prime cost":
                overhead += prime * F(pool["rate"])
            else:
                overhead += spinning * F(pool["rate"])
        members = F(0)
        for part in piece["parts"]:
            if part["kind"] == "member":
                stage = enters(part)
                members += self.exact(part["piece"], finish) * part["count"] * (entering[stage] if stage else 1)
        return prime + overhead + F(piece["packing"]) + members

    def works_cost(self, number: str, finish: str, batch: int | None = None) -> F:
        """The rounded works cost."""
        return half_even(self.exact(number, finish, batch), 4)


class Prices:
    """Prices of one book."""

    def __init__(self, data: dict[str, Any]) -> None:
        self.data = data
        self.costs = Costs(data)
        self.tax = F(data["taxes"][0]["rate"])
        self.force = {(p["channel"], p["piece"], p["finish"]): F(p["amount"]) for p in data["prices_in_force"]}
        self.found: dict[tuple[str, str, str, int], F] = {}
        for name in ("dealer", "retail"):
            self._channel(next(c for c in data["channels"] if c["name"] == name))

    def _rule(self, channel: str, piece: dict[str, Any], finish: str) -> dict[str, Any]:
        def acts(rule: dict[str, Any]) -> bool:
            return rule["channel"] == channel and rule["method"].get("until", "9999") >= self.data["date"]

        wanted = ({"piece": piece["number"]}, {"family": piece["family"], "finish": finish}, {"family": piece["family"]},
                  {"finish": finish}, {})  # fmt: skip
        for scope in wanted:
            for rule in self.data["rules"]:
                own = {k: rule[k] for k in ("piece", "family", "group", "finish") if k in rule}
                if acts(rule) and own == scope:
                    return dict(rule)
        raise AssertionError("no rule")

    def _channel(self, channel: dict[str, Any]) -> None:
        """Every price of a channel, then order among all of them: none of these books builds a set from its members."""
        found = [
            key
            for piece in self.data["pieces"]
            for finish in ("satin", "bright")
            for key in self._piece(channel, piece, finish)
        ]
        self._order([key for key, _ in found], {key for key, is_held in found if is_held})

    def _piece(self, channel: dict[str, Any], piece: dict[str, Any], finish: str) -> list[tuple[Any, bool]]:
        name, number = channel["name"], piece["number"]
        rule = self._rule(name, piece, finish)
        is_held = rule["method"]["kind"] == "held"
        single, floor_ = self._price(channel, rule, number, finish, 1, self.costs.works_cost(number, finish))
        self.found[name, number, finish, 1] = single
        keys = [((name, number, finish, 1), is_held)]
        for offer in channel.get("breaks", []):
            quantity = offer["quantity"]
            if "share" in offer:
                price = half_up(single * (1 - F(offer["share"])), 2)
                limit = floor_
                if limit is not None and price < limit and not is_held:
                    price = F(ceil(limit * 100), 100)
            else:
                cost = self.costs.works_cost(number, finish, max(piece["usual_batch"], quantity))
                price, limit = self._price(channel, rule, number, finish, quantity, cost)
            if price > single and (limit is None or single >= limit):
                price = single
            self.found[name, number, finish, quantity] = price
            keys.append(((name, number, finish, quantity), is_held))
        return keys

    def _price(
        self, channel: dict[str, Any], rule: dict[str, Any], number: str, finish: str, quantity: int, cost: F
    ) -> tuple[F, F | None]:
        gross = 1 + self.tax if channel["tax_inclusive"] else F(1)
        selling = F(channel["selling_costs"])
        method = rule["method"]
        if method["kind"] == "by margin":
            price = cost / (1 - F(method["margin"]) - selling) * gross
        elif method["kind"] == "by mark-up":
            price = cost * (1 + F(method["mark_up"])) / (1 - selling) * gross
        elif method["kind"] == "held":
            price = F(method["amount"])
        else:
            at = quantity if ("dealer", number, finish, quantity) in self.found else 1
            price = self.found["dealer", number, finish, at] * (1 + F(method.get("mark_up", "0"))) * gross
        checks = {**channel["checks"], **rule.get("checks", {})}
        limit = None
        if "floor_margin" in checks:
            limit = cost / (1 - F(checks["floor_margin"]) - selling) * gross
        if method["kind"] == "held":
            return price, limit
        old = self.force.get((channel["name"], number, finish)) if quantity == 1 else None
        return self._checked(channel, checks, price, limit, old), limit

    def _checked(self, channel: dict[str, Any], checks: dict[str, str], price: F, limit: F | None, old: F | None) -> F:
        least = F(checks["least"]) if "least" in checks else None
        most = F(checks["greatest"]) if "greatest" in checks else None
        high = old * (1 + F(checks["greatest_rise"])) if old is not None and "greatest_rise" in checks else None
        low = old * (1 - F(checks["greatest_fall"])) if old is not None and "greatest_fall" in checks else None
        if least is not None and price < least:
            price = least
        elif most is not None and price > most:
            price = most
        if high is not None and price > high:
            price = high
            least = None if least is not None and price < least else least
        elif low is not None and price < low:
            price = low
            most = None if most is not None and price > most else most
        if limit is not None and price < limit:
            price = limit
        point = self._point(
            channel,
            price,
            limit,
            [b for b in (least, low) if b is not None],
            [b for b in (most, high) if b is not None],
        )
        if old is None or point == old:
            return point
        near = ("smallest_change" in checks and abs(point - old) < F(checks["smallest_change"])) or (
            "smallest_change_share" in checks and abs(point - old) < F(checks["smallest_change_share"]) * old
        )
        keeps = limit is None or old >= limit
        keeps = keeps and not ("least" in checks and old < F(checks["least"]))
        keeps = keeps and not ("greatest" in checks and old > F(checks["greatest"]))
        return old if near and keeps else point

    def _list(self, channel: dict[str, Any], price: F) -> tuple[list[F], str]:
        """Every point near a price: from the bands, or of pennies where there is no list or the price is past its end."""
        points: list[F] = []
        if "points" in channel:
            for band in channel["points"]["bands"]:
                start, step, ending = F(band["start"]), F(band["step"]), F(band.get("ending", "0"))
                end = F(band["end"]) if "end" in band else max(price, start) + 20 * step
                n = ceil((start - ending) / step)
                while n * step + ending <= 0:
                    n += 1
                while n * step + ending < end:
                    points.append(n * step + ending)
                    n += 1
            if price <= points[-1]:
                return points, channel["points"]["direction"]
        return [F(floor(price * 100), 100), F(ceil(price * 100), 100)], "nearest"

    def _point(self, channel: dict[str, Any], price: F, limit: F | None, lows: list[F], highs: list[F]) -> F:
        points, direction = self._list(channel, price)
        under = max((p for p in points if p <= price), default=None)
        over = min((p for p in points if p >= price), default=None)
        if under is None or over is None:
            wanted = over if under is None else under
        elif direction == "down":
            wanted = under
        elif direction == "up":
            wanted = over
        else:
            wanted = over if over - price <= price - under else under
        near = [p for p in (under, over) if p is not None]

        def fits(p: F) -> bool:
            return (limit is None or p >= limit) and all(p >= b for b in lows) and all(p <= b for b in highs)

        assert wanted is not None
        if under is None and not fits(wanted):
            return self._point({}, price, limit, lows, highs)
        for candidate in (wanted, *near):
            if fits(candidate):
                return candidate
        sound = [p for p in near if limit is None or p >= limit]
        if not sound:
            assert limit is not None
            return F(ceil(limit * 100), 100)
        within = [p for p in sound if all(p <= b for b in highs)]
        return max(within) if within else min(sound)

    def _order(self, keys: list[Any], held: set[Any]) -> None:
        """Raises until nothing changes any more."""
        piece = self.costs.piece
        rank = {"satin": 1, "bright": 2}

        def below(a: Any, b: Any) -> bool:
            if a[0] != b[0] or a[3] != b[3]:
                return False
            if a[1] == b[1]:
                return rank[a[2]] < rank[b[2]]
            x, y = piece[a[1]], piece[b[1]]
            same = "size_family" in x and x.get("size_family") == y.get("size_family") and a[2] == b[2]
            return bool(same and F(x["size"]) < F(y["size"]))

        changed = True
        while changed:
            changed = False
            for a in keys:
                for b in keys:
                    if b not in held and below(a, b) and self.found[a] > self.found[b]:
                        self.found[b] = self.found[a]
                        changed = True
