"""The book as a JSON file: strict reading that gathers every fault, plain writing, canonical form and edition."""

from __future__ import annotations

import datetime
import hashlib
import json
from collections.abc import Mapping
from dataclasses import MISSING, fields
from typing import Any, get_args, get_origin, get_type_hints

from .amounts import exactly
from .book import Book
from .book_checks import LeftOut, faults_of
from .errors import BookError, Fault
from .fields import ALLOWED
from .records import (
    INVALID,
    KEYS,
    Reading,
    label,
    optional,
    parse_json,
    plain_data,
    reader_of,
    record_data,
    record_reader,
    shown,
)

FORMAT = "tinwright book"
VERSION = 1


def _read_collection(reading: Reading, name: str, kind: type, data: Any) -> tuple[Any, ...]:
    """The healthy records of one list of the book; the names of the others are kept so that references stand."""
    if not isinstance(data, list):
        reading.fault(("book", name), data, "a list")
        return ()
    read = record_reader(kind)
    records = []
    for index, item in enumerate(data):
        record = read(reading, item, (label(name, index, item), ""))
        if record is not INVALID:
            records.append(record)
        else:
            known = [item[key] for key in KEYS if isinstance(item.get(key), str)] if isinstance(item, dict) else []
            reading.dropped.setdefault(name, []).extend(known)
            reading.unsound.append((label(name, index, item), item))
    return tuple(records)


def _read_fields(reading: Reading, data: Mapping[str, Any]) -> dict[str, Any]:
    hints = get_type_hints(Book)
    values: dict[str, Any] = {}
    for field in fields(Book):
        if field.name not in data:
            if field.default is MISSING:
                reading.missing(("book", field.name))
            continue
        hint = hints[field.name]
        if get_origin(hint) is tuple:
            values[field.name] = _read_collection(reading, field.name, get_args(hint)[0], data[field.name])
        else:
            read = reader_of(hint, field.metadata.get(ALLOWED))
            if not (data[field.name] is None and optional(hint)):
                values[field.name] = read(reading, data[field.name], ("book", field.name))
    return values


def _heading(reading: Reading, data: Mapping[str, Any]) -> None:
    if data.get("format") != FORMAT:
        reading.fault(("book", "format"), data.get("format"), f'"{FORMAT}"')
    if data.get("version") != VERSION:
        reading.fault(("book", "version"), data.get("version"), str(VERSION))
    known = {field.name for field in fields(Book)} | {"format", "version"}
    for name in data.keys() - known:
        reading.fault(("book", str(name)), data[name], "no field of this name")


@exactly
def read_book(data: Any) -> Book:
    """The checked book that parsed JSON says.

    Raises: BookError with every fault of the file together: of single fields and between records.
    """
    reading = Reading()
    if not isinstance(data, dict):
        raise BookError([Fault("book", "", shown(data), "an object")])
    _heading(reading, data)
    values = _read_fields(reading, data)
    unread = {f.name for f in fields(Book) if _is_unread(f, values)} | _unlisted(data)
    book = Book(**{**_STAND_INS, **{name: value for name, value in values.items() if value is not INVALID}})
    reading.faults += faults_of(book, LeftOut(reading.dropped, tuple(reading.unsound), frozenset(unread)))
    if reading.faults:
        raise BookError(reading.faults)
    return book


# What stands for a field of the book that could not be read, so that the rest can still be checked.
_STAND_INS: Mapping[str, Any] = {"workshop": "", "date": datetime.date.max, "currency": "", "currencies": ()}


def _is_unread(field: Any, values: Mapping[str, Any]) -> bool:
    """Whether a field of the book was given and could not be read, or had to be given and was not."""
    return bool(values.get(field.name) is INVALID or (field.default is MISSING and field.name not in values))


def _unlisted(data: Mapping[str, Any]) -> set[str]:
    """The collections of a book that are given as something other than a list."""
    hints = get_type_hints(Book)
    return {
        name for name, hint in hints.items() if get_origin(hint) is tuple and not isinstance(data.get(name, []), list)
    }


def parse_book(text: str) -> Book:
    """The checked book that a JSON text says.

    Raises: BookError for a text that is not JSON, and for every fault of the book.
    """
    return read_book(parse_json(text, "book"))


def book_data(book: Book) -> dict[str, Any]:
    """The book as plain JSON data: what `read_book` reads back as an equal book."""
    return {"format": FORMAT, "version": VERSION, **record_data(book)}


def write_book(book: Book) -> str:
    """The book as a JSON file, one indent a level, decimals with the places they were given."""
    return json.dumps(book_data(book), ensure_ascii=False, indent=1) + "\n"


def canonical(book: Book) -> bytes:
    """The book's canonical JSON: keys sorted, no blanks, every decimal in its shortest form, UTF-8.

    Source: RFC 8785 for the order of keys and the escapes; decimals travel as strings.
    """
    data = {"format": FORMAT, "version": VERSION, **plain_data(book)}
    return json.dumps(data, ensure_ascii=False, sort_keys=True, separators=(",", ":")).encode()


def edition(book: Book) -> str:
    """The book's edition: the SHA-256 of its canonical JSON, in hexadecimal."""
    return hashlib.sha256(canonical(book)).hexdigest()
