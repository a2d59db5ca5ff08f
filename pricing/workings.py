"""The cost sheet as a tree: every leaf a quantity at a rate, every branch the exact sum of what hangs on it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from .amounts import ZERO, exactly
from .cost import BRANCHES, MEMBERS, STATED, CostSheet, Leaf

BRANCH_WORDS = {
    "metal": "Metal",
    "bought-in": "Bought in and sent out",
    "tooling": "Tooling",
    "labour": "Labour",
    "consumables": "Consumables",
    "overhead": "Overhead",
    "packing": "Packing",
    "stated": "Cost stated, not worked",
}
LEAF_WORDS = {
    "spun": "drawn from store",
    "flat": "drawn from store",
    "cast": "melted",
    "solder": "solder wire",
    "skeleton": "skeleton back",
    "trimmings": "trimmings back",
    "gates": "gates back",
    "rejects": "rejects back",
    "bought in": "each",
    "sent out": "sent out, each",
    "over pieces": "share of the tool, by pieces",
    "over castings": "share of the tool, by castings",
    "work": "work",
    "piece-work": "piece-work with on-cost",
    "labour hours": "per labour hour",
    "labour cost": "share of labour cost",
    "prime cost": "share of prime cost",
    MEMBERS: "members",
    "cost stated": "amount stated",
    "tin moved": "tin, moved since",
    "time moved": "time, moved since",
}


@dataclass(frozen=True, slots=True)
class Node:
    """A line of the sheet: `amount` is the sum of its children, or for a leaf quantity × rate."""

    words: str
    amount: Decimal
    leaf: Leaf | None = None
    children: tuple[Node, ...] = ()


def leaf_words(item: Leaf) -> str:
    """What a leaf is, in the trade's words."""
    return LEAF_WORDS.get(item.what, item.what) or item.group or "each"


@exactly
def tree(sheet: CostSheet) -> Node:
    """The cost sheet from works cost down to its leaves; the last child is the rounding."""
    branches = tuple(_branches(sheet))
    rounding = Node("Rounding", sheet.rounding)
    return Node("Works cost", sheet.works_cost, children=(*branches, rounding))


def _branches(sheet: CostSheet) -> Iterator[Node]:
    for branch in (*BRANCHES, STATED):
        leaves = [item for item in sheet.leaves if item.branch == branch]
        if leaves:
            yield _node(BRANCH_WORDS[branch], tuple(_groups(leaves)))


def _groups(leaves: list[Leaf]) -> Iterator[Node]:
    for group in dict.fromkeys(item.group for item in leaves):
        nodes = tuple(Node(leaf_words(item), item.amount, item) for item in leaves if item.group == group)
        if len(nodes) == 1 or not group:
            yield from (Node(_named(group, node), node.amount, node.leaf) for node in nodes)
        else:
            yield _node(group, nodes)


def _named(group: str, node: Node) -> str:
    return f"{group}, {node.words}" if group and group != node.words else node.words or "at the bench"


def _node(words: str, children: tuple[Node, ...]) -> Node:
    return Node(words, sum((child.amount for child in children), ZERO), children=children)


def lines(node: Node, depth: int = 0) -> Iterator[tuple[int, Node]]:
    """Every line of a tree with its depth, parents before children."""
    yield depth, node
    for child in node.children:
        yield from lines(child, depth + 1)
