"""Random small books that use everything a works cost can depend on, sound by their making."""

from __future__ import annotations

from random import Random
from typing import Any

DAY = "2026-03-02"
STAGES = ("cut", "spin", "trim", "cast", "solder", "finish", "pack")
FINISHES = ("satin", "bright", "antique")
ODD_YIELDS = ("0.3", "0.333", "0.7", "0.9", "0.97", "0.9999", "1")
Data = dict[str, Any]


def figure(random: Random, least: float, most: float, places: int) -> str:
    """A random decimal string."""
    return f"{random.uniform(least, most):.{places}f}"


def chance(random: Random, share: float) -> bool:
    """True in so large a share of cases."""
    return random.random() < share


def _quotations(random: Random) -> list[Data]:
    rows = []
    for element, least, most in (("Sn", 20, 40), ("Sb", 8, 60), ("Cu", 5, 12)):
        for day in ("2025-01-03", "2025-07-01", "2025-12-01", "2026-01-05", "2026-02-27"):
            currency, unit = random.choice((("USD", "tonne"), ("USD", "lb"), ("GBP", "kg"), ("EUR", "tonne")))
            scale = {"tonne": 1000, "lb": 0.45, "kg": 1}[unit]
            amount = figure(random, least * scale, most * scale, 2)
            rows.append({"element": element, "date": day, "amount": amount, "currency": currency, "unit": unit})
    return rows


def _declared(random: Random) -> list[Data]:
    rows = []
    for element in ("Sn", "Sb", "Cu"):
        row = {
            "element": element,
            "date": "2026-02-01",
            "quoted_to": random.choice(("2026-01-05", "2026-01-31", "2025-08-09")),
        }
        if chance(random, 0.3):
            row["quoted_from"] = "2025-01-03"
        rows.append(row)
    return rows


def _credits(random: Random) -> list[Data]:
    rows: list[Data] = []
    for kind in ("skeleton", "trimmings", "gates", "rejects"):
        if chance(random, 0.85):
            remelting = random.choice(("0.6", "0", "0.35", "90"))
            rows.append(
                {"of": kind, "recovery_share": random.choice(("0.9", "0.8", "0.333")), "remelting_per_kg": remelting}
            )
    if chance(random, 0.6):
        rows.append({"of": "rejects", "stage": "solder", "recovery_share": random.choice(("0", "0.5"))})
    return rows


def _alloys(random: Random) -> list[Data]:
    main = [("Sn", "0.92"), ("Sb", "0.06"), ("Cu", "0.02")]
    other = [("Sn", "0.9497"), ("Sb", "0.05")]
    rows = []
    for name, shares in (("pewter", main), ("white", other)):
        row: Data = {
            "name": name,
            "contents": [{"element": e, "fraction": f} for e, f in shares],
            "credits": _credits(random),
        }
        if chance(random, 0.5):
            row["density_g_cm3"] = figure(random, 7.2, 7.4, 2)
        rows.append(row)
    return rows


def _forms(random: Random) -> list[Data]:
    rows: list[Data] = [
        {"name": "ingot", "alloy": "pewter", "kind": "ingot", "conversion_per_kg": "1.1"},
        {"name": "white ingot", "alloy": "white", "kind": "ingot", "premium": "0.033"},
        {"name": "sheet", "alloy": "pewter", "kind": "sheet", "premium": "0.1", "conversion_per_kg": "4"},
        {"name": "white sheet", "alloy": "white", "kind": "sheet", "conversion_per_kg": "7.05"},
        {"name": "disc", "alloy": "pewter", "kind": "disc", "conversion_per_kg": "9"},
        {"name": "stock disc", "alloy": "pewter", "kind": "disc", "disc_sizes_mm": ["100", "150.5", "220", "320"]},
        {"name": "wire", "alloy": "white", "kind": "solder wire", "conversion_per_kg": "14"},
    ]
    for row in rows:
        if chance(random, 0.3):
            row.pop("premium", None)
            row.pop("conversion_per_kg", None)
            currency, unit, amount = random.choice(
                (("GBP", "kg", 70.0), ("USD", "lb", 45.0), ("EUR", "tonne", 90000.0))
            )
            day = random.choice(("2025-02-01", "2025-07-01", "2026-02-28"))
            row["supplier_price"] = {
                "amount": figure(random, amount, amount * 1.3, 2),
                "currency": currency,
                "unit": unit,
                "date": day,
            }
    return rows


