"""Who may see what: roles, sessions, foreign requests, headers, and no cost at the counter."""

from __future__ import annotations

import dataclasses
import datetime
import json
from decimal import Decimal
from pathlib import Path

import pytest
from flask import Flask

from pricing.book_checks import replace
from server.access import people
from server.api.roles import DECLARED
from server.application import create_app
from server.config import Settings
from server.services import books, price_lists, signing_in
from server.services.workshop import open_workshop
from tests.demo_book import demo_book

from .conftest import PASSWORDS, YEAR, Caller, caller, problem_of
from .quotes import new_id, sent

OWN = ("openapi_", "api-docs.")


def test_every_view_declares_its_role(app: Flask) -> None:
    undeclared = [
        rule.endpoint
        for rule in app.url_map.iter_rules()
        if not rule.endpoint.startswith(OWN) and not hasattr(app.view_functions[rule.endpoint], DECLARED)
    ]
    assert undeclared == []


@pytest.mark.parametrize(
    "path", ["/catalogue", "/catalogue/prices", "/outlines", "/pieces/TK102", "/quotes", "/session"]
)
def test_a_stranger_is_asked_to_sign_in(stranger: Caller, path: str) -> None:
    assert problem_of(stranger.get(path))["status"] == 401


@pytest.mark.parametrize("path", ["/pieces", "/pieces/TK102/cost-sheet?finish=satin", "/price-lists"])
def test_costs_and_lists_are_not_for_the_counter(counter: Caller, pricing: Caller, path: str) -> None:
    assert problem_of(counter.get(path))["status"] == 403
    assert pricing.get(path).status_code == 200


def test_name_and_password_that_do_not_go_together_are_refused_alike(stranger: Caller) -> None:
    answers = [
        stranger.send("POST", "/session", {"name": name, "password": "not this one at all"})
        for name in ("nobody at all", "pricing")
    ]
    assert [problem_of(answer)["detail"] for answer in answers] == ["Name and password do not go together."] * 2


def test_guessing_is_slowed_down(app: Flask) -> None:
    guesser = caller(app)
    for _ in range(people.MOST_FAILURES):
        guesser.send("POST", "/session", {"name": "guessed", "password": "x"}, environ_base={"REMOTE_ADDR": "10.0.0.9"})
    reply = guesser.send(
        "POST", "/session", {"name": "guessed", "password": "x"}, environ_base={"REMOTE_ADDR": "10.0.0.9"}
    )
    assert problem_of(reply)["status"] == 429
    assert int(reply.headers["Retry-After"]) > 0


def test_a_session_ends_when_signed_out_and_its_token_is_worth_nothing(app: Flask) -> None:
    own = caller(app, "counter")
    assert own.get("/session").json["name"] == "counter"
    assert own.send("DELETE", "/session").status_code == 204
    assert own.get("/session").status_code == 401


def test_the_cookie_is_closed_to_scripts_and_other_sites(app: Flask) -> None:
    reply = Caller(app.test_client()).send("POST", "/session", {"name": "counter", "password": PASSWORDS["counter"]})
    cookie = reply.headers["Set-Cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=Strict" in cookie


def test_one_sees_and_ends_ones_own_sessions_only(app: Flask) -> None:
    one, other = caller(app, "counter"), caller(app, "pricing")
    mine = next(row for row in one.get("/sessions").json if row["this"])
    assert problem_of(other.send("DELETE", f"/sessions/{mine['id']}"))["status"] == 404
    assert one.send("DELETE", f"/sessions/{mine['id']}").status_code == 204
    assert one.get("/session").status_code == 401


def test_a_change_from_another_site_is_refused(counter: Caller) -> None:
    for headers in (
        {"Tinwright-Page": ""},
        {"Sec-Fetch-Site": "cross-site"},
        {"Origin": "http://elsewhere.example"},
    ):
        reply = counter.send("PUT", f"/quotes/{new_id()}", sent(), headers=headers)
        assert problem_of(reply)["status"] == 403


def test_every_reply_carries_the_guarding_headers(stranger: Caller) -> None:
    for path in ("/", "/healthz", "/api/v1/session", "/api/v1/nothing", "/sw.js"):
        headers = stranger.client.get(path).headers
        assert "default-src 'none'" in headers["Content-Security-Policy"]
        assert "unsafe" not in headers["Content-Security-Policy"]
        assert headers["X-Content-Type-Options"] == "nosniff"
        assert headers["Tinwright-Incarnation"]


def test_short_and_common_passwords_are_refused(workshop: object) -> None:
    for password in ("short", "password1234", "123456123456", "tinwright2026"):
        with pytest.raises(Exception, match="password"):
            signing_in.add(workshop, f"new {password}", "pricing", password)  # type: ignore[arg-type]


def canary_book(canary: Decimal):  # type: ignore[no-untyped-def]
    """The demo book with an unmistakable figure in every kind of cost, and prices that do not come from it."""
    book = demo_book()
    stages = tuple(dataclasses.replace(s, wage_per_hour=canary, source="CANARY") for s in book.stages)
    pools = tuple(dataclasses.replace(p, budget=None, activity=None, rate=canary, source="CANARY") for p in book.pools)
    return replace(book, stages=stages, pools=pools)


def test_no_cost_reaches_the_counter(tmp_path: Path) -> None:
    canary = Decimal("7654.321")
    opened = open_workshop(Settings(database_url=f"sqlite:///{tmp_path}/canary.db", page=tmp_path))
    books.bring_in(opened, canary_book(canary), "test")
    made = price_lists.make_draft(opened, str(YEAR), datetime.date(YEAR, 1, 1), datetime.date(YEAR, 12, 31), "test")
    price_lists.issue(opened, made.id, made.digest, "test")
    signing_in.add(opened, "counter", "counter", PASSWORDS["counter"])
    app = create_app(opened)
    own = caller(app, "counter")
    costs = {str(sheet.works_cost) for sheet in opened.priced().costs.values()}
    words = ("CANARY", "7654.321", "margin", "works_cost", "floor", "wage", "minutes", "dealer A")
    replies = []
    for rule in app.url_map.iter_rules():
        if "GET" in (rule.methods or ()) and rule.endpoint.startswith(("api.", "page.")):
            path = str(rule).replace("<string:number>", "TK102").replace("<path:path>", "quotes")
            path = path.replace("<string:list_id>", made.id).replace("<string:quote>", new_id())
            replies.append(own.client.get(path, headers=own.headers))
    quote = sent()
    replies.append(own.send("PUT", f"/quotes/{new_id()}", quote))
    replies.append(own.send("PUT", f"/quotes/{new_id()}", {"cost": "1"}))
    assert len(replies) > 12
    for reply in replies:
        text = reply.get_data(as_text=True) + json.dumps(dict(reply.headers))
        for word in words:
            # A refusal may say that something is for another role; it may not say a figure.
            assert word not in text, (reply.request.path, word)
        assert not any(f'"{cost}"' in text for cost in costs), reply.request.path
