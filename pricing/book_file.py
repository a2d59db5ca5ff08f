"""The book as a JSON file: strict reading that gathers every fault, plain writing, canonical form and edition."""

from __future__ import annotations

import datetime
import hashlib
import json
import types
from collections.abc import Callable, Mapping
from dataclasses import MISSING, fields, is_dataclass
from decimal import Decimal
from functools import cache
from typing import Any, Union, get_args, get_origin, get_type_hints

from . import units
from .amounts import exactly, plain, read_amount, write_amount
from .book import Book
from .book_checks import faults_of
from .errors import BookError, Fault, PricingError
from .fields import ALLOWED, Allowed, Amount, Measure

FORMAT = "tinwright book"
VERSION = 1
KEYS = ("number", "name", "symbol", "code")
MOST_BYTES = 200_000_000

_INVALID = object()
_SYSTEMS = tuple(units.GAUGE_SYSTEMS)


class _Reading:
    """The faults met so far, and the names of records that were dropped for theirs."""

    def __init__(self) -> None:
        self.faults: list[Fault] = []
        self.dropped: dict[str, set[str]] = {}

    def fault(self, place: tuple[str, str], found: object, allowed: object) -> object:
        self.faults.append(Fault(place[0], place[1], _shown(found), str(allowed)))
        return _INVALID


Reader = Callable[[_Reading, Any, tuple[str, str]], Any]


def _shown(found: object) -> str:
    text = repr(found) if isinstance(found, str) else json.dumps(found, ensure_ascii=False, default=str)
    return text if len(text) <= 80 else text[:77] + "..."


def _inside(place: tuple[str, str], name: str) -> tuple[str, str]:
    return place[0], f"{place[1]}.{name}" if place[1] else name


def _label(collection: str, index: int, data: object) -> str:
    """How a record is called in a fault: its collection and its number, name, symbol or code, else its place."""
    if isinstance(data, dict):
        for key in KEYS:
            if isinstance(data.get(key), str) and data[key].strip():
                return f"{collection} {data[key][:60]}"
    return f"{collection}[{index}]"


def _read_text(reading: _Reading, data: Any, place: tuple[str, str], allowed: Allowed | None) -> Any:
    if not isinstance(data, str) or (allowed is not None and not allowed.holds(data)):  # type: ignore[arg-type]
        return reading.fault(place, data, allowed or "a text")
    return data


def _read_whole(reading: _Reading, data: Any, place: tuple[str, str], allowed: Allowed | None) -> Any:
    if not isinstance(data, int) or isinstance(data, bool) or (allowed and not allowed.holds(data)):  # type: ignore[arg-type]
        return reading.fault(place, data, allowed or "a whole number")
    return data


def _read_truth(reading: _Reading, data: Any, place: tuple[str, str], allowed: Allowed | None) -> Any:
    return data if isinstance(data, bool) else reading.fault(place, data, "true or false")


def _read_date(reading: _Reading, data: Any, place: tuple[str, str], allowed: Allowed | None) -> Any:
    words = "a date such as 2026-11-25"
    if not isinstance(data, str) or len(data) != 10:
        return reading.fault(place, data, words)
    try:
        return datetime.date.fromisoformat(data)
    except ValueError:
        return reading.fault(place, data, words)


def _converted(measure: Measure, data: Mapping[str, Any], place: tuple[str, str]) -> Decimal:
    if set(data) != {"amount", "unit"} or not all(isinstance(value, str) for value in data.values()):
        raise PricingError("measure", Fault(*place, _shown(data), str(measure)))
    if data["unit"] in _SYSTEMS:
        return units.gauge_mm(data["amount"], data["unit"], *place)
    convert = {"mm": units.to_mm, "g": units.to_grams, "ml": units.to_ml}[measure.unit]
    return convert(read_amount(data["amount"], *place), data["unit"], *place)


def _read_decimal(reading: _Reading, data: Any, place: tuple[str, str], allowed: Allowed | None) -> Any:
    try:
        if isinstance(allowed, Measure) and isinstance(data, dict):
            value = _converted(allowed, data, place)
        else:
            value = read_amount(data, *place)
    except PricingError as error:
        reading.faults.append(error.fault)
        return _INVALID
    if isinstance(allowed, Amount | Measure) and not allowed.holds(value):
        return reading.fault(place, data, allowed)
    return value


