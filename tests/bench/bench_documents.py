"""Papers warm, each beside one plain WeasyPrint call on the same words in the same run."""

from __future__ import annotations

import io
import re
import statistics
import time
from collections.abc import Callable, Iterator, Sequence

import pypdf
from weasyprint import CSS, HTML

from server.documents import price_list, quote
from server.documents.price_list import ListPaper, ListWriter, render_price_list
from server.documents.quote import QuotePaper, QuoteWriter, render_quote
from server.documents.render import HERE, OwnFontsOnly, page_style
from tests.documents.papers import demo_drawings, demo_list, request

from .rows import Row

# What a paper of one call does without being told better: columns as wide as they turn out, page numbers by reference.
UNTOLD = "table { table-layout: auto; } a.at { font-size: 0; } a.at::after { font-size: 8pt; content: target-counter(attr(href), page); }"


def _plain(html: str, styles: Sequence[str]) -> bytes:
    fetcher = OwnFontsOnly(allowed_protocols=["file"])
    sheets = [
        CSS(string=(HERE / "templates" / name).read_text(encoding="utf-8"), url_fetcher=fetcher) for name in styles
    ]
    sheets.append(CSS(string=page_style("A4") + UNTOLD, url_fetcher=fetcher))
    pdf: bytes = HTML(string=html, url_fetcher=fetcher).write_pdf(stylesheets=sheets)
    return pdf


def _spent(work: Callable[[], object], rounds: int) -> float:
    spent = []
    for _ in range(rounds):
        start = time.perf_counter()
        work()
        spent.append(time.perf_counter() - start)
    return statistics.median(spent)


def _whole(writer: ListWriter) -> str:
    """The three parts of a list as one document."""
    nowhere = dict.fromkeys(writer.anchors_in_use, 0)
    parts = (writer.front(nowhere, 0), writer.body(), writer.back(nowhere))
    inner = (re.search("<body>(.*)</body>", part, re.DOTALL) for part in parts)
    return f'<html lang="en-GB"><body>{"".join(found[1] for found in inner if found)}</body></html>'


def measure() -> Iterator[Row]:
    """A quote warm, and the whole dealer list."""
    paper = QuotePaper(demo_list(), request(), "Q00042", False, "TAB-7", "en-GB")
    html = QuoteWriter(paper).html()
    render_quote(paper)
    yield Row(
        "quote PDF, tagged, warm median",
        _spent(lambda: render_quote(paper), 15),
        _spent(lambda: _plain(html, quote.STYLES), 5),
        "baseline: one plain call, untagged, styles read anew",
    )
    listed = ListPaper(demo_list(), "dealer A", "en-GB", demo_drawings())
    whole = _whole(ListWriter(listed))
    made: list[bytes] = []
    ours = _spent(lambda: made.append(render_price_list(listed)), 1)
    baseline = _spent(lambda: _plain(whole, price_list.STYLES), 1)
    pages = len(pypdf.PdfReader(io.BytesIO(made[0])).pages)
    yield Row(
        "dealer list PDF, tagged, numbers verified",
        ours,
        baseline,
        f"{len(demo_list().entries)} pieces, {pages} pages, {len(made[0]) // 1000} kB; baseline: one plain call, untagged",
    )
