"""Settling quotes: worked again from the pinned list, kept once for each id, numbered, and printed."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from pricing.errors import Fault, PricingError
from pricing.price_list import Request, quote_of
from pricing.quote import work_quote
from pricing.quote_types import worked_data
from pricing.records import read_record
from server.access.people import Who
from server.documents.quote import QuotePaper, render_quote
from server.store.database import reading, writing
from server.store.ledger import last_number, next_number, note
from server.store.tables import KeptPaper, KeptQuote, QuoteRevision, now

from .catalogue import seen_by, sees_channel
from .price_lists import issued_list
from .workshop import Workshop

SHOWN = ("net", "tax", "total", "payable")
PAGE = 100
BEGINNING = "0"


class Conflict(Exception):
    """A quote that another content, device or revision already has; `why` says it in words."""

    def __init__(self, why: str) -> None:
        super().__init__(why)
        self.why = why


class QuoteNotFound(Exception):
    """No quote of that id."""


class PlaceLost(Exception):
    """A place in the changes of another database, or beyond what this one has."""


@dataclass(frozen=True, slots=True)
class Settled:
    """A quote as the server holds it: official number, the one it had before, revision, what was asked and worked."""

    quote: str
    revision: str
    number: str
    alias: str
    device: str
    author: str
    received: str
    sequence: int
    list_number: str
    kind: str
    request: dict[str, Any]
    worked: dict[str, Any]
    replay: bool = False


def _canonical(data: Any) -> str:
    return json.dumps(data, ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def _worked(workshop: Workshop, session: Session, who: Who, request: Request) -> dict[str, Any]:
    digest, pinned = issued_list(session, workshop, request.list_number)
    quote = quote_of(seen_by(workshop, pinned, digest, who.role), request)
    return worked_data(work_quote(quote), quote.minor_unit)


def _same_totals(shown: dict[str, str], worked: dict[str, Any]) -> None:
    """Refuses totals that are not the server's own: nothing is changed silently.

    Raises: PricingError `totals` naming both.
    """
    for name in SHOWN:
        if shown.get(name) != worked[name]:
            fault = Fault("quote", f"shown.{name}", str(shown.get(name)), f"{worked[name]}, as the server works it")
            raise PricingError("totals", fault)


def settle(workshop: Workshop, who: Who, revision: str, sent: dict[str, Any]) -> Settled:
    """Takes in one revision of a quote.

    The same id with the same content is a replay and answers as before. Raises: Conflict for the same id with other
    content, a revision on one that is not the newest, or another device's quote; ListNotFound; BookError or
    PricingError for what cannot be worked or totals that differ from the server's.
    """
    request = read_record(Request, sent["request"], "quote")
    content = hashlib.sha256(_canonical(sent).encode()).hexdigest()
    with writing(workshop.engine) as session:
        kept = session.get(QuoteRevision, revision)
        if kept is not None:
            if kept.content != content:
                raise Conflict("this id already holds another quote")
            return _settled(workshop, session, kept, replay=True)
        worked = _worked(workshop, session, who, request)
        _same_totals(sent["shown"], worked)
        quote = _quote(session, sent, revision)
        row = QuoteRevision(
            id=revision, quote=quote.id, base=sent.get("base"), list_number=request.list_number, content=content,
            body=_canonical(sent), worked=_canonical(worked), author=who.name, received=now(),
        )  # fmt: skip
        session.add(row)
        note(session, who.name, "settled a quote", f"{quote.number} {content}")
        session.flush()
        return _settled(workshop, session, row)


def _quote(session: Session, sent: dict[str, Any], revision: str) -> KeptQuote:
    """The quote a revision belongs to: a new one with its official number, or one it follows on."""
    quote = session.get(KeptQuote, sent["quote"])
    if quote is None:
        if sent.get("base") is not None:
            raise Conflict("the revision this one follows is not here yet")
        quote = KeptQuote(
            id=sent["quote"], number=f"Q{next_number(session, 'quote'):05d}", alias=sent["provisional"],
            device=sent["device"], head=revision, sequence=next_number(session, "change"),
        )  # fmt: skip
        session.add(quote)
        session.flush()
        return quote
    if quote.device != sent["device"]:
        raise Conflict("another device writes this quote")
    if quote.head != sent.get("base"):
        raise Conflict("there is a newer revision of this quote")
    quote.head, quote.sequence = revision, next_number(session, "change")
    return quote


def _settled(workshop: Workshop, session: Session, row: QuoteRevision, replay: bool = False) -> Settled:
    quote = session.get_one(KeptQuote, row.quote)
    request = json.loads(row.body)["request"]
    _, pinned = issued_list(session, workshop, row.list_number)
    return Settled(
        quote=quote.id, revision=row.id, number=quote.number, alias=quote.alias, device=quote.device,
        author=row.author, received=row.received, sequence=quote.sequence, list_number=row.list_number,
        kind=pinned.channel(request["channel"]).kind, request=request, worked=json.loads(row.worked), replay=replay,
    )  # fmt: skip


def _may_see(workshop: Workshop, who: Who, settled: Settled) -> bool:
    """Whether somebody sees a quote: of a kind of channel whose prices they see, or their own."""
    return settled.author == who.name or sees_channel(workshop, who.role, settled.kind)


def _cursor(workshop: Workshop, place: int) -> str:
    return f"{workshop.incarnation[-12:]}-{place}"


def _place(workshop: Workshop, cursor: str, last: int) -> int:
    """The place a cursor stands for.

    Raises: PlaceLost for one of another database, as after a restore, or beyond the last change.
    """
    if cursor == BEGINNING:
        return 0
    database, _, place = cursor.rpartition("-")
    if database != workshop.incarnation[-12:] or int(place) > last:
        raise PlaceLost(cursor)
    return int(place)


def changes(workshop: Workshop, who: Who, after: str) -> tuple[list[Settled], str, bool]:
    """The newest revision of every quote changed after a cursor, the cursor to go on from, and whether there is more.

    Raises: PlaceLost for a cursor that this database did not give.
    """
    with reading(workshop.engine) as session:
        last = last_number(session, "change")
        place = _place(workshop, after, last)
        query = (
            select(QuoteRevision, KeptQuote.sequence)
            .join(KeptQuote, KeptQuote.head == QuoteRevision.id)
            .where(KeptQuote.sequence > place)
            .order_by(KeptQuote.sequence)
            .limit(PAGE)
        )
        rows = session.execute(query).all()
        found = [_settled(workshop, session, row) for row, _ in rows]
    place = rows[-1].sequence if rows else last
    return [settled for settled in found if _may_see(workshop, who, settled)], _cursor(workshop, place), place < last


def one(workshop: Workshop, who: Who, quote: str) -> Settled:
    """The newest revision of a quote.

    Raises: QuoteNotFound, also for one that the role may not see.
    """
    with reading(workshop.engine) as session:
        kept = session.get(KeptQuote, quote)
        row = None if kept is None else session.get(QuoteRevision, kept.head)
        settled = None if row is None else _settled(workshop, session, row)
    if settled is None or not _may_see(workshop, who, settled):
        raise QuoteNotFound(quote)
    return settled


def numbered(workshop: Workshop, number: str) -> Settled:
    """The newest revision of a quote by its official number or the one it had before.

    Raises: QuoteNotFound.
    """
    named = (KeptQuote.number == number) | (KeptQuote.alias == number)
    query = (
        select(QuoteRevision)
        .join(KeptQuote, KeptQuote.head == QuoteRevision.id)
        .where(named)
        .order_by(KeptQuote.number != number, KeptQuote.sequence.desc())
        .limit(1)
    )
    with reading(workshop.engine) as session:
        row = session.execute(query).scalar()
        if row is None:
            raise QuoteNotFound(number)
        return _settled(workshop, session, row)


def paper(workshop: Workshop, who: Who, quote: str, language: str) -> bytes:
    """The quote as a PDF, for whoever may see it.

    Raises: QuoteNotFound; LookupError for a language without words.
    """
    return print_settled(workshop, one(workshop, who, quote), language)


def print_settled(workshop: Workshop, settled: Settled, language: str) -> bytes:
    """A settled quote as a PDF, made once for each revision and language and kept.

    Raises: LookupError for a language without words.
    """
    key = f"quote {settled.revision} {language}"
    with reading(workshop.engine) as session:
        kept = session.get(KeptPaper, key)
        if kept is not None:
            return kept.pdf
        _, pinned = issued_list(session, workshop, settled.list_number)
    request = read_record(Request, settled.request, "quote")
    pdf = render_quote(QuotePaper(pinned, request, settled.number, False, settled.alias, language))
    with writing(workshop.engine) as session:
        session.merge(KeptPaper(key=key, pdf=pdf, made=now()))
    return pdf
