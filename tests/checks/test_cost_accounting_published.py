"""Works cost, overhead, set-up, yield and learning against published cost-accounting examples; published.json has the sources."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import ROUND_CEILING, Decimal
from typing import Any

import pytest

from pricing.amounts import CONTEXT, exactly, half_even
from pricing.book import Book
from pricing.cost import BOUGHT_IN, LABOUR, METAL, OVERHEAD, CostSheet, absorption_rate, cost_sheet, learning_mean
from pricing.overhead import LABOUR_COST, LABOUR_HOURS, Pool
from pricing.price import price_everything
from tests.checks.bench import DAY, FINISH, NUMBER, book, piece, stage
from tests.checks.published import Check, agrees, published, record

PRODUCTS = ("A", "B", "C")
UNITS = (140_000, 100_000, 250_000)
HOURS = (350_000, 400_000, 500_000)
MATERIALS = ("3.50", "6.00", "11.70")
LABOUR_PER_UNIT = ("10.00", "2.75", "4.30")
SOLD_AT = ("20", "25", "30")


def decimals(values: Iterable[Any]) -> list[Decimal]:
    return [Decimal(str(value)) for value in values]


def near(check: Check, found: Iterable[Decimal], expected: Iterable[Any]) -> bool:
    """Whether each figure is within the check's tolerance of its own."""
    pairs = zip(found, decimals(expected), strict=True)
    return all(abs(one - other) <= Decimal(str(check.tolerance)) for one, other in pairs)


def said(values: Iterable[Decimal]) -> str:
    """Figures for the page of checks, to six places."""
    return ", ".join(format(CONTEXT.quantize(value, Decimal("0.000001")).normalize(), "f") for value in values)


def bought(amount: str, name: str = "materials") -> dict[str, Any]:
    return {"kind": "bought-in", "name": name, "amount": amount}


def work(minutes: str, name: str = "bench", **more: Any) -> dict[str, Any]:
    return {"stage": name, "minutes": minutes, **more}


def pool(name: str = "overhead", basis: str = LABOUR_HOURS, **more: Any) -> dict[str, Any]:
    return {"name": name, "basis": basis, **more}


def sheet_of(found: Book, number: str = NUMBER, batch: int | None = None) -> CostSheet:
    return cost_sheet(found, number, FINISH, batch)


def one_piece(batch: int | None = None, *, made: Mapping[str, Any], **more: Any) -> CostSheet:
    return sheet_of(book(pieces=[piece(**made)], **more), batch=batch)


# Overhead rates


@exactly
def test_a_rate_on_direct_labour_cost_and_what_a_job_bears() -> None:
    rate, job = published("CO-01"), published("CO-02")
    labour = pool(basis=LABOUR_COST, budget="250000", activity="100000")
    sheet = one_piece(made={"operations": [work("60")]}, stages=[stage(wage="66")], pools=[labour])
    assert agrees(rate, absorption_rate(Pool(**{**labour, "budget": Decimal(250000), "activity": Decimal(100000)})))
    assert sheet.branch(LABOUR) == 66
    assert agrees(job, sheet.branch(OVERHEAD))


def three_products(pools: list[dict[str, Any]]) -> Book:
    """Three products, each with its own stage, its direct cost and hours a unit, and the price it is sold at."""
    pieces = [
        piece(
            name,
            parts=[bought(materials)],
            operations=[work(str(Decimal(hours * 60) / units), name, piece_work={"amount": labour})],
        )
        for name, units, hours, materials, labour in zip(
            PRODUCTS, UNITS, HOURS, MATERIALS, LABOUR_PER_UNIT, strict=True
        )
    ]
    held = [
        {
            "name": name, "channel": "any", "piece": name, "since": DAY,
            "method": {"kind": "held", "amount": price, "until": DAY, "reason": "printed in the example"},
        }
        for name, price in zip(PRODUCTS, SOLD_AT, strict=True)
    ]  # fmt: skip
    return book(
        stages=[stage(name) for name in PRODUCTS],
        pieces=pieces,
        pools=pools,
        taxes=[{"name": "none", "rate": "0", "since": DAY}],
        channels=[{"name": "any", "kind": "dealer", "tax_inclusive": False, "tax": "none"}],
        rules=held,
    )


