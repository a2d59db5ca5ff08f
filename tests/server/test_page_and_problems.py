"""The page's files, its own addresses, and problem details for whatever goes wrong."""

from __future__ import annotations

import pytest

from .conftest import Caller, problem_of


def test_the_page_answers_every_address_of_its_own(stranger: Caller) -> None:
    for path in ("/", "/index.html", "/quotes", "/quotes/some/deep/link", "/costs/TK102/satin"):
        reply = stranger.client.get(path)
        assert reply.status_code == 200
        assert b"<title>page" in reply.data
        assert reply.headers["Cache-Control"] == "no-cache"


def test_named_assets_are_kept_for_ever_and_missing_files_are_missing(stranger: Caller) -> None:
    assert "immutable" in stranger.client.get("/assets/a-1.js").headers["Cache-Control"]
    assert stranger.client.get("/assets/gone.js").status_code == 404
    assert stranger.client.get("/../server/config.py").status_code == 404


@pytest.mark.parametrize("path", ["/api/v1/nothing", "/api/nothing", "/api"])
def test_the_interface_never_answers_with_the_page(stranger: Caller, path: str) -> None:
    assert problem_of(stranger.client.get(path))["status"] == 404


def test_a_method_that_is_not_to_be_done_says_which_are(counter: Caller) -> None:
    reply = counter.send("DELETE", "/catalogue")
    assert problem_of(reply)["status"] == 405
    assert "GET" in reply.headers["Allow"]


def test_what_is_not_json_or_too_large_is_refused(counter: Caller) -> None:
    path = "/api/v1/price-lists"
    assert counter.client.post(path, data="x", headers=counter.headers).status_code in (403, 415, 422)
    large = counter.client.post(
        "/api/v1/session", data=b" " * 2_000_000, headers={**counter.headers, "Content-Type": "application/json"}
    )
    assert problem_of(large)["status"] == 413


def test_health_and_readiness(stranger: Caller) -> None:
    assert stranger.client.get("/healthz").data == b"ok\n"
    assert stranger.client.get("/readyz").status_code == 200


def test_the_interface_describes_itself(stranger: Caller) -> None:
    described = stranger.client.get("/api/v1/openapi.json").json
    assert described["openapi"].startswith("3.1")
    assert "/api/v1/quotes/{revision}" in described["paths"]
