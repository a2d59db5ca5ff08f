"""A price list: what is printed and nothing of how it came about; read back equal; the bridge to a quote names what is missing."""

from __future__ import annotations

import datetime
import json
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal as D
from typing import Any

import pytest

from pricing.amounts import plain
from pricing.book_file import edition
from pricing.errors import PricingError
from pricing.price_list import (
    PriceList,
    Request,
    digest,
    for_channels,
    list_data,
    make_price_list,
    parse_list,
    quote_of,
)
from pricing.quote import work_quote
from pricing.quote_types import Quote
from pricing.records import read_record
from tests.demo_book import demo_priced
from tests.pricing.price_book import priced

FROM, TO = datetime.date(2026, 4, 1), datetime.date(2027, 3, 31)
TRADE_TERMS = {
    "carriage": [{"start": "0", "end": "350", "amount": "14.00"}, {"start": "350", "amount": "0"}],
    "payment_days": 30,
    "least_first_order": "500",
    "least_further_order": "150",
    "small_order_charge": "9.50",
}
AGREED = {
    "dealer": "Fenny Lane Gifts", "channel": "dealer", "piece": "A", "finish": "satin", "amount": "40",
    "since": "2026-01-01", "until": "2026-06-30",
}  # fmt: skip
CASE: dict[str, Any] = {
    "costs": {"A": {"satin": "31.0917", "bright": "33"}, "Z": "7", "B": "20"},
    "pieces": {"A": {"family": "plates", "pack_quantity": 6, "dimensions": "d 25 cm", "old_numbers": ["17"]}, "Z": {"lead_days": 21}},
    "channels": {
        "dealer": {"breaks": [{"quantity": 12}, {"quantity": 24, "share": "0.05", "over_family": True}], "terms": TRADE_TERMS},
        "shop": {"terms": {"seconds_share": "0.3", "part_exchange_per_kg": "12"}},
    },
    "rules": [{"method": {"kind": "by margin", "margin": "0.3171"}}, {"channel": "shop"}],
    "was": {"dealer A satin": "44"},
    "book": {
        "agreed_prices": [AGREED],
        "extras": [
            {"name": "letters", "channel": "shop", "basis": "letter", "amount": "0.60"},
            {"name": "polish", "channel": "shop", "basis": "minute", "amount": "0.95", "service": True},
        ],
    },
}  # fmt: skip


def listed(**changes: Any) -> PriceList:
    return make_price_list(priced(**CASE, **changes), "2026", FROM, TO)


def demo_list() -> PriceList:
    return make_price_list(demo_priced(), "2026", FROM, TO)


def values(data: Any) -> Iterator[tuple[str, Any]]:
    """Every name and single value of JSON data."""
    if isinstance(data, dict):
        for name, value in data.items():
            yield from ((name, value),) if not isinstance(value, dict | list) else ((name, None), *values(value))
    elif isinstance(data, list):
        for item in data:
            yield from values(item) if isinstance(item, dict | list) else (("", item),)


def test_no_works_cost_margin_minute_or_rule_is_in_a_list() -> None:
    """The figures themselves, in a small book where they are like no other, and the works costs of the whole demo."""
    text = json.dumps(list_data(listed()))
    assert not [figure for figure in ("31.0917", "0.3171", "rule 1") if figure in text]
    found = list(values(list_data(demo_list())))
    costs = {plain(sheet.works_cost) for sheet in demo_priced().costs.values()}
    costs = {cost for cost in costs if len(cost.partition(".")[2]) > 2}
    assert len(costs) > 800
    assert not costs & {value for _, value in found if isinstance(value, str)}
    hidden = {
        "cost",
        "works_cost",
        "margin",
        "floor",
        "floor_margin",
        "minutes",
        "rule",
        "steps",
        "checks",
        "selling_costs",
    }
    assert not hidden & {name for name, _ in found}


def test_a_list_reads_back_equal_and_keeps_its_digest() -> None:
    for made in (listed(), demo_list()):
        again = parse_list(json.dumps(list_data(made)))
        assert again == made
        assert digest(again) == digest(made)