def _pools(random: Random) -> list[Data]:
    rows: list[Data] = [
        {"name": "general", "basis": "labour hours", "budget": "91200", "activity": random.choice(("6000", "7000"))}
    ]
    if chance(random, 0.4):
        rows.append({"name": "buying", "basis": "prime cost", "rate": random.choice(("0.05", "0.0333"))})
    if chance(random, 0.4):
        rows.append({"name": "lathes", "basis": "labour cost", "rate": "0.1", "stages": random.sample(STAGES, 2)})
    if chance(random, 0.3):
        rows.append(
            {"name": "foundry", "basis": "labour hours", "budget": "10000", "activity": "900", "stages": ["cast"]}
        )
    if chance(random, 0.2):
        rows.append({"name": "office", "basis": "labour cost", "budget": "20000", "activity": "77000"})
    return rows


def _sheet_part(random: Random, name: str) -> Data:
    part: Data = {
        "kind": "spun",
        "name": name,
        "form": random.choice(("sheet", "white sheet", "disc", "stock disc")),
        "thickness_mm": figure(random, 0.8, 2, 2),
        "diameter_mm": figure(random, 40, 290, 1),
        "area_cm2": figure(random, 20, 900, 1),
    }
    if chance(random, 0.3):
        part |= {"kind": "flat", "form": random.choice(("sheet", "white sheet"))}
        diameter = part.pop("diameter_mm")
        part |= {"area_mm2": diameter + "7"} if chance(random, 0.5) else {"length_mm": diameter, "width_mm": "33.3"}
    if "disc" not in part["form"]:
        counted = part["kind"] == "spun" and chance(random, 0.5)
        part |= {"sheet": random.choice(("big", "odd"))} if counted else {"sheet_share": figure(random, 0.4, 1, 2)}
    part |= (
        {"trim_share": figure(random, 0.05, 0.3, 2)} if chance(random, 0.6) else {"finished_g": _light(random, part)}
    )
    if chance(random, 0.3):
        part["dust_share"] = random.choice(("0", "0.03"))
    return part


def _light(random: Random, part: Data) -> str:
    """A finished mass surely below the blank."""
    if part["kind"] == "spun":
        area = 0.78 * float(part["diameter_mm"]) ** 2
    else:
        area = float(part["area_mm2"]) if "area_mm2" in part else float(part["length_mm"]) * float(part["width_mm"])
    return (
        figure(random, 0.2, 1, 4)
        if area < 1
        else f"{area * float(part['thickness_mm']) * 0.0071 * random.uniform(0.3, 0.9):.2f}"
    )


def _casting(random: Random, name: str) -> Data:
    return {
        "kind": "cast",
        "name": name,
        "form": random.choice(("ingot", "white ingot")),
        "method": random.choice(("hollow", "solid", "centrifugal")),
        "finished_g": figure(random, 5, 300, 1),
        "gate_share": random.choice(("0.3", "0.25", "0.333", "0")),
        "dross_share": random.choice(("0.02", "0.03", "0")),
        "area_cm2": figure(random, 5, 200, 1),
    }


