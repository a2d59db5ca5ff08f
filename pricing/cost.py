"""Works cost of a piece in a finish: every leaf of its cost sheet, their exact sum, and the one rounding."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal, InvalidOperation
from functools import lru_cache
from typing import Any, NamedTuple

from .alloy import REJECTS
from .amounts import CONTEXT, ONE, ZERO, cost_places, exactly, half_even, leaf, plain, settled
from .book import Book
from .errors import refuse
from .finish import Consumable
from .labour import PER_BATCH, PER_DM2, PER_DOZEN, Operation
from .metal import Metal, part_area_cm2, part_metal
from .metal_prices import MetalPrices, exchange_rate, quoted_price
from .overhead import LABOUR_COST, LABOUR_HOURS, PRIME_COST, Pool
from .piece import (
    BoughtIn,
    CastPart,
    FlatPart,
    Made,
    Member,
    MetalPart,
    Outwork,
    Piece,
    Solder,
    SpunPart,
    StatedCost,
)

METAL, BOUGHT_IN, TOOLING, LABOUR, CONSUMABLES = "metal", "bought-in", "tooling", "labour", "consumables"
OVERHEAD, PACKING, MEMBERS, STATED = "overhead", "packing", "members", "stated"
BRANCHES = (METAL, BOUGHT_IN, TOOLING, LABOUR, CONSUMABLES, OVERHEAD, PACKING)
PRIME = frozenset({METAL, BOUGHT_IN, TOOLING, LABOUR, CONSUMABLES})
HOUR_MINUTES = Decimal(60)
DOZEN = Decimal(12)
KILO = Decimal(1000)


class Leaf(NamedTuple):
    """One leaf of a cost sheet: `amount` is quantity × rate at 30 places; quantities are kg, hours, pieces, money or dm².

    `branch` is where it counts; `group` the part, stage, pool or member it stands under; `what` and `facts` say what
    it is. `key` names the form or credit that gave the rate of a metal leaf. `finish` marks what the finish brought.
    """

    branch: str
    group: str
    what: str
    quantity: Decimal
    unit: str
    rate: Decimal
    amount: Decimal
    source: str = ""
    date: datetime.date | None = None
    key: tuple[Any, ...] = ()
    finish: bool = False


@dataclass(frozen=True, slots=True)
class CostSheet:
    """The works cost of one selling unit of a piece in a finish at a batch, in the base currency.

    `leaves` add up to `exact` to the last digit; `works_cost` is `exact` rounded half-even to two places beyond the
    currency's minor unit. `minutes` are per good piece by stage (None: the bench). Tooling charged by the piece is a
    direct expense within prime cost; tooling on a first order's own line is in `first_order` and in no cost.
    """

    piece: str
    finish: str
    batch: int
    leaves: tuple[Leaf, ...]
    exact: Decimal
    works_cost: Decimal
    finished_g: Decimal
    packed_g: Decimal
    tin_content_g: Decimal
    minutes: tuple[tuple[str | None, Decimal], ...]
    members: tuple[tuple[Decimal, CostSheet], ...] = ()
    stated: StatedCost | None = None
    unknown: tuple[str, ...] = ()
    first_order: tuple[tuple[str, Decimal], ...] = ()

    @property
    @exactly
    def rounding(self) -> Decimal:
        """What the rounding adds: works cost − exact sum; the last line of the sheet."""
        return self.works_cost - self.exact

    @exactly
    def branch(self, name: str) -> Decimal:
        """The exact sum of one branch, members' shares included."""
        return sum((item.amount for item in self.leaves if item.branch == name), ZERO)

    @property
    @exactly
    def of_finish(self) -> Decimal:
        """What the finish brought in labour and consumables."""
        return sum((item.amount for item in self.leaves if item.finish), ZERO)

    @property
    @exactly
    def total_minutes(self) -> Decimal:
        """Minutes per good piece over all stages."""
        return sum((minutes for _, minutes in self.minutes), ZERO)

    @property
    def is_stated(self) -> bool:
        """Whether the cost, or a member's, is stated and not worked."""
        return self.stated is not None or any(sheet.is_stated for _, sheet in self.members)


class _Rates(NamedTuple):
    """What a stage costs: its rate per hour with on-cost, the on-cost factor, where it comes from."""

    per_hour: Decimal
    on_cost: Decimal
    source: str
    date: datetime.date | None


