"""Random books for prices: four classes in four currencies, every scope, method, check and band, sets among the sizes."""

from __future__ import annotations

from random import Random
from typing import Any

from tests.pricing.price_book import book_data

# What a pound is in the currency of each class, for amounts of a likely size.
CLASSES: dict[str, tuple[dict[str, Any], int]] = {
    "dealer": ({}, 1),
    "shop": ({}, 1),
    "fair": ({"currency": "JPY"}, 200),
    "abroad": ({"currency": "USD", "kind": "export"}, 1),
}
MOST_PIECES = 8
DAYS = ("2019-05-01", "2024-01-01", "2025-06-01", "2026-01-01", "2026-03-02", "2026-03-03", "2026-07-01")


def _worked(random: Random) -> dict[str, Any]:
    amount = f"{random.choice((1, 3, 9, 20)) * random.random():.2f}"
    minutes, set_up = random.choice(("0", "2", "7.5", "15")), random.choice(("0", "30", "60", "100"))
    return {
        "parts": [{"kind": "bought-in", "name": "glass", "amount": amount}],
        "operations": [{"stage": "spin", "minutes": minutes, "set_up_minutes": set_up}],
    }


def _piece(random: Random, before: list[str]) -> dict[str, Any]:
    piece: dict[str, Any] = {
        "made": [{"finish": "satin"}, {"finish": "bright"}],
        "family": random.choice(("cups", "plates")),
        "groups": random.sample(("gifts", "church", "hotel"), random.randrange(3)),
        "usual_batch": random.choice((1, 6, 12, 24)),
    }
    if len(before) > 1 and random.random() < 0.3:
        chosen = random.sample(before, random.choice((1, 2)))
        piece["parts"] = [
            {"kind": "member", "piece": number, "count": random.choice((1, 2))}
            | ({"finish": "satin"} if random.random() < 0.3 else {})
            for number in chosen
        ]
    else:
        piece |= _worked(random)
    if random.random() < 0.6:
        # A set is never a smaller size than a piece made before it, so no set waits for itself.
        piece |= {"size_family": random.choice(("mugs", "jugs")), "size": str(len(before) // 2 / 2)}
    return piece


def _amount(random: Random, least: float, most: float, scale: int) -> str:
    return str(round(random.uniform(least, most) * scale)) if scale > 1 else f"{random.uniform(least, most):.2f}"


def _checks(random: Random, scale: int) -> dict[str, str]:
    may = {
        "least": lambda: _amount(random, 2, 20, scale),
        "greatest": lambda: _amount(random, 25, 80, scale),
        "greatest_rise": lambda: random.choice(("0", "0.05", "0.1", "0.333")),
        "greatest_fall": lambda: random.choice(("0", "0.05", "0.1")),
        "floor_margin": lambda: random.choice(("0", "0.1", "0.25", "0.3", "0.4")),
        "smallest_change": lambda: _amount(random, 0.1, 2, scale),
        "smallest_change_share": lambda: random.choice(("0.01", "0.05")),
    }
    return {name: worth() for name, worth in may.items() if random.random() < 0.3}


def _points(random: Random, scale: int) -> dict[str, Any]:
    steps = ("1", "5", "10", "50") if scale > 1 else ("0.05", "0.25", "0.3", "0.5", "1")
    first, second = random.choice((5, 10)) * scale, random.choice((10, 12, 30)) * scale
    bands = [
        {"start": str(random.choice((0, 0, 2 * scale))), "end": str(first), "step": random.choice(steps)},
        {"start": str(second), "end": str(60 * scale), "step": random.choice(steps)},
        {"start": str(60 * scale), "step": str(random.choice((1, 5)) * scale)},
    ]
    for band in bands:
        if random.random() < 0.4:
            band["ending"] = random.choice(("0", "90", "95") if scale > 1 else ("0.95", "0.99", "0.1"))
    chosen = bands[: random.choice((2, 3, 3))]
    return {"direction": random.choice(("nearest", "nearest", "up", "down")), "bands": chosen}


def _breaks(random: Random) -> list[dict[str, Any]]:
    quantities = sorted(random.sample((2, 6, 10, 12, 24, 50), random.choice((0, 0, 1, 2, 3))))
    return [
        {"quantity": quantity} | ({"share": random.choice(("0.025", "0.1", "0.3"))} if random.random() < 0.4 else {})
        for quantity in quantities
    ]


def _channel(random: Random, name: str) -> dict[str, Any]:
    fixed, scale = CLASSES[name]
    channel = {
        **fixed,
        "checks": _checks(random, scale),
        "breaks": _breaks(random),
        "tax_inclusive": random.random() < 0.5,
    }
    channel["selling_costs"] = random.choice(("0", "0", "0.05", "0.125"))
    if random.random() < 0.75:
        channel["points"] = _points(random, scale)
    return channel


def _method(random: Random, sources: list[str], scale: int) -> dict[str, Any]:
    kind = random.choice(("by margin", "by mark-up", "held", "from another price class"))
    if kind == "by margin":
        return {"kind": kind, "margin": random.choice(("0", "0.3", "0.333", "0.45"))}
    if kind == "by mark-up":
        return {"kind": kind, "mark_up": random.choice(("0", "0.5", "0.667", "1"))}
    if kind == "held":
        return {
            "kind": kind,
            "amount": _amount(random, 3, 50, scale),
            "until": random.choice(("2026-03-01", "2026-03-02")),
        }
    if not sources:
        return {"kind": "by margin", "margin": "0.4"}
    discounts = {"discounts": random.sample(("0.45", "0.1", "0.025", "0.5"), random.choice((1, 2, 3)))}
    return {"kind": kind, "channel": random.choice(sources)} | (
        {"mark_up": random.choice(("0.8", "1.2"))} if random.random() < 0.5 else discounts
    )


def _scope(random: Random, pieces: dict[str, dict[str, Any]], kind: str) -> dict[str, str]:
    names = {"piece": tuple(pieces), "family": ("cups", "plates"), "group": ("gifts", "church", "hotel")}
    scope = {} if kind == "all" else {kind: random.choice(names[kind])}
    return scope | ({"finish": random.choice(("satin", "bright"))} if random.random() < 0.4 else {})


def _rules(random: Random, pieces: dict[str, dict[str, Any]], order: list[str]) -> list[dict[str, Any]]:
    rules: list[dict[str, Any]] = []
    used: set[tuple[str, ...]] = set()

    def add(rule: dict[str, Any]) -> None:
        """Takes a rule in unless it makes an equal claim; rules of groups never share a day."""
        scope = ("group",) if "group" in rule else tuple(str(rule.get(key)) for key in ("piece", "family", "finish"))
        claim = (rule["channel"], rule["since"], *scope)
        if claim not in used:
            used.add(claim)
            rules.append(rule)

    known = {group for piece in pieces.values() for group in piece["groups"]}
    for place, name in enumerate(order):
        scale = CLASSES[name][1]
        if random.random() < 0.9:
            add({"channel": name, "since": DAYS[0], "method": _method(random, order[:place], scale)})
        for _ in range(random.randrange(8)):
            scope = _scope(random, pieces, random.choice(("all", "piece", "family", "group")))
            if scope.get("group", next(iter(known), "")) not in known and "group" in scope:
                continue
            rule = {
                "channel": name,
                "since": random.choice(DAYS),
                "method": _method(random, order[:place], scale),
                **scope,
            }
            if random.random() < 0.3:
                rule["checks"] = {
                    key: worth for key, worth in _checks(random, scale).items() if key not in ("least", "greatest")
                }
            if random.random() < 0.2:
                rule["selling_costs"] = random.choice(("0", "0.1"))
            add(rule)
        for number, piece in pieces.items():
            if piece["parts"][0]["kind"] == "member" and random.random() < 0.5:
                method = {"kind": "from its members", "set_share": random.choice(("0", "0.1", "0.15"))}
                add({"channel": name, "since": DAYS[1], "piece": number, "method": method})
    return rules


def random_price_book(random: Random) -> dict[str, Any]:
    """One random book as JSON data, sound by its making."""
    pieces: dict[str, dict[str, Any]] = {}
    for place in range(random.randrange(2, MOST_PIECES + 1)):
        pieces[f"P{place}"] = _piece(random, list(pieces))
    order = random.sample(list(CLASSES), len(CLASSES))
    channels = {name: _channel(random, name) for name in CLASSES}
    was = {}
    for name, (_, scale) in CLASSES.items():
        for quantity in (1, *(offer["quantity"] for offer in channels[name]["breaks"])):
            for number in pieces:
                for finish in ("satin", "bright"):
                    if random.random() < 0.4:
                        other = f"{_amount(random, 3, 60, 1)} EUR" if random.random() < 0.2 else ""
                        was[f"{name} {number} {finish} {quantity}"] = other or _amount(random, 3, 60, scale)
    case = {"costs": {}, "pieces": pieces, "channels": channels, "rules": _rules(random, pieces, order), "was": was}
    return book_data(case)
