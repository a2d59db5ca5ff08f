"""Templates to HTML and HTML to PDF; the renderer reads the project's own fonts and nothing else."""

from __future__ import annotations

import datetime
import io
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Any

import pikepdf
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from weasyprint import CSS, HTML
from weasyprint.document import Document
from weasyprint.text.fonts import FontConfiguration
from weasyprint.urls import URLFetcher

HERE = Path(__file__).parent
FONTS = HERE / "fonts"
OWN = "own:"


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
        stylesheets=sheets, font_config=_fonts(), presentational_hints=False, pdf_variant="pdf/ua-1", pdf_tags=True
    )


def written(document: Document, title: str, language: str, made: datetime.date, facts: dict[str, str]) -> bytes:
    """The PDF of laid-out pages, with its dates set to the paper's own day so that the same paper is the same file."""
    raw = document.write_pdf(pdf_variant="pdf/ua-1", pdf_tags=True)
    return _finished(raw, title, language, made, facts)


def _finished(raw: bytes, title: str, language: str, made: datetime.date, facts: dict[str, str]) -> bytes:
    day = f"D:{made:%Y%m%d}000000Z"
    with pikepdf.open(io.BytesIO(raw)) as pdf:
        pdf.Root.Lang = pikepdf.String(language)
        info = {"/Title": title, "/CreationDate": day, "/ModDate": day} | {f"/{k}": v for k, v in facts.items()}
        for name, value in info.items():
            pdf.docinfo[name] = pikepdf.String(value)
        out = io.BytesIO()
        pdf.save(out, deterministic_id=True, object_stream_mode=pikepdf.ObjectStreamMode.generate)
    return out.getvalue()


def page_of_anchors(document: Document, before: int) -> dict[str, int]:
    """The page number of every anchor, when `before` pages stand ahead of the document."""
    return {anchor: before + place for place, page in enumerate(document.pages, 1) for anchor in page.anchors}
