"""Templates to HTML and HTML to PDF; the renderer reads the project's own fonts and nothing else."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from weasyprint import CSS, HTML
from weasyprint.document import Document
from weasyprint.text.fonts import FontConfiguration
from weasyprint.urls import URLFetcher

from .tagging import mended

HERE = Path(__file__).parent
FONTS = HERE / "fonts"
OWN = "own:"
VARIANT = "pdf/ua-1"
SIZES = {"A4": "297mm", "Letter": "279.4mm"}


class OwnFontsOnly(URLFetcher):  # type: ignore[misc]
    """Answers `own:` addresses with the project's fonts and refuses every other address."""

    def fetch(self, url: str, headers: Any = None) -> Any:
        """The file behind an `own:` address.

        Raises: ValueError for every other address.
        """
        name = url.removeprefix(OWN)
        if not url.startswith(OWN) or "/" in name or not (FONTS / name).is_file():
            raise ValueError(f"papers read nothing but their own fonts: {url[:80]}")
        return super().fetch((FONTS / name).as_uri(), headers)


@cache
def templates() -> Environment:
    """The templates, escaping everything, with an undefined name an error."""
    return Environment(
        loader=FileSystemLoader(HERE / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def html_of(template: str, **strings: Any) -> str:
    """A template filled with strings."""
    return templates().get_template(template).render(**strings)


@cache
def _fonts() -> FontConfiguration:
    return FontConfiguration()


@cache
def _style(name: str) -> CSS:
    text = (HERE / "templates" / name).read_text(encoding="utf-8")
    return CSS(string=text, font_config=_fonts(), url_fetcher=OwnFontsOnly(allowed_protocols=["file"]))


def laid_out(html: str, styles: Sequence[str], own_style: str = "") -> Document:
    """The pages of an HTML text. `own_style` is CSS of the program's own making, never of a user's text."""
    sheets = [_style(name) for name in styles]
    fetcher = OwnFontsOnly(allowed_protocols=["file"])
    if own_style:
        sheets.append(CSS(string=own_style, font_config=_fonts(), url_fetcher=fetcher))
    page = HTML(string=html, url_fetcher=fetcher, base_url="own:")
    return page.render(
        stylesheets=sheets, font_config=_fonts(), presentational_hints=False, pdf_variant=VARIANT, pdf_tags=True
    )


def page_style(size: str, before: int = 0) -> str:
    """CSS of a page size, A4 or Letter, for pages that `before` others stand ahead of."""
    first = f"@page :first {{ counter-reset: page {before + 1}; }}" if before else ""
    return f":root {{ --page-height: {SIZES[size]}; }} @page {{ size: {size}; }} {first}"


def written(
    document: Document, title: str, language: str, made: datetime.date, author: str, facts: dict[str, str]
) -> bytes:
    """The PDF of laid-out pages, with its dates set to the paper's own day so that the same paper is the same file."""
    said = document.metadata
    said.title, said.lang, said.authors = title, language, [author]
    said.created = said.modified = f"{made.isoformat()}T00:00:00Z"
    said.custom = facts
    pdf: bytes = document.write_pdf(
        pdf_variant=VARIANT, pdf_tags=True, custom_metadata=True, pdf_identifier=True, finisher=mended
    )
    return pdf


def page_of_anchors(document: Document, before: int) -> dict[str, int]:
    """The page number of every anchor, when `before` pages stand ahead of the document."""
    return {anchor: before + place for place, page in enumerate(document.pages, 1) for anchor in page.anchors}
