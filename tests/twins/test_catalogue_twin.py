"""From the catalogue as it travels to the quote on the page: the same figures as the server's, from the same list."""

from __future__ import annotations

import datetime
import json
import random
from typing import Any

from pricing.errors import PricingError
from pricing.price_list import PriceList, Request, make_price_list, quote_of
from pricing.quote import work_quote
from pricing.quote_types import worked_data
from pricing.records import read_record
from server.services.catalogue import list_head, piece_columns, price_columns
from tests.demo_book import demo_priced

from .node import answered

RUN = 2_000


def request(chance: random.Random, made: PriceList) -> dict[str, Any]:
    """A random request that the list can be asked for, or nearly."""
    channel = chance.choice(made.channels)
    lines = []
    for entry in chance.sample(made.entries, chance.randrange(1, 6)):
        line: dict[str, Any] = {
            "piece": entry.number, "finish": chance.choice(entry.finishes).finish, "quantity": chance.randrange(1, 40),
        }  # fmt: skip
        if chance.random() < 0.3:
            line["discounts"] = [chance.choice(("0.05", "0.1", "0.025"))]
        if channel.kind == "retail" and chance.random() < 0.2:
            line["second"] = True
        extras = [extra for extra in made.extras if extra.channel == channel.name and not extra.service]
        if extras and chance.random() < 0.3:
            line["extras"] = [{"name": chance.choice(extras).name, "count": chance.randrange(1, 9)}]
        lines.append(line)
    asked: dict[str, Any] = {
        "list_number": made.number, "channel": channel.name, "date": "2026-03-01", "lines": lines,
        "carriage": chance.random() < 0.5, "first_order": chance.random() < 0.3,
    }  # fmt: skip
    if channel.kind == "dealer" and chance.random() < 0.5:
        asked["dealer"] = chance.choice(("D003", "D007", "D010"))
    if chance.random() < 0.4:
        asked["order_discount"] = chance.choice(({"share": "0.05"}, {"total": "500"}))
    if channel.kind == "retail" and chance.random() < 0.3:
        asked["services"] = [{"name": "repair at the bench", "count": 15}]
        asked["old_metal_g"] = "640"
    return asked


def worked_in_python(made: PriceList, asked: dict[str, Any]) -> str:
    try:
        quote = quote_of(made, read_record(Request, asked, "quote"))
        answer = worked_data(work_quote(quote), quote.minor_unit)
    except PricingError as error:
        answer = {"refused": error.code}
    return json.dumps(answer, ensure_ascii=False, separators=(",", ":"))


def test_requests_on_the_demo_list_are_equal_on_page_and_server() -> None:
    seed = random.randrange(1, 10**9)
    print("seed", seed)
    chance = random.Random(seed)
    made = make_price_list(demo_priced(), "2026", datetime.date(2026, 1, 1), datetime.date(2026, 12, 31))
    sent = list_head(made) | {"pieces": piece_columns(made), "prices": price_columns(made)}
    asked = [request(chance, made) for _ in range(RUN)]
    answers = answered("catalogue_lines.ts", [sent, *asked])
    refused = 0
    for one, answer in zip(asked, answers, strict=True):
        assert worked_in_python(made, one) == answer, json.dumps(one)
        refused += "refused" in answer
    assert refused < RUN / 2
