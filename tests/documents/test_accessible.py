"""Papers under independent checkers of PDF/UA-1 (ISO 14289-1): `page-validation` and `pdfua`, both from PyPI."""

from __future__ import annotations

import io
import re
from pathlib import Path
from typing import Any

import page
import pdfua
import pikepdf
import pytest

from server.documents.price_list import ListPaper, render_price_list

from .papers import dealer_list, demo_drawings, demo_list, quote, small_list

LONG: dict[str, Any] = {
    "lines": [{"piece": entry.number, "finish": "satin", "quantity": 2} for entry in demo_list().entries[:60]],
    "order_discount": None,
}
PAPERS = {
    "list, English": lambda: dealer_list("en-GB"),
    "list, German": lambda: dealer_list("de-DE"),
    "quote, English": quote,
    "quote, German, dealer": lambda: quote("de-DE", channel="dealer A", order_discount=None, lines=LONG["lines"][:3]),
    "quote of three pages": lambda: quote(**LONG),
}


def small_paper() -> bytes:
    return render_price_list(ListPaper(small_list(), "dealer A", "de-DE", demo_drawings()))


@pytest.mark.parametrize("name", PAPERS)
def test_every_rule_of_page_validation_is_kept(name: str) -> None:
    report = page.validate_pdf_bytes(PAPERS[name](), profile=page.ValidationProfile.PDF_UA_1)
    assert report.rules.total > 100
    assert [f"{failure.rule_id}: {failure.message}" for failure in report.failures] == []


@pytest.mark.parametrize("name", ["quote, English", "quote of three pages", "a small list"])
def test_pdfua_finds_nothing(name: str, tmp_path: Path) -> None:
    (tmp_path / "paper.pdf").write_bytes(small_paper() if name == "a small list" else PAPERS[name]())
    report = pdfua.validate(tmp_path / "paper.pdf")
    assert [str(finding) for finding in report.findings] == []


def elements(node: Any) -> Any:
    if isinstance(node, pikepdf.Array):
        for kid in node:
            yield from elements(kid)
    elif isinstance(node, pikepdf.Dictionary):
        yield node
        if "/K" in node:
            yield from elements(node.K)


def test_every_header_cell_has_a_scope_and_every_picture_says_what_it_shows(tmp_path: Path) -> None:
    (tmp_path / "paper.pdf").write_bytes(small_paper())
    with pikepdf.open(tmp_path / "paper.pdf") as pdf:
        found = [node for node in elements(pdf.Root.StructTreeRoot.K) if "/S" in node]
        scopes = [str(node.A.Scope) for node in found if node.S == "/TH"]
        assert set(scopes) == {"/Column", "/Row"}
        figures = [str(node.Alt) for node in found if node.S == "/Figure"]
        assert len(figures) == len(small_list().entries) + 1
        assert "Umriss: Krug, ein Pint, gerade" in figures
        index = pikepdf.NameTree(pdf.Root.StructTreeRoot.IDTree)
        assert len(index) == len(scopes)
        assert all(key == node.ID for key, node in index.items())
        links = [link for held in pdf.pages for link in held.get("/Annots", [])]
        assert all(int(link.F) & 4 for link in links)


def test_running_heads_are_not_read_out() -> None:
    """What stands in the margins is marked as pagination, so no element of the text holds it."""
    with pikepdf.open(io.BytesIO(quote(**LONG))) as pdf:
        for held in pdf.pages:
            content = held.Contents.read_bytes()
            assert len(re.findall(rb"/Artifact\s+<</Type /Pagination>>\s+BDC", content)) >= 2
