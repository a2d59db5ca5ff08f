"""Order in a book: bigger never below smaller, bright never below satin, each raise no more than it must be."""

from __future__ import annotations

from collections import defaultdict
from decimal import Decimal as D
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pricing.book_file import read_book
from pricing.errors import PricingError
from pricing.piece import Member
from pricing.price import Price, PricedBook, price_everything
from pricing.price_order import Ladder, pricing_order
from tests.oracle.price_books import random_price_book
from tests.pricing.price_book import book_of, priced

SEEDS = st.integers(0, 10**9)


def lower_ones(found: PricedBook, price: Price) -> list[Price]:
    """The prices of the same class and break that may not be above a price."""
    book = found.book
    ranks = {finish.name: finish.rank for finish in book.finishes}
    own = book.piece_by_number[price.piece]
    lower = []
    for other in found.by_channel[price.channel].values():
        piece = book.piece_by_number[other.piece]
        if other.quantity != price.quantity:
            continue
        duller = other.piece == price.piece and ranks[other.finish] < ranks[price.finish]
        same = piece.size_family is not None and piece.size_family == own.size_family and other.finish == price.finish
        smaller = same and piece.size is not None and own.size is not None and piece.size < own.size
        if duller or smaller:
            lower.append(other)
    return lower


@given(SEEDS)
@settings(max_examples=25, deadline=None)
def test_nothing_is_out_of_order_but_a_held_price_and_that_says_so(seed: int) -> None:
    found = price_everything(read_book(random_price_book(Random(seed))))
    for price in found.prices:
        dearest = max((other.amount for other in lower_ones(found, price)), default=D(0))
        if price.held:
            assert (dearest > price.amount) == ("held out of order" in [step.code for step in price.steps])
        else:
            assert dearest <= price.amount


@given(SEEDS)
@settings(max_examples=25, deadline=None)
def test_a_raised_price_is_that_of_the_dearest_below_it_and_names_it(seed: int) -> None:
    found = price_everything(read_book(random_price_book(Random(seed))))
    for price in found.prices:
        if price.steps[-1].code == "raised to keep order":
            piece, finish, other, own = price.steps[-1].facts
            dearest = max(lower_ones(found, price), key=lambda lower: lower.amount)
            assert price.amount == other == dearest.amount > own
            assert found.price(price.channel, piece, finish, price.quantity).amount == other
            assert price.net == dearest.net


@given(SEEDS)
@settings(max_examples=50, deadline=None)
def test_members_and_smaller_sizes_are_priced_first(seed: int) -> None:
    book = read_book(random_price_book(Random(seed)))
    place = {piece.number: index for index, piece in enumerate(pricing_order(book))}
    assert place.keys() == book.piece_by_number.keys()
    smallest: dict[str, list[tuple[D, int]]] = defaultdict(list)
    from_members = any(rule.method.kind == "from its members" for rule in book.rules)
    for piece in book.pieces:
        for part in piece.parts:
            assert not from_members or not isinstance(part, Member) or place[part.piece] < place[piece.number]
        if piece.size_family is not None and piece.size is not None:
            smallest[piece.size_family].append((piece.size, place[piece.number]))
    for family in smallest.values():
        for size, at in family:
            assert all(other_at < at for other_size, other_at in family if other_size < size)


def test_a_ladder_knows_the_dearest_below_the_present_rung() -> None:
    found = priced(costs={"A": "10", "B": "20", "C": "30"})
    ten, twenty, thirty = (found.price("dealer", number, "satin") for number in "ABC")
    ladder: Ladder[Price, D] = Ladder(D(1))
    assert ladder.below(D(1)) is None
    ladder.add(twenty)
    ladder.add(ten)
    assert ladder.below(D(1)) is None
    assert ladder.below(D(2)) == twenty
    ladder.add(thirty)
    assert ladder.below(D("2.0")) == twenty
    assert ladder.below(D(5)) == thirty


CIRCLE = {
    "pieces": {
        "A": {"size_family": "mugs", "size": "2"},
        "S": {
            "made": [{"finish": "satin"}],
            "parts": [{"kind": "member", "piece": "A"}],
            "size_family": "mugs",
            "size": "1",
        },
    }
}


def test_a_set_smaller_than_its_piece_is_refused_only_where_sets_are_priced_from_members() -> None:
    assert pricing_order(book_of(CIRCLE))
    rules = [{}, {"piece": "S", "method": {"kind": "from its members"}}]
    with pytest.raises(PricingError, match="a circle of sizes and sets: A before S before A"):
        pricing_order(book_of(CIRCLE | {"rules": rules}))


def test_the_book_order_of_prices_is_kept_whatever_order_they_are_worked_in() -> None:
    sizes = {number: {"size_family": "mugs", "size": str(9 - place)} for place, number in enumerate("ABC")}
    found = priced(costs={"A": {"bright": "31", "satin": "31"}, "B": "31", "C": "31"}, pieces=sizes)
    assert [(p.piece, p.finish) for p in found.prices] == [
        ("A", "bright"),
        ("A", "satin"),
        ("B", "satin"),
        ("C", "satin"),
    ]
