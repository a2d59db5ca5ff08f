"""The book file: strict reading with every fault together, round trips, canonical form, what-if as a second book."""

from __future__ import annotations

import copy
import dataclasses
import json
from decimal import Decimal
from random import Random
from typing import Any

import pytest

from pricing.book_checks import replace
from pricing.book_file import book_data, canonical, edition, parse_book, read_book, write_book
from pricing.errors import BookError
from pricing.price import price_everything
from tests.demo_book import WORKSHOP, demo_book
from tests.oracle.books import random_book


def sound() -> dict[str, Any]:
    """A small sound book."""
    return random_book(Random(7))


def faults_of(data: Any) -> list[str]:
    """What reading a book refuses."""
    with pytest.raises(BookError) as refused:
        read_book(data)
    return [str(fault) for fault in refused.value.faults]


def test_file_to_book_to_file_to_book_is_equal() -> None:
    assert parse_book(write_book(demo_book())) == demo_book()
    assert edition(parse_book(write_book(demo_book()))) == edition(demo_book())


def test_a_file_written_plainly_is_written_again_the_same() -> None:
    data = json.loads((WORKSHOP / "book.json").read_text(encoding="utf-8"))
    again = book_data(demo_book())
    assert [piece["number"] for piece in again["pieces"]] == [piece["number"] for piece in data["pieces"]]
    assert read_book(again) == read_book(data)


def test_the_edition_reads_values_not_their_writing() -> None:
    one, other = sound(), sound()
    other["stages"][0]["wage_per_hour"] += "00"
    assert one != other
    assert edition(read_book(one)) == edition(read_book(other))
    other["stages"][0]["wage_per_hour"] = "99.99"
    assert edition(read_book(one)) != edition(read_book(other))


