"""Message catalogues: every message a paper can say has words in every language, and nothing else is kept."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path
from string import Formatter

import pytest

from server.documents import list_terms, price_list, quote, words
from server.documents.texts import LANGUAGES, SOURCE, catalogue, translator

DOCUMENTS = Path(words.__file__).parent
OTHERS = [language for language in LANGUAGES if language != SOURCE]
CHOSEN = {
    *words.FINISHES, *words.CHANNELS, words.CARE, words.TAX_ADVICE, words.LEAD_ADVICE, *price_list.MARKS,
    *price_list.UNITS.values(), *list_terms.PER.values(), quote.OLD_METAL, *(m for pair in quote.UNITS.values() for m in pair),
}  # fmt: skip


def _trees() -> Iterator[ast.Module]:
    for path in sorted(DOCUMENTS.glob("*.py")):
        yield ast.parse(path.read_text(encoding="utf-8"))


def constants() -> set[str]:
    """Every text in the programs of the papers."""
    nodes = (node for tree in _trees() for node in ast.walk(tree))
    return {node.value for node in nodes if isinstance(node, ast.Constant) and isinstance(node.value, str)}


def said() -> set[str]:
    """Every text that is said as it stands: the first word of a call of `say`."""
    found = set()
    for tree in _trees():
        for node in ast.walk(tree):
            if isinstance(node, ast.Call) and node.args and isinstance(node.args[0], ast.Constant):
                name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
                if name in ("say", "_tax"):
                    found.add(node.args[0].value)
    return found


def names(message: str) -> set[str]:
    return {name for _, name, _, _ in Formatter().parse(message) if name is not None}


@pytest.mark.parametrize("language", OTHERS)
def test_every_message_a_paper_can_say_has_words(language: str) -> None:
    known = catalogue(language)
    assert len(said()) > 50
    assert not sorted(message for message in said() | CHOSEN if not known.get(message))


@pytest.mark.parametrize("language", OTHERS)
def test_no_words_are_kept_that_no_paper_says(language: str) -> None:
    assert not sorted(set(catalogue(language)) - constants())


@pytest.mark.parametrize("language", OTHERS)
def test_words_keep_the_figures_of_their_message(language: str) -> None:
    for message, text in catalogue(language).items():
        assert names(message) == names(text), message


def test_a_message_without_words_stops_the_paper() -> None:
    with pytest.raises(LookupError, match="no words"):
        translator("de-DE")("nobody translated this")


def test_a_language_without_a_catalogue_is_refused() -> None:
    with pytest.raises(LookupError, match="no catalogue for xx-XX"):
        translator("xx-XX")("Contents")


def test_no_paper_says_a_bare_lead_free_or_hallmark() -> None:
    for text in constants() | {text for language in OTHERS for text in catalogue(language).values()}:
        assert "lead free" not in text.lower()
        assert "lead-free" not in text.lower()
        assert "bleifrei" not in text.lower()
        assert "hallmark" not in text.lower()