def test_the_digest_is_of_what_is_said_not_of_how_and_moves_with_every_price() -> None:
    made = listed()
    data = list_data(made)
    data["entries"][0]["finishes"][0]["prices"][0]["offers"][0]["amount"] = "11.250"
    other = parse_list(json.dumps(data))
    data["entries"][0]["finishes"][0]["prices"][0]["offers"][0]["amount"] = "11.25"
    assert digest(other) == digest(parse_list(json.dumps(data)))
    data["entries"][0]["finishes"][0]["prices"][0]["offers"][0]["amount"] = "11.26"
    assert len({digest(made), digest(other), digest(parse_list(json.dumps(data)))}) == 3


@pytest.mark.parametrize(
    ("change", "place"),
    [({"format": "a list"}, ("list", "format")), ({"number": ""}, ("list", "number")), ({"until": "soon"}, ("list", "until")),
     ({"works_cost": "31"}, ("list", "works_cost"))],
)  # fmt: skip
def test_what_is_no_list_is_refused_by_name(change: dict[str, Any], place: tuple[str, str]) -> None:
    with pytest.raises(PricingError) as refusal:
        parse_list(json.dumps({**list_data(listed()), **change}))
    assert [(fault.record, fault.field) for fault in refusal.value.faults] == [place]


def test_pieces_stand_in_the_order_of_their_families_with_what_a_dealer_orders_by() -> None:
    made = listed()
    assert [entry.number for entry in made.entries] == ["Z", "B", "A"]
    entry = made.entries[-1]
    assert (entry.family, entry.pack_quantity, entry.dimensions, entry.old_numbers) == ("plates", 6, "d 25 cm", ("17",))
    assert made.entries[0].lead_days == 21
    assert made.edition == edition(priced(**CASE).book)


def test_every_price_of_the_book_is_printed_at_its_break() -> None:
    found, made = priced(**CASE), listed()
    offers = {
        (prices.channel, entry.number, finish.finish, offer.quantity): offer.amount
        for entry in made.entries
        for finish in entry.finishes
        for prices in finish.prices
        for offer in prices.offers
    }
    assert offers == {(p.channel, p.piece, p.finish, p.quantity): p.amount for p in found.prices}
    satin = made.entries[-1].finishes[0]
    assert [(offer.quantity, offer.over_family) for offer in satin.prices[0].offers] == [
        (1, False),
        (12, False),
        (24, True),
    ]
    assert [prices.was for prices in satin.prices] == [D("44"), None]


def test_a_piece_without_a_price_in_any_class_is_left_out() -> None:
    case = CASE | {"rules": [{"piece": "A"}], "book": {}}
    made = make_price_list(priced(**case), "2026", FROM, TO)
    assert [entry.number for entry in made.entries] == ["A"]
    assert [prices.channel for prices in made.entries[0].finishes[0].prices] == ["dealer"]


def test_a_role_sees_some_classes_and_no_agreement_unless_said() -> None:
    shop = for_channels(listed(), ["shop"])
    assert [channel.name for channel in shop.channels] == ["shop"]
    assert {prices.channel for entry in shop.entries for finish in entry.finishes for prices in finish.prices} == {
        "shop"
    }
    assert {extra.channel for extra in shop.extras} == {"shop"}
    assert "dealer" not in json.dumps(list_data(shop))
    assert for_channels(listed(), ["dealer"]).agreed == ()
    assert [item.amount for item in for_channels(listed(), ["dealer"], agreed=True).agreed] == [D(40)]


@pytest.mark.parametrize(
    ("until", "channels", "code"), [(FROM - datetime.timedelta(days=1), None, "dates"), (TO, ["market"], "channel")]
)
def test_a_list_that_cannot_be_is_refused(until: datetime.date, channels: list[str] | None, code: str) -> None:
    with pytest.raises(PricingError) as refusal:
        make_price_list(priced(**CASE), "2026", FROM, until, channels)
    assert refusal.value.code == code


def asked(channel: str = "dealer", line: dict[str, Any] | None = None, **more: Any) -> Quote:
    """The arithmetic's input for one line, A in satin unless said."""
    lines = [{"piece": "A", "finish": "satin", "quantity": 6, **(line or {})}]
    data = {"list_number": "2026", "channel": channel, "date": "2026-05-01", "lines": lines, **more}
    return quote_of(listed(), read_record(Request, data, "quote"))


