"""Quotes at the interface: settled once for each id, worked again, never changed silently."""

from __future__ import annotations

import io

import pypdf

from .conftest import Caller, problem_of
from .quotes import asked, new_id, sent


def test_a_quote_is_settled_with_an_official_number(counter: Caller) -> None:
    quote = sent()
    reply = counter.send("PUT", f"/quotes/{new_id()}", quote)
    assert reply.status_code == 201, reply.text
    assert reply.json["number"].startswith("Q")
    assert reply.json["alias"] == "TAB-1"
    assert reply.json["worked"]["total"] == "582.00"


def test_the_same_id_and_content_is_a_replay_with_the_same_answer(counter: Caller) -> None:
    quote, revision = sent(), new_id()
    first = counter.send("PUT", f"/quotes/{revision}", quote)
    again = counter.send("PUT", f"/quotes/{revision}", quote)
    assert (first.status_code, again.status_code) == (201, 200)
    assert first.json["number"] == again.json["number"]


def test_an_answer_lost_after_the_commit_gives_one_quote_when_sent_again(counter: Caller) -> None:
    before = len(counter.get("/quotes").json["quotes"])
    quote, revision = sent(), new_id()
    for _ in range(3):
        counter.send("PUT", f"/quotes/{revision}", quote)
    assert len(counter.get("/quotes").json["quotes"]) == before + 1


def test_the_same_id_with_other_content_is_refused(counter: Caller) -> None:
    revision = new_id()
    counter.send("PUT", f"/quotes/{revision}", sent())
    reply = counter.send("PUT", f"/quotes/{revision}", sent(asked(quantity=7)))
    assert problem_of(reply)["status"] == 409


def test_totals_that_differ_are_refused_and_both_are_named(counter: Caller) -> None:
    quote = sent()
    quote["shown"]["total"] = "581.00"
    data = problem_of(counter.send("PUT", f"/quotes/{new_id()}", quote))
    assert data["status"] == 422
    assert "581.00" in data["detail"]
    assert "582.00" in data["detail"]


def test_a_revision_follows_the_newest_one(counter: Caller) -> None:
    quote, first, second = sent(), new_id(), new_id()
    counter.send("PUT", f"/quotes/{first}", quote)
    revised = {**sent(asked(quantity=8)), "quote": quote["quote"], "base": first}
    assert counter.send("PUT", f"/quotes/{second}", revised).status_code == 201
    late = {**sent(asked(quantity=9)), "quote": quote["quote"], "base": first}
    assert problem_of(counter.send("PUT", f"/quotes/{new_id()}", late))["status"] == 409


def test_another_device_cannot_write_a_quote(counter: Caller) -> None:
    quote, first = sent(), new_id()
    counter.send("PUT", f"/quotes/{first}", quote)
    other = {**sent(asked(quantity=8)), "quote": quote["quote"], "base": first, "device": "PHONE2"}
    assert problem_of(counter.send("PUT", f"/quotes/{new_id()}", other))["status"] == 409


def test_an_unknown_list_piece_or_finish_is_named(counter: Caller) -> None:
    for change, words in (
        ({"list_number": "1899"}, "list"),
        ({"lines": [{"piece": "XX1", "finish": "satin", "quantity": 1}]}, "XX1"),
        ({"lines": [{"piece": "TK102", "finish": "gilt", "quantity": 1}]}, "gilt"),
    ):
        quote = sent()
        quote["request"] = {**quote["request"], **change}
        reply = counter.send("PUT", f"/quotes/{new_id()}", quote)
        assert reply.status_code in (404, 422)
        assert words in reply.text


def test_money_as_a_json_number_and_unknown_fields_are_refused(counter: Caller) -> None:
    quote = sent()
    quote["shown"]["total"] = 582.00
    assert problem_of(counter.send("PUT", f"/quotes/{new_id()}", quote))["status"] == 422
    quote = sent()
    quote["cost"] = "31.00"
    assert problem_of(counter.send("PUT", f"/quotes/{new_id()}", quote))["status"] == 422
    quote = sent()
    quote["request"]["lines"][0]["margin"] = "0.5"
    assert "margin" in problem_of(counter.send("PUT", f"/quotes/{new_id()}", quote))["detail"]


def test_the_counter_cannot_quote_dealers_prices(counter: Caller, pricing: Caller) -> None:
    quote = sent(asked("dealer A"))
    assert problem_of(counter.send("PUT", f"/quotes/{new_id()}", quote))["status"] == 422
    revision = new_id()
    assert pricing.send("PUT", f"/quotes/{revision}", quote).status_code == 201
    assert counter.get(f"/quotes/{quote['quote']}").status_code == 404
    assert pricing.get(f"/quotes/{quote['quote']}").status_code == 200


def test_changes_go_on_from_where_one_stopped(counter: Caller) -> None:
    place = counter.get("/quotes").json["next"]
    quote = sent()
    counter.send("PUT", f"/quotes/{new_id()}", quote)
    found = counter.get(f"/quotes?after={place}").json
    assert [one["quote"] for one in found["quotes"]] == [quote["quote"]]
    assert counter.get(f"/quotes?after={found['next']}").json["quotes"] == []


def test_huge_and_foreign_places_are_refused_without_a_fault(counter: Caller) -> None:
    for place in ("-1", "1e3", "9" * 40, "abc", "17"):
        assert counter.get(f"/quotes?after={place}").status_code == 422
    database, _ = counter.get("/quotes").json["next"].split("-")
    for place in (f"{database}-999999999999999", "000000000000-0"):
        assert problem_of(counter.get(f"/quotes?after={place}"))["status"] == 410
    assert counter.get(f"/quotes/{'9' * 400}").status_code == 404


def test_the_paper_adds_up_and_is_kept(counter: Caller) -> None:
    quote = sent(asked(customer="Mrs Example"))
    counter.send("PUT", f"/quotes/{new_id()}", quote)
    first = counter.get(f"/quotes/{quote['quote']}/pdf?language=de-DE")
    again = counter.get(f"/quotes/{quote['quote']}/pdf?language=de-DE")
    assert first.data == again.data
    text = "".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(first.data)).pages)
    assert "582,00" in text
    assert "97,00" in text
    assert "Mrs Example" in text
    tag = first.headers["ETag"]
    assert (
        counter.get(f"/quotes/{quote['quote']}/pdf?language=de-DE", headers={"If-None-Match": tag}).status_code == 304
    )
