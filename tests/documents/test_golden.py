"""Each template in each language is as it was read and approved, to the letter."""

from __future__ import annotations

import pytest

from .golden import GOLDEN, papers


@pytest.mark.parametrize("language", ["en-GB", "de-DE"])
def test_papers_say_what_was_approved(language: str) -> None:
    """After a change that is meant: `python -m tests.documents.golden`, and read the difference."""
    for name, html in papers(language).items():
        assert html.split("\n") == (GOLDEN / name).read_text(encoding="utf-8").split("\n"), name


def test_nothing_approved_is_left_over() -> None:
    made = {*papers("en-GB"), *papers("de-DE")}
    assert {path.name for path in GOLDEN.iterdir()} == made
