"""What comes in and goes out: strict shapes, decimal strings for money, unknown fields refused."""

from __future__ import annotations

from typing import Any

from marshmallow import RAISE, Schema, ValidationError, fields, validate

from pricing.amounts import read_amount
from pricing.errors import PricingError


class Whole(validate.Regexp):
    """A text that is the pattern from its first character to its last; the pattern reads the same in JSON Schema."""

    def __call__(self, value: str) -> str:
        if self.regex.fullmatch(value) is None:
            raise ValidationError(self._format_error(value))
        return value


UUID = Whole(r"^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$", error="a UUID in lower case")


class Strict(Schema):
    """A shape that refuses fields it does not know."""

    class Meta:
        """Unknown fields are faults."""

        unknown = RAISE


class Amount(fields.String):
    """A strict decimal string; a JSON number for money is refused."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> str:
        try:
            read_amount(value, "amount", attr or "")
        except PricingError as error:
            raise ValidationError(str(error.fault)) from None
        return str(value)


class SignIn(Strict):
    """A name and password, and what the device calls itself."""

    name = fields.String(required=True, validate=validate.Length(1, 80))
    password = fields.String(required=True, validate=validate.Length(1, 200))
    device = fields.String(load_default="", validate=validate.Length(0, 120))


class WhoReply(Schema):
    """Who is signed in."""

    name = fields.String(required=True)
    role = fields.String(required=True)
    language = fields.String(required=True)


class SessionReply(Schema):
    """An open session."""

    id = fields.String(required=True)
    device = fields.String(required=True)
    began = fields.String(required=True)
    used = fields.String(required=True)
    this = fields.Boolean(required=True)


class DealerReply(Schema):
    """A dealer."""

    number = fields.String(required=True)
    name = fields.String(required=True)
    channel = fields.String(required=True)
    language = fields.String(required=True)


class NewList(Strict):
    """A draft list to be made from the current book."""

    number = fields.String(required=True, validate=Whole(r"^[A-Za-z0-9][A-Za-z0-9 .-]{0,39}$"))
    effective = fields.Date(required=True)
    until = fields.Date(required=True)


class ListReply(Schema):
    """What is said of a list without its body."""

    id = fields.String(required=True)
    number = fields.String(required=True)
    status = fields.String(required=True)
    effective = fields.String(required=True)
    until = fields.String(required=True)
    digest = fields.String(required=True)
    made = fields.String(required=True)
    made_by = fields.String(required=True)
    issued = fields.String(allow_none=True)
    issued_by = fields.String(allow_none=True)


class Shown(Strict):
    """The totals as the customer saw them."""

    net = Amount(required=True)
    tax = Amount(required=True)
    total = Amount(required=True)
    payable = Amount(required=True)


class SentQuote(Strict):
    """One revision of a quote as a device sends it; what was asked is read strictly by the engine."""

    quote = fields.String(required=True, validate=UUID)
    base = fields.String(load_default=None, allow_none=True, validate=UUID)
    device = fields.String(required=True, validate=Whole(r"^[A-Za-z0-9-]{1,60}$"))
    provisional = fields.String(required=True, validate=Whole(r"^[A-Za-z0-9-]{1,40}$"))
    request = fields.Dict(required=True, keys=fields.String())
    shown = fields.Nested(Shown, required=True)


class QuoteReply(Schema):
    """A quote as the server holds it."""

    quote = fields.String(required=True)
    revision = fields.String(required=True)
    number = fields.String(required=True)
    alias = fields.String(required=True)
    device = fields.String(required=True)
    author = fields.String(required=True)
    received = fields.String(required=True)
    sequence = fields.Integer(required=True)
    list_number = fields.String(required=True)
    request = fields.Dict(required=True)
    worked = fields.Dict(required=True)


class ChangesReply(Schema):
    """Quotes changed after a place, and the place to go on from."""

    quotes = fields.List(fields.Nested(QuoteReply), required=True)
    next = fields.String(required=True)
    more = fields.Boolean(required=True)


class After(Strict):
    """Where in the server's changes to go on from."""

    class Meta:
        """Other query parameters are faults too."""

        unknown = RAISE

    after = fields.String(load_default="0", validate=Whole(r"^(0|[0-9a-f]{12}-[0-9]{1,15})$"))


class PaperOptions(Strict):
    """Which paper: for a channel, in a language."""

    channel = fields.String(required=True, validate=validate.Length(1, 80))
    language = fields.String(load_default="en-GB", validate=validate.OneOf(("en-GB", "de-DE")))


class QuotePaperOptions(Strict):
    """In which language."""

    language = fields.String(load_default="en-GB", validate=validate.OneOf(("en-GB", "de-DE")))


class SheetOptions(Strict):
    """Which finish of the piece, and the price of which channel; every one's unless said."""

    finish = fields.String(required=True, validate=validate.Length(1, 80))
    channel = fields.String(load_default=None, validate=validate.Length(1, 80))
