"""Several devices at once: every quote settled once, every number given once, the audit unbroken."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from typing import Any

from flask import Flask

from server.services.workshop import Workshop
from server.store.database import reading
from server.store.ledger import audit_is_whole

from .conftest import caller
from .quotes import new_id, sent

DEVICES, EACH = 4, 5


def test_devices_at_once_get_numbers_of_their_own(app: Flask, workshop: Workshop) -> None:
    callers = [caller(app, "counter") for _ in range(DEVICES)]
    batches = [[sent(device=f"TABLET{place}") for _ in range(EACH)] for place in range(DEVICES)]

    def settle(place: int) -> list[Any]:
        return [callers[place].send("PUT", f"/quotes/{new_id()}", quote) for quote in batches[place]]

    with ThreadPoolExecutor(DEVICES) as pool:
        replies = [reply for found in pool.map(settle, range(DEVICES)) for reply in found]
    assert {reply.status_code for reply in replies} == {201}
    assert len({reply.json["number"] for reply in replies}) == DEVICES * EACH
    assert len({reply.json["sequence"] for reply in replies}) == DEVICES * EACH
    with reading(workshop.engine) as session:
        assert audit_is_whole(session)


def test_one_revision_sent_by_an_impatient_device_is_settled_once(app: Flask) -> None:
    callers = [caller(app, "counter") for _ in range(DEVICES)]
    revision, quote = new_id(), sent()
    with ThreadPoolExecutor(DEVICES) as pool:
        replies = list(pool.map(lambda own: own.send("PUT", f"/quotes/{revision}", quote), callers))
    assert sorted(reply.status_code for reply in replies) == [200] * (DEVICES - 1) + [201]
    assert len({reply.json["number"] for reply in replies}) == 1


def test_two_revisions_on_one_are_not_both_taken(app: Flask) -> None:
    callers = [caller(app, "counter") for _ in range(2)]
    quote, first = sent(), new_id()
    callers[0].send("PUT", f"/quotes/{first}", quote)
    revised = {**quote, "base": first}
    with ThreadPoolExecutor(2) as pool:
        replies = list(pool.map(lambda own: own.send("PUT", f"/quotes/{new_id()}", revised), callers))
    assert sorted(reply.status_code for reply in replies) == [201, 409]
