"""Price lists at the interface: a draft, issued once by the owner, and its papers."""

from __future__ import annotations

import io

import pypdf

from .conftest import Caller, problem_of


def test_a_draft_is_made_and_issued_by_the_owner_who_saw_it(pricing: Caller, owner: Caller) -> None:
    made = pricing.send("POST", "/price-lists", {"number": "2031", "effective": "2031-01-01", "until": "2031-12-31"})
    assert made.status_code == 201, made.text
    path = f"/price-lists/{made.json['id']}/issue"
    assert problem_of(pricing.send("POST", path, {}))["status"] == 403
    assert problem_of(owner.send("POST", path, {}))["status"] == 428
    assert problem_of(owner.send("POST", path, {}, headers={"If-Match": '"other"'}))["status"] == 412
    tag = made.headers["ETag"]
    assert owner.send("POST", path, {}, headers={"If-Match": tag}).json["status"] == "issued"
    assert owner.send("POST", path, {}, headers={"If-Match": tag}).status_code == 412


def test_a_number_is_used_once_and_a_list_ends_after_it_begins(pricing: Caller) -> None:
    body = {"number": "2032", "effective": "2032-01-01", "until": "2032-12-31"}
    assert pricing.send("POST", "/price-lists", body).status_code == 201
    assert "2032" in problem_of(pricing.send("POST", "/price-lists", body))["detail"]
    wrong = {"number": "2033", "effective": "2033-12-31", "until": "2033-01-01"}
    assert problem_of(pricing.send("POST", "/price-lists", wrong))["status"] == 422


def test_a_list_issued_ahead_is_held_beside_the_one_in_force(counter: Caller) -> None:
    numbers = [one["number"] for one in counter.get("/catalogue").json["lists"]]
    assert len(numbers) in (1, 2)
    assert numbers == sorted(numbers)


def test_the_paper_names_every_piece(pricing: Caller) -> None:
    lists = pricing.get("/price-lists").json
    newest = next(row for row in lists if row["status"] == "issued")
    reply = pricing.get(f"/price-lists/{newest['id']}/pdf?channel=dealer%20A&language=de-DE")
    assert reply.status_code == 200
    text = "".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(reply.data)).pages)
    columns = pricing.get("/catalogue").json["lists"][0]["pieces"]
    assert [number for number in columns["number"] if number not in text] == []
    wrong = pricing.get(f"/price-lists/{newest['id']}/pdf?channel=nobody")
    assert "nobody" in problem_of(wrong)["detail"]
