"""Random small books for holding the engine against fractions: odd yields, thirds, dozens, sets, every rule and check."""

from __future__ import annotations

from random import Random
from typing import Any

DAY = "2026-03-02"
STAGES = ("cut", "spin", "cast", "solder", "finish", "pack")
FINISHES = ("satin", "bright")


def _n(random: Random, least: float, most: float, places: int) -> str:
    return f"{random.uniform(least, most):.{places}f}"


def _operations(random: Random, parts: list[str]) -> list[dict[str, Any]]:
    operations: list[dict[str, Any]] = []
    for stage in random.sample(STAGES, random.randrange(1, 6)):
        operation: dict[str, Any] = {"stage": stage, "minutes": _n(random, 0, 12, random.choice((0, 1, 2)))}
        operation["basis"] = random.choice(("piece", "piece", "dozen", "batch"))
        if random.random() < 0.3:
            operation["set_up_minutes"] = str(random.choice((5, 10, 20, 25)))
        if random.random() < 0.2:
            operation["hands"] = "2"
        if parts and random.random() < 0.2:
            operation["part"] = random.choice(parts)
        if random.random() < 0.2:
            operation["finish"] = random.choice(FINISHES)
        if random.random() < 0.1:
            operation["piece_work"] = {"amount": _n(random, 0, 3, 2), "per": random.choice(("piece", "dozen"))}
        operations.append(operation)
    if random.random() < 0.2:
        operations.append({"minutes": _n(random, 1, 30, 1)})
    return operations


def _parts(random: Random) -> list[dict[str, Any]]:
    parts: list[dict[str, Any]] = []
    if random.random() < 0.7:
        bought = random.random() < 0.5
        body: dict[str, Any] = {
            "kind": "spun", "name": "body", "form": "disc" if bought else "sheet", "thickness_mm": _n(random, 0.8, 2, 1),
            "diameter_mm": str(random.randrange(60, 300)), "trim_share": _n(random, 0.03, 0.2, 2),
            "count": random.choice((1, 1, 2)),
        }  # fmt: skip
        if not bought:
            body["sheet_share"] = _n(random, 0.4, 1, 2)
        parts.append(body)
    if random.random() < 0.6:
        parts.append(
            {"kind": "cast", "name": "handle", "form": "ingot", "method": "solid", "finished_g": str(random.randrange(5, 200)),
             "gate_share": random.choice(("0.3", "0.25", "0.333", "0")), "dross_share": random.choice(("0.02", "0.03", "0"))}
        )  # fmt: skip
    if random.random() < 0.5:
        parts.append({"kind": "solder", "form": "wire", "grams": _n(random, 1, 6, 1)})
    if random.random() < 0.4 or not parts:
        parts.append(
            {"kind": "bought-in", "name": "glass", "amount": _n(random, 0.2, 5, 2), "count": random.choice((1, 2, 3))}
        )
    if random.random() < 0.2:
        parts.append({"kind": "outwork", "name": "engraver", "amount": _n(random, 1, 5, 2), "least_per_batch": "30"})
    for part in parts:
        if random.random() < 0.2:
            part["enters"] = random.choice(STAGES)
    return parts


def _piece(random: Random, place: int, before: list[str]) -> dict[str, Any]:
    parts = _parts(random)
    if before and random.random() < 0.15:
        parts = [
            {"kind": "member", "piece": number, "count": random.randrange(1, 6)} for number in random.sample(before, 1)
        ]
    names = [part["name"] for part in parts if "name" in part]
    piece: dict[str, Any] = {
        "number": f"P{place:02d}",
        "names": [{"language": "en-GB", "text": f"piece {place}"}],
        "family": random.choice(("cups", "plates")),
        "made": [{"finish": finish} for finish in FINISHES],
        "parts": parts,
        "operations": _operations(random, names),
        "packing": _n(random, 0, 2, 2),
        "usual_batch": random.choice((1, 6, 7, 12, 24)),
    }
    if random.random() < 0.5:
        piece |= {"size_family": random.choice("ab"), "size": str(random.randrange(1, 4))}
    if random.random() < 0.4:
        piece["consumables"] = [{"name": "compound", "amount": _n(random, 0, 1, 2)}]
    if random.random() < 0.4:
        stages = random.sample(STAGES, 2)
        piece["yields"] = [
            {"stage": stage, "first_pass_yield": random.choice(("0.9", "0.97", "0.3", "0.7"))} for stage in stages
        ]
    if random.random() < 0.2:
        piece["tooling"] = [{"name": "chuck", "amount": "85", "over_pieces": random.choice((300, 7))}]
    return piece