class Costing:
    """One run of costing over a book: its rates worked once, its parts' metal and its sheets kept as they are asked for."""

    def __init__(self, book: Book) -> None:
        self.book = book
        self.prices = MetalPrices(book)
        self.places = cost_places(book.minor_unit)
        self.stages = {
            stage.name: _Rates(
                stage.wage_per_hour * (ONE + stage.on_cost), ONE + stage.on_cost, stage.source, stage.since
            )
            for stage in book.stages
        }
        self.bench = None
        if book.bench_rate is not None:
            bench = book.bench_rate
            per_hour = bench.wage_per_hour * (ONE + bench.on_cost)
            self.bench = _Rates(per_hour, ONE + bench.on_cost, bench.source, bench.since)
        self.pools = tuple((pool, absorption_rate(pool)) for pool in book.pools)
        self._metal: dict[tuple[str, str], Metal] = {}
        self._metals: dict[str, tuple[tuple[Any, Metal], ...]] = {}
        self._masses: dict[str, tuple[Decimal, Decimal, Decimal]] = {}
        self._sheets: dict[tuple[str, str, int], CostSheet] = {}

    def metals(self, piece: Piece) -> tuple[tuple[Any, Metal], ...]:
        """The metal of each part of a piece, worked once for all its finishes."""
        if piece.number not in self._metals:
            self._metals[piece.number] = tuple(
                (part, self.metal(piece, part))
                for part in piece.parts
                if isinstance(part, SpunPart | FlatPart | CastPart)
            )
        return self._metals[piece.number]

    def metal(self, piece: Piece, part: MetalPart) -> Metal:
        """The metal of one part of a piece, before counts and yields."""
        key = (piece.number, part.name)
        if key not in self._metal:
            self._metal[key] = part_metal(self.book, self.prices, part, f"pieces {piece.number}")
        return self._metal[key]

    def masses(self, piece: Piece) -> tuple[Decimal, Decimal, Decimal]:
        """Finished mass, packed mass and tin content of a piece's own parts in g, worked once for all its finishes."""
        if piece.number not in self._masses:
            self._masses[piece.number] = self._weighed(piece)
        return self._masses[piece.number]

    def _weighed(self, piece: Piece) -> tuple[Decimal, Decimal, Decimal]:
        forms = self.book.form_by_name
        metals = [(metal.alloy, metal.finished * part.count) for part, metal in self.metals(piece)]
        metals += [(forms[part.form].alloy, part.grams) for part in piece.parts if isinstance(part, Solder)]
        finished = sum((grams for _, grams in metals), ZERO)
        tin = sum((grams * self.prices.fraction(alloy, "Sn") for alloy, grams in metals), ZERO)
        bought = sum((part.mass_g * part.count for part in piece.parts if isinstance(part, BoughtIn)), ZERO)
        return finished, finished + bought + piece.packing_g, tin

    def sheet(self, piece: Piece, finish: str, batch: int) -> CostSheet:
        """The cost sheet of a piece in a finish at a batch.

        Raises: PricingError `batch` below 1, `works cost` below 0, `amount` for a figure too large to work.
        """
        key = (piece.number, finish, batch)
        if key not in self._sheets:
            self._sheets[key] = self._worked(piece, finish, batch)
        return self._sheets[key]

    def _worked(self, piece: Piece, finish: str, batch: int) -> CostSheet:
        record, field = f"pieces {piece.number}", f"made {finish}"
        if batch < 1:
            raise refuse("batch", record, "batch", batch, "1 good piece or more")
        made = next(made for made in piece.made if made.finish == finish)
        try:
            if made.stated_cost is not None:
                sheet = _stated_sheet(self, piece, made, made.stated_cost, batch)
            else:
                sheet = _Bench(self, piece, finish, batch).sheet()
        except InvalidOperation as error:
            raise refuse("amount", record, field, "a figure too large to work", "amounts under 10²⁰") from error
        if sheet.exact < 0:
            raise refuse("works cost", record, field, f"a works cost of {plain(sheet.works_cost)}", "0 or more")
        return sheet


def absorption_rate(pool: Pool) -> Decimal:
    """What a pool adds per hour, or per unit of money, of its basis: budget ÷ activity, or the rate itself."""
    if pool.rate is not None:
        return pool.rate
    assert pool.budget is not None
    assert pool.activity is not None
    return pool.budget / pool.activity


