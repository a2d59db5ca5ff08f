"""Prices of random books equal those in fractions, to the last digit: amount, floor, cost in its currency, and rule."""

from __future__ import annotations

import json
import os
from fractions import Fraction as F
from random import Random

from pricing.book_file import read_book
from pricing.price import Price, price_everything

from .price import Answer, Oracle
from .price_books import random_price_book

RUN = 10_000
LONG_RUN = 1_000_000
NEAR = F(1, 10**24)


def differences(price: Price, answer: Answer) -> list[str]:
    """What of a price is not what fractions give."""
    wrong = []
    if F(price.amount) != answer.amount:
        wrong.append(f"amount {price.amount}, in fractions {float(answer.amount)}: {price.steps}")
    if F(price.cost) != answer.cost or price.held != answer.held or price.rule != answer.rule:
        wrong.append(
            f"cost {price.cost}, held {price.held}, rule {price.rule}: {answer.cost}, {answer.held}, {answer.rule}"
        )
    if (price.floor is None) != (answer.floor is None) or abs(F(price.floor or 0) - (answer.floor or 0)) > NEAR:
        wrong.append(f"floor {price.floor}, in fractions {answer.floor}")
    return wrong


def test_prices_of_random_books_equal_those_in_fractions() -> None:
    """Ten thousand prices a run, a million with TINWRIGHT_LONG; the seed is printed and may be set."""
    seed = int(os.environ.get("TINWRIGHT_SEED", "0")) or Random().randrange(1, 10**9)
    print("seed", seed)
    chance = Random(seed)
    wanted = LONG_RUN if os.environ.get("TINWRIGHT_LONG") else RUN
    seen = 0
    while seen < wanted:
        data = random_price_book(chance)
        priced = price_everything(read_book(data))
        found = Oracle(data).found
        for name, prices in priced.by_channel.items():
            assert prices.keys() == found[name].keys(), (name, json.dumps(data))
            for where, price in prices.items():
                assert differences(price, found[name][where]) == [], (name, where, json.dumps(data))
        seen += len(priced.prices)
