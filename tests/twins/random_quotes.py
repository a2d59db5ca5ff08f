"""Random quotes, seeded: every feature of the arithmetic, with figures chosen to fall on halves and band edges."""

from __future__ import annotations

import random
from typing import Any

RATES = (("standard", "0.2"), ("reduced", "0.05"), ("zero", "0"), ("odd", "0.0825"), ("high", "0.25"))
SHARES = ("0", "0.025", "0.05", "0.1", "0.15", "0.333", "0.45", "0.5")
WRONG = (
    12.5, 3, -1, 0, True, None, "", " ", "1e3", "1_000", "٣", "-0.01", "1.0", "0.9999999", "1234567890123", "012",
    "Krüge\u200b", [], {}, ["0.1"] * 6, "2147483648.5", "abc",
)  # fmt: skip
CURRENCIES = (("GBP", 2), ("EUR", 2), ("JPY", 0), ("BHD", 3))


def amount(random: random.Random, places: int, most: int = 400) -> str:
    """An amount with up to so many places, often with a five at the end."""
    whole = random.randrange(most)
    if places == 0 or random.random() < 0.3:
        return str(whole)
    digits = "".join(random.choice("0123456789") for _ in range(places - 1)) + random.choice("0555")
    return f"{whole}.{digits}"


def prices(random: random.Random, places: int) -> list[dict[str, Any]]:
    """A price from one, and sometimes breaks with prices that fall or do not."""
    offers: list[dict[str, Any]] = [{"quantity": 1, "price": amount(random, places)}]
    for quantity in sorted(random.sample((2, 6, 12, 24, 48), random.choice((0, 0, 1, 2)))):
        offers.append({"quantity": quantity, "price": amount(random, places), "over_family": random.random() < 0.3})
    return offers


def extra(random: random.Random, places: int) -> dict[str, Any]:
    """Engraving or a box."""
    return {
        "name": random.choice(("engraving", "gift box", "own mark")),
        "amount": amount(random, places + 1, 8),
        "count": random.randrange(1, 12),
        "per": random.choice(("unit", "line")),
        "takes_discount": random.random() < 0.4,
    }


def line(random: random.Random, places: int, taxes: list[str], kind: str) -> dict[str, Any]:
    """One line."""
    asked: dict[str, Any] = {
        "piece": random.choice(("TK102", "TK102", "GB201")),
        "finish": random.choice(("satin", "satin", "bright")),
        "family": random.choice(("Tankards", "Goblets", "")),
        "quantity": random.randrange(1, 30),
        "prices": prices(random, places),
        "tax": random.choice(taxes),
        "packed_g": amount(random, 1, 2000),
        "pack_quantity": random.choice((1, 1, 6)),
        "least_order": random.choice((1, 1, 4)),
    }
    if random.random() < 0.5:
        asked["discounts"] = [random.choice(SHARES) for _ in range(random.randrange(1, 4))]
    if random.random() < 0.4:
        asked["extras"] = [extra(random, places) for _ in range(random.randrange(1, 4))]
    if random.random() < 0.3:
        asked["surcharge"] = {
            "per": random.choice(("unit", "kg")), "amount": amount(random, places + 1, 5),
            "finished_g": amount(random, 1, 900), "step": random.choice((None, None, "0.01", "0.05", "0.3", "5")),
        }  # fmt: skip
    if kind == "retail" and random.random() < 0.2:
        asked["second"] = random.choice(SHARES[1:])
    return asked


def carriage(random: random.Random, places: int, taxes: list[str]) -> dict[str, Any]:
    """Carriage bands, sometimes with a gap at the end so that large orders are refused."""
    edges = sorted(random.sample(range(1, 4000), 2))
    bands = [
        {"start": "0", "end": str(edges[0]), "amount": amount(random, places, 30)},
        {"start": str(edges[0]), "end": str(edges[1]), "amount": amount(random, places, 30)},
        {"start": str(edges[1]), "amount": "0"},
    ]
    return {
        "by": random.choice(("value", "weight")),
        "bands": bands[: random.choice((2, 3, 3, 3))],
        "tax": random.choice(taxes),
        "paid_from": amount(random, places, 5000) if random.random() < 0.3 else None,
    }


def order_discount(random: random.Random, places: int) -> dict[str, Any]:
    """A share, or a named total in the quote's own tax basis or a stated one."""
    if random.random() < 0.5:
        return {"share": random.choice(SHARES)}
    return {"total": amount(random, places, 3000), "tax_included": random.choice((None, True, False))}


def spoilt(random: random.Random, asked: dict[str, Any]) -> dict[str, Any]:
    """A quote with some of its values changed for ones that no quote may hold, or that lead nowhere."""
    records = [asked, asked, *asked["lines"], asked["taxes"][0], asked["lines"][0]["prices"][0]]
    for _ in range(random.randrange(1, 4)):
        record = random.choice(records)
        key = random.choice(list(record))
        record[key] = random.choice(WRONG)
        if random.random() < 0.2:
            record["colour"] = "grey"
        if random.random() < 0.2 and len(record) > 2:
            del record[random.choice(list(record))]
    return asked


def quote(random: random.Random) -> dict[str, Any]:
    """One whole quote."""
    currency, places = random.choice(CURRENCIES)
    kind = random.choice(("retail", "dealer", "export"))
    chosen = random.sample(RATES, random.randrange(1, 4))
    taxes = [name for name, _ in chosen]
    asked: dict[str, Any] = {
        "channel": kind,
        "kind": kind,
        "currency": currency,
        "minor_unit": places,
        "tax_inclusive": random.random() < 0.5,
        "taxes": [{"name": name, "rate": rate} for name, rate in chosen],
        "tax_by_line": random.random() < 0.3,
        "line_authority": random.choice(SHARES),
        "order_authority": random.choice(SHARES),
        "part_exchange": random.choice(("payment", "reduction")),
        "lines": [line(random, places, taxes, kind) for _ in range(random.randrange(1, 6))],
    }
    if random.random() < 0.3:
        asked["services"] = [
            {"name": "repair", "amount": amount(random, places + 1, 60), "count": random.randrange(1, 9),
             "tax": random.choice(taxes), "takes_discount": random.random() < 0.5}
        ]  # fmt: skip
    if random.random() < 0.6:
        asked["order_discount"] = order_discount(random, places)
    if random.random() < 0.4:
        starts = sorted(random.sample(range(3000), 2))
        asked["order_discounts"] = [{"start": str(start), "share": random.choice(SHARES)} for start in starts]
    if random.random() < 0.2:
        asked["rush_share"] = random.choice(SHARES)
    if random.random() < 0.2:
        asked["cash_terms"] = {"share": random.choice(SHARES), "cash_days": random.randrange(15), "net_days": 30}
    if random.random() < 0.5:
        asked["carriage"] = carriage(random, places, taxes)
    if random.random() < 0.3:
        charge = amount(random, places, 12) if random.random() < 0.7 else None
        asked["small_order"] = {"least": amount(random, places, 900), "charge": charge, "tax": random.choice(taxes)}
    if random.random() < 0.3:
        asked["old_metal"] = {"mass_g": f"{random.randrange(1, 3000)}.5", "per_kg": amount(random, 2, 20)}
    if random.random() < 0.3:
        asked["deposit_share"] = random.choice(SHARES)
    return spoilt(random, asked) if random.random() < 0.05 else asked
