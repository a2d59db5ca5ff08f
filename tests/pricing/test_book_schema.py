"""The schema in docs is the one the records make, and the demo and small books satisfy it."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest

from pricing.book_schema import book_schema

ROOT = Path(__file__).parents[2]
BOOKS = [ROOT / "fixtures" / "workshop" / "book.json", *sorted((ROOT / "fixtures" / "small").glob("*.json"))]


def test_the_schema_in_docs_is_current() -> None:
    assert json.loads((ROOT / "docs" / "book.schema.json").read_text(encoding="utf-8")) == book_schema()


@pytest.mark.parametrize("path", BOOKS, ids=lambda path: path.name)
def test_the_books_of_the_project_satisfy_it(path: Path) -> None:
    jsonschema.Draft202012Validator.check_schema(book_schema())
    jsonschema.validate(json.loads(path.read_text(encoding="utf-8")), book_schema())


def test_it_refuses_a_number_for_money() -> None:
    data = json.loads(BOOKS[0].read_text(encoding="utf-8"))
    data["pieces"][0]["packing"] = 0.9
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(data, book_schema())
