"""Prices: every vector worked by hand holds, with what acted and what is not kept; every refusal names its place."""

from __future__ import annotations

from decimal import Decimal as D
from typing import Any

import pytest

from pricing.errors import PricingError
from pricing.price import price_everything
from tests.pricing.price_book import at, book_of, priced, vectors

ALL = vectors()


def params(key: str) -> list[Any]:
    return [pytest.param(vector, id=vector["id"]) for vector in ALL if key in vector]


@pytest.mark.parametrize("vector", params("prices"))
def test_a_price_worked_by_hand(vector: dict[str, Any]) -> None:
    found = priced(**vector)
    assert {key: at(found, key).amount for key in vector["prices"]} == {k: D(v) for k, v in vector["prices"].items()}


@pytest.mark.parametrize("vector", params("acted"))
def test_what_acted_is_told_in_order(vector: dict[str, Any]) -> None:
    found = priced(**vector)
    for key, codes in vector["acted"].items():
        assert [step.code for step in at(found, key).steps[1:]] == codes


@pytest.mark.parametrize("vector", params("prices"))
def test_each_check_that_is_not_kept_is_told(vector: dict[str, Any]) -> None:
    """Those the vector names, and none on any other of its prices."""
    found = priced(**vector)
    told = vector.get("breaches", {})
    for key in vector["prices"]:
        assert [step.code for step in at(found, key).breaches] == told.get(key, [])


@pytest.mark.parametrize("vector", params("unpriced"))
def test_what_has_no_price_is_listed_with_why(vector: dict[str, Any]) -> None:
    found = priced(**vector).unpriced
    assert {f"{left.channel} {left.piece} {left.finish}": left.reason for left in found} == vector["unpriced"]


@pytest.mark.parametrize("vector", params("margins"))
def test_the_margin_of_the_printed_price(vector: dict[str, Any]) -> None:
    found = priced(**vector)
    for key, margin in vector["margins"].items():
        assert round(at(found, key).margin, 4) == D(margin)


@pytest.mark.parametrize("vector", params("refused"))
def test_a_refusal_names_record_and_field(vector: dict[str, Any]) -> None:
    with pytest.raises(PricingError) as refusal:
        price_everything(book_of(vector))
    faults = refusal.value.faults
    assert [[fault.record, fault.field] for fault in faults] == vector["refused"]
    assert all(fault.found and fault.allowed for fault in faults)


def test_a_third_of_the_vectors_are_refusals_and_no_name_is_given_twice() -> None:
    assert len({vector["id"] for vector in ALL}) == len(ALL) >= 140
    assert 3 * len(params("refused")) >= len(params("prices"))
    assert all(vector["working"] for vector in ALL if "prices" in vector)
