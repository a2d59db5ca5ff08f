"""The store: book to rows and back, migrations that give the tables, safe SQLite, an audit that shows tampering."""

from __future__ import annotations

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from sqlalchemy import text

from pricing.book_file import edition
from server.services.workshop import Workshop
from server.store.book import current_book, kept_edition
from server.store.database import log_is_sound, reading, writing
from server.store.ledger import audit_is_whole, note
from server.store.tables import Base
from tests.demo_book import demo_book


def test_book_to_database_to_book_is_equal(workshop: Workshop) -> None:
    with reading(workshop.engine) as session:
        book = current_book(session)
    assert book == demo_book()
    assert edition(book) == edition(demo_book())


def test_a_kept_edition_is_the_same_book_for_ever(workshop: Workshop) -> None:
    with reading(workshop.engine) as session:
        assert kept_edition(session, edition(demo_book())) == demo_book()


def test_migrations_give_exactly_the_tables(workshop: Workshop) -> None:
    with workshop.engine.connect() as connection:
        context = MigrationContext.configure(connection)
        assert compare_metadata(context, Base.metadata) == []


@pytest.mark.parametrize(
    ("version", "sound"),
    [
        ((3, 6, 23), True), ((3, 7, 0), False), ((3, 40, 1), False), ((3, 44, 5), False), ((3, 44, 6), True),
        ((3, 50, 6), False), ((3, 50, 7), True), ((3, 51, 2), False), ((3, 51, 3), True), ((3, 52, 0), True),
    ],
)  # fmt: skip
def test_the_log_is_used_only_with_a_sound_sqlite(version: tuple[int, int, int], sound: bool) -> None:
    assert log_is_sound(version) is sound


def test_a_failed_change_leaves_nothing(workshop: Workshop) -> None:
    def fail_halfway() -> None:
        with writing(workshop.engine) as session:
            note(session, "test", "should not be", "there")
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        fail_halfway()
    with reading(workshop.engine) as session:
        assert session.execute(text("SELECT count(*) FROM audit WHERE did = 'should not be'")).scalar() == 0


def test_the_audit_shows_a_changed_entry(workshop: Workshop) -> None:
    with writing(workshop.engine) as session:
        note(session, "test", "noted", "something")
    with reading(workshop.engine) as session:
        assert audit_is_whole(session)
        session.execute(text("UPDATE audit SET what = 'something else' WHERE id = 1"))
        session.expire_all()
        assert not audit_is_whole(session)
