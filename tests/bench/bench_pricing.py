"""The whole demo book priced, beside the plainest loop of the same arithmetic; its growth; its words."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator

from pricing.book import Book
from pricing.piece import Member, Piece
from pricing.price import price_everything
from pricing.reasons import words
from tests.demo_book import demo_book

from .plain_loop import loop
from .rows import Row, best


def _renumbered(piece: Piece, copy: int) -> Piece:
    parts = tuple(
        dataclasses.replace(part, piece=f"{part.piece}-{copy}") if isinstance(part, Member) else part
        for part in piece.parts
    )
    family = None if piece.size_family is None else f"{piece.size_family}-{copy}"
    return dataclasses.replace(piece, number=f"{piece.number}-{copy}", parts=parts, size_family=family, old_numbers=())


def times(book: Book, copies: int) -> Book:
    """The book with its pieces so many times over under new numbers; rules of single pieces are left out."""
    pieces = tuple(_renumbered(piece, copy) for copy in range(copies) for piece in book.pieces)
    rules = tuple(rule for rule in book.rules if rule.piece is None)
    return dataclasses.replace(book, pieces=pieces, rules=rules, prices_in_force=(), agreed_prices=())


def measure() -> Iterator[Row]:
    """The demo book, with and without its reasons in words, and ten and a hundred times as many pieces."""
    book = demo_book()
    priced = price_everything(book)
    plain = best(lambda: loop(book))
    ours = best(lambda: price_everything(book))
    yield Row(
        "demo book, every price with its reason",
        ours,
        plain,
        f"{len(priced.prices)} prices; baseline: the plainest loop",
    )
    said = best(lambda: [words(price) for price in price_everything(book).prices], 3)
    yield Row("the same, every reason put into words", said, plain, f"{len(book.pieces)} pieces")
    one = best(lambda: price_everything(times(book, 1)), 3)
    for copies in (10, 106):
        larger = times(book, copies)
        spent = best(lambda larger=larger: price_everything(larger), 1)
        yield Row(
            f"{len(larger.pieces)} pieces",
            spent,
            one * copies,
            "baseline: one book × the copies; 1.00 is a straight line",
        )
