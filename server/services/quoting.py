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

from .catalogue import Catalogues
from .price_lists import issued_list
from .workshop import Workshop

SHOWN = ("net", "tax", "total", "payable")
PAGE = 200


class Conflict(Exception):
    """A quote that another content, device or revision already has; `why` says it in words."""

    def __init__(self, why: str) -> None:
        super().__init__(why)
        self.why = why


class QuoteNotFound(Exception):
    """No quote of that id."""


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
    request: dict[str, Any]
    worked: dict[str, Any]
    replay: bool = False


def _canonical(data: Any) -> str:
    return json.dumps(data, ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def _worked(workshop: Workshop, session: Session, who: Who, request: Request) -> dict[str, Any]:
    pinned = issued_list(session, workshop, request.list_number)
    seen = Catalogues(workshop).seen_by(pinned, who.role)
    quote = quote_of(seen, request)
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
            return _settled(session, kept, replay=True)
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
        return _settled(session, row)


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


def _settled(session: Session, row: QuoteRevision, replay: bool = False) -> Settled:
    quote = session.get(KeptQuote, row.quote)
    assert quote is not None
    return Settled(
        quote=quote.id, revision=row.id, number=quote.number, alias=quote.alias, device=quote.device,
        author=row.author, received=row.received, sequence=quote.sequence, list_number=row.list_number,
        request=json.loads(row.body)["request"], worked=json.loads(row.worked), replay=replay,
    )  # fmt: skip


def _may_see(who: Who, settled: Settled) -> bool:
    """The counter sees its own house's retail quotes; dealers' quotes are for pricing and owner."""
    return who.role != "counter" or settled.request["channel"] == "retail" or settled.author == who.name


def changes(workshop: Workshop, who: Who, after: int) -> tuple[list[Settled], int, bool]:
    """The newest revision of every quote changed after a place in the server's sequence, the place to go on from,
    and whether there is more.
    """
    with reading(workshop.engine) as session:
        query = select(KeptQuote).where(KeptQuote.sequence > after).order_by(KeptQuote.sequence).limit(PAGE)
        quotes = list(session.execute(query).scalars())
        rows = [session.get(QuoteRevision, quote.head) for quote in quotes]
        found = [_settled(session, row) for row in rows if row is not None]
        place = quotes[-1].sequence if quotes else max(after, 0)
        more = place < last_number(session, "change")
    return [settled for settled in found if _may_see(who, settled)], place, more


def one(workshop: Workshop, who: Who, quote: str) -> Settled:
    """The newest revision of a quote.

    Raises: QuoteNotFound, also for one that the role may not see.
    """
    with reading(workshop.engine) as session:
        kept = session.get(KeptQuote, quote)
        row = None if kept is None else session.get(QuoteRevision, kept.head)
        settled = None if row is None else _settled(session, row)
    if settled is None or not _may_see(who, settled):
        raise QuoteNotFound(quote)
    return settled


def paper(workshop: Workshop, who: Who, quote: str, language: str) -> bytes:
    """The quote as a PDF, made once for each revision and language and kept.

    Raises: QuoteNotFound; LookupError for a language without words.
    """
    settled = one(workshop, who, quote)
    key = f"quote {settled.revision} {language}"
    with reading(workshop.engine) as session:
        kept = session.get(KeptPaper, key)
        if kept is not None:
            return kept.pdf
        pinned = issued_list(session, workshop, settled.list_number)
    request = read_record(Request, settled.request, "quote")
    pdf = render_quote(QuotePaper(pinned, request, settled.number, False, settled.alias, language))
    with writing(workshop.engine) as session:
        session.merge(KeptPaper(key=key, pdf=pdf, made=now()))
    return pdf
