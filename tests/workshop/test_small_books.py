"""Two small books: dollars with inches, gauges, ounces and sales tax on top; yen, which has no smaller unit.

Expected figures are worked with a pencil from the books' own inputs. Units by definition (1 in = 25.4 mm, 1 lb = 16 oz
= 453.59237 g); 18 by Brown & Sharpe is 1.0237 mm by the formula of ASTM B258, 16 by SWG 1.6256 mm.
"""

from __future__ import annotations

import datetime
from decimal import Decimal as D
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from pricing.book_file import parse_book, read_book, write_book
from pricing.cost import CostSheet
from pricing.errors import BookError
from pricing.piece import SpunPart
from pricing.price import PricedBook, price_everything
from pricing.price_list import PriceList, Request, make_price_list, quote_of
from pricing.quote import work_quote
from pricing.quote_types import WorkedQuote
from pricing.records import parse_json, read_record

SMALL = Path(__file__).parents[2] / "fixtures" / "small"


@cache
def text(name: str) -> str:
    return (SMALL / f"{name}.json").read_text(encoding="utf-8")


@cache
def priced(name: str) -> PricedBook:
    return price_everything(parse_book(text(name)))


@cache
def listed(name: str) -> PriceList:
    return make_price_list(priced(name), "2026", datetime.date(2026, 1, 5), datetime.date(2026, 12, 31))


def worked(name: str, **asked: Any) -> WorkedQuote:
    data = {"list_number": "2026", "date": "2026-03-02", **asked}
    return work_quote(quote_of(listed(name), read_record(Request, data, "quote")))


def branches(sheet: CostSheet, places: str) -> dict[str, D]:
    names = ("metal", "labour", "consumables", "overhead", "packing")
    return {name: sheet.branch(name).quantize(D(places)) for name in names}


@pytest.mark.parametrize("name", ["usd", "jpy"])
def test_a_small_book_reads_and_writes_itself_back(name: str) -> None:
    book = parse_book(text(name))
    assert parse_book(write_book(book)) == book


def test_inches_ounces_and_gauges_are_kept_in_mm_and_g() -> None:
    cup, plate = (priced("usd").book.piece_by_number[number].parts[0] for number in ("C8", "P10"))
    assert isinstance(cup, SpunPart)
    assert isinstance(plate, SpunPart)
    assert (cup.thickness_mm, cup.diameter_mm) == (D("1.0237"), D("158.75"))
    assert cup.finished_g == D("4.85") * D("453.59237") / 16
    assert plate.thickness_mm == D("1.6256")
    assert priced("usd").book.piece_by_number["C8"].brim_ml == D("8.4") * D("29.5735295625")


def test_a_bare_gauge_number_is_refused() -> None:
    data = parse_json(text("usd"), "book")
    data["pieces"][0]["parts"][0]["thickness_mm"] = {"amount": "18", "unit": "gauge"}
    with pytest.raises(BookError, match="pieces C8"):
        read_book(data)


def test_a_cup_in_inches_costs_what_a_pencil_finds() -> None:
    """Tin: mean of 15.42, 15.08 and 15.20 a lb; 26 blanks of 6¼ in from a sheet of 24 × 48 in; 98 of 100 spun are good."""
    tin = (D("15.42") + D("15.08") + D("15.20")) / 3 / D("0.45359237")
    antimony, copper = D(22400) / D("907.18474"), D("4.60") / D("0.45359237")
    alloy = D("0.92") * tin + D("0.06") * antimony + D("0.02") * copper
    density = 1 / (D("0.92") / D("7.287") + D("0.06") / D("6.68") + D("0.02") / D("8.96"))
    disc = D("3.14159265358979323846") * D("158.75") ** 2 / 4
    blank = density * D("1.0237") * disc / 1_000_000
    drawn = blank * (D("1219.2") * D("609.6")) / (26 * disc)
    finished = D("4.85") * D("453.59237") / 16_000
    trimmings = blank - finished * D("1.012")
    entering = 1 / D("0.98")
    sheet_price = alloy * D("1.04") + D("8.80")
    back = alloy * D("0.85") - D("0.80")
    metal = entering * (drawn * sheet_price - (drawn - blank + trimmings) * back)
    metal -= entering * D("0.02") * finished * (alloy * D("0.7") - D("0.80"))
    minutes = {"21": D("0.6") * entering, "27.5": D("4.2") * entering + D(15) / 24, "23": D(4), "20": D("1.5")}
    labour = sum(D(wage) * D("1.18") * time / 60 for wage, time in minutes.items())
    overhead = sum(minutes.values()) / 60 * 15 + labour * D("0.12")
    sheet = priced("usd").costs["C8", "satin"]
    assert branches(sheet, "0.0001") == {
        "metal": metal.quantize(D("0.0001")),
        "labour": labour.quantize(D("0.0001")),
        "consumables": (D("0.45") * entering).quantize(D("0.0001")),
        "overhead": overhead.quantize(D("0.0001")),
        "packing": D("0.8500"),
    }
    whole = metal + labour + D("0.45") * entering + overhead + D("0.85")
    assert sheet.works_cost == whole.quantize(D("0.0001"))


