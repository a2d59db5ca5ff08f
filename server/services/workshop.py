"""The open workshop: its database, its settings, and what is worked once and kept while the server runs."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field

from sqlalchemy import Engine

from pricing.book import Book
from pricing.price import PricedBook, price_everything
from pricing.price_list import PriceList, parse_list
from server.config import Settings
from server.documents.drawing import Drawing, drawn_pieces
from server.store.book import current_book, current_edition
from server.store.database import is_current, migrate, open_engine, reading, writing
from server.store.ledger import INCARNATION, fact, new_id, set_fact
from server.store.tables import KeptList


@dataclass(frozen=True, slots=True)
class IssuedList:
    """Where an issued list is found, the day it takes effect, and its digest."""

    id: str
    effective: str
    digest: str


# How long what was read of the issued lists holds: one issued by another server on this database is seen after it.
SEEN_AFTER_S = 1.0


@dataclass
class Workshop:
    """One database opened for work. Priced books, lists and drawings are kept by edition or digest."""

    engine: Engine
    settings: Settings
    incarnation: str
    _pricing: threading.Lock = field(default_factory=threading.Lock)
    _drawing: threading.Lock = field(default_factory=threading.Lock)
    _priced: tuple[str, PricedBook] | None = None
    _drawn: tuple[str, dict[str, Drawing]] | None = None
    _lists: dict[tuple[str, ...], PriceList] = field(default_factory=dict)
    _issued: tuple[float, tuple[IssuedList, ...]] | None = None

    def __enter__(self) -> Workshop:
        """The workshop, closed when the block ends."""
        return self

    def __exit__(self, *_: object) -> None:
        """Closes every connection."""
        self.engine.dispose()

    def edition(self) -> str:
        """The edition of the current book, empty where there is none yet."""
        with reading(self.engine) as session:
            return current_edition(session) or ""

    def priced(self) -> PricedBook:
        """The current book with every cost and price, worked once for each edition.

        Raises: BookError where there is no book yet.
        """
        with self._pricing:
            with reading(self.engine) as session:
                held = current_edition(session) or ""
                if self._priced is not None and self._priced[0] == held:
                    return self._priced[1]
                book = current_book(session)
            self._priced = (held, price_everything(book))
            return self._priced[1]

    def book(self) -> Book:
        """The current book."""
        return self.priced().book

    def drawings(self) -> dict[str, Drawing]:
        """The drawing of every piece of the current book."""
        held = self.edition()
        with self._drawing:
            if self._drawn is None or self._drawn[0] != held:
                self._drawn = (held, drawn_pieces(self.book().pieces))
            return self._drawn[1]

    def issued(self, read: Callable[[], tuple[IssuedList, ...]]) -> tuple[IssuedList, ...]:
        """The issued lists in order, read at most once a second: every request at the counter asks for them."""
        held = self._issued
        if held is None or time.monotonic() - held[0] > SEEN_AFTER_S:
            held = self._issued = (time.monotonic(), read())
        return held[1]

    def forget_issued(self) -> None:
        """Reads the issued lists anew at the next asking."""
        self._issued = None

    def price_list(self, row: KeptList) -> PriceList:
        """The list of a row, read once."""
        return self.kept_once((row.digest,), lambda: parse_list(row.body))

    def kept_once(self, key: tuple[str, ...], make: Callable[[], PriceList]) -> PriceList:
        """What was made of a list, made once. Two threads may both make it: the same comes out."""
        if key not in self._lists:
            self._lists[key] = make()
        return self._lists[key]


def open_workshop(settings: Settings) -> Workshop:
    """Opens the database, brings its tables up to date, and gives it an incarnation if it has none."""
    engine = open_engine(settings.database_url)
    if not is_current(engine):
        migrate(engine)
    with writing(engine) as session:
        incarnation = fact(session, INCARNATION)
        if incarnation is None:
            incarnation = new_id()
            set_fact(session, INCARNATION, incarnation)
    return Workshop(engine=engine, settings=settings, incarnation=incarnation)


def is_ready(workshop: Workshop) -> bool:
    """Whether the database answers and its tables are up to date."""
    return is_current(workshop.engine)
