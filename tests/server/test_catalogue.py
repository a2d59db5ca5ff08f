"""The catalogue: made once, small, tagged, and the same figures as the list."""

from __future__ import annotations

import json
from decimal import Decimal, localcontext

import brotli
import pytest
from flask import Flask

from tests.demo_book import demo_priced

from .conftest import Caller, caller, problem_of

FIRST_LOAD = 16_000
PRICE_UPDATE = 5_000


@pytest.mark.parametrize("name", ["counter", "pricing"])
def test_the_whole_load_and_a_price_update_are_small(app: Flask, name: str) -> None:
    own = caller(app, name)
    whole = own.get("/catalogue", headers={"Accept-Encoding": "br"})
    prices = own.get("/catalogue/prices", headers={"Accept-Encoding": "br"})
    assert whole.headers["Content-Encoding"] == "br"
    assert len(whole.data) <= FIRST_LOAD
    assert len(prices.data) <= PRICE_UPDATE


@pytest.mark.parametrize("name", ["counter", "pricing"])
def test_a_price_update_holds_the_prices_of_the_catalogue_in_its_order(app: Flask, name: str) -> None:
    own = caller(app, name)
    for held, newer in zip(
        own.get("/catalogue").json["lists"], own.get("/catalogue/prices").json["lists"], strict=True
    ):
        assert (newer["number"], newer["digest"]) == (held["number"], held["digest"])
        assert len(newer["prices"]) == sum(len(made) for made in held["pieces"]["made"])
        for place, channel in enumerate(newer["channels"]):
            assert [row[place] for row in newer["prices"]] == held["prices"][channel]


def test_every_form_holds_the_same_and_a_held_tag_is_answered_with_nothing(counter: Caller) -> None:
    plain = counter.get("/catalogue", headers={"Accept-Encoding": "identity"})
    packed = counter.get("/catalogue", headers={"Accept-Encoding": "br"})
    assert brotli.decompress(packed.data) == plain.data
    held = counter.get("/catalogue", headers={"If-None-Match": plain.headers["ETag"]})
    assert held.status_code == 304
    assert held.data == b""


def test_the_counter_sees_its_shops_prices_and_pricing_sees_all(counter: Caller, pricing: Caller) -> None:
    names = [channel["name"] for channel in counter.get("/catalogue").json["lists"][0]["channels"]]
    assert names == ["retail"]
    assert len(pricing.get("/catalogue").json["lists"][0]["channels"]) == 4


def test_every_price_of_the_catalogue_is_the_engines(pricing: Caller) -> None:
    sent = pricing.get("/catalogue").json["lists"][0]
    columns, priced, place = sent["pieces"], demo_priced(), 0
    seen = 0
    for number, made in zip(columns["number"], columns["made"], strict=True):
        for finish in made:
            for channel in sent["channels"]:
                offers = sent["prices"][channel["name"]][place]
                single = offers if isinstance(offers, str) else offers[0]
                price = priced.price(channel["name"], number, columns["finish_names"][finish])
                assert float(single) == float(price.amount)
                seen += 1
            place += 1
    assert seen == len([price for price in priced.prices if price.quantity == 1])


def test_one_piece_is_found_by_its_number_or_an_old_one(counter: Caller) -> None:
    assert counter.get("/pieces/TK102").json["number"] == "TK102"
    assert counter.get("/pieces/SC7").json["number"] == "BK801"
    assert problem_of(counter.get("/pieces/NONE"))["status"] == 404
    assert counter.get("/pieces/TK102/outline.svg").data.startswith(b"<svg")


def test_a_cost_sheet_adds_up_to_the_last_digit(pricing: Caller) -> None:
    sheet = pricing.get("/pieces/TK102/cost-sheet?finish=satin").json["sheet"]

    def total(node: dict[str, object]) -> Decimal:
        children = node.get("children")
        if not children:
            return Decimal(str(node["amount"]))
        summed = sum((total(child) for child in children), Decimal(0))  # type: ignore[attr-defined]
        assert summed == Decimal(str(node["amount"])), node["words"]
        return summed

    with localcontext(prec=60):
        assert total(sheet["tree"]) == Decimal(sheet["works_cost"]) == Decimal("31.0011")
        shares = sum(Decimal(value) for value in sheet["shares"].values())
        assert shares == Decimal(sheet["exact"])
    assert json.dumps(sheet)
