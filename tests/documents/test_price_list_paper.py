"""The dealer list as a file: every piece and price, right page numbers, no broken link, tags, language, own fonts."""

from __future__ import annotations

import dataclasses
import datetime
import io
import re
from functools import cache

import pikepdf
import pypdf
import pytest

from pricing.price_list import Entry
from server.documents.drawing import in_a_row
from server.documents.price_list import ListPaper, ListWriter, WrongPages, render_price_list
from server.documents.strings import Strings

from .papers import LIST_PARTS, dealer_list, demo_drawings, demo_list, small_list

LANGUAGES = ("en-GB", "de-DE")


@cache
def pages(language: str) -> tuple[str, ...]:
    """The text of every page in the order it is read, one space between words."""
    reader = pypdf.PdfReader(io.BytesIO(dealer_list(language)))
    return tuple(" ".join(page.extract_text().split()) for page in reader.pages)


def name_of(entry: Entry, language: str) -> str:
    return next(text.text for text in entry.names if text.language == language)


def place_of(heading: str, language: str) -> int:
    return max(place for place, text in enumerate(pages(language)) if text.startswith(heading))


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_piece_stands_with_its_prices_on_the_page_the_index_names(language: str) -> None:
    strings = Strings(language, "GBP", 2)
    start = place_of("Index by number" if language == "en-GB" else "Verzeichnis nach Nummer", language)
    index = " ".join(pages(language)[start:])
    first = next(place for place, text in enumerate(pages(language)) if place > 1 and text.count("TK101") == 1)
    assert first == 2
    for entry in demo_list().entries:
        name = re.escape(name_of(entry, language)).replace(r"\-", r"\- ?")
        found = re.search(rf"\b{entry.number} {name} (\d+)\b", index)
        assert found, entry.number
        text = pages(language)[int(found[1]) - 1]
        item = text[text.index(f"{entry.number} {name_of(entry, language)}") :]
        for finish in entry.finishes:
            price = next(p for p in finish.prices if p.channel == "dealer A")
            suggested = next(p for p in finish.prices if p.channel == "retail")
            row = f"{strings.figure(price.offers[0].amount)} {strings.figure(suggested.offers[0].amount)}"
            assert row in item, (entry.number, row)
            item = item[item.index(row) :]


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_printed_page_number_is_the_pages_own(language: str) -> None:
    for place, text in enumerate(pages(language)[1:], 2):
        assert re.search(rf" {place}$", text), (place, text[-60:])


@pytest.mark.parametrize("language", LANGUAGES)
def test_contents_name_the_page_of_each_family(language: str) -> None:
    for family in demo_list().families:
        name = next(text.text for text in family.names if text.language == language)
        found = re.search(rf"{re.escape(name)} (\d+)", pages(language)[1])
        assert found, name
        assert name in pages(language)[int(found[1]) - 1]


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_cover_says_how_many_pages_there_are(language: str) -> None:
    assert f"{'Pages' if language == 'en-GB' else 'Seiten'} {len(pages(language))}" in pages(language)[0]


def links_of(language: str) -> tuple[dict[str, int], list[str]]:
    """The page each anchor of the finished file is on, and where every link goes."""
    with pikepdf.open(io.BytesIO(dealer_list(language))) as pdf:
        numbers = {page.obj.objgen: place for place, page in enumerate(pdf.pages, 1)}
        goes_to = {str(key): numbers[dest[0].objgen] for key, dest in pikepdf.NameTree(pdf.Root.Names.Dests).items()}
        links = [
            str(annotation.Dest)
            for page in pdf.pages
            for annotation in page.get("/Annots", [])
            if annotation.get("/Subtype") == "/Link"
        ]
    return goes_to, links


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_link_is_broken_and_each_goes_to_the_page_that_is_printed_beside_it(language: str) -> None:
    goes_to, links = links_of(language)
    writer = ListWriter(ListPaper(demo_list(), "dealer A", language, demo_drawings()))
    assert set(links) == set(writer.anchors_in_use) <= set(goes_to)
    for entry in demo_list().entries:
        assert name_of(entry, language) in pages(language)[goes_to[writer.anchors[entry.number]] - 1]


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_outline_has_the_families_and_under_each_its_pieces(language: str) -> None:
    with pikepdf.open(io.BytesIO(dealer_list(language))) as pdf, pdf.open_outline() as outline:
        found = {item.title: [child.title for child in item.children] for item in outline.root}
    for family in demo_list().families:
        name = next(text.text for text in family.names if text.language == language)
        assert found[name] == [entry.number for entry in demo_list().entries if entry.family == family.name]


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_file_is_tagged_in_its_language_with_its_own_fonts_inside(language: str) -> None:
    with pikepdf.open(io.BytesIO(dealer_list(language))) as pdf:
        assert str(pdf.Root.Lang) == language
        assert bool(pdf.Root.MarkInfo.Marked)
        assert "/StructTreeRoot" in pdf.Root
        assert demo_list().edition == str(pdf.docinfo["/Edition"])
        assert "2026" in str(pdf.docinfo["/Title"])
        assert str(pdf.docinfo["/Author"]) == demo_list().workshop
        assert str(pdf.docinfo["/CreationDate"]).startswith("D:20260101")
        fonts = {}
        for page in pdf.pages:
            for font in page.Resources.get("/Font", {}).values():
                descended = font.get("/DescendantFonts", [font])[0]
                fonts[str(font.BaseFont).split("+")[-1]] = "/FontFile3" in descended.FontDescriptor or (
                    "/FontFile2" in descended.FontDescriptor
                )
    assert {name.split("-")[0] + "-" + name.split("-")[1] for name in fonts} == {"Tin-Sans", "Tin-Serif"}, fonts
    assert all(fonts.values())


