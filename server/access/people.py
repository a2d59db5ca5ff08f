"""People and their sessions: signing in, slowed down for whoever guesses; being known again; signing out."""

from __future__ import annotations

import datetime
import hashlib
import secrets
from dataclasses import dataclass

from sqlalchemy import delete, func, select
from sqlalchemy.orm import Session

from server.store.ledger import new_id
from server.store.tables import FailedSignIn, Person, SignedIn, now

from .passwords import hashed, matches, nobodys_hash

ROLES = ("counter", "pricing", "owner")
IDLE = datetime.timedelta(hours=14)
LONGEST = datetime.timedelta(days=14)
WINDOW = datetime.timedelta(minutes=15)
MOST_FAILURES = 8
MOST_FROM_ONE_SOURCE = 40


class SignInRefused(Exception):
    """A name and password that do not go together."""


class TooManyTries(Exception):
    """Too many failed tries for a name or from one place; try again after `seconds`."""

    def __init__(self, seconds: int) -> None:
        super().__init__(f"too many tries; try again in {seconds} seconds")
        self.seconds = seconds


@dataclass(frozen=True, slots=True)
class Who:
    """Somebody signed in."""

    id: str
    name: str
    role: str
    language: str
    session: str

    def may(self, role: str) -> bool:
        """Whether the person's role is that role or above it."""
        return ROLES.index(self.role) >= ROLES.index(role)


def add_person(session: Session, name: str, role: str, password: str, language: str = "en-GB") -> None:
    """Adds somebody who may sign in."""
    session.add(
        Person(id=new_id(), name=name, role=role, language=language, password=hashed(password, role), active=True)
    )
    session.flush()


def _before(span: datetime.timedelta) -> str:
    return (datetime.datetime.now(datetime.UTC) - span).strftime("%Y-%m-%dT%H:%M:%SZ")


def _token_hash(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


def _slow_down(session: Session, name: str, source: str) -> None:
    since = _before(WINDOW)
    for column, value, most in (
        (FailedSignIn.name, name, MOST_FAILURES),
        (FailedSignIn.source, source, MOST_FROM_ONE_SOURCE),
    ):
        query = select(func.count()).select_from(FailedSignIn).where(column == value, FailedSignIn.at > since)
        if (session.execute(query).scalar() or 0) >= most:
            raise TooManyTries(int(WINDOW.total_seconds()))


def check_password(session: Session, name: str, password: str, source: str) -> Person | None:
    """The person of a name and password, None if they do not go together; a failure is noted.

    Raises: TooManyTries before anything is tried.
    """
    _slow_down(session, name, source)
    person = session.execute(select(Person).where(Person.name == name, Person.active)).scalar()
    if not matches(nobodys_hash() if person is None else person.password, password) or person is None:
        session.add(FailedSignIn(name=name[:80], source=source[:60], at=now()))
        return None
    return person


def begin_session(session: Session, person: Person, device: str) -> tuple[str, Who]:
    """Begins a session: the token for the person's device, and who it is."""
    token = secrets.token_urlsafe(32)
    row = SignedIn(
        id=new_id(), token=_token_hash(token), person=person.id, device=device[:120], began=now(), used=now()
    )
    session.execute(delete(SignedIn).where(SignedIn.began < _before(LONGEST)))
    session.add(row)
    session.flush()
    return token, Who(person.id, person.name, person.role, person.language, row.id)


def who_is(session: Session, token: str) -> Who | None:
    """Who a token belongs to, None if nobody, or if the session has been idle or open too long."""
    row = session.execute(select(SignedIn).where(SignedIn.token == _token_hash(token))).scalar()
    if row is None or row.used < _before(IDLE) or row.began < _before(LONGEST):
        return None
    person = session.get(Person, row.person)
    if person is None or not person.active:
        return None
    return Who(person.id, person.name, person.role, person.language, row.id)


def end_session(session: Session, session_id: str, person: str | None = None) -> bool:
    """Ends a session, of one person only where said; whether there was one."""
    row = session.get(SignedIn, session_id)
    if row is None or (person is not None and row.person != person):
        return False
    session.delete(row)
    return True


def sessions_of(session: Session, person: str) -> list[SignedIn]:
    """A person's open sessions, newest first."""
    query = select(SignedIn).where(SignedIn.person == person).order_by(SignedIn.used.desc())
    return list(session.execute(query).scalars())
