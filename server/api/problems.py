"""Errors as RFC 9457 problem details, made in one place."""

from __future__ import annotations

from typing import Any

from flask import Flask, Response, json
from marshmallow import Schema, ValidationError, fields
from werkzeug.exceptions import HTTPException

from pricing.errors import PricingError
from server.access.people import SignInRefused, TooManyTries
from server.services.costs import PieceNotFound
from server.services.price_lists import Changed, ListNotFound
from server.services.quoting import Conflict, PlaceLost, QuoteNotFound

KIND = "application/problem+json"
TITLES = {
    400: "Not understood", 401: "Not signed in", 403: "Not allowed", 404: "Not found", 405: "Not to be done here",
    409: "In conflict", 410: "No longer held", 412: "Changed meanwhile", 413: "Too large", 415: "Not JSON",
    422: "Cannot be worked", 428: "Say which version", 429: "Too many tries", 500: "A fault of ours",
}  # fmt: skip


class FaultReply(Schema):
    """One thing wrong: the record, the field, what was found and what is allowed."""

    record = fields.String(required=True)
    field = fields.String(required=True)
    found = fields.String(required=True)
    allowed = fields.String(required=True)
    words = fields.String(required=True)


class ProblemReply(Schema):
    """Problem details as RFC 9457 has them; `faults` and `fields` say more of what was sent."""

    type = fields.String(required=True)
    title = fields.String(required=True)
    status = fields.Integer(required=True)
    detail = fields.String(required=True)
    faults = fields.List(fields.Nested(FaultReply))
    fields_ = fields.Dict(data_key="fields")


class Problem(Exception):
    """A refusal with its status, a stable code and words for people."""

    def __init__(self, status: int, code: str, detail: str, **more: Any) -> None:
        super().__init__(detail)
        self.status, self.code, self.detail, self.more = status, code, detail, more


def problem(status: int, code: str, detail: str, headers: dict[str, str] | None = None, **more: Any) -> Response:
    """A problem details reply."""
    body = {"type": f"urn:tinwright:{code}", "title": TITLES.get(status, "Refused"), "status": status, "detail": detail}
    reply = Response(json.dumps(body | more), status=status, content_type=KIND)
    for name, value in (headers or {}).items():
        reply.headers[name] = value
    return reply


def _priced(error: PricingError) -> Response:
    faults = [
        {"record": f.record, "field": f.field, "found": f.found, "allowed": f.allowed, "words": str(f)}
        for f in error.faults
    ]
    return problem(422, error.code.replace(" ", "-"), str(error.faults[0]), faults=faults)


def _invalid(error: ValidationError) -> Response:
    return problem(422, "fields", "Some fields are not as they must be.", fields=error.messages)


def _http(error: HTTPException) -> Response:
    status = error.code or 500
    headers = {
        name: value for name, value in error.get_headers() if name in ("Allow", "Retry-After", "WWW-Authenticate")
    }
    more = {}
    data = getattr(error, "data", None)
    if isinstance(data, dict) and "messages" in data:
        more["fields"] = data["messages"]
    return problem(status, f"http-{status}", error.description or TITLES.get(status, ""), headers, **more)


def _unexpected(error: Exception) -> Response:
    return problem(500, "fault", "The server could not do this; it has been written to its log.")


def handle_problems(app: Flask) -> None:
    """Turns every error of the application into problem details."""
    handle = app.register_error_handler
    handle(Problem, lambda e: problem(e.status, e.code, e.detail, **e.more))
    handle(PricingError, _priced)
    handle(ValidationError, _invalid)
    handle(HTTPException, _http)
    handle(SignInRefused, lambda e: problem(401, "wrong-password", "Name and password do not go together."))
    handle(TooManyTries, lambda e: problem(429, "too-many-tries", str(e), {"Retry-After": str(e.seconds)}))
    handle(Conflict, lambda e: problem(409, "conflict", e.why))
    handle(PlaceLost, lambda e: problem(410, "place-lost", "Start again from the beginning: this place is not held."))
    handle(Changed, lambda e: problem(412, "changed", "This has changed since you saw it."))
    for missing, words in (
        (ListNotFound, "There is no such list."),
        (QuoteNotFound, "There is no such quote."),
        (PieceNotFound, "There is no such piece in that finish."),
    ):
        handle(missing, lambda e, words=words: problem(404, "not-found", words))

    def unexpected(error: Exception) -> Response:
        app.logger.exception("unexpected", exc_info=error)
        return _unexpected(error)

    handle(Exception, unexpected)
