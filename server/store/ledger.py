"""Running numbers, facts of the database and the audit, each a few lines every writer needs."""

from __future__ import annotations

import hashlib

import uuid_utils
from sqlalchemy import select
from sqlalchemy.orm import Session

from .tables import AuditEntry, Counter, Fact, now

INCARNATION = "incarnation"


def next_number(session: Session, name: str) -> int:
    """The next of a running number, unique because a writer is alone."""
    counter = session.get(Counter, name)
    if counter is None:
        counter = Counter(name=name, value=0)
        session.add(counter)
    counter.value += 1
    session.flush()
    return counter.value


def last_number(session: Session, name: str) -> int:
    """The last of a running number given out; 0 before the first."""
    counter = session.get(Counter, name)
    return 0 if counter is None else counter.value


def fact(session: Session, name: str) -> str | None:
    """A fact of this database."""
    row = session.get(Fact, name)
    return None if row is None else row.value


def set_fact(session: Session, name: str, value: str) -> None:
    """Sets a fact of this database."""
    session.merge(Fact(name=name, value=value))


def new_id() -> str:
    """A UUIDv7."""
    return str(uuid_utils.uuid7())


def note(session: Session, who: str, did: str, what: str) -> None:
    """Adds an entry to the audit, hashed with the entry before it."""
    last = session.execute(select(AuditEntry).order_by(AuditEntry.id.desc()).limit(1)).scalar()
    place, before = (1, "") if last is None else (last.id + 1, last.hash)
    at = now()
    chained = hashlib.sha256("\n".join((before, str(place), at, who, did, what)).encode()).hexdigest()
    session.add(AuditEntry(id=place, at=at, who=who, did=did, what=what, hash=chained))
    session.flush()


def audit_is_whole(session: Session) -> bool:
    """Whether no entry of the audit was changed or taken out."""
    before = ""
    for place, row in enumerate(session.execute(select(AuditEntry).order_by(AuditEntry.id)).scalars(), 1):
        chained = hashlib.sha256("\n".join((before, str(row.id), row.at, row.who, row.did, row.what)).encode())
        if row.id != place or row.hash != chained.hexdigest():
            return False
        before = row.hash
    return True
