"""The engine equals plain fractions on random books: every works cost and every price, to the last digit."""

from __future__ import annotations

import json
import os
from fractions import Fraction
from random import Random

from pricing.book_file import read_book
from pricing.price import price_everything

from .books import random_book
from .fractions_oracle import Prices

RUN = 10_000
LONG_RUN = 1_000_000


def test_costs_and_prices_of_random_books_equal_those_in_fractions() -> None:
    """Ten thousand prices a run, a million with TINWRIGHT_LONG; the seed is printed and may be set."""
    seed = int(os.environ.get("TINWRIGHT_SEED", "0")) or Random().randrange(1, 10**9)
    print("seed", seed)
    chance = Random(seed)
    wanted = LONG_RUN if os.environ.get("TINWRIGHT_LONG") else RUN
    seen = 0
    while seen < wanted:
        data = random_book(chance)
        priced = price_everything(read_book(data))
        oracle = Prices(data)
        for (number, finish), sheet in priced.costs.items():
            assert Fraction(sheet.works_cost) == oracle.costs.works_cost(number, finish), (number, json.dumps(data))
        for price in priced.prices:
            key = (price.channel, price.piece, price.finish, price.quantity)
            assert Fraction(price.amount) == oracle.found[key], (key, price.steps, json.dumps(data))
            seen += 1
        assert len(priced.prices) == len(oracle.found)
