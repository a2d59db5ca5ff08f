"""Works costs of books that use everything equal those in fractions: the rounded cost, each branch, and the weights."""

from __future__ import annotations

import json
import os
from fractions import Fraction as F
from random import Random

from pricing.book_file import read_book
from pricing.cost import CostSheet, cost_sheet, works_costs

from .cost import Costs
from .cost_books import random_cost_book

RUN = 10_000
LONG_RUN = 1_000_000
NEAR = F(1, 10**24)
BRANCHES = ("metal", "bought-in", "tooling", "labour", "consumables", "overhead", "packing")


def differences(sheet: CostSheet, costs: Costs) -> list[str]:
    """What of a cost sheet is not what fractions give."""
    at = (sheet.piece, sheet.finish, sheet.batch)
    wrong = []
    if F(sheet.works_cost) != costs.works_cost(*at):
        wrong.append(f"{at}: works cost {sheet.works_cost}, in fractions {float(costs.exact(*at))}")
    if not sheet.members and sheet.stated is None:
        expected = costs.branches(*at)
        wrong += [f"{at}: {name}" for name in BRANCHES if abs(F(sheet.branch(name)) - expected[name]) > NEAR]
    weights = costs.weights(sheet.piece, sheet.finish)
    if max(abs(F(sheet.finished_g) - weights[0]), abs(F(sheet.tin_content_g) - weights[1])) > NEAR:
        wrong.append(f"{at}: weights {sheet.finished_g}, {sheet.tin_content_g}")
    return wrong


def test_works_costs_equal_those_in_fractions() -> None:
    """Ten thousand a run, a million with TINWRIGHT_LONG, each at its usual and at other batches; the seed is printed."""
    seed = int(os.environ.get("TINWRIGHT_SEED", "0")) or Random().randrange(1, 10**9)
    print("seed", seed)
    random = Random(seed)
    wanted = LONG_RUN if os.environ.get("TINWRIGHT_LONG") else RUN
    seen = 0
    while seen < wanted:
        data = random_cost_book(random)
        book, costs = read_book(data), Costs(data)
        sheets = list(works_costs(book).values())
        sheets += [
            cost_sheet(book, sheet.piece, sheet.finish, batch) for sheet in sheets[::2] for batch in (1, 13, 100)
        ]
        for sheet in sheets:
            assert differences(sheet, costs) == [], json.dumps(data)
        seen += len(sheets)
