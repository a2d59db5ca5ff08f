"""What a request must be before any view reads it: JSON, read strictly, of text that the database can keep."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from flask import request

from pricing.errors import PricingError
from pricing.records import parse_json

from .problems import Problem

JSON = "application/json"
WITH_BODY = frozenset({"POST", "PUT", "PATCH"})


def refuse_unreadable() -> None:
    """Refuses what no view could read.

    Raises: Problem 404 for an address with control characters, 415 for a body that is not JSON, 400 for JSON that
    is broken, names a field twice or nests without end, 422 for text that is not Unicode or holds a NUL.
    """
    if _has_controls(request.path) or any(_has_controls(text) for text in _query()):
        raise Problem(404, "not-found", "There is nothing at this address.")
    if request.method not in WITH_BODY:
        return
    body = request.get_data()
    if not body and request.mimetype in ("", JSON):
        return
    if request.mimetype != JSON:
        raise Problem(415, "not-json", f"A change is sent as {JSON}.")
    _read(body)


def _query() -> Iterator[str]:
    for name, values in request.args.lists():
        yield name
        yield from values


def _has_controls(text: str) -> bool:
    return any(ord(character) < 32 or ord(character) == 127 for character in text)


def _read(body: bytes) -> None:
    try:
        data = parse_json(body.decode("utf-8"), "request")
    except UnicodeDecodeError:
        raise Problem(400, "not-json", "The body is not UTF-8.") from None
    except (PricingError, ValueError) as error:
        raise Problem(400, "not-json", f"The body is not JSON as it must be: {error}.") from None
    if any(not _can_be_kept(text) for text in _texts(data)):
        raise Problem(422, "text", "A text holds a character that is no character: a NUL or half a surrogate pair.")


def _texts(data: Any) -> Iterator[str]:
    """Every text in parsed JSON, names of fields included; nesting is bounded by the parser."""
    waiting = [data]
    while waiting:
        item = waiting.pop()
        if isinstance(item, str):
            yield item
        elif isinstance(item, dict):
            waiting += item.keys()
            waiting += item.values()
        elif isinstance(item, list):
            waiting += item


def _can_be_kept(text: str) -> bool:
    return "\0" not in text and not any("\ud800" <= character <= "\udfff" for character in text)
