"""The renderer: it reads its own fonts and nothing else, whatever a page asks for, and leaves the collector as it was."""

from __future__ import annotations

import datetime
import io
from pathlib import Path

import pikepdf
import pypdf
import pytest

from server.documents.render import FONTS, HERE, laid_out, page_style, written

DAY = datetime.date(2026, 3, 1)
CANARY = "canary-5f1c"
STYLES = ("paper.css",)


def made(inner: str, own_style: str = "") -> bytes:
    html = f'<html lang="en-GB"><head><title>t</title></head><body><h1>Title</h1>{inner}</body></html>'
    return written(laid_out(html, STYLES, page_style("A4") + own_style), "Title", "en-GB", DAY, "Somebody", {})


@pytest.mark.parametrize(
    "inner",
    [
        '<img alt="x" src="{canary}">',
        '<object data="{canary}">x</object>',
        '<embed src="{canary}">',
        '<link rel="stylesheet" href="{style}">',
        '<link rel="attachment" href="{canary}">',
        '<a rel="attachment" href="{canary}">x</a>',
        "<style>@import url({style});</style>",
        "<style>body {{ background: url({canary}) }} h1::after {{ content: url({canary}) }}</style>",
        '<style>@font-face {{ font-family: x; src: url("{canary}") }} h1 {{ font-family: x }}</style>',
        '<svg xmlns="http://www.w3.org/2000/svg"><image href="{canary}" width="9" height="9"/></svg>',
        '<svg xmlns="http://www.w3.org/2000/svg"><use href="{canary}#a"/></svg>',
    ],
)
def test_no_file_of_the_machine_gets_onto_a_paper(inner: str, tmp_path: Path) -> None:
    picture = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="99" height="99"><text id="a" y="20">{CANARY}</text></svg>'
    )
    (tmp_path / "canary.svg").write_text(picture, encoding="utf-8")
    (tmp_path / "style.css").write_text(f'h1::after {{ content: "{CANARY}" }}', encoding="utf-8")
    canary, style = ((tmp_path / name).as_uri() for name in ("canary.svg", "style.css"))
    pdf = made(inner.format(canary=canary, style=style))
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        assert not opened.attachments
        held = [obj.read_bytes() for obj in opened.objects if isinstance(obj, pikepdf.Stream)]
    assert not [stream for stream in held if CANARY.encode() in stream]
    assert CANARY not in "".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages)


def test_attributes_that_style_have_no_say() -> None:
    """Presentational hints are off: a width, colour or size in a tag changes nothing."""
    plain = made("<table><tr><th>a</th></tr></table><p>b</p>")
    hinted = made('<table width="900" bgcolor="red"><tr><th align="right">a</th></tr></table><p align="right">b</p>')
    with pikepdf.open(io.BytesIO(plain)) as one, pikepdf.open(io.BytesIO(hinted)) as other:
        assert one.pages[0].Contents.read_bytes() == other.pages[0].Contents.read_bytes()


def test_fonts_are_few_small_and_under_an_open_licence() -> None:
    fonts = sorted(FONTS.glob("*.woff2"))
    assert sum(path.stat().st_size for path in fonts) < 1_500_000
    css = (HERE / "templates" / "paper.css").read_text(encoding="utf-8")
    for path in fonts:
        assert f'url("own:{path.name}")' in css, "no font is shipped for nothing"
        family = path.name.split("-latin")[0]
        licence = (FONTS / f"LICENSE-{family}.txt").read_text(encoding="utf-8")
        assert "SIL OPEN FONT LICENSE Version 1.1" in licence


@pytest.mark.parametrize("text", ["Łódź Žižkov", "Ærø Straße 1 234,50 €", "100 − 5 × 2 · ½ °C ™ – “quoted”"])
def test_names_of_europe_are_set_in_the_papers_own_fonts(text: str) -> None:
    pdf = made(f"<h2>{text}</h2><p>{text}</p>")
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        fonts = {str(font.BaseFont).split("+")[-1] for font in opened.pages[0].Resources.Font.values()}
    assert all(name.startswith("Tin-") for name in fonts), fonts
