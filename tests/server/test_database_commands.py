"""Commands on a database: a workshop of one's own, the demo kept apart from it, papers of what is kept."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pypdf
import pytest
from sqlalchemy import inspect
from sqlalchemy.orm import Session

from pricing.book import Book
from pricing.book_file import edition, parse_book
from pricing.errors import PricingError
from server.__main__ import main
from server.config import Settings
from server.services import books, demo, price_lists, quoting, signing_in
from server.services.workshop import Workshop, open_workshop
from server.store.book import current_book, keep_book
from server.store.database import is_current, open_engine
from tests.demo_book import demo_book

from .conftest import PASSWORDS, YEAR
from .quotes import new_id, sent

SMALL = Path(__file__).parents[2] / "fixtures" / "small"


def small_book(name: str) -> Book:
    return parse_book((SMALL / f"{name}.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("name", ["usd", "jpy"])
def test_a_small_book_comes_back_from_its_rows_as_it_was(workshop: Workshop, name: str) -> None:
    book = small_book(name)
    with Session(workshop.engine) as session:
        kept = keep_book(session, book)
        found = current_book(session)
        session.rollback()
    assert found == book
    assert edition(found) == kept == edition(book)


@contextmanager
def opened_at(database: str) -> Iterator[Workshop]:
    opened = open_workshop(Settings(database_url=database, page=Path("nowhere")))
    yield opened
    opened.engine.dispose()


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> str:
    """A workshop's own database with a list and a settled quote."""
    database = f"sqlite:///{tmp_path_factory.mktemp('kept')}/own.db"
    with opened_at(database) as opened:
        books.bring_in(opened, demo_book(), "test")
        made = price_lists.make_draft(opened, str(YEAR), datetime.date(YEAR, 1, 1), datetime.date(YEAR, 12, 31), "test")
        price_lists.issue(opened, made.id, made.digest, "test")
        signing_in.add(opened, "counter", "counter", PASSWORDS["counter"])
        _, who = signing_in.sign_in(opened, "counter", PASSWORDS["counter"], "here", "")
        quoting.settle(opened, who, new_id(), sent())
    return database


def text_of(path: Path) -> str:
    return "".join(page.extract_text() for page in pypdf.PdfReader(path).pages)


@pytest.mark.parametrize("number", ["Q00001", "TAB-1"])
def test_a_settled_quote_is_printed_by_either_of_its_numbers(filled: str, tmp_path: Path, number: str) -> None:
    out = tmp_path / "quote.pdf"
    assert main(["quote", "--from-database", "--database", filled, "--number", number, "--out", str(out)]) == 0
    assert "582.00" in text_of(out)
    assert "Q00001" in text_of(out)


def test_a_kept_list_is_printed_and_kept(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    database = f"sqlite:///{tmp_path}/small.db"
    book = small_book("usd")
    with opened_at(database) as opened:
        books.bring_in(opened, book, "test")
        price_lists.make_draft(opened, "W7", datetime.date(YEAR, 1, 1), datetime.date(YEAR, 12, 31), "test")
    first, again = tmp_path / "first.pdf", tmp_path / "again.pdf"
    for out in (first, again):
        asked = ["--from-database", "--database", database, "--number", "W7", "--channel", "wholesale"]
        assert main(["list", *asked, "--out", str(out)]) == 0
    assert first.read_bytes() == again.read_bytes()
    printed = text_of(first)
    assert [piece.number for piece in book.pieces if piece.number not in printed] == []
    assert "draft" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("list", "--from-database", "--number", "1899"), "1899"),
        (("quote", "--from-database", "--number", "Q99999"), "Q99999"),
        (("list",), "a book file"),
        (("quote",), "what was asked for"),
        (("list", "--from-database", "--language", "tlh"), "tlh"),
    ],
)
def test_a_paper_of_nothing_is_refused_in_words(
    filled: str, tmp_path: Path, arguments: tuple[str, ...], words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "none.pdf"
    assert main([*arguments, "--database", filled, "--out", str(out)]) == 2
    assert words in capsys.readouterr().err
    assert not out.exists()


def test_migrate_makes_the_tables_and_changes_nothing_the_second_time(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    database = f"sqlite:///{tmp_path}/deep/own.db"
    assert main(["migrate", "--database", database]) == 0
    first = capsys.readouterr().out
    assert main(["migrate", "--database", database]) == 0
    assert capsys.readouterr().out == first
    engine = open_engine(database)
    assert is_current(engine)
    assert "quote_revisions" in inspect(engine).get_table_names()


def test_the_demo_and_a_workshops_own_database_are_kept_apart(filled: str, tmp_path: Path) -> None:
    with (
        opened_at(f"sqlite:///{tmp_path}/demo.db") as shown,
        opened_at(f"sqlite:///{tmp_path}/empty.db") as empty,
        opened_at(filled) as own,
    ):
        demo.fill(shown, datetime.date(YEAR, 6, 1))
        for opened, as_demo in ((shown, True), (own, False), (empty, True)):
            demo.check_purpose(opened, as_demo)
        for opened, as_demo in ((shown, False), (own, True), (empty, False)):
            with pytest.raises(PricingError, match="allowed is"):
                demo.check_purpose(opened, as_demo)


def test_a_demo_stopped_while_it_was_filled_goes_on(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with opened_at(f"sqlite:///{tmp_path}/demo.db") as opened:
        with monkeypatch.context() as stopped:
            stopped.setattr("server.services.demo.signing_in.add", lambda *_: 1 / 0)
            with pytest.raises(ZeroDivisionError):
                demo.fill(opened, datetime.date(YEAR, 6, 1))
        demo.fill(opened, datetime.date(YEAR, 6, 1))
        demo.fill(opened, datetime.date(YEAR, 6, 1))
        assert [facts.status for facts in price_lists.all_lists(opened)] == ["issued"]
        assert not demo.is_empty(opened)