@pytest.mark.parametrize(("quantity", "place"), [(6, 0), (12, 1), (24, 2), (500, 2)])
def test_a_quote_takes_the_lists_price_at_its_break(quantity: int, place: int) -> None:
    single = asked(line={"quantity": quantity})
    offers = listed().entries[-1].finishes[0].prices[0].offers
    assert [(price.quantity, price.price) for price in single.lines[0].prices] == [
        (o.quantity, o.amount) for o in offers
    ]
    assert work_quote(single).lines[0].unit_price == offers[place].amount


@pytest.mark.parametrize(
    ("dealer", "day", "amount"),
    [
        ("Fenny Lane Gifts", "2026-06-30", "40"),
        ("Fenny Lane Gifts", "2026-07-01", None),
        ("Old Ford Stores", "2026-06-30", None),
    ],
)
def test_an_agreed_price_comes_before_the_list_for_its_dealer_and_days(
    dealer: str, day: str, amount: str | None
) -> None:
    prices = asked(dealer=dealer, date=day).lines[0].prices
    single = listed().entries[-1].finishes[0].prices[0].offers[0].amount
    assert prices[0].price == (single if amount is None else D(amount))


@pytest.mark.parametrize(
    ("channel", "line", "more", "code", "field"),
    [
        ("dealer", {"piece": "Q"}, {}, "piece", "lines[0].piece"),
        ("dealer", {"finish": "dull"}, {}, "finish", "lines[0].finish"),
        ("market", {}, {}, "channel", "channels"),
        ("dealer", {"second": True}, {}, "second", "lines[0].second"),
        ("dealer", {"extras": [{"name": "letters"}]}, {}, "extra", "lines[0].extras"),
        ("shop", {"extras": [{"name": "polish"}]}, {}, "extra", "lines[0].extras"),
        ("shop", {}, {"services": [{"name": "letters"}]}, "service", "services"),
        ("shop", {}, {"carriage": True}, "carriage", "carriage"),
        ("dealer", {}, {"old_metal_g": "500"}, "part exchange", "old_metal_g"),
        ("dealer", {}, {"list_number": "2025"}, "list", "list_number"),
    ],
)
def test_what_the_list_does_not_have_is_named(
    channel: str, line: dict[str, Any], more: dict[str, Any], code: str, field: str
) -> None:
    with pytest.raises(PricingError) as refusal:
        asked(channel, line, **more)
    assert (refusal.value.code, refusal.value.fault.field) == (code, field)
    assert refusal.value.fault.allowed


def test_terms_of_the_list_go_into_the_quote() -> None:
    first, further = asked(first_order=True, carriage=True), asked()
    assert first.small_order is not None
    assert further.small_order is not None
    assert (first.small_order.least, further.small_order.least) == (D(500), D(150))
    assert first.carriage is not None
    assert [band.amount for band in first.carriage.bands] == [D("14.00"), D(0)]
    shop = asked("shop", {"second": True, "extras": [{"name": "letters", "count": 7}]}, old_metal_g="500")
    assert (shop.lines[0].second, shop.lines[0].extras[0].amount) == (D("0.3"), D("0.60"))
    assert shop.old_metal is not None
    assert shop.old_metal.per_kg == D(12)
    assert (shop.tax_inclusive, first.tax_inclusive) == (True, False)


def test_a_piece_priced_in_one_class_is_refused_in_another() -> None:
    made = listed()
    entry = made.entries[-1]
    finishes = tuple(replace(finish, prices=finish.prices[:1]) for finish in entry.finishes)
    made = replace(made, entries=(*made.entries[:-1], replace(entry, finishes=finishes)))
    data = {
        "list_number": "2026",
        "channel": "shop",
        "date": "2026-05-01",
        "lines": [{"piece": "A", "finish": "satin", "quantity": 1}],
    }
    with pytest.raises(PricingError, match='no price in "shop"'):
        quote_of(made, read_record(Request, data, "quote"))
