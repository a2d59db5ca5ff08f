"""Records and plain JSON data: strict reading that gathers every fault, and writing that leaves defaults out."""

from __future__ import annotations

import datetime
import json
import types
from collections.abc import Callable, Mapping
from dataclasses import MISSING, fields, is_dataclass
from decimal import Decimal
from functools import cache
from typing import Any, TypeVar, Union, get_args, get_origin, get_type_hints

from . import units
from .amounts import plain, read_amount, write_amount
from .errors import BookError, Fault, PricingError
from .fields import ALLOWED, Allowed, Amount, Measure

KEYS = ("number", "name", "symbol", "code")
T = TypeVar("T")

INVALID = object()
_SYSTEMS = tuple(units.GAUGE_SYSTEMS)


class Reading:
    """The faults met so far, and what was dropped for them: names by collection, and the records as they were given."""

    def __init__(self) -> None:
        self.faults: list[Fault] = []
        self.dropped: dict[str, list[str]] = {}
        self.unsound: list[tuple[str, Any]] = []

    def fault(self, place: tuple[str, str], found: object, allowed: object) -> object:
        self.faults.append(Fault(place[0], place[1], shown(found), str(allowed)))
        return INVALID

    def missing(self, place: tuple[str, str]) -> None:
        """A fault for a field that must be given and is not."""
        self.faults.append(Fault(*place, "nothing", "a value: the field must be given"))


Reader = Callable[[Reading, Any, tuple[str, str]], Any]


def shown(found: object) -> str:
    """What was found, as a fault shows it: at most 80 characters."""
    text = repr(found) if isinstance(found, str) else json.dumps(found, ensure_ascii=False, default=str)
    return text if len(text) <= 80 else text[:77] + "..."


def inside(place: tuple[str, str], name: str) -> tuple[str, str]:
    """The place of a field inside a place."""
    return place[0], f"{place[1]}.{name}" if place[1] else name


def label(collection: str, index: int, data: object) -> str:
    """How a record is called in a fault: its collection and its number, name, symbol or code, else its place."""
    if isinstance(data, dict):
        for key in KEYS:
            if isinstance(data.get(key), str) and data[key].strip():
                return f"{collection} {data[key][:60]}"
    return f"{collection}[{index}]"


def _read_text(reading: Reading, data: Any, place: tuple[str, str], allowed: Allowed | None) -> Any:
    if not isinstance(data, str) or (allowed is not None and not allowed.holds(data)):  # type: ignore[arg-type]
        return reading.fault(place, data, allowed or "a text")
    return data


def _read_whole(reading: Reading, data: Any, place: tuple[str, str], allowed: Allowed | None) -> Any:
    if not isinstance(data, int) or isinstance(data, bool) or (allowed and not allowed.holds(data)):  # type: ignore[arg-type]
        return reading.fault(place, data, allowed or "a whole number")
    return data


def _read_truth(reading: Reading, data: Any, place: tuple[str, str], allowed: Allowed | None) -> Any:
    return data if isinstance(data, bool) else reading.fault(place, data, "true or false")


def _read_date(reading: Reading, data: Any, place: tuple[str, str], allowed: Allowed | None) -> Any:
    words = "a date such as 2026-11-25"
    if not isinstance(data, str) or len(data) != 10:
        return reading.fault(place, data, words)
    try:
        return datetime.date.fromisoformat(data)
    except ValueError:
        return reading.fault(place, data, words)


def _converted(measure: Measure, data: Mapping[str, Any], place: tuple[str, str]) -> Decimal:
    if set(data) != {"amount", "unit"} or not all(isinstance(value, str) for value in data.values()):
        raise PricingError("measure", Fault(*place, shown(data), str(measure)))
    if data["unit"] in _SYSTEMS:
        return units.gauge_mm(data["amount"], data["unit"], *place)
    convert = {"mm": units.to_mm, "g": units.to_grams, "ml": units.to_ml}[measure.unit]
    return convert(read_amount(data["amount"], *place), data["unit"], *place)


def _read_decimal(reading: Reading, data: Any, place: tuple[str, str], allowed: Allowed | None) -> Any:
    try:
        if isinstance(allowed, Measure) and isinstance(data, dict):
            value = _converted(allowed, data, place)
        else:
            value = read_amount(data, *place)
    except PricingError as error:
        reading.faults.append(error.fault)
        return INVALID
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
    def read_list(reading: Reading, data: Any, place: tuple[str, str]) -> Any:
        if not isinstance(data, list):
            return reading.fault(place, data, "a list")
        values = tuple(read(reading, item, (place[0], f"{place[1]}[{index}]")) for index, item in enumerate(data))
        return INVALID if any(value is INVALID for value in values) else values

    return read_list