def _checks(random: Random) -> dict[str, str]:
    checks = {}
    if random.random() < 0.7:
        checks["floor_margin"] = random.choice(("0.2", "0.25", "0.3", "0.1"))
    if random.random() < 0.4:
        checks["greatest_rise"] = random.choice(("0.05", "0.1", "0.333"))
    if random.random() < 0.3:
        checks["greatest_fall"] = random.choice(("0.05", "0.1"))
    if random.random() < 0.3:
        checks["least"] = str(random.randrange(1, 30))
    if random.random() < 0.2:
        checks["greatest"] = str(random.randrange(31, 120))
    if random.random() < 0.4:
        checks[random.choice(("smallest_change", "smallest_change_share"))] = random.choice(("0.5", "0.01", "0.05"))
    return checks


def _points(random: Random) -> dict[str, Any]:
    ending = random.choice(("0.95", "0"))
    return {
        "direction": random.choice(("nearest", "up", "down")),
        "bands": [
            {"start": "0", "end": "20", "step": random.choice(("0.05", "1")), "ending": ending},
            {"start": "20", "end": "100", "step": random.choice(("0.25", "1"))},
            {"start": "100", "step": random.choice(("0.5", "5"))},
        ][: random.choice((3, 3, 3, 2))],
    }  # fmt: skip


def _method(random: Random) -> dict[str, Any]:
    if random.random() < 0.6:
        return {"kind": "by margin", "margin": random.choice(("0.3", "0.4", "0.333", "0.45"))}
    return {"kind": "by mark-up", "mark_up": random.choice(("0.5", "1", "0.667"))}


def _channels_and_rules(random: Random, numbers: list[str]) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    channels = []
    for name, kind, inclusive in (("dealer", "dealer", False), ("retail", "retail", True)):
        channel: dict[str, Any] = {
            "name": name, "kind": kind, "tax_inclusive": inclusive, "tax": "vat", "checks": _checks(random),
            "selling_costs": random.choice(("0", "0.05", "0.03")),
        }  # fmt: skip
        if random.random() < 0.85:
            channel["points"] = _points(random)
        if random.random() < 0.4:
            channel["breaks"] = [{"quantity": 12, **({"share": "0.05"} if random.random() < 0.5 else {})}]
        channels.append(channel)
    since = "2026-01-01"
    rules = [{"name": "all", "channel": "dealer", "since": since, "method": _method(random)}]
    retail: dict[str, Any] = {"kind": "from another price class", "channel": "dealer"}
    retail |= {"mark_up": random.choice(("0.8", "0.81818181818181818182"))} if random.random() < 0.5 else {}
    rules.append(
        {
            "name": "shop",
            "channel": "retail",
            "since": since,
            "method": retail if random.random() < 0.7 else _method(random),
        }
    )
    if random.random() < 0.5:
        rules.append({"name": "cups", "channel": "dealer", "since": since, "family": "cups", "method": _method(random),
                      "checks": _checks(random)})  # fmt: skip
    if random.random() < 0.5:
        rules.append(
            {"name": "bright", "channel": "dealer", "since": since, "finish": "bright", "method": _method(random)}
        )
    if random.random() < 0.4:
        held = {"kind": "held", "amount": _n(random, 5, 60, 2), "until": random.choice(("2026-03-02", "2026-03-01"))}
        rules.append(
            {"name": "held", "channel": "dealer", "since": since, "piece": random.choice(numbers), "method": held}
        )
    for rule in rules:
        margin = float(rule["method"].get("margin", 0))  # type: ignore[attr-defined]
        assert margin < 0.9
    return channels, rules


