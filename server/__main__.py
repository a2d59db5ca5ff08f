"""The commands: serve, price, book, list, quote."""

from __future__ import annotations

import argparse
import sys

from pricing.errors import PricingError

from . import price_command

BAD_INPUT = 2


def parser() -> argparse.ArgumentParser:
    """The command line, one sub-command a thing to do."""
    whole = argparse.ArgumentParser(prog="python -m server", description=__doc__)
    commands = whole.add_subparsers(dest="command", required=True)
    price = commands.add_parser("price", help="cost sheets and prices of a book file, without a database")
    price.add_argument("book", help="a book file (JSON)")
    price.add_argument("--piece", help="one piece, by number: its cost sheets and prices in full")
    price.add_argument("--finish", help="one finish")
    price.add_argument("--channel", help="one price class")
    price.add_argument("--json", action="store_true", help="as JSON")
    price.set_defaults(run=price_command.run)
    return whole


def main(arguments: list[str] | None = None) -> int:
    """Runs one command; bad input ends with 2 and every fault on its own line."""
    options = parser().parse_args(arguments)
    try:
        options.run(options)
    except PricingError as error:
        for fault in error.faults:
            print(fault, file=sys.stderr)
        return BAD_INPUT
    return 0


if __name__ == "__main__":
    sys.exit(main())
