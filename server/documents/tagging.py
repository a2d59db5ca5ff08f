"""What a tagged PDF still needs before it is written: scopes of headers, an index of them, running heads out of the text."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pydyf
from weasyprint.document import Document

PRINT = 4
RUNNING = pydyf.Dictionary({"Type": "/Pagination"})
NOTHING = b"null"

Objects = dict[bytes, Any]


def mended(document: Document, pdf: pydyf.PDF) -> None:
    """Mends a PDF's tags in place, for a writer to call last.

    Source: ISO 14289-1 7.5 (headers of tables), 7.8 (running heads are artifacts), 7.18.1 (annotations that print).
    """
    objects: Objects = {held.reference: held for held in pdf.objects}
    root = objects[pdf.catalog["StructTreeRoot"]]
    reached = {element.reference for element in _below(objects, root)}
    headers = [objects[key] for key in sorted(reached) if objects[key]["S"] == "/TH"]
    for header in headers:
        header["A"]["Scope"] = "/Column" if _in_head(objects, header) else "/Row"
    _index_of(pdf, root, headers)
    for held in objects.values():
        if isinstance(held, pydyf.Dictionary) and held.get("Subtype") == "/Link":
            held["F"] = PRINT
    _running_heads(pdf, objects, root, reached)


def _below(objects: Objects, element: Any) -> Iterator[Any]:
    """Every structure element below one."""
    for kid in element["K"]:
        held = objects.get(kid) if isinstance(kid, bytes) else None
        if isinstance(held, pydyf.Dictionary) and held.get("Type") == "/StructElem":
            yield held
            yield from _below(objects, held)


def _in_head(objects: Objects, cell: Any) -> bool:
    above = cell
    while above is not None and above.get("S") != "/Table":
        if above.get("S") == "/THead":
            return True
        above = objects.get(above.get("P"))
    return False


def _index_of(pdf: pydyf.PDF, root: Any, headers: list[Any]) -> None:
    """An index of header cells by their identifiers, which data cells name."""
    if not headers:
        return
    by_name = sorted((header["ID"].data, header) for header in headers)
    names = pydyf.Array()
    for _, header in by_name:
        names.extend((header["ID"], header.reference))
    index = pydyf.Dictionary({"Names": names})
    pdf.add_object(index)
    root["IDTree"] = index.reference


def _running_heads(pdf: pydyf.PDF, objects: Objects, root: Any, reached: set[bytes]) -> None:
    """Marks what stands in the margins as running heads, so that it is not read out on every page."""
    numbers = objects[root["ParentTree"]]["Nums"]
    for page, references in zip(pdf.page_references, numbers[1::2], strict=False):
        outside = {place for place, held in enumerate(references) if held not in reached}
        for place in outside:
            references[place] = NOTHING
        stream = objects[objects[page]["Contents"]].stream
        for place, held in enumerate(stream):
            if isinstance(held, pydyf.Dictionary) and held.get("MCID") in outside:
                stream[place - 1], stream[place] = "/Artifact", RUNNING