_PLAIN = {
    str: _read_text,
    int: _read_whole,
    bool: _read_truth,
    Decimal: _read_decimal,
    datetime.date: _read_date,
}


def _plain_reader(kind: type, allowed: Allowed | None) -> Reader:
    read = _PLAIN[kind]
    return lambda reading, data, place: read(reading, data, place, allowed)


def _list_reader(read: Reader) -> Reader:
    def read_list(reading: _Reading, data: Any, place: tuple[str, str]) -> Any:
        if not isinstance(data, list):
            return reading.fault(place, data, "a list")
        values = tuple(read(reading, item, (place[0], f"{place[1]}[{index}]")) for index, item in enumerate(data))
        return _INVALID if any(value is _INVALID for value in values) else values

    return read_list


def _tagged_reader(kinds: tuple[type, ...]) -> Reader:
    readers = {kind.kind: record_reader(kind) for kind in kinds}  # type: ignore[attr-defined]
    words = "one of " + ", ".join(f'"{kind}"' for kind in readers)

    def read_tagged(reading: _Reading, data: Any, place: tuple[str, str]) -> Any:
        if not isinstance(data, dict):
            return reading.fault(place, data, "an object")
        kind = data.get("kind")
        if not isinstance(kind, str) or kind not in readers:
            return reading.fault(_inside(place, "kind"), kind, words)
        return readers[kind](reading, {key: data[key] for key in data if key != "kind"}, place)

    return read_tagged


def _reader(annotation: Any, allowed: Allowed | None) -> Reader:
    """The reader of one annotated type: plain, list, optional, record, or one of several tagged records."""
    if annotation in _PLAIN:
        return _plain_reader(annotation, allowed)
    if get_origin(annotation) is tuple:
        return _list_reader(_reader(get_args(annotation)[0], allowed))
    if get_origin(annotation) in (Union, types.UnionType):
        kinds = [kind for kind in get_args(annotation) if kind is not type(None)]
        return _reader(kinds[0], allowed) if len(kinds) == 1 else _tagged_reader(tuple(kinds))
    return record_reader(annotation)


def _optional(annotation: Any) -> bool:
    return get_origin(annotation) in (Union, types.UnionType) and type(None) in get_args(annotation)


@cache
def _plan(kind: type) -> tuple[dict[str, tuple[Reader, bool, bool]], frozenset[str]]:
    """How each field of a record class is read: reader, whether null is read as absent, whether it must be given."""
    hints = get_type_hints(kind)
    plan = {
        field.name: (
            _reader(hints[field.name], field.metadata.get(ALLOWED)),
            _optional(hints[field.name]),
            field.default is MISSING and field.default_factory is MISSING,
        )
        for field in fields(kind)
    }
    return plan, frozenset(name for name, (_, _, needed) in plan.items() if needed)


@cache
def record_reader(kind: type) -> Reader:
    """The reader of one record class: unknown and missing fields are faults, each field is read by its own kind."""

    def read_record(reading: _Reading, data: Any, place: tuple[str, str]) -> Any:
        plan, needed = _plan(kind)
        if not isinstance(data, dict):
            return reading.fault(place, data, "an object")
        before = len(reading.faults)
        for name in data.keys() - plan.keys():
            reading.fault(_inside(place, str(name)), data[name], "no field of this name")
        for name in sorted(needed - data.keys()):
            reading.fault(_inside(place, name), "nothing", "a value: the field must be given")
        values = {}
        for name, item in data.items():
            if name in plan and not (item is None and plan[name][1]):
                values[name] = plan[name][0](reading, item, _inside(place, name))
        return _INVALID if len(reading.faults) > before else kind(**values)

    return read_record


def _read_collection(reading: _Reading, name: str, kind: type, data: Any) -> tuple[Any, ...]:
    """The healthy records of one list of the book; the names of the others are kept so that references stand."""
    if not isinstance(data, list):
        reading.fault(("book", name), data, "a list")
        return ()
    read = record_reader(kind)
    records = []
    for index, item in enumerate(data):
        record = read(reading, item, (_label(name, index, item), ""))
        if record is not _INVALID:
            records.append(record)
        elif isinstance(item, dict):
            known = (item[key] for key in KEYS if isinstance(item.get(key), str))
            reading.dropped.setdefault(name, set()).update(known)
    return tuple(records)