def _parts(random: Random) -> list[Data]:
    parts: list[Data] = [_sheet_part(random, name) for name in ("body", "foot") if chance(random, 0.55)]
    parts += [_casting(random, name) for name in ("handle", "knob") if chance(random, 0.4)]
    if chance(random, 0.4):
        parts.append({"kind": "solder", "form": "wire", "grams": figure(random, 1, 6, 1)})
    if chance(random, 0.4) or not parts:
        parts.append({"kind": "bought-in", "name": "glass", "amount": figure(random, 0.2, 5, 2)})
    if chance(random, 0.3):
        parts.append(
            {
                "kind": "outwork",
                "name": "engraver",
                "amount": figure(random, 1, 5, 2),
                "least_per_batch": random.choice(("30", "0")),
            }
        )
    for part in parts:
        if part["kind"] != "solder" and chance(random, 0.3):
            part["count"] = random.choice((2, 3, 12))
        if part["kind"] in ("bought-in", "outwork") and chance(random, 0.4):
            part["currency"] = random.choice(("USD", "EUR"))
        if part["kind"] == "outwork" and chance(random, 0.4):
            part["finish"] = random.choice(FINISHES)
        if chance(random, 0.25):
            part["enters"] = random.choice(STAGES)
    return parts


def _operation(random: Random, stage: str, parts: list[Data]) -> Data:
    work: Data = {"stage": stage, "minutes": figure(random, 0, 12, random.choice((0, 1, 2)))}
    metal = any(part["kind"] in ("spun", "flat", "cast") for part in parts)
    work["basis"] = random.choice(("piece", "piece", "dozen", "batch", "dm2" if metal else "piece"))
    if chance(random, 0.3):
        work["set_up_minutes"] = random.choice(("5", "10", "25"))
    if chance(random, 0.2):
        work["hands"] = random.choice(("2", "1.5"))
    named = [part["name"] for part in parts if "name" in part]
    if named and work["basis"] != "dm2" and chance(random, 0.3):
        work["part"] = random.choice(named)
    if chance(random, 0.2):
        work["finish"] = random.choice(FINISHES)
    if chance(random, 0.15):
        work["piece_work"] = {"amount": figure(random, 0, 3, 2), "per": random.choice(("piece", "dozen"))}
    if chance(random, 0.15):
        work["learning_rate"] = "0.5"
    return work


def _consumables(random: Random, metal: bool) -> list[Data]:
    rows: list[Data] = []
    for name in ("compound", "gas"):
        if chance(random, 0.35):
            row: Data = {"name": name, "amount": figure(random, 0, 1, 2)}
            if metal and chance(random, 0.3):
                row["basis"] = "dm2"
            if chance(random, 0.3):
                row["finish"] = random.choice(FINISHES)
            if chance(random, 0.3):
                row["enters"] = random.choice(STAGES)
            rows.append(row)
    return rows


def _tooling(random: Random) -> list[Data]:
    tools: list[Data] = [
        {"name": "chuck", "amount": "85", "over_pieces": random.choice((300, 7))},
        {"name": "mould", "amount": "640.50", "life_castings": 900, "castings_per_piece": random.choice((1, 3))},
        {"name": "badge", "amount": "60"},
    ]
    return [tool for tool in tools if chance(random, 0.2)]


def _members(random: Random, before: list[str]) -> list[Data]:
    rows = []
    for number in random.sample(before, min(len(before), random.choice((1, 2)))):
        row: Data = {"kind": "member", "piece": number, "count": random.randrange(1, 6)}
        if chance(random, 0.3):
            row["finish"] = random.choice(FINISHES)
        if chance(random, 0.3):
            row["enters"] = random.choice(STAGES)
        rows.append(row)
    return rows


def _made(random: Random, finish: str) -> Data:
    made: Data = {"finish": finish}
    if chance(random, 0.08):
        stated: Data = {"amount": figure(random, 60, 90, 2), "date": random.choice(("2025-03-01", "2026-01-20"))}
        if chance(random, 0.7):
            stated["tin_content_g"] = figure(random, 10, 500, 1)
            stated |= {"tin_per_kg": figure(random, 18, 30, 2)} if chance(random, 0.5) else {}
        if chance(random, 0.7):
            stated |= {"minutes": figure(random, 1, 60, 1), "hourly_rate": figure(random, 20, 45, 2)}
        made["stated_cost"] = stated
    return made