@lru_cache(maxsize=4096)
@exactly
def learning_mean(rate: Decimal, units: int) -> Decimal:
    """The mean of n^(log₂ rate) over the first `units` units of a run: what a learning curve leaves of the first time."""
    if rate == ONE:
        return ONE
    power = CONTEXT.divide(CONTEXT.ln(rate), CONTEXT.ln(Decimal(2)))
    total = sum((CONTEXT.power(Decimal(unit), power) for unit in range(1, units + 1)), ZERO)
    return CONTEXT.divide(total, Decimal(units))


class _Bench:
    """A piece in a finish on its way through the stages: yields, then each kind of leaf in turn."""

    def __init__(self, costing: Costing, piece: Piece, finish: str, batch: int) -> None:
        self.costing = costing
        self.book = costing.book
        self.piece = piece
        self.finish = self.book.finish_by_name[finish]
        self.batch = batch
        self.record = f"pieces {piece.number}"
        self.operations = tuple(
            (operation, operation.finish is not None)
            for operation in piece.operations
            if operation.finish is None or operation.finish == finish
        )
        # The members of a set are finished already: their cost holds what the finish brings.
        self.finished_here = not is_assembled(piece)
        if self.finished_here:
            self.operations += tuple((operation, True) for operation in self.finish.operations)
        self.entering, self.yields = self._entering()
        self.leaves: list[Leaf] = []
        self.hours: list[tuple[str | None, Decimal]] = []
        self.members: list[tuple[Decimal, CostSheet]] = []

    def _entering(self) -> tuple[dict[str, Decimal], dict[str, Decimal]]:
        """Units entering each stage this piece goes through, per good piece, and the yields below 1, in stage order."""
        order = self.book.stage_order
        through = sorted({o.stage for o, _ in self.operations if o.stage is not None}, key=order.__getitem__)
        own = {entry.stage: entry.first_pass_yield for entry in self.piece.yields}
        stages = self.book.stage_by_name
        entering: dict[str, Decimal] = {}
        yields: dict[str, Decimal] = {}
        units = ONE
        for stage in reversed(through):
            share = own.get(stage, stages[stage].first_pass_yield)
            if share != ONE:
                units = units / share
                yields[stage] = share
            entering[stage] = units
        return dict(reversed(entering.items())), dict(reversed(yields.items()))

    def sheet(self) -> CostSheet:
        """The whole cost sheet."""
        self._metal()
        self._solder()
        self._bought()
        self._tooling()
        self._labour()
        self._consumables()
        self._overhead()
        self._packing()
        self._set_members()
        return self._summed()

    # Where things enter

    def _first(self) -> str | None:
        return next(iter(self.entering), None)

    def _stage_from(self, stage: str) -> str | None:
        """The stage itself if the piece goes through it, else the next one that it does, else None."""
        if stage in self.entering:
            return stage
        order = self.book.stage_order
        return next((through for through in self.entering if order[through] > order[stage]), None)

    def _part_stage(self, name: str, enters: str | None) -> str | None:
        """Where a part enters: as stated, else at the first stage with an operation for it, else the piece's first."""
        if enters is not None:
            return self._stage_from(enters)
        own = {operation.stage for operation, _ in self.operations if operation.part == name}
        return next((stage for stage in self.entering if stage in own), self._first())

    def _solder_stage(self, enters: str | None) -> str | None:
        if enters is not None:
            return self._stage_from(enters)
        soldering = next((stage.name for stage in self.book.stages if stage.solder), None)
        if soldering in self.entering:
            return soldering
        return next(reversed(self.entering), None)

    def _units(self, stage: str | None) -> Decimal:
        return ONE if stage is None else self.entering[stage]

    # Metal

    def _charge(self, group: str, what: str, grams: Decimal, form: str) -> None:
        rate = self.costing.prices.form(form)
        kilograms = grams / KILO
        amount = leaf(kilograms * rate.per_kg)
        self.leaves.append(
            Leaf(
                METAL,
                group,
                what,
                kilograms,
                "kg",
                rate.per_kg,
                amount,
                rate.source,
                rate.date,
                ("form", form),
            )
        )

    def _give_back(self, group: str, of: str, grams: Decimal, alloy: str, stage: str | None = None) -> None:
        rate = self.costing.prices.credit(alloy, of, stage)
        kilograms = -grams / KILO
        amount = leaf(kilograms * rate.per_kg)
        key = ("credit", alloy, of, stage)
        self.leaves.append(Leaf(METAL, group, of, kilograms, "kg", rate.per_kg, amount, rate.source, rate.date, key))

    def _metal(self) -> None:
        rejected = []
        for part, metal in self.costing.metals(self.piece):
            stage = self._part_stage(part.name, part.enters)
            units = self._units(stage) * part.count
            self._charge(part.name, part.kind, metal.drawn * units, metal.form)
            for of, grams in metal.back:
                self._give_back(part.name, of, grams * units, metal.alloy)
            rejected.append((stage, metal.alloy, part.name, metal.finished * part.count))
        for leaving, share in self.yields.items():
            self._rejects(leaving, self.entering[leaving] * (ONE - share), rejected)

    def _rejects(self, leaving: str, units: Decimal, parts: list[tuple[str | None, str, str, Decimal]]) -> None:
        """Rejects leaving a stage give back the finished mass of every part entered by then."""
        order = self.book.stage_order
        for stage, alloy, name, grams in parts:
            if stage is not None and order[stage] <= order[leaving]:
                self._give_back(name, REJECTS, grams * units, alloy, leaving)

    def _solder(self) -> None:
        for part in self.piece.parts:
            if isinstance(part, Solder):
                units = self._units(self._solder_stage(part.enters))
                self._charge("solder", "solder", part.grams * units, part.form)

    # Bought in, sent out, tooling

    def _bought(self) -> None:
        for part in self.piece.parts:
            if isinstance(part, BoughtIn):
                units = self._units(self._part_stage(part.name, part.enters)) * part.count
                self._money(BOUGHT_IN, part.name, "bought in", units, part.amount, part.currency, part.source)
            elif isinstance(part, Outwork) and part.finish in (None, self.finish.name):
                units = self._units(self._part_stage(part.name, part.enters)) * part.count
                each = max(part.amount, part.least_per_batch / (self.batch * units))
                self._money(BOUGHT_IN, part.name, "sent out", units, each, part.currency, "")

    def _money(
        self,
        branch: str,
        group: str,
        what: str,
        units: Decimal,
        each: Decimal,
        currency: str | None,
        source: str,
    ) -> None:
        rate = each if currency is None else each * exchange_rate(self.book, currency, self.book.date)
        self.leaves.append(Leaf(branch, group, what, units, "piece", rate, leaf(units * rate), source))

    def _tooling(self) -> None:
        for tooling in self.piece.tooling:
            if tooling.over_pieces is not None:
                share = ONE / tooling.over_pieces
                self._money(TOOLING, tooling.name, "over pieces", share, tooling.amount, None, "")
            elif tooling.life_castings is not None:
                share = Decimal(tooling.castings_per_piece) / tooling.life_castings
                self._money(TOOLING, tooling.name, "over castings", share, tooling.amount, None, "")

    # Labour

    def _labour(self) -> None:
        for operation, of_finish in self.operations:
            self._operation(operation, of_finish)

    def _operation(self, operation: Operation, of_finish: bool) -> None:
        rates = self._rates(operation)
        units = self._units(operation.stage)
        count = self._part_count(operation.part)
        minutes = self._run_minutes(operation, units) * count * operation.hands
        set_up = operation.set_up_minutes * operation.hands / self.batch
        self.hours.append((operation.stage, (minutes + set_up) / HOUR_MINUTES))
        if operation.piece_work is not None:
            self._piece_work(operation, units * count, rates, of_finish)
            minutes = ZERO
        hours = (minutes + set_up) / HOUR_MINUTES
        if hours or operation.piece_work is None:
            self._labour_leaf(operation, "work", hours, "h", rates.per_hour, rates, of_finish)

    def _piece_work(self, operation: Operation, units: Decimal, rates: _Rates, of_finish: bool) -> None:
        assert operation.piece_work is not None
        each = operation.piece_work.amount * rates.on_cost
        if operation.piece_work.per == PER_DOZEN:
            units = units / DOZEN
        self._labour_leaf(operation, "piece-work", units, operation.piece_work.per, each, rates, of_finish)

    def _labour_leaf(
        self,
        operation: Operation,
        what: str,
        quantity: Decimal,
        unit: str,
        rate: Decimal,
        rates: _Rates,
        of_finish: bool,
    ) -> None:
        group = operation.stage or ""
        amount = leaf(quantity * rate)
        self.leaves.append(
            Leaf(LABOUR, group, what, quantity, unit, rate, amount, rates.source, rates.date, (), of_finish)
        )

    def _rates(self, operation: Operation) -> _Rates:
        if operation.stage is not None:
            return self.costing.stages[operation.stage]
        if self.costing.bench is None:
            raise refuse("bench rate", self.record, "operations.stage", "nothing", "a stage, or a bench rate")
        return self.costing.bench

    def _part_count(self, name: str | None) -> int:
        if name is None:
            return 1
        for part in self.piece.parts:
            if not isinstance(part, Solder | Member) and part.name == name:
                return part.count
        raise refuse("part", self.record, "operations.part", f'"{name}"', "a part of the piece")

    def _run_minutes(self, operation: Operation, units: Decimal) -> Decimal:
        """Minutes per good piece without set-up and hands: as entered, × the units that enter, × what learning leaves."""
        minutes = operation.minutes
        if operation.basis == PER_DOZEN:
            minutes = minutes / DOZEN
        elif operation.basis == PER_BATCH:
            minutes = minutes / self.piece.usual_batch
        elif operation.basis == PER_DM2:
            minutes = minutes * self.surface_dm2()
        if operation.learning_rate is not None:
            entering = settled(units * self.batch).to_integral_value(ROUND_CEILING)
            minutes = minutes * learning_mean(operation.learning_rate, int(entering))
        return minutes * units

    def surface_dm2(self) -> Decimal:
        """The finished surface of the piece in dm²: Σ area × count over its parts.

        Raises: PricingError `surface` for a part whose area is not known.
        """
        return surface_cm2(self.piece) / 100

    # Consumables, overhead, packing

    def _consumables(self) -> None:
        for consumable in self.piece.consumables:
            if consumable.finish is None or consumable.finish == self.finish.name:
                self._consumable(consumable, consumable.finish is not None)
        if self.finished_here:
            for consumable in self.finish.consumables:
                self._consumable(consumable, True)

    def _consumable_stage(self, consumable: Consumable, of_finish: bool) -> str | None:
        """Where a consumable enters: as stated, else at the first stage of the finish that brings it, else the first."""
        if consumable.enters is not None:
            return self._stage_from(consumable.enters)
        own = {operation.stage for operation, brought in self.operations if brought and of_finish}
        return next((stage for stage in self.entering if stage in own), self._first())

    def _consumable(self, consumable: Consumable, of_finish: bool) -> None:
        units = self._units(self._consumable_stage(consumable, of_finish))
        unit = "piece"
        if consumable.basis == PER_DM2:
            units, unit = units * self.surface_dm2(), "dm2"
        amount = leaf(units * consumable.amount)
        self.leaves.append(
            Leaf(CONSUMABLES, consumable.name, "", units, unit, consumable.amount, amount, finish=of_finish)
        )

    def _overhead(self) -> None:
        for pool, rate in self.costing.pools:
            base = self._base(pool)
            unit = "h" if pool.basis == LABOUR_HOURS else "money"
            self.leaves.append(Leaf(OVERHEAD, pool.name, pool.basis, base, unit, rate, leaf(base * rate), pool.source))

    def _base(self, pool: Pool) -> Decimal:
        """What a pool is spread on, per good piece: the hours or cost of the labour it reads, or the prime cost."""
        if pool.basis == LABOUR_HOURS:
            return sum((hours for stage, hours in self.hours if not pool.stages or stage in pool.stages), ZERO)
        if pool.basis == PRIME_COST:
            return sum((item.amount for item in self.leaves if item.branch in PRIME), ZERO)
        return sum(
            (
                item.amount
                for item in self.leaves
                if item.branch == LABOUR and (not pool.stages or item.group in pool.stages)
            ),
            ZERO,
        )

    def _packing(self) -> None:
        if self.piece.packing:
            amount = self.piece.packing
            self.leaves.append(Leaf(PACKING, "", "", ONE, "piece", amount, leaf(amount)))

    def _set_members(self) -> None:
        """A member's works cost before rounding, branch by branch, × its count and the units that enter with it."""
        for part in self.piece.parts:
            if isinstance(part, Member):
                member = self.book.piece_by_number[part.piece]
                finish = part.finish or self.finish.name
                sheet = self.costing.sheet(member, finish, member.usual_batch)
                stage = self._first() if part.enters is None else self._stage_from(part.enters)
                units = self._units(stage) * part.count
                self.members.append((units, sheet))
                for branch in (*BRANCHES, STATED):
                    rate = sheet.branch(branch)
                    if rate:
                        self.leaves.append(
                            Leaf(branch, part.piece, MEMBERS, units, part.piece, rate, leaf(units * rate))
                        )

    def _summed(self) -> CostSheet:
        exact = sum((item.amount for item in self.leaves), ZERO)
        finished, packed, tin = self.costing.masses(self.piece)
        if self.members:
            counts = [part.count for part in self.piece.parts if isinstance(part, Member)]
            for count, (_, sheet) in zip(counts, self.members, strict=True):
                finished += count * sheet.finished_g
                packed += count * sheet.packed_g
                tin += count * sheet.tin_content_g
        return CostSheet(
            piece=self.piece.number,
            finish=self.finish.name,
            batch=self.batch,
            leaves=tuple(self.leaves),
            exact=exact,
            works_cost=half_even(exact, self.costing.places),
            finished_g=finished,
            packed_g=packed,
            tin_content_g=tin,
            minutes=self._minutes(),
            members=tuple(self.members),
            first_order=self._first_order(),
        )

    def _first_order(self) -> tuple[tuple[str, Decimal], ...]:
        """Tooling on the first order's own line: the piece's own and its members', each once."""
        own = [
            (tooling.name, tooling.amount)
            for tooling in self.piece.tooling
            if tooling.over_pieces is None and tooling.life_castings is None
        ]
        members = [tool for _, sheet in self.members for tool in sheet.first_order]
        return tuple(dict.fromkeys((*own, *members)))

    def _minutes(self) -> tuple[tuple[str | None, Decimal], ...]:
        """Minutes per good piece by stage, in the order of work, bench minutes last; members' are in their own sheets."""
        by_stage: dict[str | None, Decimal] = {}
        for stage, hours in self.hours:
            by_stage[stage] = by_stage.get(stage, ZERO) + hours * HOUR_MINUTES
        order = self.book.stage_order
        return tuple(sorted(by_stage.items(), key=lambda item: order.get(item[0] or "", len(order))))