def _read_fields(reading: _Reading, data: Mapping[str, Any]) -> dict[str, Any]:
    hints = get_type_hints(Book)
    values: dict[str, Any] = {}
    for field in fields(Book):
        if field.name not in data:
            if field.default is MISSING:
                reading.fault(("book", field.name), "nothing", "a value: the field must be given")
            continue
        hint = hints[field.name]
        if get_origin(hint) is tuple:
            values[field.name] = _read_collection(reading, field.name, get_args(hint)[0], data[field.name])
        else:
            read = _reader(hint, field.metadata.get(ALLOWED))
            if not (data[field.name] is None and _optional(hint)):
                values[field.name] = read(reading, data[field.name], ("book", field.name))
    return values


def _heading(reading: _Reading, data: Mapping[str, Any]) -> None:
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
    reading = _Reading()
    if not isinstance(data, dict):
        raise BookError([Fault("book", "", _shown(data), "an object")])
    _heading(reading, data)
    values = _read_fields(reading, data)
    whole = all(value is not _INVALID for value in values.values())
    if whole and all(f.name in values or f.default is not MISSING for f in fields(Book)):
        book = Book(**values)
        reading.faults += faults_of(book, reading.dropped)
        if not reading.faults:
            return book
    raise BookError(reading.faults)


def _refuse_constant(text: str) -> Any:
    raise BookError([Fault("book", "", text, "a number that JSON knows")])


def _unique(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    record = dict(pairs)
    if len(record) != len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise BookError([Fault("book", "", f'the name "{twice}" twice in one object', "each name once")])
    return record


def parse_book(text: str) -> Book:
    """The checked book that a JSON text says.

    Raises: BookError for a text that is not JSON, and for every fault of the book.
    """
    try:
        data = json.loads(text, object_pairs_hook=_unique, parse_constant=_refuse_constant)
    except json.JSONDecodeError as error:
        place = f"line {error.lineno}, column {error.colno}"
        raise BookError([Fault("book", place, error.msg, "JSON")]) from None
    except RecursionError:
        raise BookError([Fault("book", "", "nesting without end", "JSON of this book's shape")]) from None
    return read_book(data)


Writer = Callable[[Decimal], str]


def _written(value: Any, write: Writer) -> Any:
    if isinstance(value, Decimal):
        return write(value)
    if isinstance(value, datetime.date):
        return value.isoformat()
    if isinstance(value, tuple):
        return [_written(item, write) for item in value]
    return _record(value, write) if is_dataclass(value) else value


def _record(record: Any, write: Writer) -> dict[str, Any]:
    """A record as a JSON object: its kind first where it has one, fields left at their default left out."""
    kind = getattr(type(record), "kind", None)
    data: dict[str, Any] = {"kind": kind} if isinstance(kind, str) else {}
    for field in fields(record):
        value = getattr(record, field.name)
        if field.default is MISSING or value != field.default:
            data[field.name] = _written(value, write)
    return data


def record_data(record: Any) -> dict[str, Any]:
    """One record of a book as plain JSON data, decimals as strings with the places they have."""
    return _record(record, write_amount)


def book_data(book: Book) -> dict[str, Any]:
    """The book as plain JSON data: what `read_book` reads back as an equal book."""
    return {"format": FORMAT, "version": VERSION, **_record(book, write_amount)}


def write_book(book: Book) -> str:
    """The book as a JSON file, one indent a level, decimals with the places they were given."""
    return json.dumps(book_data(book), ensure_ascii=False, indent=1) + "\n"


def canonical(book: Book) -> bytes:
    """The book's canonical JSON: keys sorted, no blanks, every decimal in its shortest form, UTF-8.

    Source: RFC 8785 for the order of keys and the escapes; decimals travel as strings.
    """
    data = {"format": FORMAT, "version": VERSION, **_record(book, plain)}
    return json.dumps(data, ensure_ascii=False, sort_keys=True, separators=(",", ":")).encode()


def edition(book: Book) -> str:
    """The book's edition: the SHA-256 of its canonical JSON, in hexadecimal."""
    return hashlib.sha256(canonical(book)).hexdigest()
