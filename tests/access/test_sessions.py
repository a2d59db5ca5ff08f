"""Sessions and passwords without any HTTP: limits of time, tokens kept as hashes, tries that are slowed down."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import select, text, update

from pricing.errors import PricingError
from server.access import passwords, people
from server.access.people import ROLES, SignInRefused, TooManyTries, Who
from server.config import Settings
from server.services import signing_in
from server.services.workshop import Workshop, open_workshop
from server.store.database import reading, writing
from server.store.ledger import audit_is_whole
from server.store.tables import FailedSignIn, Person, SignedIn

PASSWORD = "a ladle left in the pot"


@pytest.fixture
def opened(tmp_path: Path) -> Iterator[Workshop]:
    made = open_workshop(Settings(database_url=f"sqlite:///{tmp_path}/people.db", page=tmp_path))
    for role in ROLES:
        signing_in.add(made, role, role, PASSWORD)
    yield made
    made.engine.dispose()


def begun(opened: Workshop, name: str = "counter") -> str:
    token, _ = signing_in.sign_in(opened, name, PASSWORD, "10.0.0.1", "till")
    return token


def set_back(opened: Workshop, field: str, span: datetime.timedelta) -> None:
    then = (datetime.datetime.now(datetime.UTC) - span).strftime("%Y-%m-%dT%H:%M:%SZ")
    with writing(opened.engine) as session:
        session.execute(update(SignedIn).values({field: then}))


def test_a_token_is_known_and_only_its_hash_is_kept(opened: Workshop) -> None:
    token = begun(opened)
    who = signing_in.known(opened, token)
    assert who is not None
    assert (who.name, who.role) == ("counter", "counter")
    with reading(opened.engine) as session:
        kept = session.execute(select(SignedIn.token)).scalar_one()
    assert token not in kept
    assert len(kept) == 64
    assert signing_in.known(opened, kept) is None


def test_every_sign_in_gives_a_token_of_its_own(opened: Workshop) -> None:
    assert len({begun(opened) for _ in range(3)}) == 3


@pytest.mark.parametrize(("field", "limit"), [("used", people.IDLE), ("began", people.LONGEST)])
def test_a_session_ends_when_idle_or_open_too_long(opened: Workshop, field: str, limit: datetime.timedelta) -> None:
    token = begun(opened)
    set_back(opened, field, limit - datetime.timedelta(minutes=1))
    assert signing_in.known(opened, token) is not None
    set_back(opened, field, limit + datetime.timedelta(minutes=1))
    assert signing_in.known(opened, token) is None


def test_a_session_in_use_is_not_idle(opened: Workshop) -> None:
    token = begun(opened)
    set_back(opened, "used", people.IDLE - datetime.timedelta(minutes=1))
    assert signing_in.known(opened, token) is not None
    with reading(opened.engine) as session:
        used = session.execute(select(SignedIn.used)).scalar_one()
    assert datetime.datetime.fromisoformat(used) > datetime.datetime.now(datetime.UTC) - people.NOTED_EVERY


def test_somebody_no_longer_active_is_nobody(opened: Workshop) -> None:
    token = begun(opened)
    with writing(opened.engine) as session:
        session.execute(update(Person).where(Person.name == "counter").values(active=False))
    assert signing_in.known(opened, token) is None
    with pytest.raises(SignInRefused):
        begun(opened)


def test_a_role_taken_away_counts_at_once(opened: Workshop) -> None:
    token = begun(opened, "owner")
    with writing(opened.engine) as session:
        session.execute(update(Person).where(Person.name == "owner").values(role="counter"))
    who = signing_in.known(opened, token)
    assert who is not None
    assert not who.may("pricing")


def test_roles_rise_from_counter_to_owner() -> None:
    def may(role: str) -> list[str]:
        who = Who("1", "x", role, "en-GB", "1")
        return [least for least in ROLES if who.may(least)]

    assert may("counter") == ["counter"]
    assert may("pricing") == ["counter", "pricing"]
    assert may("owner") == ["counter", "pricing", "owner"]


def refused(opened: Workshop, name: str, source: str) -> None:
    with pytest.raises(SignInRefused):
        signing_in.sign_in(opened, name, "wrong", source, "")


def test_too_many_tries_for_a_name_hold_back_even_the_right_password(
    opened: Workshop, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(people, "MOST_FAILURES", 3)
    for place in range(3):
        refused(opened, "counter", f"10.0.0.{place}")
    with pytest.raises(TooManyTries) as held:
        begun(opened)
    assert held.value.seconds > 0
    assert begun(opened, "pricing")
    with writing(opened.engine) as session:
        session.execute(update(FailedSignIn).values(at="2020-01-01T00:00:00Z"))
    assert begun(opened)


def test_too_many_tries_from_one_place_hold_back_every_name(opened: Workshop, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(people, "MOST_FROM_ONE_SOURCE", 3)
    for name in ("a", "b", "c"):
        refused(opened, name, "10.0.0.1")
    with pytest.raises(TooManyTries):
        begun(opened)


def test_failures_that_no_longer_count_are_forgotten(opened: Workshop) -> None:
    refused(opened, "a", "10.0.0.1")
    with writing(opened.engine) as session:
        session.execute(update(FailedSignIn).values(at="2020-01-01T00:00:00Z"))
    refused(opened, "b", "10.0.0.1")
    with reading(opened.engine) as session:
        assert session.execute(select(FailedSignIn.name)).scalars().all() == ["b"]


def test_a_name_that_nobody_has_is_hashed_like_any_other(monkeypatch: pytest.MonkeyPatch) -> None:
    tried: list[str] = []

    def counted(kept: str, password: str) -> bool:
        tried.append(kept)
        return True

    monkeypatch.setattr(people, "matches", counted)
    assert not people.goes_with(None, "anything")
    assert tried == [passwords.nobodys_hash()]


def test_a_hash_is_argon2id_and_salted() -> None:
    one, other = passwords.hashed(PASSWORD, "owner"), passwords.hashed(PASSWORD, "owner")
    assert one.startswith("$argon2id$")
    assert one != other
    assert passwords.matches(one, PASSWORD)
    assert not passwords.matches(one, PASSWORD + " ")
    assert not passwords.matches("no hash at all", PASSWORD)


@pytest.mark.parametrize(
    ("role", "password", "is_good"),
    [
        ("counter", "7 chars", False), ("counter", "8 chars.", True), ("pricing", "11 charact.", False),
        ("owner", "12 character", True), ("owner", "x" * 201, False), ("pricing", "password1234", False),
        ("pricing", "Pass-Word-2026!", False), ("owner", "pewterpewter", False), ("counter", "12345678", False),
        ("counter", "qwerty123456", False), ("owner", "wax the mandrel twice", True),
    ],
)  # fmt: skip
def test_a_password_is_long_enough_for_its_role_and_not_the_first_one_tried(
    role: str, password: str, is_good: bool
) -> None:
    if is_good:
        assert passwords.matches(passwords.hashed(password, role), password)
    else:
        with pytest.raises(PricingError) as refusal:
            passwords.hashed(password, role)
        assert password not in str(refusal.value)


def test_what_people_do_is_in_the_audit_and_no_password(opened: Workshop) -> None:
    begun(opened)
    with reading(opened.engine) as session:
        rows = session.execute(text("SELECT who, did, what FROM audit ORDER BY id")).all()
        assert audit_is_whole(session)
    assert ("counter", "signed in", "till") in [tuple(row) for row in rows]
    assert PASSWORD not in str(rows)
