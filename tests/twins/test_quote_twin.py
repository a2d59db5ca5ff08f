"""The page and the server give the same quote, to the last character, on random quotes of every kind."""

from __future__ import annotations

import json
import os
import random
from typing import Any

from pricing.errors import BookError, PricingError
from pricing.quote import read_quote, work_quote, worked_data

from .node import worked_in_typescript
from .random_quotes import quote

RUN = 10_000
LONG_RUN = 1_000_000
CHUNK = 10_000


def worked_in_python(asked: dict[str, Any]) -> str:
    """The answer of the Python side as the driver writes the TypeScript one."""
    try:
        checked = read_quote(asked)
        answer: dict[str, Any] = worked_data(work_quote(checked), checked.minor_unit)
    except BookError as faulty:
        answer = {"faults": sorted(f"{fault.field}: {fault.allowed}" for fault in faulty.faults)}
    except PricingError as refusal:
        answer = {"refused": refusal.code, "field": refusal.fault.field, "allowed": refusal.fault.allowed}
    return json.dumps(answer, ensure_ascii=False, separators=(",", ":"))


def test_random_quotes_are_equal_on_page_and_server() -> None:
    """Ten thousand quotes a run, a million with TINWRIGHT_LONG; the seed is printed and may be set."""
    seed = int(os.environ.get("TINWRIGHT_SEED", "0")) or random.randrange(1, 10**9)
    wanted = LONG_RUN if os.environ.get("TINWRIGHT_LONG") else RUN
    print("seed", seed)
    chance = random.Random(seed)
    refused = faulty = 0
    for start in range(0, wanted, CHUNK):
        quotes = [quote(chance) for _ in range(min(CHUNK, wanted - start))]
        answers = worked_in_typescript(quotes)
        assert len(answers) == len(quotes)
        for asked, answer in zip(quotes, answers, strict=True):
            assert worked_in_python(asked) == answer, json.dumps(asked)
            refused += answer.startswith('{"refused"')
            faulty += answer.startswith('{"faults"')
    assert wanted * 0.01 < refused < wanted * 0.5, "answers and refusals both occur"
    assert wanted * 0.01 < faulty < wanted * 0.1, "quotes with faults occur"
