"""Dealers at the interface: for whoever may quote them, and the price agreed with one comes before the list."""

from __future__ import annotations

import json

from server.services import dealers
from server.services.workshop import Workshop
from tests.demo_book import WORKSHOP

from .conftest import YEAR, Caller, problem_of
from .quotes import asked, new_id, sent


def test_dealers_are_for_those_who_may_quote_them(workshop: Workshop, pricing: Caller, counter: Caller) -> None:
    dealers.keep_all(workshop, json.loads((WORKSHOP / "dealers.json").read_text(encoding="utf-8")), "test")
    found = pricing.get("/dealers").json
    assert len(found) >= 8
    assert {"number", "name", "channel", "language"} == set(found[0])
    assert problem_of(counter.get("/dealers"))["status"] == 403


def test_a_price_agreed_with_a_dealer_comes_before_the_list(pricing: Caller) -> None:
    """Two hundred tankards for the rowing club at 42.00 until the end of August; 44.25 on the list."""
    for dealer, unit in (("D003", "42.00"), ("D001", "44.25")):
        quote = sent(asked("dealer A", 10, dealer=dealer, date="2026-06-01", list_number=str(YEAR)))
        reply = pricing.send("PUT", f"/quotes/{new_id()}", quote)
        assert reply.status_code == 201, reply.text
        assert reply.json["worked"]["lines"][0]["unit_net"] == unit
