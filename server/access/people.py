"""People and their sessions: signing in, slowed down for whoever guesses; being known again; signing out."""

from __future__ import annotations

import datetime
import hashlib
import secrets
from dataclasses import dataclass

from sqlalchemy import delete, func, select, update
from sqlalchemy.orm import Session

from server.store.ledger import new_id
from server.store.tables import FailedSignIn, Person, SignedIn, now

from .passwords import hashed, matches, nobodys_hash

ROLES = ("counter", "pricing", "owner")
IDLE = datetime.timedelta(hours=14)
LONGEST = datetime.timedelta(days=14)
# How old "last used" may grow before it is written anew: a write a request would cost more than it tells.
NOTED_EVERY = datetime.timedelta(minutes=5)
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


def slow_down(session: Session, name: str, source: str) -> None:
    """Lets a try pass, or refuses it before anything is tried.

    Raises: TooManyTries after too many failures for the name or from the source.
    """
    since = _before(WINDOW)
    for column, value, most in (
        (FailedSignIn.name, name, MOST_FAILURES),
        (FailedSignIn.source, source, MOST_FROM_ONE_SOURCE),
    ):
        query = select(func.count()).select_from(FailedSignIn).where(column == value, FailedSignIn.at > since)
        if (session.execute(query).scalar() or 0) >= most:
            raise TooManyTries(int(WINDOW.total_seconds()))


def person_named(session: Session, name: str) -> Person | None:
    """Whoever signs in by a name."""
    return session.execute(select(Person).where(Person.name == name, Person.active)).scalar()


def goes_with(person: Person | None, password: str) -> bool:
    """Whether a password is a person's. It takes as long for a name that nobody has, and needs no database."""
    stand_in = nobodys_hash()
    return matches(stand_in if person is None else person.password, password) and person is not None


def note_failure(session: Session, name: str, source: str) -> None:
    """Notes a failed try, and forgets those that no longer count."""
    session.execute(delete(FailedSignIn).where(FailedSignIn.at < _before(WINDOW)))
    session.add(FailedSignIn(name=name[:80], source=source[:60], at=now()))


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


_WHO = select(
    Person.id, Person.name, Person.role, Person.language, SignedIn.id.label("session"), SignedIn.used, SignedIn.began
).join(Person, (Person.id == SignedIn.person) & Person.active)


def who_is(session: Session, token: str) -> tuple[Who | None, bool]:
    """Who a token belongs to, None if nobody, or if the session has been idle or open too long; and whether it is
    time to note that it was used.
    """
    row = session.execute(_WHO.where(SignedIn.token == _token_hash(token))).first()
    if row is None or row.used < _before(IDLE) or row.began < _before(LONGEST):
        return None, False
    return Who(row.id, row.name, row.role, row.language, row.session), row.used < _before(NOTED_EVERY)


def note_use(session: Session, session_id: str) -> None:
    """Notes that a session is in use now."""
    session.execute(update(SignedIn).where(SignedIn.id == session_id).values(used=now()))


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
