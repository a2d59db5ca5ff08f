"""The tables. They compute nothing: money and whole records are text of decimal strings, read back strictly."""

from __future__ import annotations

import datetime
from dataclasses import fields
from typing import get_origin, get_type_hints

from sqlalchemy import (
    BigInteger,
    CheckConstraint,
    Column,
    ForeignKey,
    Integer,
    LargeBinary,
    String,
    Table,
    Text,
    UniqueConstraint,
)
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column

from pricing.book import Book


class Base(DeclarativeBase):
    """All tables of the store."""


COLLECTIONS = tuple(f.name for f in fields(Book) if get_origin(get_type_hints(Book)[f.name]) is tuple)

# Five names of the longest kind and what stands between them.
LONGEST_KEY = 700

# One table for each collection of the book, all of one shape: place in the book, the record's key, the record.
BOOK_TABLES = {
    name: Table(
        f"book_{name}",
        Base.metadata,
        Column("place", Integer, primary_key=True, autoincrement=False),
        Column("key", String(LONGEST_KEY), nullable=False, unique=True),
        Column("record", Text, nullable=False),
    )
    for name in COLLECTIONS
}


class BookHeading(Base):
    """The book's own fields (workshop, day, currency …): one row."""

    __tablename__ = "book_heading"
    id: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    record: Mapped[str] = mapped_column(Text)
    edition: Mapped[str] = mapped_column(String(64))
    changed: Mapped[str] = mapped_column(String(32))
    __table_args__ = (CheckConstraint("id = 1"),)


class BookEdition(Base):
    """Every edition a list was made from, whole, for ever."""

    __tablename__ = "book_editions"
    edition: Mapped[str] = mapped_column(String(64), primary_key=True)
    canonical: Mapped[str] = mapped_column(Text)
    kept: Mapped[str] = mapped_column(String(32))


class Person(Base):
    """Somebody who signs in: a name, a role, and a password as its hash."""

    __tablename__ = "people"
    id: Mapped[str] = mapped_column(String(36), primary_key=True)
    name: Mapped[str] = mapped_column(String(80), unique=True)
    role: Mapped[str] = mapped_column(String(10))
    language: Mapped[str] = mapped_column(String(10), default="en-GB")
    password: Mapped[str] = mapped_column(String(200))
    active: Mapped[bool] = mapped_column(default=True)
    __table_args__ = (CheckConstraint("role IN ('counter', 'pricing', 'owner')", name="known_role"),)


class SignedIn(Base):
    """A session: the hash of its token, whose it is, when it began and was last used."""

    __tablename__ = "sessions"
    id: Mapped[str] = mapped_column(String(36), primary_key=True)
    token: Mapped[str] = mapped_column(String(64), unique=True)
    person: Mapped[str] = mapped_column(ForeignKey("people.id", ondelete="CASCADE"))
    device: Mapped[str] = mapped_column(String(120), default="")
    began: Mapped[str] = mapped_column(String(32))
    used: Mapped[str] = mapped_column(String(32))


class FailedSignIn(Base):
    """A sign-in that failed, for slowing down whoever guesses."""

    __tablename__ = "failed_sign_ins"
    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(String(80), index=True)
    source: Mapped[str] = mapped_column(String(60), index=True)
    at: Mapped[str] = mapped_column(String(32))


class KeptList(Base):
    """A price list: a draft, issued for ever, or withdrawn; its body never changes once issued."""

    __tablename__ = "price_lists"
    id: Mapped[str] = mapped_column(String(36), primary_key=True)
    number: Mapped[str] = mapped_column(String(80), unique=True)
    status: Mapped[str] = mapped_column(String(10))
    effective: Mapped[str] = mapped_column(String(10))
    until: Mapped[str] = mapped_column(String(10))
    edition: Mapped[str] = mapped_column(ForeignKey("book_editions.edition"))
    digest: Mapped[str] = mapped_column(String(64))
    # Hundreds of kilobytes: read only where it is asked for.
    body: Mapped[str] = mapped_column(Text, deferred=True)
    made: Mapped[str] = mapped_column(String(32))
    made_by: Mapped[str] = mapped_column(String(80))
    issued: Mapped[str | None] = mapped_column(String(32))
    issued_by: Mapped[str | None] = mapped_column(String(80))
    __table_args__ = (CheckConstraint("status IN ('draft', 'issued', 'withdrawn')", name="known_status"),)


class KeptPaper(Base):
    """A PDF made once and kept with what it was made from."""

    __tablename__ = "papers"
    key: Mapped[str] = mapped_column(String(200), primary_key=True)
    pdf: Mapped[bytes] = mapped_column(LargeBinary)
    made: Mapped[str] = mapped_column(String(32))


class KeptQuote(Base):
    """A quote: its official number, the number it had before, whose device writes it, and its newest revision."""

    __tablename__ = "quotes"
    id: Mapped[str] = mapped_column(String(36), primary_key=True)
    number: Mapped[str] = mapped_column(String(20), unique=True)
    alias: Mapped[str] = mapped_column(String(40))
    device: Mapped[str] = mapped_column(String(60))
    head: Mapped[str] = mapped_column(String(36))
    sequence: Mapped[int] = mapped_column(BigInteger, index=True)


class QuoteRevision(Base):
    """One revision of a quote, immutable: what was asked, what was shown, what the server worked."""

    __tablename__ = "quote_revisions"
    id: Mapped[str] = mapped_column(String(36), primary_key=True)
    quote: Mapped[str] = mapped_column(ForeignKey("quotes.id"), index=True)
    base: Mapped[str | None] = mapped_column(String(36))
    list_number: Mapped[str] = mapped_column(String(80))
    content: Mapped[str] = mapped_column(String(64))
    body: Mapped[str] = mapped_column(Text)
    worked: Mapped[str] = mapped_column(Text)
    author: Mapped[str] = mapped_column(String(80))
    received: Mapped[str] = mapped_column(String(32))
    __table_args__ = (UniqueConstraint("quote", "base", name="one_revision_after_another"),)


class KeptDealer(Base):
    """A dealer: number, name, the price class it buys at, the language of its papers, and the rest as a record."""

    __tablename__ = "dealers"
    number: Mapped[str] = mapped_column(String(20), primary_key=True)
    name: Mapped[str] = mapped_column(String(120))
    channel: Mapped[str] = mapped_column(String(80))
    language: Mapped[str] = mapped_column(String(10))
    record: Mapped[str] = mapped_column(Text)


class Counter(Base):
    """A running number: of changes, of quotes."""

    __tablename__ = "counters"
    name: Mapped[str] = mapped_column(String(20), primary_key=True)
    value: Mapped[int] = mapped_column(BigInteger)


class Fact(Base):
    """A fact about this database: its incarnation, a setting."""

    __tablename__ = "facts"
    name: Mapped[str] = mapped_column(String(60), primary_key=True)
    value: Mapped[str] = mapped_column(Text)


class AuditEntry(Base):
    """Who did what and when, each entry hashed with the one before; entries are only ever added."""

    __tablename__ = "audit"
    id: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    at: Mapped[str] = mapped_column(String(32))
    who: Mapped[str] = mapped_column(String(80))
    did: Mapped[str] = mapped_column(String(60))
    what: Mapped[str] = mapped_column(Text)
    hash: Mapped[str] = mapped_column(String(64))


def now() -> str:
    """The time as the store keeps it: RFC 3339, UTC, whole seconds."""
    return datetime.datetime.now(datetime.UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
