"""The database: opened safely, migrated, and written in whole transactions."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Engine, create_engine, event, make_url, text
from sqlalchemy.orm import Session

HERE = Path(__file__).parent
BUSY_MS = 10_000
# SQLite's log could reset wrongly from 3.7.0 to 3.51.2, mended also in 3.44.6 and 3.50.7 and what follows in those lines.
FIRST_FAULTY, FIRST_SOUND = (3, 7, 0), (3, 51, 3)
SOUND_BRANCHES = {(3, 44): 6, (3, 50): 7}


def log_is_sound(version: tuple[int, int, int]) -> bool:
    """Whether write-ahead logging is safe with this SQLite."""
    if version < FIRST_FAULTY or version >= FIRST_SOUND:
        return True
    mended = SOUND_BRANCHES.get(version[:2])
    return mended is not None and version[2] >= mended


def _version() -> tuple[int, int, int]:
    major, minor, patch = (int(part) for part in sqlite3.sqlite_version.split("."))
    return major, minor, patch


def _set_pragmas(connection: sqlite3.Connection, _record: object) -> None:
    connection.isolation_level = None
    mode = "WAL" if log_is_sound(_version()) else "DELETE"
    for pragma in (
        f"journal_mode = {mode}", "synchronous = FULL", "foreign_keys = ON", f"busy_timeout = {BUSY_MS}",
        "trusted_schema = OFF",
    ):  # fmt: skip
        connection.execute(f"PRAGMA {pragma}")


def open_engine(url: str) -> Engine:
    """The engine of a database address; an SQLite file's folder is made if it is missing."""
    address = make_url(url)
    if address.get_backend_name() != "sqlite":
        return create_engine(address.set(drivername="postgresql+psycopg"), pool_pre_ping=True)
    if address.database and address.database != ":memory:":
        Path(address.database).parent.mkdir(parents=True, exist_ok=True)
    engine = create_engine(address)
    event.listen(engine, "connect", _set_pragmas)
    # The driver's own transactions are off: reading begins plainly, writing begins at once (see `writing`).
    event.listen(engine, "begin", lambda connection: connection.exec_driver_sql("BEGIN"))
    return engine


@contextmanager
def reading(engine: Engine) -> Iterator[Session]:
    """One consistent view, never written."""
    with Session(engine, expire_on_commit=False) as session:
        if engine.dialect.name != "sqlite":
            # PostgreSQL looks anew at every statement unless asked for one view of all.
            session.connection(execution_options={"isolation_level": "REPEATABLE READ"})
        yield session
        session.expunge_all()
        session.rollback()


@contextmanager
def writing(engine: Engine) -> Iterator[Session]:
    """One transaction, the only writer while it lasts, durable when it ends; undone as a whole by any error."""
    with Session(engine, expire_on_commit=False) as session, session.begin():
        if engine.dialect.name == "sqlite":
            session.connection().exec_driver_sql("ROLLBACK")
            session.connection().exec_driver_sql("BEGIN IMMEDIATE")
        else:
            session.execute(text("SELECT pg_advisory_xact_lock(8710)"))
        yield session


def _config(engine: Engine) -> Config:
    config = Config()
    config.set_main_option("script_location", str(HERE / "migrations"))
    config.attributes["engine"] = engine
    return config


def migrate(engine: Engine) -> None:
    """Brings the tables to the newest version."""
    command.upgrade(_config(engine), "head")


def is_current(engine: Engine) -> bool:
    """Whether the tables are at the newest version."""
    with engine.connect() as connection:
        held = MigrationContext.configure(connection).get_current_revision()
    return held == ScriptDirectory.from_config(_config(engine)).get_current_head()