def figures(found: Book) -> tuple[list[Decimal], list[Decimal], list[Decimal]]:
    """Overhead a unit, works cost and what the price leaves over it, product by product."""
    sheets = [sheet_of(found, name) for name in PRODUCTS]
    prices = [price_everything(found).price("any", name, FINISH) for name in PRODUCTS]
    overhead = [sheet.branch(OVERHEAD) for sheet in sheets]
    return overhead, [sheet.works_cost for sheet in sheets], [price.net - price.cost for price in prices]


def test_one_pool_over_direct_labour_hours() -> None:
    rate, per_unit, cost = published("CO-08"), published("CO-09"), published("CO-10")
    found = three_products([pool(budget="2500000", activity="1250000")])
    overhead, works, profit = figures(found)
    assert agrees(rate, exactly(absorption_rate)(found.pools[0]))
    record(per_unit, said(overhead))
    assert near(per_unit, overhead, per_unit.expected)
    record(cost, f"cost {said(works)}; gross profit {said(profit)}")
    assert near(cost, works, cost.expected["cost"])
    assert near(cost, profit, cost.expected["gp"])


def test_a_pool_for_each_product_moves_cost_between_them() -> None:
    """The overhead that activities put on each product, spread over the hours of that product's own stage."""
    check = published("CO-12")
    budgets = ("1260000", "815000", "425000")
    pools = [
        pool(f"activities of {name}", budget=budget, activity=str(hours), stages=[name])
        for name, budget, hours in zip(PRODUCTS, budgets, HOURS, strict=True)
    ]
    overhead, works, profit = figures(three_products(pools))
    record(check, f"overhead {said(overhead)}; cost {said(works)}; gross profit {said(profit)}")
    assert near(check, overhead, check.expected["oh"])
    assert near(check, works, check.expected["cost"])
    assert near(check, profit, check.expected["gp"])


@exactly
def test_a_standard_rate_of_variable_and_fixed_overhead() -> None:
    """CO-25: the rate alone; budgets at 90 and 110 % of the hours are budgets of a year, which a book does not draw up."""
    check = published("CO-25")
    pools = [pool("variable", rate="2.00"), pool("fixed", budget="6000", activity="2000")]
    sheet = one_piece(made={"operations": [work("60")]}, pools=pools)
    record(check, f"rate {sheet.branch(OVERHEAD)}")
    assert sheet.branch(OVERHEAD) == check.expected["rate"]


def test_a_whole_standard_cost_card() -> None:
    """Four pounds of metal at a supplier's price a pound, two grades of labour, two pools over the hours of both."""
    check = published("CO-26")
    price = {"amount": "5.25", "currency": "GBP", "unit": "lb", "date": DAY}
    casting = {"kind": "cast", "name": "body", "form": "bar", "method": "solid"}
    sheet = one_piece(
        made={
            "parts": [{**casting, "finished_g": {"amount": "4", "unit": "lb"}}],
            "operations": [work("165", "first"), work("240", "second")],
        },
        elements=[{"symbol": "Sn", "name": "tin"}],
        quotations=[{"element": "Sn", "date": DAY, "amount": "5", "currency": "GBP", "unit": "lb"}],
        declared_prices=[{"element": "Sn", "date": DAY, "quoted_to": DAY}],
        alloys=[{"name": "tin", "contents": [{"element": "Sn", "fraction": "1"}]}],
        forms=[{"name": "bar", "alloy": "tin", "kind": "ingot", "supplier_price": price}],
        stages=[stage("first", "11"), stage("second", "15")],
        pools=[pool("variable", rate="5"), pool("fixed", rate="3")],
    )
    variable, fixed = (leaf.amount for leaf in sheet.leaves if leaf.branch == OVERHEAD)
    found = {"dm": sheet.branch(METAL), "dl": sheet.branch(LABOUR), "voh": variable, "foh": fixed, "total": sheet.exact}
    record(check, "; ".join(f"{name} {said([value])}" for name, value in found.items()))
    assert near(check, found.values(), (check.expected[name] for name in found))


