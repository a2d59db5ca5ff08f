"""Prices in plain fractions, written from the definitions and not from the engine: lists of points walked, order by repetition.

It reads the JSON data of `price_books`, whose costs are bought-in amounts and spinning, and rounds only where the
definitions round.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from fractions import Fraction as F
from math import ceil, floor
from typing import Any

Where = tuple[str, str, int]
RANK = {"satin": 1, "bright": 2}
# The round workshop: spinning at 30 an hour and overhead at 6; bright takes 2 minutes of 15 an hour, overhead, and a mop.
SPIN_MINUTE, BRIGHT = F(36, 60), F(2, 60) * (15 + 6) + F("0.12")
BASE = {"GBP": F(1), "USD": 1 / F("1.25"), "EUR": F("0.85"), "JPY": F(1, 200)}
MINOR = {"GBP": 2, "USD": 2, "EUR": 2, "JPY": 0}
# No price of these books is more than so many times the dearest works cost, or over what is held or in force.
MOST_OVER_COST, MOST_ELSE = 80, 200


def half_up(amount: F, places: int) -> F:
    """Rounded half-up, for amounts of 0 or more."""
    return F(floor(amount * 10**places + F(1, 2)), 10**places)


def half_even(amount: F, places: int) -> F:
    """Rounded half-even."""
    return F(round(amount * 10**places), 10**places)


class Answer:
    """A price as the oracle has it."""

    def __init__(self, amount: F, floor_: F | None, cost: F, held: bool, rule: str) -> None:
        self.amount, self.floor, self.cost, self.held, self.rule = amount, floor_, cost, held, rule


class Oracle:
    """Every price of one book, by class and then piece, finish and quantity."""

    def __init__(self, data: dict[str, Any]) -> None:
        self.data = data
        self.piece = {piece["number"]: piece for piece in data["pieces"]}
        self.channel = {channel["name"]: channel for channel in data["channels"]}
        self.was = {(p["channel"], p["piece"], p["finish"], p.get("quantity", 1)): p for p in data["prices_in_force"]}
        self.found: dict[str, dict[Where, Answer]] = {}
        while len(self.found) < len(self.channel):
            for name in self.channel:
                if name not in self.found and self.sources(name) <= self.found.keys():
                    self.found[name] = OneClass(self, self.channel[name]).prices()

    def acting(self, channel: str) -> list[dict[str, Any]]:
        """The rules of a class that have begun and, where they hold a price, have not ended."""
        day = self.data["date"]
        return [
            rule
            for rule in self.data["rules"]
            if rule["channel"] == channel and rule["since"] <= day <= rule["method"].get("until", "9999-12-31")
        ]

    def sources(self, channel: str) -> set[str]:
        """The classes a class may be built from."""
        return {rule["method"]["channel"] for rule in self.acting(channel) if "channel" in rule["method"]}

    def rule(self, channel: str, number: str, finish: str) -> dict[str, Any] | None:
        """The rule that prices a piece in a finish: the narrowest scope that has one, and of it the latest."""
        piece = self.piece[number]
        scopes: list[list[dict[str, str]]] = []
        for narrowed in (
            [{"piece": number}],
            [{"family": piece["family"]}],
            [{"group": g} for g in piece["groups"]],
            [{}],
        ):
            scopes += [[{**scope, "finish": finish} for scope in narrowed], list(narrowed)]
        for level in scopes:
            claiming = [
                rule
                for rule in self.acting(channel)
                if {key: rule[key] for key in ("piece", "family", "group", "finish") if key in rule} in level
            ]
            if claiming:
                return max(claiming, key=lambda rule: rule["since"])
        return None

    def exact(self, number: str, finish: str, batch: int | None) -> F:
        """The works cost before rounding, in pounds."""
        piece = self.piece[number]
        size = batch or piece["usual_batch"]
        if piece["parts"][0]["kind"] == "member":
            members = piece["parts"]
            return sum((self.exact(m["piece"], m.get("finish", finish), None) * m["count"] for m in members), F(0))
        work = piece["operations"][0]
        minutes = F(work["minutes"]) + F(work["set_up_minutes"]) / size
        cost = F(piece["parts"][0]["amount"]) + minutes * SPIN_MINUTE
        return cost + (BRIGHT if finish == "bright" else 0)


class OneClass:
    """The prices of one class."""

    def __init__(self, oracle: Oracle, channel: dict[str, Any]) -> None:
        self.oracle, self.channel, self.name = oracle, channel, channel["name"]
        self.currency = channel.get("currency", "GBP")
        self.places = MINOR[self.currency]
        self.gross = F("1.2") if channel["tax_inclusive"] else F(1)
        self.points = sorted(self._walked()) if "points" in channel else []

    def _walked(self) -> Iterator[int]:
        """Every point of the list in hundredths, the last band as far as any price of the book can go."""
        dearest = max(self.oracle.exact(number, finish, None) for number in self.oracle.piece for finish in RANK)
        farthest = ceil((dearest * MOST_OVER_COST + MOST_ELSE) / BASE[self.currency] * 100)
        for band in self.channel["points"]["bands"]:
            start, step, ending = (int(F(band.get(key, "0")) * 100) for key in ("start", "step", "ending"))
            end = int(F(band["end"]) * 100) if "end" in band else farthest
            first = ceil(F(start - ending, step)) * step + ending
            yield from (point for point in range(first, end, step) if point > 0)

    def prices(self) -> dict[Where, Answer]:
        """Worked again and again, sets from what their members last were, each raised to those below, until all is still."""
        found: dict[Where, Answer] = {}
        while True:
            own = {where: answer for number in self.oracle.piece for where, answer in self._piece(number, found)}
            raised = self._in_order(own)
            if {where: a.amount for where, a in raised.items()} == {where: a.amount for where, a in found.items()}:
                return raised
            found = raised

    def _in_order(self, own: dict[Where, Answer]) -> dict[Where, Answer]:
        raised = dict(own)
        changed = True
        while changed:
            changed = False
            for lower, low in list(raised.items()):
                for upper, high in list(raised.items()):
                    if not high.held and low.amount > high.amount and self._below(lower, upper):
                        raised[upper] = high = Answer(low.amount, high.floor, high.cost, high.held, high.rule)
                        changed = True
        return raised

    def _below(self, lower: Where, upper: Where) -> bool:
        if lower[2] != upper[2]:
            return False
        if lower[0] == upper[0]:
            return RANK[lower[1]] < RANK[upper[1]]
        small, big = self.oracle.piece[lower[0]], self.oracle.piece[upper[0]]
        family = small.get("size_family")
        return bool(
            lower[1] == upper[1] and family and family == big.get("size_family") and F(small["size"]) < F(big["size"])
        )

    def _piece(self, number: str, found: dict[Where, Answer]) -> Iterator[tuple[Where, Answer]]:
        for finish in RANK:
            rule = self.oracle.rule(self.name, number, finish)
            single = None if rule is None else self._price(rule, number, finish, 1, None, found)
            if rule is None or single is None:
                continue
            yield (number, finish, 1), single
            below = single
            for offer in self.channel["breaks"]:
                below = self._break(rule, number, finish, offer, single, below, found)
                yield (number, finish, offer["quantity"]), below

    def _break(
        self, rule: dict[str, Any], number: str, finish: str, offer: dict[str, Any], single: Answer, below: Answer,
        found: dict[Where, Answer],
    ) -> Answer:  # fmt: skip
        if "share" in offer:
            amount = max(half_up(single.amount * (1 - F(offer["share"])), self.places), F(1, 10**self.places))
            if single.floor is not None and amount < single.floor and not single.held:
                amount = F(ceil(single.floor * 10**self.places), 10**self.places)
            price = Answer(amount, single.floor, single.cost, single.held, single.rule)
        else:
            batch = max(self.oracle.piece[number]["usual_batch"], offer["quantity"])
            worked = self._price(rule, number, finish, offer["quantity"], batch, found)
            assert worked is not None
            price = worked
        if price.amount <= below.amount:
            return price
        if price.floor is None or price.held or below.amount >= price.floor:
            amount = below.amount
        else:
            lowest = self.pennies(price.floor)[1] if "share" in offer else self.around(price.floor)[1]
            amount = min(price.amount, lowest)
        return Answer(amount, price.floor, price.cost, price.held, price.rule)

    def _price(
        self,
        rule: dict[str, Any],
        number: str,
        finish: str,
        quantity: int,
        batch: int | None,
        found: dict[Where, Answer],
    ) -> Answer | None:
        pounds = half_even(self.oracle.exact(number, finish, batch), 4)
        cost = pounds if self.currency == "GBP" else half_even(pounds / BASE[self.currency], self.places + 2)
        selling = F(rule.get("selling_costs", self.channel["selling_costs"]))
        checks = {**self.channel["checks"], **rule.get("checks", {})}
        limit = cost / (1 - F(checks["floor_margin"]) - selling) * self.gross if "floor_margin" in checks else None
        built = self._built(rule["method"], cost, selling, number, finish, quantity, found)
        if built is None:
            return None
        held = rule["method"]["kind"] == "held"
        old = self._in_force(number, finish, quantity)
        amount = built if held else Guarded(self, checks, limit, old).through(built)
        return Answer(amount, limit, cost, held, rule["name"])

    def _built(
        self, method: dict[str, Any], cost: F, selling: F, number: str, finish: str, quantity: int,
        found: dict[Where, Answer],
    ) -> F | None:  # fmt: skip
        if method["kind"] == "by margin":
            return cost / (1 - F(method["margin"]) - selling) * self.gross
        if method["kind"] == "by mark-up":
            return cost * (1 + F(method["mark_up"])) / (1 - selling) * self.gross
        if method["kind"] == "held":
            return F(method["amount"])
        if method["kind"] == "from its members":
            members = self.oracle.piece[number]["parts"]
            each = [found.get((m["piece"], m.get("finish", finish), quantity)) for m in members]
            if None in each:
                return None
            total = sum((price.amount * m["count"] for price, m in zip(each, members, strict=True) if price), F(0))
            return total * (1 - F(method["set_share"]))
        return self._from_class(method, number, finish, quantity)

    def _from_class(self, method: dict[str, Any], number: str, finish: str, quantity: int) -> F | None:
        other = self.oracle.channel[method["channel"]]
        quantities = [1, *(offer["quantity"] for offer in other["breaks"])]
        price = self.oracle.found[method["channel"]].get((number, finish, max(q for q in quantities if q <= quantity)))
        if price is None:
            return None
        net = price.amount / (F("1.2") if other["tax_inclusive"] else 1)
        net *= BASE[other.get("currency", "GBP")] / BASE[self.currency]
        for discount in method.get("discounts", ()):
            net *= 1 - F(discount)
        return net * (1 + F(method.get("mark_up", "0"))) * self.gross

    def _in_force(self, number: str, finish: str, quantity: int) -> F | None:
        price = self.oracle.was.get((self.name, number, finish, quantity))
        if price is None:
            return None
        own = price.get("currency", self.currency)
        amount = F(price["amount"])
        return amount if own == self.currency else half_up(amount * BASE[own] / BASE[self.currency], self.places)

    def around(self, amount: F) -> tuple[F | None, F, str]:
        """The points at or below and at or above an amount, and the direction; the minor unit past the last point."""
        wanted = amount * 100
        if self.points and wanted <= self.points[-1]:
            place, after = bisect_left(self.points, wanted), bisect_right(self.points, wanted)
            below = F(self.points[after - 1], 100) if after else None
            return below, F(self.points[place], 100), self.channel["points"]["direction"]
        return self.pennies(amount)

    def pennies(self, amount: F) -> tuple[F | None, F, str]:
        """The amounts of the minor unit around an amount, none of them nothing."""
        unit = F(1, 10**self.places)
        return (floor(amount / unit) * unit or None), max(ceil(amount / unit), 1) * unit, "nearest"


class Guarded:
    """One price through its checks."""

    def __init__(self, own: OneClass, checks: dict[str, str], limit: F | None, old: F | None) -> None:
        self.own, self.checks, self.floor, self.old = own, checks, limit, old
        self.least = F(checks["least"]) if "least" in checks else None
        self.greatest = F(checks["greatest"]) if "greatest" in checks else None
        self.high = old * (1 + F(checks["greatest_rise"])) if old is not None and "greatest_rise" in checks else None
        self.low = old * (1 - F(checks["greatest_fall"])) if old is not None and "greatest_fall" in checks else None
        # Where amounts and changes cannot both hold, the change wins and its point forgets the amount.
        self.lows = [b for b in (self.least if self._below(self.least, self.high) else None, self.low) if b is not None]
        self.highs = [
            b for b in (self.greatest if self._below(self.low, self.greatest) else None, self.high) if b is not None
        ]

    @staticmethod
    def _below(a: F | None, b: F | None) -> bool:
        return a is None or b is None or a <= b

    def through(self, amount: F) -> F:
        """The printed price."""
        for least, greatest in ((self.least, self.greatest), (self.low, self.high)):
            amount = amount if least is None else max(amount, least)
            amount = amount if greatest is None else min(amount, greatest)
        amount = amount if self.floor is None else max(amount, self.floor)
        point = self._point(amount)
        return self.old if self.old is not None and self._too_near(point, self.old) else point

    def fits(self, p: F) -> bool:
        """Whether a point keeps the floor and every bound that counts."""
        return (
            (self.floor is None or p >= self.floor)
            and all(p >= b for b in self.lows)
            and all(p <= b for b in self.highs)
        )

    def _point(self, amount: F) -> F:
        below, above, direction = self.own.around(amount)
        if below is None and not self.fits(above):
            below, above, direction = self.own.pennies(amount)
        if below is None:
            wanted = above
        elif direction == "nearest":
            wanted = above if above - amount <= amount - below else below
        else:
            wanted = above if direction == "up" else below
        near = [p for p in (wanted, below, above) if p is not None and (self.floor is None or p >= self.floor)]
        fitting = [p for p in near if self.fits(p)]
        under = [p for p in near if all(p <= b for b in self.highs)]
        return fitting[0] if fitting else max(under) if under else min(near)

    def _too_near(self, point: F, old: F) -> bool:
        near = [F(self.checks["smallest_change"])] if "smallest_change" in self.checks else []
        near += [F(self.checks["smallest_change_share"]) * old] if "smallest_change_share" in self.checks else []
        keeps = (
            (self.floor is None or old >= self.floor)
            and self._below(self.least, old)
            and self._below(old, self.greatest)
        )
        return keeps and any(abs(point - old) < worth for worth in near)
