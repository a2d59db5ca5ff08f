"""The JSON Schema of the book file, made from the records themselves so that it cannot fall behind them."""

from __future__ import annotations

import datetime
import types
from dataclasses import MISSING, fields
from decimal import Decimal
from typing import Any, Union, get_args, get_origin, get_type_hints

from .book import Book
from .book_file import FORMAT, VERSION
from .fields import ALLOWED, Allowed, Measure, OneOf, Whole, Words

DIALECT = "https://json-schema.org/draft/2020-12/schema"
AMOUNT = {"type": "string", "pattern": r"^-?(0|[1-9][0-9]*)(\.[0-9]+)?$", "maxLength": 30}


def _amount(allowed: Allowed | None) -> dict[str, Any]:
    written = AMOUNT | ({"description": str(allowed)} if allowed is not None else {})
    if not isinstance(allowed, Measure):
        return written
    pair = {"amount": {"type": "string"}, "unit": {"type": "string"}}
    other = {"type": "object", "properties": pair, "required": ["amount", "unit"], "additionalProperties": False}
    return {"anyOf": [written, other]}


def _plain(kind: Any, allowed: Allowed | None) -> dict[str, Any] | None:
    if kind is Decimal:
        return _amount(allowed)
    if kind is datetime.date:
        return {"type": "string", "format": "date", "pattern": r"^\d{4}-\d{2}-\d{2}$"}
    if kind is bool:
        return {"type": "boolean"}
    if kind is int:
        bounds = {"minimum": allowed.least, "maximum": allowed.greatest} if isinstance(allowed, Whole) else {}
        return {"type": "integer"} | bounds
    if kind is str:
        if isinstance(allowed, OneOf):
            return {"enum": list(allowed.words)}
        return {"type": "string"} | ({"maxLength": allowed.longest} if isinstance(allowed, Words) else {})
    return None


class _Schema:
    """The definitions met so far, one for each class of record."""

    def __init__(self) -> None:
        self.definitions: dict[str, Any] = {}

    def of(self, annotation: Any, allowed: Allowed | None) -> dict[str, Any]:
        plain = _plain(annotation, allowed)
        if plain is not None:
            return plain
        if get_origin(annotation) is tuple:
            return {"type": "array", "items": self.of(get_args(annotation)[0], allowed)}
        if get_origin(annotation) in (Union, types.UnionType):
            kinds = [kind for kind in get_args(annotation) if kind is not type(None)]
            several = [self.of(kind, allowed) for kind in kinds]
            return {"anyOf": several + ([{"type": "null"}] if len(kinds) < len(get_args(annotation)) else [])}
        return self.record(annotation)

    def record(self, kind: type) -> dict[str, Any]:
        if kind.__name__ not in self.definitions:
            self.definitions[kind.__name__] = {}
            self.definitions[kind.__name__] = self.described(kind)
        return {"$ref": f"#/$defs/{kind.__name__}"}

    def described(self, kind: type) -> dict[str, Any]:
        hints = get_type_hints(kind)
        properties: dict[str, Any] = {}
        needed = []
        tag = getattr(kind, "kind", None)
        if isinstance(tag, str):
            properties["kind"] = {"const": tag}
            needed.append("kind")
        for field in fields(kind):
            properties[field.name] = self.of(hints[field.name], field.metadata.get(ALLOWED))
            if field.default is MISSING:
                needed.append(field.name)
        return {
            "type": "object",
            "description": (kind.__doc__ or "").strip(),
            "properties": properties,
            "required": needed,
            "additionalProperties": False,
        }


def book_schema() -> dict[str, Any]:
    """The JSON Schema (2020-12) of a book file. What holds between records is checked by reading, not by it."""
    schema = _Schema()
    whole = schema.described(Book)
    whole["properties"] = {"format": {"const": FORMAT}, "version": {"const": VERSION}, **whole["properties"]}
    whole["required"] = ["format", "version", *whole["required"]]
    return {"$schema": DIALECT, "title": "Tinwright book", **whole, "$defs": dict(sorted(schema.definitions.items()))}