def is_assembled(piece: Piece) -> bool:
    """Whether a piece is made up of other pieces, with no metal part of its own."""
    metal = any(isinstance(part, SpunPart | FlatPart | CastPart) for part in piece.parts)
    return not metal and any(isinstance(part, Member) for part in piece.parts)


def surface_cm2(piece: Piece) -> Decimal:
    """The finished surface of a piece in cm²: Σ area × count over its metal parts.

    Raises: PricingError `surface` for a part whose area is neither stated nor given by a profile, or with no such part.
    """
    total = ZERO
    for index, part in enumerate(piece.parts):
        if isinstance(part, SpunPart | FlatPart | CastPart):
            area = part_area_cm2(part)
            if area is None:
                allowed = "an area or a profile, where work or consumables are per dm2"
                raise refuse("surface", f"pieces {piece.number}", f"parts[{index}].area_cm2", "nothing", allowed)
            total += area * part.count
    if not total:
        allowed = "a metal part with an area, where work or consumables are per dm2"
        raise refuse("surface", f"pieces {piece.number}", "parts", "no metal part", allowed)
    return total


def _stated_sheet(costing: Costing, piece: Piece, made: Made, stated: StatedCost, batch: int) -> CostSheet:
    """A stated cost, moved by its tin and its time where they are known; nothing else is added to it."""
    unknown: list[str] = []
    leaves = [
        Leaf(
            STATED,
            "",
            "cost stated",
            ONE,
            "piece",
            stated.amount,
            leaf(stated.amount),
            stated.source,
            stated.date,
        )
    ]
    leaves += _moved_tin(costing, stated, unknown)
    leaves += _moved_time(costing, stated, unknown)
    exact = sum((item.amount for item in leaves), ZERO)
    return CostSheet(
        piece=piece.number,
        finish=made.finish,
        batch=batch,
        leaves=tuple(leaves),
        exact=exact,
        works_cost=half_even(exact, costing.places),
        finished_g=ZERO,
        packed_g=piece.packing_g,
        tin_content_g=stated.tin_content_g or ZERO,
        minutes=((None, stated.minutes),) if stated.minutes is not None else (),
        stated=stated,
        unknown=tuple(unknown),
    )


