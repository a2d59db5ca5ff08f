"""The tax rate of a name on a day, as the workshop entered it; rates are to be checked with the local tax office."""

from __future__ import annotations

from decimal import Decimal

from .book import Book
from .errors import refuse


def tax_rate(book: Book, name: str) -> Decimal:
    """The rate of a tax on the book's day, as a fraction: its latest entry on or before it.

    Raises: PricingError `tax` where there is none.
    """
    entries = [tax for tax in book.taxes if tax.name == name and tax.since <= book.date]
    if not entries:
        raise refuse("tax", f"taxes {name}", "since", "no entry", f"an entry in force on {book.date}")
    return max(entries, key=lambda tax: tax.since).rate
