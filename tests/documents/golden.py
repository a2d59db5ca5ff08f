"""The HTML of each template in each language, as it was read and approved: `python -m tests.documents.golden` writes it anew.

Read the difference before it is committed: every word and figure of a paper is in it.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from server.documents.price_list import ListPaper, ListWriter
from server.documents.quote import QuotePaper, QuoteWriter

from .papers import demo_drawings, demo_list, request, small_list

GOLDEN = Path(__file__).parents[2] / "fixtures" / "golden"
DEALER: dict[str, Any] = {
    "channel": "dealer A",
    "customer": "Gallery Example",
    "lines": [
        {"piece": "TK102", "finish": "satin", "quantity": 12, "discounts": ["0.025"]},
        {"piece": "CS101", "finish": "bright", "quantity": 1, "extras": [{"name": "dealer's own mark", "per": "line"}]},
        {"piece": "OR101", "finish": "satin", "quantity": 24, "note": "one design"},
    ],
    "order_discount": None,
}
RETAIL: dict[str, Any] = {"old_metal_g": "850", "deposit_share": "0.3", "note": "Wanted by the first of July."}


def _list_parts(language: str) -> Mapping[str, str]:
    writer = ListWriter(ListPaper(small_list(), "dealer A", language, demo_drawings()))
    pages = {anchor: place for place, anchor in enumerate(writer.anchors_in_use, 3)}
    return {
        "price-list-front": writer.front(pages, 6),
        "price-list-body": writer.body(),
        "price-list-back": writer.back(pages),
    }


def _quote(language: str, more: Mapping[str, Any], provisional: bool = False) -> str:
    number, alias = ("TAB-7", "") if provisional else ("Q00042", "TAB-7")
    return QuoteWriter(QuotePaper(demo_list(), request(**more), number, provisional, alias, language)).html()


def papers(language: str) -> Mapping[str, str]:
    """Every kind of paper in a language, by the name of its file."""
    kinds = {
        **_list_parts(language),
        "quote-retail": _quote(language, RETAIL),
        "quote-dealer": _quote(language, DEALER),
        "quote-waiting": _quote(language, {"order_discount": None, "carriage": False}, provisional=True),
    }
    return {f"{kind}.{language}.html": html for kind, html in kinds.items()}


def main() -> None:
    """Writes every paper as it is now."""
    GOLDEN.mkdir(exist_ok=True)
    for language in ("en-GB", "de-DE"):
        for name, html in papers(language).items():
            (GOLDEN / name).write_text(html, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