def _piece(random: Random, number: str, before: list[str]) -> Data:
    parts = _parts(random)
    if before and chance(random, 0.25):
        members = _members(random, before)
        parts = members + (parts if chance(random, 0.3) else [])
    metal = any(part["kind"] in ("spun", "flat", "cast") for part in parts)
    operations = [_operation(random, stage, parts) for stage in random.choices(STAGES, k=random.randrange(1, 7))]
    # One operation that no finish leaves out.
    operations.append({"stage": random.choice(STAGES), "minutes": figure(random, 0, 5, 1)})
    if chance(random, 0.2):
        operations.append({"minutes": figure(random, 1, 30, 1), "set_up_minutes": "7"})
    piece: Data = {
        "number": number,
        "names": [{"language": "en-GB", "text": f"piece {number}"}],
        "family": "cups",
        "made": [_made(random, finish) for finish in FINISHES],
        "parts": parts,
        "operations": operations,
        "consumables": _consumables(random, metal),
        "tooling": _tooling(random),
        "packing": figure(random, 0, 2, 2),
        "usual_batch": random.choice((1, 6, 7, 12, 24)),
    }
    if chance(random, 0.5):
        stages = random.sample(STAGES, 2)
        piece["yields"] = [{"stage": stage, "first_pass_yield": random.choice(ODD_YIELDS)} for stage in stages]
    return piece


def _finishes(random: Random) -> list[Data]:
    bright: Data = {
        "name": "bright",
        "operations": [{"stage": "finish", "minutes": "2.5", "basis": random.choice(("piece", "dozen"))}],
    }
    bright["consumables"] = [{"name": "mop", "amount": "0.12"}]
    antique: Data = {
        "name": "antique",
        "consumables": [{"name": "salts", "amount": "0.18", "enters": random.choice(STAGES)}],
    }
    return [{"name": "satin"}, bright, antique]


def random_cost_book(random: Random) -> Data:
    """One random book as JSON data."""
    pieces: list[Data] = []
    for place in range(random.randrange(2, 6)):
        pieces.append(_piece(random, f"P{place}", [piece["number"] for piece in pieces]))
    wages = ("16.50", "14.50", "13.00", "15.75")
    stages = [
        {"name": name, "wage_per_hour": random.choice(wages), "on_cost": random.choice(("0.22", "0.333", "0"))}
        for name in STAGES
    ]
    for stage in stages:
        if chance(random, 0.2):
            stage["first_pass_yield"] = random.choice(ODD_YIELDS)
    soldering: Data = next(stage for stage in stages if stage["name"] == "solder")
    soldering["solder"] = chance(random, 0.8)
    return {
        "format": "tinwright book", "version": 1, "workshop": "Oracle", "date": DAY, "currency": "GBP",
        "dust_share": random.choice(("0", "0.012")),
        "currencies": [{"code": "GBP", "minor_unit": random.choice((0, 2, 2, 3))}, {"code": "USD", "minor_unit": 2},
                       {"code": "EUR", "minor_unit": 2}],
        "exchange_rates": [
            {"currency": "USD", "date": "2025-01-02", "rate": "1.27", "quoted": "units per base"},
            {"currency": "USD", "date": "2026-01-02", "rate": "1.333", "quoted": "units per base"},
            {"currency": "EUR", "date": "2025-01-02", "rate": "0.8537", "quoted": "base per unit"},
        ],
        "elements": [{"symbol": "Sn", "density_g_cm3": "7.287"}, {"symbol": "Sb", "density_g_cm3": "6.68"},
                     {"symbol": "Cu", "density_g_cm3": "8.96"}],
        "quotations": _quotations(random), "declared_prices": _declared(random), "alloys": _alloys(random),
        "forms": _forms(random),
        "sheets": [{"name": "big", "length_mm": "1200", "width_mm": "600", "web_mm": "4", "edge_mm": "4"},
                   {"name": "odd", "length_mm": "700", "width_mm": "666.6", "web_mm": "2.5"}],
        "stages": stages, "bench_rate": {"wage_per_hour": "15.1", "on_cost": "0.22"}, "pools": _pools(random),
        "finishes": _finishes(random), "families": [{"name": "cups"}], "pieces": pieces,
    }  # fmt: skip