def test_wholesale_is_cost_and_a_half_and_the_shop_doubles_it() -> None:
    """17.1968 × 1.5 = 25.80 → 26.00, the next quarter up; × 2 = 52.00 → 51.95; from six 5 % less, from 24 cups 10 %."""
    book = priced("usd")
    assert book.costs["C8", "satin"].works_cost == D("17.1968")
    assert book.price("wholesale", "C8", "satin").amount == D("26.00")
    assert [book.price("shop", "C8", "satin", quantity).amount for quantity in (1, 6, 24)] == [
        D("51.95"),
        D("49.35"),
        D("46.76"),
    ]


def test_a_break_that_is_costed_again_spreads_the_set_up_over_the_larger_batch() -> None:
    """15 minutes of setting up over 48 cups instead of 24: 0.3125 min less at 32.45 and 15 an hour, and 12 % of labour."""
    book = priced("usd")
    saved = D("0.3125") / 60 * (D("32.45") * D("1.12") + 15)
    single, many = (book.price("wholesale", "C8", "satin", quantity) for quantity in (1, 48))
    assert abs(single.cost - many.cost - saved) <= D("0.0001")
    assert many.amount == D("25.50")


def test_sales_tax_goes_on_top_once() -> None:
    """Three at 51.95 = 155.85, engraved with four letters each 3 × 4 × 0.95 = 11.40: 167.25; 6.875 % is 11.498, so 11.50."""
    quote = worked(
        "usd",
        channel="shop",
        lines=[
            {
                "piece": "C8",
                "finish": "satin",
                "quantity": 3,
                "extras": [{"name": "engraving, by the letter", "count": 4}],
            }
        ],
    )
    assert (quote.net, quote.tax, quote.total) == (D("167.25"), D("11.50"), D("178.75"))


def test_two_dozen_assorted_cups_take_the_break_of_their_family() -> None:
    """14 cups of 8 and 10 of 12 fl oz together: 14 × 46.76 + 10 × 67.46 = 1,329.24."""
    quote = worked(
        "usd",
        channel="shop",
        lines=[
            {"piece": "C8", "finish": "satin", "quantity": 14},
            {"piece": "C12", "finish": "satin", "quantity": 10},
        ],
    )
    assert quote.net == D("1329.24")


def test_a_yen_cup_costs_what_a_pencil_finds() -> None:
    """Alloy 0.98 × 5380 + 0.02 × 182,000 = 8,912.40; melted 142 / 0.75 / 0.98 g at 9,112.40 = 1,760.49; gates 47.33 g at
    8,376.78 = 396.50; labour 4.5 min at 2,530 and 9 at 2,415 = 552; overhead 13.5 min at 1,850 = 416.25; packing 240.
    """
    sheet = priced("jpy").costs["J60", "hammered"]
    assert branches(sheet, "0.01") == {
        "metal": D("1363.99"),
        "labour": D("552.00"),
        "consumables": D("0.00"),
        "overhead": D("416.25"),
        "packing": D("240.00"),
    }
    assert sheet.works_cost == D("2572.24")


def test_yen_prices_are_whole_and_tax_is_within() -> None:
    """2,572.24 / 0.5 × 1.1 = 5,658.93 → 5,700; a dealer's 30 and 5 % off 5,181.82 = 3,445.91 → 3,446; of three at
    5,700 = 17,100 the tax within is 1,554.55, so 1,555.
    """
    book = priced("jpy")
    assert book.price("shop", "J60", "hammered").amount == D(5700)
    assert book.price("dealer", "J60", "hammered").amount == D(3446)
    quote = worked("jpy", channel="shop", lines=[{"piece": "J60", "finish": "hammered", "quantity": 3}])
    assert (quote.net, quote.tax, quote.total) == (D(15545), D(1555), D(17100))
