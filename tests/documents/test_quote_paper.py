"""A quote as a file: it adds up with a pencil, in both tax modes and languages, and reads nothing but its fonts."""

from __future__ import annotations

import io
from decimal import Decimal

import pikepdf
import pypdf
import pytest

from pricing.price_list import quote_of
from pricing.quote import work_quote
from server.documents.render import OwnFontsOnly, html_of
from server.documents.texts import LANGUAGES, SOURCE, catalogue, translator

from .papers import demo_list, quote, request


def words(pdf: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages).split())


def test_a_retail_quote_prints_every_figure_that_adds_up_to_its_total() -> None:
    text = words(quote())
    worked = work_quote(quote_of(demo_list(), request()))
    assert worked.lines[0].line_net == (Decimal("97.00") + Decimal("7.20")) * 6
    goods = sum(line.line_net for line in worked.lines)
    assert goods - worked.order_discount + worked.carriage == worked.total
    for figure in (
        *(line.line_net for line in worked.lines),
        worked.goods,
        worked.order_discount,
        worked.carriage,
        worked.tax,
    ):
        assert f"{figure:,.2f}" in text
    assert f"£{worked.total:,.2f}" in text
    for said in ("Q00042", "TAB-7", "Mrs Example", "All prices include tax.", "Quoted from list 2026", "1 July 2026"):
        assert said in text


def test_a_dealers_quote_in_german_adds_tax_at_the_end() -> None:
    text = words(
        quote(
            "de-DE",
            channel="dealer A",
            lines=[{"piece": "TK102", "finish": "satin", "quantity": 10}],
            order_discount=None,
        )
    )
    for said in ("442,50", "88,50", "531,00 £", "Preise ohne Steuer", "Krug, ein Pint", "satiniert"):
        assert said in text


def test_a_long_quote_goes_over_pages_with_its_head_repeated() -> None:
    lines = [{"piece": entry.number, "finish": "satin", "quantity": 2} for entry in demo_list().entries[:60]]
    reader = pypdf.PdfReader(io.BytesIO(quote(lines=lines, order_discount=None)))
    assert len(reader.pages) >= 3
    assert all("Quantity" in page.extract_text() for page in reader.pages[:2])


def test_the_same_quote_is_the_same_file() -> None:
    assert quote() == quote()


def test_the_file_is_tagged_and_in_its_language() -> None:
    with pikepdf.open(io.BytesIO(quote("de-DE"))) as pdf:
        assert str(pdf.Root.Lang) == "de-DE"
        assert bool(pdf.Root.MarkInfo.Marked)


@pytest.mark.parametrize(
    "address", ["file:///etc/passwd", "http://127.0.0.1/x", "own:../render.py", "own:none.woff2", "data:,x"]
)
def test_the_renderer_reads_nothing_but_its_own_fonts(address: str) -> None:
    with pytest.raises(ValueError, match="own fonts"):
        OwnFontsOnly().fetch(address)


def test_a_template_with_a_name_that_is_not_there_is_an_error() -> None:
    with pytest.raises(Exception, match="undefined"):
        html_of("quote.html")


@pytest.mark.parametrize("language", [language for language in LANGUAGES if language != SOURCE])
def test_no_message_is_without_words_and_figures_stay(language: str) -> None:
    for message, said in catalogue(language).items():
        assert said, message
        assert {part.split("}")[0] for part in message.split("{")[1:]} == {
            part.split("}")[0] for part in said.split("{")[1:]
        }


def test_a_message_without_words_stops_the_paper() -> None:
    with pytest.raises(LookupError, match="no words"):
        translator("de-DE")("nobody translated this")
