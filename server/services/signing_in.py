"""Signing in and out."""

from __future__ import annotations

from server.access.people import (
    SignInRefused,
    Who,
    add_person,
    begin_session,
    end_session,
    goes_with,
    note_failure,
    note_use,
    person_named,
    sessions_of,
    slow_down,
    who_is,
)
from server.store.database import reading, writing
from server.store.ledger import note

from .workshop import Workshop


def sign_in(workshop: Workshop, name: str, password: str, source: str, device: str) -> tuple[str, Who]:
    """A new session for a name and password.

    Raises: SignInRefused where they do not go together, TooManyTries after too many failures.
    """
    with reading(workshop.engine) as session:
        slow_down(session, name, source)
        person = person_named(session, name)
    # Hashing takes a while by design: nobody else's writing waits for it.
    right = goes_with(person, password)
    with writing(workshop.engine) as session:
        slow_down(session, name, source)
        if person is not None and right:
            note(session, person.name, "signed in", device[:120])
            return begin_session(session, person, device)
        note_failure(session, name, source)
    raise SignInRefused


def known(workshop: Workshop, token: str) -> Who | None:
    """Who a token belongs to."""
    with reading(workshop.engine) as session:
        who, is_stale = who_is(session, token)
    if who is not None and is_stale:
        with writing(workshop.engine) as session:
            note_use(session, who.session)
    return who


def sign_out(workshop: Workshop, who: Who) -> None:
    """Ends one's own session."""
    with writing(workshop.engine) as session:
        end_session(session, who.session)


def own_sessions(workshop: Workshop, who: Who) -> list[dict[str, object]]:
    """One's open sessions."""
    with reading(workshop.engine) as session:
        return [
            {"id": row.id, "device": row.device, "began": row.began, "used": row.used, "this": row.id == who.session}
            for row in sessions_of(session, who.id)
        ]


def end_own_session(workshop: Workshop, who: Who, session_id: str) -> bool:
    """Ends one of one's sessions; whether there was one."""
    with writing(workshop.engine) as session:
        return end_session(session, session_id, who.id)


def add(workshop: Workshop, name: str, role: str, password: str, language: str = "en-GB") -> None:
    """Adds somebody who may sign in.

    Raises: PricingError for a password too short or too common.
    """
    with writing(workshop.engine) as session:
        add_person(session, name, role, password, language)
        note(session, "command", "added a person", f"{role} {name}")
