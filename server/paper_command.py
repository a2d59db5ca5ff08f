"""`python -m server list` and `python -m server quote`: papers of a book file, or of what the database keeps."""

from __future__ import annotations

import argparse
import datetime
from pathlib import Path

from pricing.errors import BookError, Fault
from pricing.price import price_everything
from pricing.price_list import Request, make_price_list
from pricing.records import parse_json, read_record

from .config import settings
from .documents.drawing import drawn_pieces
from .documents.price_list import ListPaper, render_price_list
from .documents.quote import QuotePaper, render_quote
from .documents.texts import LANGUAGES
from .price_command import read_book_file
from .services import price_lists, quoting
from .services.workshop import open_workshop


def _given(options: argparse.Namespace, *names: str) -> None:
    """Refuses a paper of a file without the options it needs, and one that is said to come from both.

    Raises: BookError naming each option that is missing.
    """
    words = {
        "effective": "--from",
        "until": "--until",
        "book": "a book file",
        "request": "a file of what was asked for",
    }
    missing = [words[name] for name in names if getattr(options, name) is None]
    if missing:
        raise BookError([Fault(what, "", "nothing", "a value, or --from-database") for what in missing])


def _written(options: argparse.Namespace, pdf: bytes, words: str) -> None:
    Path(options.out).write_bytes(pdf)
    print(f"written: {options.out}, {words}, {len(pdf)} bytes")


def _kept_list(options: argparse.Namespace, language: str) -> None:
    """The paper of a list that the database keeps, made once and the same for ever."""
    with open_workshop(settings(options.database)) as opened:
        kept = [facts for facts in price_lists.all_lists(opened) if facts.number == options.number]
        if not kept:
            raise BookError([Fault("--number", "", f'"{options.number}"', "the number of a list in the database")])
        pdf = price_lists.paper(opened, kept[0].id, options.channel, language)
    _written(options, pdf, f"list {kept[0].number}, {kept[0].status}")


def _kept_quote(options: argparse.Namespace, language: str) -> None:
    """The paper of a quote that the database keeps."""
    with open_workshop(settings(options.database)) as opened:
        try:
            found = quoting.numbered(opened, options.number)
        except quoting.QuoteNotFound:
            raise BookError([Fault("--number", "", f'"{options.number}"', "the number of a settled quote")]) from None
        pdf = quoting.print_settled(opened, found, language)
    _written(options, pdf, f"quote {found.number}")


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
    """Writes the dealer price list of a book, or a list that the database keeps, as a PDF."""
    language = _language(options.language)
    if options.from_database:
        return _kept_list(options, language)
    _given(options, "book", "effective", "until")
    effective = _day(options.effective, "--from")
    until = _day(options.until, "--until")
    book = read_book_file(options.book)
    made = make_price_list(price_everything(book), options.number, effective, until)
    made.channel(options.channel)
    pdf = render_price_list(ListPaper(made, options.channel, language, drawn_pieces(book.pieces)))
    return _written(options, pdf, f"{len(made.entries)} pieces")


def quote(options: argparse.Namespace) -> None:
    """Writes a quote as a PDF: what was asked for, priced from the book's list, or one that the database keeps."""
    language = _language(options.language)
    if options.from_database:
        return _kept_quote(options, language)
    _given(options, "request", "book")
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
    return _written(options, pdf, f"list {made.number}")