def _tagged_reader(kinds: tuple[type, ...]) -> Reader:
    readers = {kind.kind: record_reader(kind) for kind in kinds}  # type: ignore[attr-defined]
    words = "one of " + ", ".join(f'"{kind}"' for kind in readers)

    def read_tagged(reading: Reading, data: Any, place: tuple[str, str]) -> Any:
        if not isinstance(data, dict):
            return reading.fault(place, data, "an object")
        kind = data.get("kind")
        if not isinstance(kind, str) or kind not in readers:
            return reading.fault(inside(place, "kind"), kind, words)
        return readers[kind](reading, {key: data[key] for key in data if key != "kind"}, place)

    return read_tagged


def reader_of(annotation: Any, allowed: Allowed | None) -> Reader:
    """The reader of one annotated type: plain, list, optional, record, or one of several tagged records."""
    if annotation in _PLAIN:
        return _plain_reader(annotation, allowed)
    if get_origin(annotation) is tuple:
        return _list_reader(reader_of(get_args(annotation)[0], allowed))
    if get_origin(annotation) in (Union, types.UnionType):
        kinds = [kind for kind in get_args(annotation) if kind is not type(None)]
        return reader_of(kinds[0], allowed) if len(kinds) == 1 else _tagged_reader(tuple(kinds))
    return record_reader(annotation)


def optional(annotation: Any) -> bool:
    """Whether a field may be absent or null."""
    return get_origin(annotation) in (Union, types.UnionType) and type(None) in get_args(annotation)


@cache
def _plan(kind: type) -> tuple[dict[str, tuple[Reader, bool, bool]], frozenset[str]]:
    """How each field of a record class is read: reader, whether null is read as absent, whether it must be given."""
    hints = get_type_hints(kind)
    plan = {
        field.name: (
            reader_of(hints[field.name], field.metadata.get(ALLOWED)),
            optional(hints[field.name]),
            field.default is MISSING and field.default_factory is MISSING,
        )
        for field in fields(kind)
    }
    return plan, frozenset(name for name, (_, _, needed) in plan.items() if needed)


@cache
def record_reader(kind: type) -> Reader:
    """The reader of one record class: unknown and missing fields are faults, each field is read by its own kind."""

    def read_record(reading: Reading, data: Any, place: tuple[str, str]) -> Any:
        plan, needed = _plan(kind)
        if not isinstance(data, dict):
            return reading.fault(place, data, "an object")
        before = len(reading.faults)
        for name in data.keys() - plan.keys():
            reading.fault(inside(place, str(name)), data[name], "no field of this name")
        for name in sorted(needed - data.keys()):
            reading.missing(inside(place, name))
        values = {}
        for name, item in data.items():
            if name in plan and not (item is None and plan[name][1]):
                values[name] = plan[name][0](reading, item, inside(place, name))
        return INVALID if len(reading.faults) > before else kind(**values)

    return read_record


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
    """One record as plain JSON data, decimals as strings with the places they have."""
    return _record(record, write_amount)


def plain_data(record: Any) -> dict[str, Any]:
    """One record as plain JSON data, every decimal in its shortest form."""
    return _record(record, plain)


def read_record(kind: type[T], data: Any, name: str) -> T:
    """The record of `kind` that parsed JSON says; `name` is how faults call it.

    Raises: BookError with every fault together.
    """
    reading = Reading()
    value = record_reader(kind)(reading, data, (name, ""))  # type: ignore[arg-type]
    if reading.faults:
        raise BookError(reading.faults)
    return value  # type: ignore[no-any-return]


def parse_json(text: str, name: str) -> Any:
    """JSON read strictly: no name twice in one object, no NaN or Infinity, no nesting without end.

    Raises: BookError naming the place.
    """

    def refuse_constant(constant: str) -> Any:
        raise BookError([Fault(name, "", constant, "a number that JSON knows")])

    def unique(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        record = dict(pairs)
        if len(record) != len(pairs):
            names = [key for key, _ in pairs]
            twice = next(key for key in names if names.count(key) > 1)
            raise BookError([Fault(name, "", f'the name "{twice}" twice in one object', "each name once")])
        return record

    try:
        return json.loads(text, object_pairs_hook=unique, parse_constant=refuse_constant)
    except json.JSONDecodeError as error:
        place = f"line {error.lineno}, column {error.colno}"
        raise BookError([Fault(name, place, error.msg, "JSON")]) from None
    except RecursionError:
        raise BookError([Fault(name, "", "nesting without end", "JSON of the right shape")]) from None
