"""The commands: serve, init, migrate, price, book, list, quote."""

from __future__ import annotations

import argparse
import os
import sys

from pricing.errors import PricingError

from . import book_command, init_command, migrate_command, paper_command, price_command, serve_command

BAD_INPUT = 2


def _price(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    price = commands.add_parser("price", help="cost sheets and prices of a book file, without a database")
    price.add_argument("book", help="a book file (JSON)")
    price.add_argument("--piece", help="one piece, by number: its cost sheets and prices in full")
    price.add_argument("--finish", help="one finish")
    price.add_argument("--channel", help="one price class")
    price.add_argument("--json", action="store_true", help="as JSON")
    price.set_defaults(run=price_command.run)


def _book(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    book = commands.add_parser("book", help="a whole book into the database and out of it")
    ways = book.add_subparsers(dest="way", required=True)
    for way, run in (("import", book_command.bring_in), ("export", book_command.take_out)):
        one = ways.add_parser(way)
        one.add_argument("file")
        one.add_argument("--database", help="the database's address; the setting otherwise")
        one.set_defaults(run=run)


def _book_or_database(paper: argparse.ArgumentParser, name: str, words: str) -> None:
    paper.add_argument(name, nargs="?", help=f"{words}; none with --from-database")
    paper.add_argument("--from-database", action="store_true", help="a list or quote that the database keeps")
    paper.add_argument("--database", help="the database's address; the setting otherwise")


def _papers(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    listed = commands.add_parser("list", help="the dealer price list of a book as a PDF")
    _book_or_database(listed, "book", "a book file (JSON)")
    listed.add_argument("--channel", default="dealer A", help="the price class it is for")
    listed.add_argument("--number", default="draft", help="the list's number; that of a kept list from a database")
    listed.add_argument("--from", dest="effective", help="the day a list made from a book takes effect")
    listed.add_argument("--until", help="the last day it holds")
    listed.add_argument("--language", default="en-GB")
    listed.add_argument("--out", required=True, help="the PDF to write")
    listed.set_defaults(run=paper_command.price_list)
    quote = commands.add_parser("quote", help="a quote as a PDF, priced from a book file")
    _book_or_database(quote, "request", "what was asked for (JSON)")
    quote.add_argument("--book", help="the book file (JSON) it is priced from")
    quote.add_argument("--number", default="draft", help="the quote's number; that of a settled quote from a database")
    quote.add_argument("--language", default="en-GB")
    quote.add_argument("--out", required=True, help="the PDF to write")
    quote.set_defaults(run=paper_command.quote)


def _server(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    serve = commands.add_parser("serve", help="serve the page and its interface")
    serve.add_argument("--demo", action="store_true", help="the demo workshop, filled into an empty database")
    serve.add_argument("--host", default="127.0.0.1")
    serve.add_argument("--port", type=int, default=8710)
    serve.add_argument("--database", help="the database's address; the setting otherwise")
    serve.set_defaults(run=serve_command.run)
    init = commands.add_parser("init", help="begin a workshop of one's own")
    init.add_argument("--owner", default="owner", help="the owner's name for signing in")
    init.add_argument("--database", help="the database's address; the setting otherwise")
    init.set_defaults(run=init_command.run)
    migrate = commands.add_parser("migrate", help="bring the tables of a database to the newest version")
    migrate.add_argument("--database", help="the database's address; the setting otherwise")
    migrate.set_defaults(run=migrate_command.run)


def parser() -> argparse.ArgumentParser:
    """The command line, one sub-command a thing to do."""
    whole = argparse.ArgumentParser(prog="python -m server", description=__doc__)
    commands = whole.add_subparsers(dest="command", required=True)
    for add in (_server, _price, _book, _papers):
        add(commands)
    return whole


def main(arguments: list[str] | None = None) -> int:
    """Runs one command; bad input ends with 2 and every fault on its own line."""
    options = parser().parse_args(arguments)
    try:
        options.run(options)
        sys.stdout.flush()
    except PricingError as error:
        for fault in error.faults:
            print(fault, file=sys.stderr)
        return BAD_INPUT
    except BrokenPipeError:
        # Whoever read along has stopped; nothing is wrong.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return 0


if __name__ == "__main__":
    sys.exit(main())
