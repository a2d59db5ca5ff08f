"""Making, issuing and printing price lists; an issued list never changes."""

from __future__ import annotations

import datetime
import json
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from pricing.errors import refuse
from pricing.price_list import PriceList, digest, list_data, make_price_list
from server.documents.drawing import drawn_pieces
from server.documents.price_list import ListPaper, render_price_list
from server.store.book import keep_edition, kept_edition
from server.store.database import reading, writing
from server.store.ledger import new_id, note
from server.store.tables import KeptList, KeptPaper, now

from .workshop import IssuedList, Workshop

DRAFT, ISSUED, WITHDRAWN = "draft", "issued", "withdrawn"


class ListNotFound(Exception):
    """No list of that id or number."""


class Changed(Exception):
    """The record is no longer as the asker saw it."""


@dataclass(frozen=True, slots=True)
class ListFacts:
    """What is said of a list without its body."""

    id: str
    number: str
    status: str
    effective: str
    until: str
    edition: str
    digest: str
    made: str
    made_by: str
    issued: str | None
    issued_by: str | None


def _facts(row: KeptList) -> ListFacts:
    return ListFacts(
        id=row.id, number=row.number, status=row.status, effective=row.effective, until=row.until,
        edition=row.edition, digest=row.digest, made=row.made, made_by=row.made_by, issued=row.issued,
        issued_by=row.issued_by,
    )  # fmt: skip


def make_draft(workshop: Workshop, number: str, effective: datetime.date, until: datetime.date, who: str) -> ListFacts:
    """A draft list made from the current book.

    Raises: PricingError for a number already used, or a list that would end before it begins.
    """
    priced = workshop.priced()
    made = make_price_list(priced, number, effective, until)
    body = json.dumps(list_data(made), ensure_ascii=False, separators=(",", ":"))
    with writing(workshop.engine) as session:
        if session.execute(select(KeptList.id).where(KeptList.number == number)).scalar() is not None:
            raise refuse("list", f"list {number}", "number", f'"{number}"', "a number that no list has had")
        row = KeptList(
            id=new_id(), number=number, status=DRAFT, effective=effective.isoformat(), until=until.isoformat(),
            edition=keep_edition(session, priced.book), digest=digest(made), body=body, made=now(), made_by=who,
        )  # fmt: skip
        session.add(row)
        note(session, who, "made a draft list", f"{number} {row.digest}")
        session.flush()
        return _facts(row)


def _row(session: Session, list_id: str) -> KeptList:
    row = session.get(KeptList, list_id)
    if row is None:
        raise ListNotFound(list_id)
    return row


def issue(workshop: Workshop, list_id: str, seen: str, who: str) -> ListFacts:
    """Issues a draft, for ever.

    Raises: ListNotFound; Changed where the draft's digest is not the one that was seen; PricingError for a list
    that is not a draft.
    """
    with writing(workshop.engine) as session:
        row = _row(session, list_id)
        if row.digest != seen:
            raise Changed(list_id)
        if row.status != DRAFT:
            raise refuse("list", f"list {row.number}", "status", row.status, "a draft, to be issued")
        row.status, row.issued, row.issued_by = ISSUED, now(), who
        note(session, who, "issued a list", f"{row.number} {row.digest}")
        session.flush()
        facts = _facts(row)
    workshop.forget_issued()
    return facts


def all_lists(workshop: Workshop) -> list[ListFacts]:
    """Every list, the newest first."""
    with reading(workshop.engine) as session:
        query = select(KeptList).order_by(KeptList.effective.desc(), KeptList.made.desc())
        return [_facts(row) for row in session.execute(query).scalars()]


def one(workshop: Workshop, list_id: str) -> ListFacts:
    """The facts of one list.

    Raises: ListNotFound.
    """
    with reading(workshop.engine) as session:
        return _facts(_row(session, list_id))


def body_of(workshop: Workshop, list_id: str) -> PriceList:
    """A list by id.

    Raises: ListNotFound.
    """
    with reading(workshop.engine) as session:
        return workshop.price_list(_row(session, list_id))


def issued_list(session: Session, workshop: Workshop, number: str) -> tuple[str, PriceList]:
    """The digest of an issued list, by number, and the list.

    Raises: ListNotFound.
    """
    row = session.execute(select(KeptList).where(KeptList.number == number, KeptList.status == ISSUED)).scalar()
    if row is None:
        raise ListNotFound(number)
    return row.digest, workshop.price_list(row)


_ISSUED = (
    select(KeptList.id, KeptList.effective, KeptList.digest)
    .where(KeptList.status == ISSUED)
    .order_by(KeptList.effective, KeptList.issued)
)


def in_force_and_next(workshop: Workshop, day: datetime.date) -> list[tuple[str, str]]:
    """Id and digest of the issued list in force on a day and of the next one issued ahead, as devices hold them.

    The list begun last stays in force past its last day until another begins: a counter is never without prices,
    and its page says until when they held.
    """
    today = day.isoformat()
    lists = workshop.issued(lambda: _issued(workshop))
    begun = [row for row in lists if row.effective <= today]
    ahead = [row for row in lists if row.effective > today]
    return [(row.id, row.digest) for row in (*begun[-1:], *ahead[:1])]


def _issued(workshop: Workshop) -> tuple[IssuedList, ...]:
    with reading(workshop.engine) as session:
        return tuple(IssuedList(row.id, row.effective, row.digest) for row in session.execute(_ISSUED))


def paper(workshop: Workshop, list_id: str, channel: str, language: str) -> bytes:
    """The list as a PDF, made once and kept with it.

    Raises: ListNotFound; PricingError for a channel the list lacks; LookupError for a language without words.
    """
    with reading(workshop.engine) as session:
        row = _row(session, list_id)
        key = f"list {row.digest} {channel} {language}"
        kept = session.get(KeptPaper, key)
        if kept is not None:
            return kept.pdf
        made = workshop.price_list(row)
        drawings = drawn_pieces(kept_edition(session, row.edition).pieces)
    pdf = render_price_list(ListPaper(made, channel, language, drawings))
    with writing(workshop.engine) as session:
        session.merge(KeptPaper(key=key, pdf=pdf, made=now()))
    return pdf
