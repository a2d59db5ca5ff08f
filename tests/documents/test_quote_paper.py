"""A quote as a file: it adds up with a pencil, in both tax modes and languages, and reads nothing but its fonts."""

from __future__ import annotations

import io
import random
import re
from decimal import Decimal
from itertools import pairwise
from typing import Any

import pikepdf
import pypdf
import pytest

from pricing.price_list import quote_of
from pricing.quote import work_quote
from server.documents.quote import QuotePaper, QuoteWriter, render_quote
from server.documents.render import OwnFontsOnly, html_of

from .papers import demo_list, quote, request

DEALER = {"channel": "dealer A", "order_discount": None}


def words(pdf: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages).split())


def page_words(pdf: bytes) -> list[str]:
    return [" ".join(page.extract_text().split()) for page in pypdf.PdfReader(io.BytesIO(pdf)).pages]


def writer(language: str = "en-GB", **more: Any) -> QuoteWriter:
    return QuoteWriter(QuotePaper(demo_list(), request(**more), "Q00042", False, "TAB-7", language))


def figure(text: str) -> Decimal:
    """A figure as English papers print it, without its currency."""
    return Decimal(text.replace(",", "").replace("£", ""))


def test_a_retail_quote_prints_every_figure_that_adds_up_to_its_total() -> None:
    text = words(quote())
    worked = work_quote(quote_of(demo_list(), request()))
    assert worked.lines[0].line_net == (Decimal("97.00") + Decimal("7.20")) * 6
    goods = sum(line.line_net for line in worked.lines)
    assert goods - worked.order_discount + worked.carriage == worked.total
    for amount in (
        *(line.line_net for line in worked.lines),
        worked.goods,
        worked.order_discount,
        worked.carriage,
        worked.tax,
    ):
        assert f"{amount:,.2f}" in text
    assert f"£{worked.total:,.2f}" in text
    for said in ("Q00042", "TAB-7", "Mrs Example", "All prices include tax.", "Quoted from list 2026", "1 July 2026"):
        assert said in text


def test_how_a_lines_price_came_about_is_told_step_by_step() -> None:
    text = words(quote())
    assert "engraving, by the letter: 12 × 0.60 = 7.20 each" in text
    assert "97.00 + 7.20 = 104.20" in text
    assert "62.00 less 5% = 58.90" in text
    assert "Order discount, 5% of 699.80 -34.99" in text, "engraving takes no discount: 743.00 - 43.20 does"


def test_an_extra_once_for_the_line_and_a_second_are_told() -> None:
    text = words(
        quote(
            lines=[
                {
                    "piece": "TK102", "finish": "satin", "quantity": 2, "second": True, "note": "Lid a little loose.",
                    "extras": [{"name": "gift box", "count": 1, "per": "line"}],
                }
            ],
            order_discount=None, carriage=False,
        )
    )  # fmt: skip
    share = demo_list().channel("retail").terms.seconds_share
    assert share
    kept = (97 * (1 - share)).quantize(Decimal("0.01"))
    assert f"97.00 second, {share * 100:.0f}% off = {kept}" in text
    assert "gift box: 4.50 once" in text
    assert f"{kept * 2 + Decimal('4.50')}" in text
    assert "Lid a little loose." in text


def test_quantities_name_their_unit() -> None:
    more = {"lines": [{"piece": "CS101", "finish": "satin", "quantity": n} for n in (1, 2)], **DEALER}
    assert [line["quantity"] for line in writer(**more)._carried([*writer(**more)._lines()])] == ["1 pair", "2 pairs"]
    assert "2 Paar" in words(quote("de-DE", **more))


def test_a_dealers_quote_in_german_adds_tax_at_the_end() -> None:
    lines = [{"piece": "TK102", "finish": "satin", "quantity": 10}]
    text = words(quote("de-DE", lines=lines, **DEALER))
    for said in (
        "442,50", "VAT standard, 20 % auf 442,50 88,50", "531,00 £", "Preise ohne Steuer", "Krug, ein Pint", "satiniert",
        "10 Stück", "Frachtfrei 0,00", "2,5 % Skonto bei Zahlung binnen 10 Tagen", "240 °C",
    ):  # fmt: skip
        assert said in text, said


