"""`python -m server list` and `python -m server quote`: papers of a book file, without a database."""

from __future__ import annotations

import argparse
import datetime
from pathlib import Path

from pricing.errors import BookError, Fault
from pricing.price import price_everything
from pricing.price_list import Request, make_price_list
from pricing.records import parse_json, read_record

from .documents.drawing import drawn_pieces
from .documents.price_list import ListPaper, render_price_list
from .documents.quote import QuotePaper, render_quote
from .documents.texts import LANGUAGES
from .price_command import read_book_file


def _day(text: str, option: str) -> datetime.date:
    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        raise BookError([Fault(option, "", f'"{text}"', "a date such as 2026-01-01")]) from None


def _language(language: str) -> str:
    if language not in LANGUAGES:
        raise BookError([Fault("--language", "", f'"{language}"', " or ".join(LANGUAGES))])
    return language


def price_list(options: argparse.Namespace) -> None:
    """Writes the dealer price list of a book as a PDF."""
    language = _language(options.language)
    effective = _day(options.effective, "--from")
    until = _day(options.until, "--until")
    book = read_book_file(options.book)
    made = make_price_list(price_everything(book), options.number, effective, until)
    made.channel(options.channel)
    pdf = render_price_list(ListPaper(made, options.channel, language, drawn_pieces(book.pieces)))
    Path(options.out).write_bytes(pdf)
    print(f"written: {options.out}, {len(made.entries)} pieces, {len(pdf)} bytes")


def quote(options: argparse.Namespace) -> None:
    """Writes a quote as a PDF: what was asked for, priced from the book's list."""
    language = _language(options.language)
    text = Path(options.request)
    if not text.is_file():
        raise BookError([Fault(options.request, "", "no such file", "a file with what was asked for")])
    asked = read_record(Request, parse_json(text.read_text(encoding="utf-8"), "quote"), "quote")
    book = read_book_file(options.book)
    year = asked.date.year
    made = make_price_list(
        price_everything(book), asked.list_number, datetime.date(year, 1, 1), datetime.date(year, 12, 31)
    )
    pdf = render_quote(QuotePaper(made, asked, options.number, True, "", language))
    Path(options.out).write_bytes(pdf)
    print(f"written: {options.out}, {len(pdf)} bytes")
