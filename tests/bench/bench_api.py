"""The interface in process: the whole catalogue beside a trivial reply, a held tag, and settling beside the disk's flush."""

from __future__ import annotations

import datetime
import os
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from server.application import create_app
from server.config import Settings
from server.services import books, price_lists, signing_in
from server.services.workshop import Workshop, open_workshop
from tests.demo_book import demo_book
from tests.server.conftest import PASSWORDS, YEAR, Caller, caller
from tests.server.quotes import new_id, sent

from .rows import Row, best

ROUNDS = 200


def _workshop(folder: Path) -> Workshop:
    opened = open_workshop(Settings(database_url=f"sqlite:///{folder}/bench.db", page=folder))
    books.bring_in(opened, demo_book(), "bench")
    made = price_lists.make_draft(opened, str(YEAR), datetime.date(YEAR, 1, 1), datetime.date(YEAR, 12, 31), "bench")
    price_lists.issue(opened, made.id, made.digest, "bench")
    signing_in.add(opened, "counter", "counter", PASSWORDS["counter"])
    return opened


def _asked(own: Caller, path: str, **headers: str) -> float:
    own.get(path, headers=headers)
    return best(lambda: [own.get(path, headers=headers) for _ in range(ROUNDS)], 3) / ROUNDS


def _flush_s(folder: Path, rounds: int = 200) -> float:
    """What one small write with a flush takes on this disk."""
    with (folder / "flush").open("wb", buffering=0) as file:
        start = time.perf_counter()
        for _ in range(rounds):
            file.write(b"x" * 4096)
            os.fdatasync(file.fileno())
        return (time.perf_counter() - start) / rounds


def measure() -> Iterator[Row]:
    """Catalogue, held tag, and a quote settled durably."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        own = caller(create_app(_workshop(folder)), "counter")
        trivial = _asked(own, "/session")
        whole = own.get("/catalogue", headers={"Accept-Encoding": "br"})
        tag = whole.headers["ETag"]
        yield Row("whole catalogue, kept and compressed", _asked(own, "/catalogue", **{"Accept-Encoding": "br"}), trivial,
                  f"{len(whole.data)} bytes; baseline: who am I")  # fmt: skip
        yield Row("catalogue, tag held", _asked(own, "/catalogue", **{"If-None-Match": tag}), trivial, "304")
        quotes = [sent() for _ in range(60)]
        start = time.perf_counter()
        for quote in quotes:
            own.send("PUT", f"/quotes/{new_id()}", quote)
        spent = (time.perf_counter() - start) / len(quotes)
        yield Row(
            "a quote settled, worked again, durable",
            spent,
            _flush_s(folder),
            "baseline: one flushed write of this disk",
        )