def test_canonical_json_is_sorted_and_holds_no_number_for_money() -> None:
    text = canonical(demo_book()).decode()
    data = json.loads(text, parse_float=lambda found: pytest.fail(f"a float: {found}"))
    assert list(data) == sorted(data)
    assert text == json.dumps(data, ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def test_three_planted_faults_of_different_kinds_are_all_named() -> None:
    data = sound()
    data["stages"][0]["wage_per_hour"] = 16.5
    data["pieces"][0]["family"] = "cans"
    data["rules"][0]["channel"] = "dealr"
    found = "\n".join(faults_of(data))
    assert 'stages cut, wage_per_hour: found 16.5; allowed is a decimal string such as "12.50"' in found
    assert 'pieces P00, family: found "cans"; allowed is one of "cups", "plates"' in found
    assert 'rules all, channel: found "dealr"; allowed is one of "dealer", "retail"' in found


def test_a_record_left_out_for_its_own_fault_is_not_missed_again() -> None:
    data = sound()
    data["stages"][1]["first_pass_yield"] = "0"
    assert len(faults_of(data)) == 1
    assert faults_of(data)[0].startswith("stages spin, first_pass_yield: found '0'")


REFUSALS: list[tuple[str, Any, Any, str]] = [
    ("a float for money", ("pieces", 0, "packing"), 1.2, "decimal string"),
    ("an exponent", ("pieces", 0, "packing"), "1e3", "decimal string"),
    ("full-width digits", ("pieces", 0, "packing"), "１２", "decimal string"),
    ("a decimal comma", ("pieces", 0, "packing"), "1,20", "decimal string"),
    ("a negative packing", ("pieces", 0, "packing"), "-1", "0 or more"),
    ("a batch of nothing", ("pieces", 0, "usual_batch"), 0, "from 1"),
    ("a batch as text", ("pieces", 0, "usual_batch"), "24", "whole number"),
    ("truth as a number", ("channels", 0, "tax_inclusive"), 1, "true or false"),
    ("a yield above one", ("stages", 0, "first_pass_yield"), "1.1", "1 or less"),
    ("a day that is none", ("date",), "2026-02-30", "a date such as"),
    ("an unknown field", ("pieces", 0, "colour"), "grey", "no field of this name"),
    ("a kind of part that is none", ("pieces", 0, "parts", 0, "kind"), "forged", 'one of "spun"'),
    ("an alloy that does not add up", ("alloys", 0, "contents", 0, "fraction"), "0.9", "give or take 0.0005"),
    ("margin and selling costs of one", ("rules", 0, "method"), {"kind": "by margin", "margin": "0.99"}, "below 1"),
    ("a tax from a later day only", ("taxes", 0, "since"), "2030-01-01", "in force"),
    ("a currency that is none", ("currency",), "QQQ", 'one of "GBP", "USD"'),
    ("another format", ("format",), "another", "tinwright book"),
    ("a later version", ("version",), 2, "1"),
    ("a list that is none", ("pieces",), {}, "a list"),
    ("blank name", ("pieces", 0, "number"), "  ", "not blank"),
]


@pytest.mark.parametrize(("path", "value", "words"), [r[1:] for r in REFUSALS], ids=[r[0] for r in REFUSALS])
def test_bad_input_is_named_with_what_is_allowed(path: tuple[Any, ...], value: Any, words: str) -> None:
    data = sound()
    at: Any = data
    for key in path[:-1]:
        at = at[key]
    at[path[-1]] = value
    if path[-1] == "method":
        data["channels"][0]["selling_costs"] = "0.05"
    assert words in "\n".join(faults_of(data))


def test_missing_fields_and_records_twice_are_named() -> None:
    data = sound()
    del data["pieces"][0]["family"]
    data["pieces"].append(copy.deepcopy(data["pieces"][1]))
    found = "\n".join(faults_of(data))
    assert "pieces P00, family: found nothing" in found
    assert "pieces P01, number: found a second record" in found


def test_a_set_that_contains_itself_and_a_circle_of_channels_are_named() -> None:
    data = sound()
    data["pieces"][0]["parts"] = [{"kind": "member", "piece": "P01"}]
    data["pieces"][1]["parts"] = [{"kind": "member", "piece": "P00"}]
    assert any("P00 → P01 → P00" in fault for fault in faults_of(data))
    data = sound()
    data["rules"] = [
        {
            "name": "a",
            "channel": "dealer",
            "since": "2026-01-01",
            "method": {"kind": "from another price class", "channel": "retail"},
        },
        {
            "name": "b",
            "channel": "retail",
            "since": "2026-01-01",
            "method": {"kind": "from another price class", "channel": "dealer"},
        },
    ]
    assert any("circle" in fault for fault in faults_of(data))


def test_two_equal_claims_are_named() -> None:
    data = sound()
    data["rules"].append({**data["rules"][0], "name": "again"})
    assert any("rules again" in fault and "the same claim" in fault for fault in faults_of(data))


def test_gauges_inches_and_ounces_are_read_once_and_exactly_and_a_bare_gauge_is_refused() -> None:
    data = sound()
    data["pieces"][0]["parts"] = [
        {"kind": "spun", "name": "body", "form": "disc", "trim_share": "0.08",
         "thickness_mm": {"amount": "18", "unit": "B&S"}, "diameter_mm": {"amount": "8.5", "unit": "inch"}},
        {"kind": "cast", "name": "handle", "form": "ingot", "method": "solid", "finished_g": {"amount": "2", "unit": "oz avoirdupois"}},
    ]  # fmt: skip
    for operation in data["pieces"][0]["operations"]:
        operation.pop("part", None)
    parts = read_book(data).pieces[0].parts
    assert parts[0].thickness_mm == Decimal("1.0237")  # type: ignore[union-attr]
    assert parts[0].diameter_mm == Decimal("215.9")  # type: ignore[union-attr]
    assert parts[1].finished_g == Decimal("56.69904625")  # type: ignore[union-attr]
    data["pieces"][0]["parts"][0]["thickness_mm"] = {"amount": "18", "unit": "gauge"}
    assert any("thickness_mm" in fault for fault in faults_of(data))


@pytest.mark.parametrize(
    "text", ["", "{", '{"format": "tinwright book", "format": "x"}', '{"a": NaN}', "[" * 100_000, "null", "[]"]
)
def test_what_is_not_a_book_is_refused_in_words(text: str) -> None:
    with pytest.raises(BookError):
        parse_book(text)


def test_a_what_if_is_a_second_book_and_leaves_the_first_alone() -> None:
    book = demo_book()
    before = edition(book)
    dearer = tuple(dataclasses.replace(q, amount=q.amount * 2) if q.element == "Sn" else q for q in book.quotations)
    second = replace(book, quotations=dearer)
    assert edition(book) == before != edition(second)
    one, other = price_everything(book), price_everything(second)
    for key, sheet in one.costs.items():
        assert other.costs[key].works_cost >= sheet.works_cost
    assert sum(other.costs[k].works_cost > one.costs[k].works_cost for k in one.costs) > 850
    with pytest.raises(BookError):
        replace(book, currency="QQQ")


def test_pricing_the_same_book_twice_gives_the_same_and_an_empty_change_changes_nothing() -> None:
    book = demo_book()
    one, other = price_everything(book), price_everything(replace(book))
    assert one.prices == other.prices


def demo_data() -> dict[str, Any]:
    """The demo book as JSON data, to plant faults in."""
    data: dict[str, Any] = json.loads((WORKSHOP / "book.json").read_text(encoding="utf-8"))
    return data


def test_a_fault_in_the_books_own_fields_hides_none_in_its_records() -> None:
    data = demo_data()
    data["date"], data["dust_share"] = "2025-13-01", "5"
    data["pieces"][1]["family"] = "Tankrads"
    data["pieces"][2]["made"] = []
    found = faults_of(data)
    assert len(found) == 4
    assert [fault.split(":")[0] for fault in found] == [
        "book, date", "book, dust_share", "pieces TK102, family", "pieces TK103, made",
    ]  # fmt: skip


def test_a_fault_in_one_piece_hides_none_that_working_another_shows() -> None:
    data = demo_data()
    data["pieces"][0]["family"] = "Tankrads"
    data["pieces"][1]["parts"][0]["finished_g"] = "900"
    data["rules"].append({**data["rules"][0], "name": "again"})
    found = faults_of(data)
    assert len(found) == 3
    assert "pieces TK102, part body, finished_g" in found[1]
    assert "rules again, since" in found[2]


def test_a_record_with_an_unreadable_figure_is_still_looked_up_and_still_counts_as_there() -> None:
    data = demo_data()
    data["pieces"][0]["operations"][0]["minutes"] = "-4"
    data["pieces"][0]["parts"][0]["form"] = "cut disk"
    data["pieces"].append(copy.deepcopy(data["pieces"][0]))
    found = "\n".join(faults_of(data))
    assert "pieces TK101, operations[0].minutes: found '-4'" in found
    assert 'pieces TK101, parts[0].form: found "cut disk"' in found
    assert "pieces TK101, number: found a second record" in found


def test_one_missing_name_is_told_in_its_first_places_and_then_counted() -> None:
    """Retail is used in nine hundred places; renamed, it is told five times and counted once, and hides nothing."""
    data = demo_data()
    data["channels"][0]["name"] = "shop"
    data["pieces"][5]["parts"][0]["form"] = "cut disk"
    found = faults_of(data)
    assert len(found) == 7
    assert sum('found "retail"; allowed' in fault for fault in found) == 5
    assert sum('found "retail" in ' in fault and "more places" in fault for fault in found) == 1
    assert any('"cut disk"' in fault for fault in found)


def test_a_collection_that_is_not_there_is_one_fault() -> None:
    data = demo_data()
    del data["currencies"]
    data["stages"] = "twelve"
    assert faults_of(data) == [
        "book, currencies: found nothing; allowed is a value: the field must be given",
        "book, stages: found 'twelve'; allowed is a list",
    ]
