"""Message catalogues of the papers: English is the source, other languages stand beside it as .po files."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path

from babel.messages.pofile import read_po

LANGUAGES = ("en-GB", "de-DE")
SOURCE = "en-GB"


@cache
def catalogue(language: str) -> dict[str, str]:
    """Every message of a language by its English text; empty for English itself.

    Raises: LookupError for a language without a catalogue.
    """
    if language == SOURCE:
        return {}
    path = Path(__file__).parent / f"{language}.po"
    if language not in LANGUAGES:
        raise LookupError(f"no catalogue for {language}; there are {', '.join(LANGUAGES)}")
    with path.open("rb") as file:
        return {str(message.id): str(message.string) for message in read_po(file) if message.id}


def translator(language: str) -> Callable[..., str]:
    """The function that says an English message in a language, with its figures filled in.

    Raises: LookupError for a message that the catalogue lacks: no paper is half translated.
    """
    known = catalogue(language)

    def say(message: str, **facts: object) -> str:
        if language != SOURCE and not known.get(message):
            raise LookupError(f"{language} has no words for: {message}")
        return (known[message] if language != SOURCE else message).format(**facts)

    return say
