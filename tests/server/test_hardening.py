"""What is sent by mistake or on purpose: refused in words, never a fault of ours, never kept."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from flask import Flask

from server.api.roles import DECLARED
from server.application import create_app
from server.config import Settings
from server.services import signing_in
from server.services.workshop import open_workshop

from .conftest import PAGE, PASSWORDS, Caller, caller, problem_of
from .quotes import asked, new_id, sent

AWKWARD = ("%00", "a%00b", "%0a", "%7f", "%1b%5b2J")


def raw(own: Caller, method: str, path: str, body: bytes, kind: str = "application/json") -> Any:
    return own.client.open(f"/api/v1{path}", method=method, data=body, content_type=kind, headers=PAGE)


@pytest.mark.parametrize("text", AWKWARD)
@pytest.mark.parametrize(
    "path",
    [
        "/pieces/{}", "/pieces/{}/outline.svg", "/pieces/{}/cost-sheet?finish=satin",
        "/pieces/TK102/cost-sheet?finish={}", "/price-lists/{}", "/price-lists/{}/pdf?channel=retail", "/quotes/{}",
        "/quotes/{}/pdf", "/quotes?after={}",
    ],
)  # fmt: skip
def test_an_address_with_control_characters_is_not_found(pricing: Caller, path: str, text: str) -> None:
    assert problem_of(pricing.get(path.format(text)))["status"] == 404


@pytest.mark.parametrize("path", ["/pieces/{}", "/price-lists/{}", "/quotes/{}", "/pieces/TK102/cost-sheet?finish={}"])
@pytest.mark.parametrize("text", ["9" * 5000, "%F0%9F%8D%BA", "..%2F..%2Fetc", "%27%20OR%201=1--", "%ff%fe"])
def test_a_strange_address_is_refused_in_words(pricing: Caller, path: str, text: str) -> None:
    assert problem_of(pricing.get(path.format(text)))["status"] in (404, 422)


@pytest.mark.parametrize("path", ["/%00", "/" + "a" * 5000, "/a%2F..%2F..%2Fpyproject.toml", "/%ff"])
def test_a_path_that_no_file_can_have_is_answered(stranger: Caller, path: str) -> None:
    reply = stranger.client.get(path)
    assert reply.status_code in (200, 404)
    assert b"[project]" not in reply.data


@pytest.mark.parametrize("kind", ["text/plain", "application/x-www-form-urlencoded", "multipart/form-data", ""])
def test_a_form_of_another_site_is_not_json(counter: Caller, kind: str) -> None:
    body = json.dumps(sent()).encode()
    assert problem_of(raw(counter, "PUT", f"/quotes/{new_id()}", body, kind))["status"] == 415


@pytest.mark.parametrize(
    "body",
    [
        b"{", b"\xff\xfe", b'{"a":1,"a":2}', b'{"a":NaN}', b'{"a":Infinity}', b"[" * 100_000, b'{"a":' * 100_000,
        b'{"a":' + b"9" * 5000 + b"}",
    ],
)  # fmt: skip
def test_broken_json_is_refused_before_anything_reads_it(counter: Caller, body: bytes) -> None:
    assert problem_of(raw(counter, "PUT", f"/quotes/{new_id()}", body))["status"] == 400


@pytest.mark.parametrize("text", ["\\u0000", "\\ud800", "x\\udfff"])
@pytest.mark.parametrize("field", ["name", "password", "device"])
def test_text_that_no_database_keeps_is_refused(stranger: Caller, field: str, text: str) -> None:
    given = {"name": "counter", "password": PASSWORDS["counter"], "device": "till", field: "TEXT"}
    body = json.dumps(given).replace("TEXT", text).encode()
    assert problem_of(raw(stranger, "POST", "/session", body))["status"] == 422


def test_half_a_surrogate_pair_in_a_quote_leaves_nothing_behind(counter: Caller) -> None:
    revision, quote = new_id(), sent(asked(customer="TEXT"))
    body = json.dumps(quote).replace("TEXT", "\\ud83d").encode()
    assert problem_of(raw(counter, "PUT", f"/quotes/{revision}", body))["status"] == 422
    assert counter.get(f"/quotes/{quote['quote']}").status_code == 404


@pytest.mark.parametrize("given", [[], "text", None, 7, {"quote": 1}, {"request": []}, {"shown": {"net": 1.5}}])
def test_json_of_another_shape_is_refused_field_by_field(counter: Caller, given: Any) -> None:
    assert problem_of(counter.send("PUT", f"/quotes/{new_id()}", given))["status"] == 422


@pytest.mark.parametrize("name", ["not-a-uuid", "0" * 36, "A" * 36])
def test_a_quote_needs_an_id_of_the_right_form(counter: Caller, name: str) -> None:
    assert problem_of(counter.send("PUT", f"/quotes/{name}", sent()))["status"] == 422


@pytest.mark.parametrize("quantity", [0, -1, 1.5, "6", 10**40, True, None])
def test_a_quantity_is_a_whole_number_that_can_be_counted(counter: Caller, quantity: Any) -> None:
    quote = sent()
    quote["request"]["lines"][0]["quantity"] = quantity
    data = problem_of(counter.send("PUT", f"/quotes/{new_id()}", quote))
    assert data["status"] == 422
    assert any("quantity" in fault["field"] or "shown" in fault["field"] for fault in data["faults"])


@pytest.mark.parametrize("money", ["1e3", "1_000", " 5", "５", "0x10", "1,00", "", "NaN", "+5", "00.50"])
def test_an_amount_is_a_plain_decimal_string(counter: Caller, money: str) -> None:
    quote = sent()
    quote["shown"]["total"] = money
    assert problem_of(counter.send("PUT", f"/quotes/{new_id()}", quote))["status"] == 422


def test_a_draft_cannot_be_quoted_from_nor_seen_at_the_counter(counter: Caller, pricing: Caller) -> None:
    body = {"number": "2041 draft", "effective": "2041-01-01", "until": "2041-12-31"}
    assert pricing.send("POST", "/price-lists", body).status_code == 201
    quote = sent()
    quote["request"]["list_number"] = "2041 draft"
    assert problem_of(counter.send("PUT", f"/quotes/{new_id()}", quote))["status"] == 404
    assert "2041" not in counter.get("/catalogue").text


def test_a_fault_of_ours_says_nothing_of_its_inside(app: Flask, monkeypatch: pytest.MonkeyPatch) -> None:
    own = caller(app, "counter")
    monkeypatch.setattr("server.api.views.quoting.changes", lambda *_: 1 / 0)
    data = problem_of(own.get("/quotes"))
    assert data["status"] == 500
    assert "ZeroDivision" not in json.dumps(data)


def test_a_view_without_a_role_does_not_start(workshop: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    app = create_app(workshop)
    view = app.view_functions["api.who_am_i"]
    assert getattr(view, DECLARED) == "counter"
    monkeypatch.delattr(view, DECLARED)
    with pytest.raises(LookupError, match=r"api\.who_am_i"):
        create_app(workshop)


# The cookie, by how the request travels


@pytest.fixture
def bare(tmp_path: Path) -> Iterator[Flask]:
    opened = open_workshop(Settings(database_url=f"sqlite:///{tmp_path}/bare.db", page=tmp_path))
    signing_in.add(opened, "counter", "counter", PASSWORDS["counter"])
    yield create_app(opened)
    opened.engine.dispose()


def signing(app: Flask, base: str) -> Any:
    given = {"name": "counter", "password": PASSWORDS["counter"]}
    return app.test_client().post("/api/v1/session", json=given, headers=PAGE, base_url=base)


@pytest.mark.parametrize(
    "base", ["http://localhost", "http://localhost:8710", "http://127.0.0.1:8710", "http://[::1]:8710"]
)
def test_on_this_computer_the_cookie_is_plain(bare: Flask, base: str) -> None:
    cookie = signing(bare, base).headers["Set-Cookie"]
    assert cookie.startswith("tinwright_session=")
    assert "Secure" not in cookie


def test_over_https_the_cookie_is_bound_to_its_host(bare: Flask) -> None:
    reply = signing(bare, "https://till.example:8443")
    cookie = reply.headers["Set-Cookie"]
    assert cookie.startswith("__Host-tinwright_session=")
    assert {"Secure", "HttpOnly", "SameSite=Strict", "Path=/"} <= set(cookie.split("; "))
    assert "Domain" not in cookie
    assert "max-age" in reply.headers["Strict-Transport-Security"]


def test_a_password_never_travels_over_a_network_in_the_clear(bare: Flask) -> None:
    reply = signing(bare, "http://till.example:8710")
    assert problem_of(reply)["status"] == 403
    assert "https" in reply.json["detail"]
    assert "Set-Cookie" not in reply.headers


def test_a_plain_cookie_is_worth_nothing_over_https(bare: Flask) -> None:
    cookie = signing(bare, "http://localhost").headers["Set-Cookie"].split(";")[0]
    client = bare.test_client(use_cookies=False)
    assert client.get("/api/v1/session", headers={"Cookie": cookie}).status_code == 200
    reply = client.get("/api/v1/session", headers={"Cookie": cookie}, base_url="https://till.example")
    assert reply.status_code == 401