@pytest.mark.parametrize("basis", ["payment", "deposit"])
def test_part_exchange_and_deposit_come_after_the_total(basis: str) -> None:
    more: dict[str, Any] = {"old_metal_g": "850"} if basis == "payment" else {"deposit_share": "0.3"}
    worked = work_quote(quote_of(demo_list(), request(**more)))
    text = words(quote(**more))
    if basis == "payment":
        assert worked.part_exchange > 0
        assert f"Old metal in part exchange, 850 g -{worked.part_exchange}" in text
        assert f"To pay £{worked.payable}" in text
        assert "Old metal may hold lead: it never goes into the pot for new ware." in text
    else:
        assert f"Deposit, 30% {worked.deposit} Balance {worked.balance}" in text


def _random_request(seed: int) -> dict[str, Any]:
    chosen = random.Random(seed)
    channel = chosen.choice(("retail", "dealer A", "export"))
    entries = chosen.sample(demo_list().entries, chosen.randint(1, 70))
    finishes = {
        entry.number: [f.finish for f in entry.finishes if any(p.channel == channel for p in f.prices)]
        for entry in entries
    }
    lines = [
        {
            "piece": entry.number, "finish": chosen.choice(finishes[entry.number]), "quantity": chosen.randint(1, 40),
            "discounts": chosen.choice(([], ["0.025"], ["0.05", "0.025"])),
        }
        for entry in entries
        if finishes[entry.number]
    ]  # fmt: skip
    return {
        "channel": channel, "lines": lines, "carriage": True,
        "order_discount": chosen.choice((None, {"share": "0.035"})),
        "old_metal_g": chosen.choice((None, "412")) if channel == "retail" else None,
        "first_order": channel == "dealer A" and chosen.random() < 0.5,
    }  # fmt: skip


@pytest.mark.parametrize("seed", range(60))
def test_any_quote_adds_up_with_a_pencil(seed: int) -> None:
    """The figures a reader sees, and no others, are added: lines to goods, goods to total, tax and what is to pay."""
    paper = writer(**_random_request(seed))
    lines = [*paper._lines(), *paper._services()]
    totals = [(total["name"], total["amount"]) for total in paper._totals()]
    for line, _ in lines:
        quantity = int(line["quantity"].split()[0].replace(",", ""))
        assert figure(line["each"].replace("€", "")) * quantity == figure(line["amount"])
        for said in line["said"]:
            steps = re.fullmatch(r"([\d,.]+) ((?:less [\d.]+% ?)+)= ([\d,.]+)", said)
            assert steps, said
            price = figure(steps[1])
            for share in re.findall(r"less ([\d.]+)%", steps[2]):
                price *= 1 - Decimal(share) / 100
            assert abs(price - figure(steps[3])) <= Decimal("0.005")
    amounts = [(name, figure(text.replace("€", ""))) for name, text in totals]
    goods = amounts[0][1]
    assert goods == sum(figure(line["amount"]) for line, _ in lines)
    assert [line["carried"] for line in paper._carried(lines)][-1].endswith(totals[0][1])
    place = next(p for p, (name, _) in enumerate(amounts) if name.startswith("Total"))
    added = [amount for name, amount in amounts[:place] if name != "Net"]
    assert sum(added) == amounts[place][1]
    if not paper.worked.tax_included:
        net = next(p for p, (name, _) in enumerate(amounts) if name == "Net")
        assert sum(amount for _, amount in amounts[:net]) == amounts[net][1]
    paid = dict(amounts[place + 1 :])
    if "To pay" in paid:
        metal = next(amount for name, amount in amounts if name.startswith("Old metal"))
        assert amounts[place][1] + metal == paid["To pay"]