# Batches


def test_set_up_over_a_batch() -> None:
    """Two thousand set-ups at 40 over 140,000 units are one an hour at 40 a batch of 70."""
    check = published("CO-13")
    made = {"operations": [work("0", set_up_minutes="60")]}
    assert agrees(check, one_piece(140_000 // 2_000, made=made, stages=[stage(wage="40")]).exact)


def test_set_up_falls_as_the_batch_grows() -> None:
    check = published("CO-14")
    made = {"operations": [work("0", set_up_minutes="30")]}
    found = [one_piece(batch, made=made, stages=[stage(wage="24.00")]).exact for batch in (1, 6, 24, 144)]
    record(check, said(found))
    assert near(check, found, check.expected)


@exactly
def test_the_cost_equation_over_three_volumes() -> None:
    """The fixed sum as one hour's set-up of the whole batch, the variable one as a part bought in."""
    check = published("CO-38")
    made = {"parts": [bought("70")], "operations": [work("0", set_up_minutes="60")]}
    volumes = (5_000, 8_000, 12_000)
    found = [one_piece(batch, made=made, stages=[stage(wage="125000")]).exact * batch for batch in volumes]
    record(check, said(found))
    assert [total.quantize(Decimal("1E-12")) for total in found] == decimals(check.expected)


# Yields and spoilage


def entering(*yields: str) -> Decimal:
    """Units entering the first of stages with these yields, per good piece, read off the cost sheet."""
    names = [f"stage {place}" for place in range(len(yields))]
    sheet = one_piece(
        made={"parts": [bought("1")], "operations": [work("1", name) for name in names]},
        stages=[stage(name, first_pass_yield=share) for name, share in zip(names, yields, strict=True)],
    )
    return next(leaf.quantity for leaf in sheet.leaves if leaf.branch == BOUGHT_IN)


@pytest.mark.parametrize(("check_id", "yields"), [("CO-48", ("0.87", "0.93", "0.95")), ("CO-49", ("0.97", "0.94"))])
def test_rolled_yield_of_the_stages(check_id: str, yields: tuple[str, ...]) -> None:
    assert agrees(published(check_id), CONTEXT.divide(Decimal(1), entering(*yields)))


def test_units_to_start_for_a_number_of_good_ones() -> None:
    check = published("CO-50")
    found = (100 * entering("0.98", "0.95", "0.99")).to_integral_value(ROUND_CEILING)
    record(check, found)
    assert found == check.expected


@exactly
def test_normal_spoilage_common_to_all_jobs_goes_through_overhead() -> None:
    """An hour a unit stands for the unit: 7,000 over 140 of them."""
    check = published("CO-44")
    sheet = one_piece(
        made={"parts": [bought("2000")], "operations": [work("60")]}, pools=[pool(budget="7000", activity="140")]
    )
    record(check, f"total {said([45 * sheet.exact])}; per_good {said([sheet.exact])}")
    assert sheet.exact == check.expected["per_good"]
    assert 45 * sheet.exact == check.expected["total"]


def job_with_rejects(first_pass_yield: str) -> CostSheet:
    """A unit of 2,000 in metal of which a reject gives back 600 (a share of 0.3), at a yield of its one stage."""
    return one_piece(
        made={
            "parts": [{"kind": "cast", "name": "unit", "form": "bar", "method": "solid", "finished_g": "1000"}],
            "operations": [work("0")],
        },
        elements=[{"symbol": "Sn", "name": "tin"}],
        quotations=[{"element": "Sn", "date": DAY, "amount": "2000", "currency": "GBP", "unit": "kg"}],
        declared_prices=[{"element": "Sn", "date": DAY, "quoted_to": DAY}],
        alloys=[
            {
                "name": "tin",
                "contents": [{"element": "Sn", "fraction": "1"}],
                "credits": [{"of": "rejects", "recovery_share": "0.3"}],
            }
        ],
        forms=[{"name": "bar", "alloy": "tin", "kind": "ingot"}],
        stages=[stage(first_pass_yield=first_pass_yield)],
    )


@exactly
def test_normal_spoilage_of_a_job_is_a_yield_with_its_credit() -> None:
    """Five of fifty units spoiled is a yield of 0.9; what the spoiled ones fetch comes off the good ones' cost."""
    check = published("CO-45")
    per_good = job_with_rejects("0.9").exact
    record(check, f"total {said([45 * per_good])}; per_good {said([per_good])}")
    assert abs(per_good - check.expected["per_good"]) <= check.tolerance
    assert abs(45 * per_good - check.expected["total"]) <= check.tolerance


def test_abnormal_spoilage_is_in_no_cost_unless_a_yield_says_so() -> None:
    """CO-46: the cost of a good unit; the loss of 7,000 itself is the accounts', not a cost sheet's."""
    check = published("CO-46")
    found = job_with_rejects("1").exact
    record(check, f"per_good {found}")
    assert found == check.expected["per_good"]


# Learning


@exactly
def time_of(unit: int, rate: str = "0.8") -> Decimal:
    """The time of one unit of a run as a share of the first, out of the means the engine works with."""
    share = Decimal(rate)
    before = (unit - 1) * learning_mean(share, unit - 1) if unit > 1 else Decimal(0)
    return unit * learning_mean(share, unit) - before


def test_the_learning_curve_doubles_as_published() -> None:
    """y = a·xᵇ with b = log₂ r. The tables read y as the mean of the first x units; here y is the time of unit x,
    the other usual reading, so the tables' means are the engine's units and no total is compared.
    """
    check = published("CO-40")
    found = [100 * time_of(unit) for unit in (1, 2, 4, 8, 16)]
    record(check, f"units 1, 2, 4, 8, 16: {said(found)}")
    assert near(check, found, check.expected["avg"])


def test_the_third_unit_of_the_curve() -> None:
    check = published("CO-41")
    found = 100 * time_of(3)
    exponent = CONTEXT.divide(CONTEXT.ln(time_of(2)), CONTEXT.ln(Decimal(2)))
    record(check, f"b {exponent:.6f}; 3ᵇ × 100 = {found:.4f}")
    assert near(check, [exponent, found], [check.expected["b"], check.expected["avg3"]])


@exactly
def test_the_second_unit_of_a_small_run() -> None:
    """CO-42 by the reading above, and through a cost sheet: a run of two takes 50 + 40 hours."""
    check = published("CO-42")
    assert agrees(check, half_even(50 * time_of(2), 20), check.expected["avg2"])
    made = {"operations": [work("3000", learning_rate="0.8")]}
    hours = one_piece(2, made=made).total_minutes * 2 / 60
    assert half_even(hours, 20) == 50 + 40


# From a price back to a cost


def test_a_cost_at_its_target_gives_the_market_price() -> None:
    """CO-52 read backwards, as the engine works: 26.00 at a margin of 35 % of the price."""
    check = published("CO-52")
    target = {"finish": FINISH, "stated_cost": {"amount": str(check.expected), "date": DAY}}
    found = book(
        pieces=[piece(made=[target])],
        taxes=[{"name": "none", "rate": "0", "since": DAY}],
        channels=[{"name": "any", "kind": "dealer", "tax_inclusive": False, "tax": "none"}],
        rules=[
            {"name": "all", "channel": "any", "since": DAY, "method": {"kind": "by margin", "margin": "0.35"}},
        ],
    )
    price = price_everything(found).price("any", NUMBER, FINISH)
    record(check, f"{price.cost} for a price of {price.amount}")
    assert (price.cost, price.amount) == (check.expected, 40)