def test_the_list_is_within_two_megabytes_and_says_nothing_of_cost() -> None:
    assert len(dealer_list("en-GB")) < 2_000_000
    text = " ".join(pages("en-GB")).lower()
    for word in ("works cost", "margin", "minutes", demo_list().edition[:12]):
        assert word not in text


def test_no_price_agreed_with_one_dealer_is_on_a_list_for_all() -> None:
    text = " ".join(pages("en-GB"))
    for agreed in demo_list().agreed:
        assert agreed.dealer not in text


def test_what_must_be_said_is_said() -> None:
    text = " ".join(pages("en-GB"))
    for words in (
        "not binding", "Dealers set their own prices.", "240 °C", "no dishwasher", "touch mark", "parts per million",
        "Limits for lead differ by country and use", "Dealer prices are without tax (VAT standard, 20%).",
        "engraving, by the letter: £0.35 a letter.", "Under £350.00: £14.00.", "Carriage paid from £350.00.",
    ):  # fmt: skip
        assert words in text, words
    assert not re.search(r"lead[- ]free|hallmark", text, re.IGNORECASE)


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_page_in_the_midst_of_a_family_says_which(language: str) -> None:
    texts = pages(language)
    assert texts[3].endswith("4")
    family = next(text.text for text in demo_list().families[0].names if text.language == language)
    assert family in texts[3]
    assert texts[2].count(family) == 1, "a page that begins with its heading has no running head as well"


def test_the_same_list_is_the_same_file() -> None:
    paper = ListPaper(small_list(), "dealer A", "de-DE", demo_drawings())
    assert render_price_list(paper) == render_price_list(paper)


def test_the_page_size_is_a_choice() -> None:
    for size, height in (("A4", 842), ("Letter", 792)):
        pdf = render_price_list(ListPaper(small_list(), "dealer A", "en-GB", demo_drawings(), size))
        reader = pypdf.PdfReader(io.BytesIO(pdf))
        assert {round(float(page.mediabox.height)) for page in reader.pages} == {height}
        assert reader.pages[1].extract_text().startswith("Contents"), "the cover takes one page in every size"


def test_contents_of_more_than_a_page_put_nothing_out_of_place() -> None:
    one = small_list()
    families = tuple(
        dataclasses.replace(one.families[0], name=f"family {number}", names=one.families[0].names)
        for number in range(60)
    )
    entries = tuple(
        dataclasses.replace(one.entries[0], number=f"ZZ{number:03d}", family=f"family {number}") for number in range(60)
    )
    many = dataclasses.replace(one, families=families, entries=entries)
    drawings = dict.fromkeys((entry.number for entry in entries), demo_drawings()["TK102"])
    reader = pypdf.PdfReader(io.BytesIO(render_price_list(ListPaper(many, "dealer A", "en-GB", drawings))))
    assert "Tankards" in reader.pages[2].extract_text()
    for place, page in enumerate(reader.pages[1:], 2):
        assert page.extract_text().split()[-1] == str(place)


def test_a_list_in_another_currency_shows_retail_in_its_own() -> None:
    pdf = render_price_list(ListPaper(small_list(), "export", "en-GB", demo_drawings()))
    text = " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages).split())
    assert "Dealer, EUR without tax" in text
    assert "Suggested retail, GBP with tax, not binding" in text