def _moved_tin(costing: Costing, stated: StatedCost, unknown: list[str]) -> Iterator[Leaf]:
    if stated.tin_content_g is None:
        unknown.append("tin content")
        return
    then = stated.tin_per_kg
    if then is None:
        then = quoted_price(costing.book, "Sn", stated.date).per_kg
    now = costing.prices.element("Sn")
    kilograms, moved = stated.tin_content_g / KILO, now.per_kg - then
    yield Leaf(
        STATED,
        "",
        "tin moved",
        kilograms,
        "kg",
        moved,
        leaf(kilograms * moved),
        now.source,
        now.date,
        ("tin",),
    )


def _moved_time(costing: Costing, stated: StatedCost, unknown: list[str]) -> Iterator[Leaf]:
    now = hourly_rate(costing)
    if stated.minutes is None or stated.hourly_rate is None or now is None:
        unknown.append("time" if stated.minutes is None else "rate per hour")
        return
    hours, moved = stated.minutes / HOUR_MINUTES, now - stated.hourly_rate
    yield Leaf(STATED, "", "time moved", hours, "h", moved, leaf(hours * moved))


def hourly_rate(costing: Costing) -> Decimal | None:
    """Today's hour at the bench with its overhead: the bench rate and the pools that rest on labour as a whole."""
    if costing.bench is None:
        return None
    hour = costing.bench.per_hour
    for pool, rate in costing.pools:
        if not pool.stages and pool.basis == LABOUR_HOURS:
            hour += rate
        elif not pool.stages and pool.basis == LABOUR_COST:
            hour += rate * costing.bench.per_hour
    return hour


