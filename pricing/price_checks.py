"""The checks of a price in their order: amounts, changes, floor, price point, smallest change, each said when it acts."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, NamedTuple

from .amounts import ONE, settled
from .price_point import PricePoints, neighbours, preferred
from .rules import Checks


class Step(NamedTuple):
    """One step of a reason: what acted, and the figures it acted with; `reasons` puts it into words."""

    code: str
    facts: tuple[Any, ...] = ()


NO_STEPS: tuple[Step, ...] = ()


@dataclass(frozen=True, slots=True)
class Bounds:
    """What a rule's prices are held to in its channel, in printed amounts.

    `gross` is 1 + tax where the channel prints with tax, else 1; `floor_over` is what a works cost × gross is divided by.
    """

    checks: Checks
    points: PricePoints | None
    minor_unit: int
    gross: Decimal
    selling_costs: Decimal
    floor_over: Decimal | None

    def floor(self, cost: Decimal) -> Decimal | None:
        """The least printed amount that keeps the least margin on a works cost, if there is one."""
        return None if self.floor_over is None else settled(cost * self.gross / self.floor_over)


class Draft:
    """A price on its way through the checks 1 to 5 of its rule."""

    __slots__ = ("_greatest", "_highest", "_least", "_lowest", "bounds", "checks", "floor", "in_force", "steps")

    def __init__(self, bounds: Bounds, cost: Decimal, in_force: Decimal | None) -> None:
        self.bounds = bounds
        self.checks = checks = bounds.checks
        self.in_force = in_force
        self.floor = bounds.floor(cost)
        self.steps: list[Step] = []
        self._least, self._greatest = checks.least, checks.greatest
        self._lowest, self._highest = change_limits(checks, in_force)

    def checked(self, amount: Decimal) -> Decimal:
        """The printed price of an amount that a rule built; `steps` tells what acted on the way."""
        amount = self._changes(self._amounts(amount))
        if self.floor is not None and amount < self.floor:
            self.steps.append(Step("floor", (self.floor, amount)))
            amount = self.floor
        point = self._point(amount)
        return point if self.in_force is None or point == self.in_force else self._smallest_change(point, self.in_force)

    def _amounts(self, amount: Decimal) -> Decimal:
        if self._least is not None and amount < self._least:
            self.steps.append(Step("least", (self._least, amount)))
            return self._least
        if self._greatest is not None and amount > self._greatest:
            self.steps.append(Step("greatest", (self._greatest, amount)))
            return self._greatest
        return amount

    def _changes(self, amount: Decimal) -> Decimal:
        """Not more than the greatest rise or fall.

        A greatest amount that the fall overrides is left out of the point too; a least one loses there to the rise.
        """
        if self._highest is not None and amount > self._highest:
            self.steps.append(Step("greatest rise", (self.in_force, self.checks.greatest_rise, self._highest, amount)))
            return self._highest
        if self._lowest is not None and amount < self._lowest:
            self.steps.append(Step("greatest fall", (self.in_force, self.checks.greatest_fall, self._lowest, amount)))
            if self._greatest is not None and self._lowest > self._greatest:
                self._greatest = None
            return self._lowest
        return amount

    def _point(self, amount: Decimal) -> Decimal:
        bounds = self.bounds
        below, above, direction = neighbours(bounds.points, bounds.minor_unit, amount)
        if below is None and above is not None and not self._fits(above):
            self.steps.append(Step("first point not allowed", (above,)))
            below, above, direction = neighbours(None, bounds.minor_unit, amount)
        wanted = preferred(below, above, direction, amount)
        self.steps.append(Step("price point", (direction, amount, wanted)))
        if self._fits(wanted):
            return wanted
        point = self._fitting(below, above, wanted)
        if point != wanted:
            under = self.floor is not None and wanted < self.floor
            self.steps.append(Step("point above the floor" if under else "point moved", (wanted, point)))
        return point

    def _fitting(self, below: Decimal | None, above: Decimal | None, wanted: Decimal) -> Decimal:
        """The other neighbour where it fits; where neither does, the floor wins, then the greatest, then the least."""
        points = [point for point in (below, above) if point is not None]
        sound = [point for point in points if self.floor is None or point >= self.floor]
        fitting = [point for point in sound if self._fits(point)]
        within = fitting or [point for point in sound if not self._too_high(point)]
        if within:
            return max(within)
        return min(sound, default=wanted)

    def _too_high(self, point: Decimal) -> bool:
        return (self._highest is not None and point > self._highest) or (
            self._greatest is not None and point > self._greatest
        )

    def _fits(self, point: Decimal) -> bool:
        if self.floor is not None and point < self.floor:
            return False
        if (self._lowest is not None and point < self._lowest) or (self._least is not None and point < self._least):
            return False
        return not self._too_high(point)

    def _smallest_change(self, amount: Decimal, old: Decimal) -> Decimal:
        """The price in force where the new one is nearer to it than is worth printing and it keeps amounts and floor."""
        checks, change = self.checks, abs(amount - old)
        near = (checks.smallest_change is not None and change < checks.smallest_change) or (
            checks.smallest_change_share is not None and change < checks.smallest_change_share * old
        )
        if not near or not self._keeps(old):
            return amount
        self.steps.append(Step("smallest change", (old, amount)))
        return old

    def _keeps(self, amount: Decimal) -> bool:
        checks = self.checks
        return (
            (self.floor is None or amount >= self.floor)
            and (checks.least is None or amount >= checks.least)
            and (checks.greatest is None or amount <= checks.greatest)
        )


def change_limits(checks: Checks, in_force: Decimal | None) -> tuple[Decimal | None, Decimal | None]:
    """The lowest and highest printed amount that the greatest fall and rise allow against the price in force."""
    if in_force is None:
        return None, None
    fall, rise = checks.greatest_fall, checks.greatest_rise
    lowest = None if fall is None else settled(in_force * (ONE - fall))
    highest = None if rise is None else settled(in_force * (ONE + rise))
    return lowest, highest


def breaches(amount: Decimal, checks: Checks, in_force: Decimal | None, floor: Decimal | None) -> Iterator[Step]:
    """Each check that a printed amount does not keep, because a later one won or because it is set by hand."""
    lowest, highest = change_limits(checks, in_force)
    if checks.least is not None and amount < checks.least:
        yield Step("under the least amount", (checks.least,))
    if checks.greatest is not None and amount > checks.greatest:
        yield Step("over the greatest amount", (checks.greatest,))
    if lowest is not None and amount < lowest:
        yield Step("past the greatest fall", (in_force, lowest))
    if highest is not None and amount > highest:
        yield Step("past the greatest rise", (in_force, highest))
    if floor is not None and amount < floor:
        yield Step("under the floor", (floor,))