def test_page_numbers_that_would_be_wrong_stop_the_paper(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("server.documents.price_list.page_of_anchors", _one_too_many())
    with pytest.raises(WrongPages, match="would be wrong"):
        render_price_list(ListPaper(small_list(), "dealer A", "en-GB", demo_drawings()))


def _one_too_many():  # type: ignore[no-untyped-def]
    """The page of each anchor, one too high while parts are laid out and right for the whole."""

    def found(document, before):  # type: ignore[no-untyped-def]
        wrong = 1 if before else 0
        return {
            anchor: before + wrong + place for place, page in enumerate(document.pages, 1) for anchor in page.anchors
        }

    return found


def test_a_users_text_is_only_ever_text() -> None:
    evil = '"><img src="file:///etc/hostname"><style>*{display:none}</style><a href="http://127.0.0.1/">{{ 7*7 }}'
    one = small_list()
    entry = dataclasses.replace(
        one.entries[0], number=f"N{evil}", names=(dataclasses.replace(one.entries[0].names[0], text=evil),)
    )
    family = dataclasses.replace(one.families[0], names=(dataclasses.replace(one.families[0].names[0], text=evil),))
    bad = dataclasses.replace(one, workshop=evil, number=evil, families=(family,), entries=(entry,))
    paper = ListPaper(bad, "dealer A", "en-GB", {entry.number: demo_drawings()["TK102"]})
    writer = ListWriter(paper)
    parts = {"front": writer.front(_nowhere(writer), 9), "body": writer.body(), "back": writer.back(_nowhere(writer))}
    assert set(parts) == set(LIST_PARTS)
    for html in parts.values():
        assert "<img" not in html
        assert html.count("<style") == 0
        assert "127.0.0.1/&#34;" in html or "127.0.0.1" not in html
        for attribute in re.findall(r'="([^"]*)"', html):
            assert "hostname" not in attribute
    with pikepdf.open(io.BytesIO(render_price_list(paper))) as pdf:
        for page in pdf.pages:
            assert "/XObject" not in page.Resources or not page.Resources.XObject.keys()
            assert all("/A" not in link for link in page.get("/Annots", []))
    text = "".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(render_price_list(paper))).pages)
    assert "{{7*7}}" in "".join(text.split())
    assert "file:///etc/hostname" in "".join(text.split())


def _nowhere(writer: ListWriter) -> dict[str, int]:
    return dict.fromkeys(writer.anchors_in_use, 0)


def test_numbers_that_differ_in_a_sign_only_have_anchors_of_their_own() -> None:
    one = small_list()
    entries = tuple(dataclasses.replace(one.entries[0], number=number) for number in ("A/1", "A-1", "A 1"))
    drawings = dict.fromkeys(("A/1", "A-1", "A 1"), demo_drawings()["TK102"])
    writer = ListWriter(ListPaper(dataclasses.replace(one, entries=entries), "dealer A", "en-GB", drawings))
    assert len(set(writer.anchors.values())) == 3


def test_a_row_of_drawings_stands_on_one_ground_to_one_scale() -> None:
    cup, jug = demo_drawings()["TK101"], demo_drawings()["TK104"]
    row = in_a_row((cup, jug))
    assert row.view_box[3] == max(cup.view_box[3], jug.view_box[3])
    assert len(row.paths) == len(cup.paths) + len(jug.paths)
    assert cup.view_box[2] + jug.view_box[2] - 9 < row.view_box[2] < (cup.view_box[2] + jug.view_box[2]) * 2


def test_a_date_of_its_own_is_in_the_file_and_on_every_page() -> None:
    later = dataclasses.replace(small_list(), effective=datetime.date(2027, 2, 3), until=datetime.date(2027, 12, 31))
    pdf = render_price_list(ListPaper(later, "dealer A", "en-GB", demo_drawings()))
    reader = pypdf.PdfReader(io.BytesIO(pdf))
    assert all("3 Feb 2027" in page.extract_text() for page in reader.pages[1:])
    assert str(reader.metadata["/ModDate"]).startswith("D:20270203") if reader.metadata else False


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_heading_is_never_left_alone_at_the_foot_of_a_page(language: str) -> None:
    writer = ListWriter(ListPaper(demo_list(), "dealer A", language, demo_drawings()))
    goes_to, _ = links_of(language)
    for family in writer.families:
        first = next(entry.number for entry in writer.entries if entry.family == family.name)
        assert goes_to[writer.family_anchors[family.name]] == goes_to[writer.anchors[first]]