@exactly
def cost_sheet(book: Book, number: str, finish: str, batch: int | None = None) -> CostSheet:
    """The cost sheet of a piece in a finish at a batch of good pieces, its usual batch unless given.

    Raises: PricingError `piece` where the book has no such piece or does not make it in the finish.
    """
    piece = book.piece_by_number.get(number)
    if piece is None:
        raise refuse("piece", f"pieces {number}", "number", f'"{number}"', "the number of a piece of the book")
    finishes = [made.finish for made in piece.made]
    if finish not in finishes:
        allowed = ", ".join(f'"{name}"' for name in finishes)
        raise refuse("finish", f"pieces {number}", "made", f'"{finish}"', f"one of {allowed}")
    return Costing(book).sheet(piece, finish, piece.usual_batch if batch is None else batch)


@exactly
def works_costs(book: Book) -> Mapping[tuple[str, str], CostSheet]:
    """The cost sheet of every piece in every finish it is made in, at its usual batch, in the order of the book."""
    costing = Costing(book)
    return {
        (piece.number, made.finish): costing.sheet(piece, made.finish, piece.usual_batch)
        for piece in book.pieces
        for made in piece.made
    }


@exactly
def sensitivity(book: Book, sheet: CostSheet, element: str = "Sn") -> Decimal:
    """∂(works cost before rounding)/∂(price per kg of an element), exact; at a credit's kink, the slope for a rise."""
    return _slope(MetalPrices(book), book, sheet, element)


def _slope(prices: MetalPrices, book: Book, sheet: CostSheet, element: str) -> Decimal:
    if sheet.stated is not None:
        return sum((item.quantity for item in sheet.leaves if item.key == ("tin",) and element == "Sn"), ZERO)
    own = ZERO
    for item in sheet.leaves:
        if item.key and item.key[0] == "form":
            own += item.quantity * prices.form_slope(item.key[1], element)
        elif item.key:
            _, alloy, of, stage = item.key
            own += item.quantity * prices.credit_slope(alloy, of, stage, element)
    on_prime = sum((absorption_rate(pool) for pool in book.pools if pool.basis == PRIME_COST), ZERO)
    members = sum((units * _slope(prices, book, member, element) for units, member in sheet.members), ZERO)
    return own * (ONE + on_prime) + members
