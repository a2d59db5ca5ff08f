"""Papers warm, beside one plain WeasyPrint call on the same quote."""

from __future__ import annotations

import io
import statistics
import time
from collections.abc import Iterator

import pypdf
from weasyprint import CSS, HTML

from server.documents.quote import QuotePaper, QuoteWriter, render_quote
from server.documents.render import HERE, OwnFontsOnly
from tests.documents.papers import dealer_list, demo_list, quote, request

from .rows import Row


def _plain(html: str) -> bytes:
    fetcher = OwnFontsOnly(allowed_protocols=["file"])
    styles = [
        CSS(string=(HERE / "templates" / name).read_text(encoding="utf-8"), url_fetcher=fetcher)
        for name in ("paper.css", "quote.css")
    ]
    pdf: bytes = HTML(string=html, url_fetcher=fetcher).write_pdf(stylesheets=styles)
    return pdf


def _median(work: object, rounds: int) -> float:
    spent = []
    for _ in range(rounds):
        start = time.perf_counter()
        work()  # type: ignore[operator]
        spent.append(time.perf_counter() - start)
    return statistics.median(spent)


def measure() -> Iterator[Row]:
    """A quote warm, and the whole dealer list once."""
    paper = QuotePaper(demo_list(), request(), "Q00042", False, "TAB-7", "en-GB")
    html = QuoteWriter(paper).html()
    render_quote(paper)
    yield Row(
        "quote PDF, warm median",
        _median(lambda: render_quote(paper), 15),
        _median(lambda: _plain(html), 5),
        "baseline: one plain call, untagged",
    )
    quote()
    start = time.perf_counter()
    pdf = dealer_list("en-GB")
    spent = time.perf_counter() - start
    pages = len(pypdf.PdfReader(io.BytesIO(pdf)).pages)
    yield Row(
        "dealer list PDF, contents and index",
        spent,
        spent,
        f"{pages} pages, {len(pdf) // 1000} kB; its own baseline for now",
    )
