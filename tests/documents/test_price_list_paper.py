"""The dealer list as a file: every piece and price, right page numbers, no broken link, tags, language, own fonts."""

from __future__ import annotations

import dataclasses
import io
import re

import pikepdf
import pypdf
import pytest

from server.documents.price_list import ListPaper, render_price_list
from server.documents.strings import Strings

from .papers import dealer_list, demo_drawings, demo_list

LANGUAGES = ("en-GB", "de-DE")


def pages(language: str) -> list[str]:
    return [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(dealer_list(language))).pages]


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_piece_stands_with_its_price_on_the_page_the_index_names(language: str) -> None:
    texts = pages(language)
    strings = Strings(language, "GBP", 2)
    heading = "Index by number" if language == "en-GB" else "Verzeichnis nach Nummer"
    start = max(place for place, text in enumerate(texts) if heading in text)
    index = dict(re.findall(r"\b([A-Z]{2}\d{3})\s+(\d{1,3})\b", " ".join(texts[start:])))
    assert len(index) == len(demo_list().entries)
    for entry in demo_list().entries:
        text = texts[int(index[entry.number]) - 1]
        assert entry.number in text
        for finish in entry.finishes:
            price = next(p for p in finish.prices if p.channel == "dealer A")
            assert strings.figure(price.offers[0].amount) in text, entry.number


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_printed_page_number_is_the_pages_own(language: str) -> None:
    for place, text in enumerate(pages(language)[1:], 2):
        assert re.search(rf"\b{place}\b", text), place


@pytest.mark.parametrize("language", LANGUAGES)
def test_contents_name_the_page_of_each_family(language: str) -> None:
    texts = pages(language)
    for family in demo_list().families:
        name = next(text.text for text in family.names if text.language == language)
        found = re.search(rf"{re.escape(name)}\s+(\d+)", texts[1])
        assert found, name
        assert name in texts[int(found[1]) - 1]


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_link_is_broken_and_the_outline_lists_the_families(language: str) -> None:
    with pikepdf.open(io.BytesIO(dealer_list(language))) as pdf:
        names = {str(name) for name in pikepdf.NameTree(pdf.Root.Names.Dests)}
        links = 0
        for page in pdf.pages:
            for annotation in page.get("/Annots", []):
                if annotation.get("/Subtype") == "/Link" and "/Dest" in annotation:
                    assert str(annotation.Dest) in names
                    links += 1
        assert links > len(demo_list().entries)
        with pdf.open_outline() as outline:
            titles = [item.title for item in outline.root]
    for family in demo_list().families:
        assert next(text.text for text in family.names if text.language == language) in titles


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_file_is_tagged_in_its_language_with_its_own_fonts(language: str) -> None:
    with pikepdf.open(io.BytesIO(dealer_list(language))) as pdf:
        assert str(pdf.Root.Lang) == language
        assert bool(pdf.Root.MarkInfo.Marked)
        assert "/StructTreeRoot" in pdf.Root
        assert demo_list().edition == str(pdf.docinfo["/Edition"])
        assert "2026" in str(pdf.docinfo["/Title"])
        fonts = set()
        for page in pdf.pages:
            for font in page.Resources.get("/Font", {}).values():
                fonts.add(str(font.BaseFont).split("+")[-1])
    assert {"Tin-Sans", "Tin-Serif-Semi-Bold"} <= fonts, fonts


def test_the_list_is_within_two_megabytes_and_says_nothing_of_cost() -> None:
    assert len(dealer_list("en-GB")) < 2_000_000
    text = " ".join(pages("en-GB")).lower()
    for word in ("works cost", "margin", "minutes", demo_list().edition[:12]):
        assert word not in text


def test_what_must_be_said_is_said() -> None:
    text = " ".join(" ".join(pages("en-GB")).split())
    for words in (
        "not binding",
        "Dealers set their own prices",
        "240 °C",
        "touch mark",
        "parts per million",
        "without tax",
    ):
        assert words in text
    assert "lead free" not in text.lower()
    assert "hallmark" not in text.lower()


def test_a_users_text_is_only_ever_text() -> None:
    evil = '<img src="file:///etc/hostname"><style>*{display:none}</style>{{ 7*7 }}'
    entry = demo_list().entries[0]
    names = tuple(dataclasses.replace(text, text=evil) for text in entry.names)
    small = dataclasses.replace(demo_list(), entries=(dataclasses.replace(entry, names=names),))
    pdf = render_price_list(ListPaper(small, "dealer A", "en-GB", demo_drawings()))
    text = "".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages)
    assert "file:///etc/hostname" in "".join(text.split())
    assert "{{7*7}}" in "".join(text.split())
    assert entry.number in text
