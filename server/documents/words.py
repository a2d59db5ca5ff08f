"""Words that more than one paper says: names in a language, finishes, units, tax, care and the metal."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from pricing.piece import Text
from pricing.price_list import ListedMetal, ListedTax

from .strings import Strings

Say = Callable[..., str]

FINISHES = ("satin", "bright", "antique")
CHANNELS = ("dealer A", "dealer B", "export", "retail")
CARE = (
    "Pewter softens and melts at low heat, from about 240 °C: keep it off ovens, hobs and open flame. "
    "Wash by hand with mild soap, dry at once; no dishwasher."
)
TAX_ADVICE = "Tax is charged at the rates in force; check with your own adviser what applies to you."
LEAD_ADVICE = (
    "Limits for lead differ by country and use, for children's articles above all: "
    "ask before you make a claim of your own."
)


def named(names: tuple[Text, ...], language: str) -> str:
    """The name in a language, else in one of the same tongue, else the first."""
    by_language = {text.language: text.text for text in names}
    tongue = language.split("-")[0]
    same = next((text for tag, text in by_language.items() if tag.split("-")[0] == tongue), None)
    return by_language.get(language) or same or names[0].text


def finish(say: Say, name: str) -> str:
    """A finish in words: the usual ones in the language of the paper, others as the workshop names them."""
    return say(name) if name in FINISHES else name


def channel(say: Say, name: str) -> str:
    """A price class in words: the usual ones in the language of the paper, others as the workshop names them."""
    return say(name) if name in CHANNELS else name


def tax(say: Say, own: Strings, taxes: Iterable[ListedTax], name: str) -> str:
    """A tax with its rate, as the workshop names it."""
    rate = next(tax.rate for tax in taxes if tax.name == name)
    return say("{name}, {rate}", name=name, rate=own.percent(rate))


def lead_claim(say: Say, own: Strings, metal: ListedMetal) -> str:
    """What may be claimed of a metal's lead: the limit it was bought to and who says so, nothing more."""
    said = metal.bought_to
    if metal.lead_limit_ppm is not None:
        limit = own.number(metal.lead_limit_ppm, 0)
        said = say("bought to a lead content of at most {limit} parts per million", limit=limit)
    return say("{name}: {claim}.", name=metal.name, claim=said)