def test_a_long_quote_goes_over_pages_with_its_head_repeated_and_sums_carried_forward() -> None:
    lines = [{"piece": entry.number, "finish": "satin", "quantity": 2} for entry in demo_list().entries[:60]]
    texts = page_words(quote(lines=lines, order_discount=None))
    assert len(texts) == 3
    assert all("Quantity" in text for text in texts)
    assert "Brought forward" not in texts[0]
    assert "Carried forward" not in texts[-1]
    before = Decimal(0)
    for text, after in pairwise(texts):
        carried = re.search(r"Carried forward ([\d,.]+)", text)
        brought = re.search(r"Brought forward ([\d,.]+)", after)
        assert carried
        assert brought
        assert carried[1] == brought[1]
        amounts = re.findall(r" 2 [\d,.]+ ([\d,.]+)(?= |$)", text)
        assert figure(carried[1]) - before == sum(figure(amount) for amount in amounts)
        before = figure(carried[1])


def test_a_quote_whose_totals_alone_go_over_brings_the_goods_forward() -> None:
    found = False
    for count in range(19, 26):
        lines = [{"piece": entry.number, "finish": "satin", "quantity": 1} for entry in demo_list().entries[:count]]
        texts = page_words(quote(lines=lines, order_discount=None))
        if len(texts) == 2 and "Quantity" not in texts[1]:
            found = True
            goods = re.search(r"Goods ([\d,.]+)", texts[1])
            assert goods
            assert f"Carried forward {goods[1]}" in texts[0]
            assert f"Brought forward {goods[1]}" in texts[1]
    assert found


def test_a_quote_that_waits_to_be_sent_says_that_its_number_will_change() -> None:
    paper = QuotePaper(demo_list(), request(), "TAB-7", True, "", "en-GB")
    assert paper.number in words(render_quote(paper))
    assert QuoteWriter(paper).html().count("number until sent") == 1
    assert "number until sent" in words(render_quote(paper))


def test_the_same_quote_is_the_same_file() -> None:
    assert quote() == quote()


@pytest.mark.parametrize("language", ["en-GB", "de-DE"])
def test_the_file_is_tagged_in_its_language_with_its_title_and_its_own_date(language: str) -> None:
    with pikepdf.open(io.BytesIO(quote(language))) as pdf:
        assert str(pdf.Root.Lang) == language
        assert bool(pdf.Root.MarkInfo.Marked)
        assert "Q00042" in str(pdf.docinfo["/Title"])
        assert str(pdf.docinfo["/Edition"]) == demo_list().edition
        assert str(pdf.docinfo["/CreationDate"]).startswith("D:20260601")
        assert demo_list().edition[:12] not in words(quote(language))


@pytest.mark.parametrize(
    "address", ["file:///etc/passwd", "http://127.0.0.1/x", "own:../render.py", "own:none.woff2", "data:,x"]
)
def test_the_renderer_reads_nothing_but_its_own_fonts(address: str) -> None:
    with pytest.raises(ValueError, match="own fonts"):
        OwnFontsOnly().fetch(address)


def test_a_users_text_is_only_ever_text() -> None:
    evil = '"><img src="file:///etc/hostname"><style>*{display:none}</style>{{ 7*7 }}'
    lines = [{"piece": "TK102", "finish": "satin", "quantity": 1, "note": evil}]
    more = {"customer": evil, "note": evil, "lines": lines}
    html = QuoteWriter(QuotePaper(demo_list(), request(**more), evil, False, evil, "en-GB")).html()
    assert "<img" not in html
    assert "<style" not in html
    assert not [text for text in re.findall(r'="([^"]*)"', html) if "hostname" in text]
    pdf = render_quote(QuotePaper(demo_list(), request(**more), evil, False, evil, "en-GB"))
    assert "".join(words(pdf).split()).count("file:///etc/hostname") >= 4
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        assert all(not page.Resources.get("/XObject", {}) for page in opened.pages)


def test_a_template_with_a_name_that_is_not_there_is_an_error() -> None:
    with pytest.raises(Exception, match="undefined"):
        html_of("quote.html")
