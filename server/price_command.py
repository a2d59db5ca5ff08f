"""`python -m server price`: works a book file without any database and prints cost sheets and prices with reasons."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from pricing.book import Book
from pricing.book_file import edition, parse_book
from pricing.errors import BookError, Fault
from pricing.price import Price, PricedBook, price_everything

from .printing import price_data, price_lines, sheet_data, sheet_lines, table_lines


def read_book_file(path: str) -> Book:
    """The checked book of a file.

    Raises: BookError for a file that cannot be read, is not UTF-8 or JSON, and for every fault of the book.
    """
    try:
        text = Path(path).read_text(encoding="utf-8")
    except OSError as error:
        raise BookError([Fault(path, "", error.strerror or "an error", "a file that can be read")]) from None
    except UnicodeDecodeError:
        raise BookError([Fault(path, "", "bytes that are not UTF-8", "a UTF-8 text")]) from None
    return parse_book(text)


def _named(asked: str | None, known: list[str], what: str) -> list[Fault]:
    if asked is None or asked in known:
        return []
    allowed = ", ".join(f'"{name}"' for name in known) if len(known) <= 12 else f"one of the book's {len(known)}"
    return [Fault(f"--{what}", "", f'"{asked}"', allowed)]


def chosen(priced: PricedBook, options: argparse.Namespace) -> list[Price]:
    """The prices that the options ask for.

    Raises: BookError naming each option that the book does not know.
    """
    book = priced.book
    faults = _named(options.piece, [piece.number for piece in book.pieces], "piece")
    faults += _named(options.finish, [finish.name for finish in book.finishes], "finish")
    faults += _named(options.channel, [channel.name for channel in book.channels], "channel")
    if faults:
        raise BookError(faults)
    found = [
        price
        for price in priced.prices
        if options.piece in (None, price.piece)
        and options.finish in (None, price.finish)
        and options.channel in (None, price.channel)
    ]
    if not found and options.finish is not None:
        raise BookError([Fault(f"pieces {options.piece}", "made", f'"{options.finish}"', "a finish it is made in")])
    return found


def run(options: argparse.Namespace) -> None:
    """Prints what was asked for: one piece in full, or a table of many."""
    book = read_book_file(options.book)
    priced = price_everything(book)
    prices = chosen(priced, options)
    keys = list(dict.fromkeys((price.piece, price.finish) for price in prices))
    if options.json:
        print(json.dumps(_data(priced, prices, keys), ensure_ascii=False, indent=1))
        return
    if options.piece is None:
        print("\n".join(table_lines(priced, prices)))
        _print_left_out(priced)
        return
    for piece, finish in keys:
        print("\n".join(sheet_lines(book, priced.costs[piece, finish])), end="\n\n")
        for price in prices:
            if (price.piece, price.finish) == (piece, finish):
                print("\n".join(price_lines(price)))
        print()


def _data(priced: PricedBook, prices: list[Price], keys: list[tuple[str, str]]) -> dict[str, object]:
    book = priced.book
    return {
        "edition": edition(book),
        "date": book.date.isoformat(),
        "cost_sheets": [sheet_data(book, priced.costs[key]) for key in keys],
        "prices": [price_data(price) for price in prices],
    }


def _print_left_out(priced: PricedBook) -> None:
    for left in priced.unpriced:
        print(f"no price: {left.piece} {left.finish} in {left.channel}: {left.reason}")