def random_book(random: Random) -> dict[str, Any]:
    """One random book as JSON data, sound by its making."""
    pieces: list[dict[str, Any]] = []
    for place in range(random.randrange(2, 7)):
        pieces.append(_piece(random, place, [piece["number"] for piece in pieces]))
    numbers = [piece["number"] for piece in pieces]
    channels, rules = _channels_and_rules(random, numbers)
    in_force = [
        {"channel": channel, "piece": number, "finish": finish, "amount": _n(random, 3, 90, 2)}
        for channel in ("dealer", "retail") for number in numbers for finish in FINISHES if random.random() < 0.5
    ]  # fmt: skip
    pools: list[dict[str, Any]] = [
        {"name": "general", "basis": "labour hours", "budget": "91200", "activity": random.choice(("6000", "7000"))}
    ]
    if random.random() < 0.3:
        pools.append({"name": "buying", "basis": "prime cost", "rate": "0.05"})
    if random.random() < 0.3:
        pools.append({"name": "lathes", "basis": "labour cost", "rate": "0.1", "stages": ["spin"]})
    return {
        "format": "tinwright book", "version": 1, "workshop": "Oracle", "date": DAY, "currency": "GBP", "dust_share": "0.012",
        "currencies": [{"code": "GBP", "minor_unit": 2}, {"code": "USD", "minor_unit": 2}],
        "taxes": [{"name": "vat", "rate": random.choice(("0.2", "0.19", "0.0825")), "since": "2020-01-01"}],
        "exchange_rates": [{"currency": "USD", "date": "2026-01-02", "rate": "1.27", "quoted": "units per base"}],
        "elements": [{"symbol": "Sn"}, {"symbol": "Sb"}],
        "quotations": [
            {"element": "Sn", "date": "2026-01-05", "amount": str(random.randrange(20000, 40000)), "currency": "USD", "unit": "tonne"},
            {"element": "Sb", "date": "2026-01-05", "amount": str(random.randrange(8000, 60000)), "currency": "USD", "unit": "tonne"},
        ],
        "declared_prices": [{"element": e, "date": "2026-01-10", "quoted_to": "2026-01-09"} for e in ("Sn", "Sb")],
        "alloys": [{
            "name": "pewter", "density_g_cm3": "7.28",
            "contents": [{"element": "Sn", "fraction": "0.93"}, {"element": "Sb", "fraction": "0.07"}],
            "credits": [{"of": of, "recovery_share": random.choice(("0.9", "0.8")), "remelting_per_kg": "0.6"}
                        for of in ("skeleton", "trimmings", "gates", "rejects")],
        }],
        "forms": [
            {"name": "ingot", "alloy": "pewter", "kind": "ingot", "conversion_per_kg": "1.1"},
            {"name": "sheet", "alloy": "pewter", "kind": "sheet", "premium": "0.1", "conversion_per_kg": "4"},
            {"name": "disc", "alloy": "pewter", "kind": "disc", "conversion_per_kg": "9"},
            {"name": "wire", "alloy": "pewter", "kind": "solder wire", "conversion_per_kg": "14"},
        ],
        "stages": [
            {"name": s, "wage_per_hour": _n(random, 12, 18, 2), "on_cost": random.choice(("0.22", "0.2")), "solder": s == "solder",
             **({"first_pass_yield": "0.99"} if random.random() < 0.1 else {})} for s in STAGES
        ],
        "bench_rate": {"wage_per_hour": "15.2", "on_cost": "0.22"},
        "pools": pools,
        "finishes": [{"name": "satin", "rank": 1}, {"name": "bright", "rank": 2, "operations": [{"stage": "finish", "minutes": "1.4"}],
                      "consumables": [{"name": "mop", "amount": "0.12"}]}],
        "families": [{"name": "cups"}, {"name": "plates"}],
        "pieces": pieces, "channels": channels, "rules": rules, "prices_in_force": in_force,
    }  # fmt: skip
