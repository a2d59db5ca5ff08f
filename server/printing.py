"""Cost sheets and prices laid out for a terminal, or as JSON."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from pricing.amounts import exactly, half_up, plain
from pricing.book import Book
from pricing.cost import CostSheet, sensitivity
from pricing.price import Price, PricedBook
from pricing.reasons import figure, one_line, percent, words
from pricing.workings import Node, lines, tree

WIDTH = 46


def short(amount: Decimal, places: int = 4) -> str:
    """An amount at most so many places long, without trailing noughts."""
    return plain(half_up(amount, places))


def name_of(book: Book, number: str) -> str:
    """A piece's name in the book's language, else its first name."""
    names = {text.language: text.text for text in book.piece_by_number[number].names}
    return names.get(book.language) or next(iter(names.values()))


def _sheet_line(depth: int, node: Node) -> str:
    label = "  " * depth + node.words
    rate = ""
    if node.leaf is not None:
        rate = f"{short(node.leaf.quantity)} {node.leaf.unit} × {short(node.leaf.rate)}"
    return f"{label:<{WIDTH}} {rate:>28} {figure(node.amount, 4):>14}"


def sheet_lines(book: Book, sheet: CostSheet) -> Iterator[str]:
    """A cost sheet, line by line."""
    unit = book.piece_by_number[sheet.piece].unit
    yield f"{sheet.piece}  {name_of(book, sheet.piece)}, {sheet.finish}, {unit}, batch of {sheet.batch}"
    yield "-" * (WIDTH + 44)
    root = tree(sheet)
    for depth, node in lines(root):
        if depth:
            yield _sheet_line(depth - 1, node)
    yield f"{'Works cost':<{WIDTH}} {book.currency:>28} {plain(sheet.works_cost):>14}"
    yield (
        f"finished {short(sheet.finished_g, 1)} g, tin in it {short(sheet.tin_content_g, 1)} g, "
        f"{short(sheet.total_minutes, 2)} minutes; "
        f"1 {book.currency} on the kilo of tin is {short(sensitivity(book, sheet))} on this piece"
    )
    for missing in sheet.unknown:
        yield f"cost stated, not worked: {missing} not known, so it does not move"
    for tool, amount in sheet.first_order:
        yield f"on the first order only: {tool}, {figure(amount)}"


def price_lines(price: Price) -> Iterator[str]:
    """A price with its reason, line by line."""
    from_words = f" from {price.quantity}" if price.quantity > 1 else ""
    was = f" (in force {figure(price.in_force, price.minor_unit)})" if price.in_force is not None else ""
    yield f"{price.channel}{from_words}: {figure(price.amount, price.minor_unit)}{was}, by rule “{price.rule}”"
    for said in words(price):
        yield f"    {said}"


def table_lines(priced: PricedBook, prices: list[Price]) -> Iterator[str]:
    """Many prices as a table, one piece and finish and channel a line."""
    yield f"{'piece':<8} {'finish':<8} {'price class':<12} {'from':>5} {'works cost':>11} {'price':>10} {'margin':>9}  name"
    for price in prices:
        yield (
            f"{price.piece:<8} {price.finish:<8} {price.channel:<12} {price.quantity:>5} "
            f"{plain(price.cost):>11} {figure(price.amount, price.minor_unit):>10} {percent(price.margin):>9}  "
            f"{name_of(priced.book, price.piece)}"
        )


def _node_data(node: Node) -> dict[str, Any]:
    data: dict[str, Any] = {"words": node.words, "amount": plain(node.amount)}
    if node.leaf is not None:
        item = node.leaf
        data |= {"quantity": plain(item.quantity), "unit": item.unit, "rate": plain(item.rate), "source": item.source}
        data["date"] = item.date.isoformat() if item.date else None
    if node.children:
        data["children"] = [_node_data(child) for child in node.children]
    return data


def sheet_data(book: Book, sheet: CostSheet) -> dict[str, Any]:
    """A cost sheet as JSON data: the tree, and the figures read from it."""
    return {
        "piece": sheet.piece,
        "finish": sheet.finish,
        "name": name_of(book, sheet.piece),
        "unit": book.piece_by_number[sheet.piece].unit,
        "batch": sheet.batch,
        "currency": book.currency,
        "works_cost": plain(sheet.works_cost),
        "exact": plain(sheet.exact),
        "rounding": plain(sheet.rounding),
        "finished_g": plain(sheet.finished_g),
        "tin_content_g": plain(sheet.tin_content_g),
        "tin_sensitivity": plain(sensitivity(book, sheet)),
        "minutes": [{"stage": stage, "minutes": plain(minutes)} for stage, minutes in sheet.minutes],
        "shares": shares(sheet),
        "stated": sheet.is_stated,
        "unknown": list(sheet.unknown),
        "tree": _node_data(tree(sheet)),
    }


@exactly
def shares(sheet: CostSheet) -> dict[str, str]:
    """The parts of the works cost as a bar shows them: metal, labour, finish, overhead and the rest."""
    finish = sheet.of_finish
    labour_of_finish = sum((i.amount for i in sheet.leaves if i.finish and i.branch == "labour"), Decimal(0))
    parts = {
        "metal": sheet.branch("metal"),
        "labour": sheet.branch("labour") - labour_of_finish,
        "finish": finish,
        "overhead": sheet.branch("overhead"),
    }
    parts["other"] = sheet.exact - sum(parts.values(), Decimal(0))
    return {name: plain(amount) for name, amount in parts.items()}


def price_data(price: Price) -> dict[str, Any]:
    """A price as JSON data, with its reason in words."""
    return {
        "channel": price.channel,
        "piece": price.piece,
        "finish": price.finish,
        "quantity": price.quantity,
        "price": plain(price.amount),
        "net": short(price.net),
        "works_cost": plain(price.cost),
        "margin": short(price.margin),
        "floor": None if price.floor is None else short(price.floor),
        "in_force": None if price.in_force is None else plain(price.in_force),
        "rule": price.rule,
        "held": price.held,
        "reason": words(price),
        "one_line": one_line(price),
    }
