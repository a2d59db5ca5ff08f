"""Which rule prices a piece: the narrowest scope, the latest of it, the agreed price before all; checks filled from the class."""

from __future__ import annotations

import datetime
from decimal import Decimal as D
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pricing.price import agreed_price
from pricing.rules import ByMarkUp, Checks, Held, Rule, RulesOfChannel, in_effect, scope
from tests.pricing.price_book import book_of

DAY = datetime.date(2026, 3, 2)
GROUPS = ("gifts", "church")
SCOPES: tuple[dict[str, str], ...] = (
    {"piece": "A", "finish": "satin"}, {"piece": "A"}, {"family": "cups", "finish": "satin"}, {"family": "cups"},
    {"group": "gifts", "finish": "satin"}, {"group": "gifts"}, {"finish": "satin"}, {},
)  # fmt: skip


def rule(since: datetime.date = DAY, **scoped: str) -> Rule:
    name = " ".join((str(since), *scoped.values()))
    return Rule(name=name, channel="dealer", since=since, method=ByMarkUp(mark_up=D(1)), **scoped)


@pytest.mark.parametrize("missing", range(8))
def test_eight_scopes_from_the_narrowest(missing: int) -> None:
    """With the narrowest so many gone, the next one prices; their order in the book does not matter."""
    rules = [rule(**scoped) for scoped in SCOPES[missing:]]
    for ordered in (rules, rules[::-1]):
        assert RulesOfChannel(ordered, DAY).winner("A", "cups", GROUPS, "satin") == rules[0]


def test_no_rule_prices_what_none_claims() -> None:
    rules = [rule(piece="B"), rule(family="plates"), rule(group="hotel"), rule(finish="bright")]
    assert RulesOfChannel(rules, DAY).winner("A", "cups", GROUPS, "satin") is None


def claims(own: Rule, finish: str) -> int | None:
    """How narrow a rule claims piece A, from 0 on; None where it does not."""
    if own.finish not in (None, finish):
        return None
    narrowness = [
        own.piece == "A",
        own.family == "cups",
        own.group in GROUPS,
        (own.piece, own.family, own.group) == (None,) * 3,
    ]
    return next((2 * place + (own.finish is None) for place, yes in enumerate(narrowness) if yes), None)


CLAIMED: tuple[dict[str, str], ...] = (
    {"piece": "A"}, {"piece": "B"}, {"family": "cups"}, {"family": "plates"}, {"group": "gifts"}, {"group": "church"}, {},
)  # fmt: skip
some_rules = st.lists(
    st.tuples(st.sampled_from(CLAIMED), st.sampled_from((None, "satin", "bright")), st.integers(-60, 20)),
    max_size=14,
    unique_by=lambda drawn: (drawn[2], "group" if "group" in drawn[0] else str(drawn[0]), drawn[1]),
)


@given(some_rules, st.sampled_from(("satin", "bright")))
def test_the_winner_is_the_latest_of_the_narrowest(
    drawn: list[tuple[dict[str, str], str | None, int]], finish: str
) -> None:
    rules = [
        rule(DAY + datetime.timedelta(days=days), **scoped, **({"finish": wanted} if wanted else {}))
        for scoped, wanted, days in drawn
    ]
    acting = [(claims(own, finish), own) for own in rules if own.since <= DAY]
    claiming = [(narrow, -own.since.toordinal(), own) for narrow, own in acting if narrow is not None]
    expected = min(claiming, key=lambda claim: claim[:2])[2] if claiming else None
    assert RulesOfChannel(rules, DAY).winner("A", "cups", GROUPS, finish) == expected


def held(until: datetime.date) -> Rule:
    return Rule(name="held", channel="dealer", since=DAY, method=Held(amount=D(33), until=until), piece="A")


def test_a_rule_is_in_effect_from_its_first_day_and_a_held_price_to_its_last() -> None:
    day = datetime.timedelta(days=1)
    assert in_effect(rule(DAY), DAY)
    assert not in_effect(rule(DAY + day), DAY)
    assert in_effect(held(DAY), DAY)
    assert not in_effect(held(DAY - day), DAY)


def test_what_would_act_in_place_of_a_held_price() -> None:
    older, general = rule(DAY - datetime.timedelta(days=9), piece="A"), rule()
    rules = RulesOfChannel([held(DAY), older, general], DAY)
    assert rules.winner("A", "cups", (), "satin") == held(DAY)
    assert rules.not_held().winner("A", "cups", (), "satin") == older
    assert set(rules.acting) == {held(DAY), general}


def test_rivals_are_rules_of_a_pieces_groups_from_the_winners_day() -> None:
    later = DAY - datetime.timedelta(days=1)
    gifts, church, hotel = rule(later, group="gifts"), rule(later, group="church"), rule(DAY, group="hotel")
    rules = RulesOfChannel([gifts, church, hotel], DAY)
    assert set(rules.rivals(GROUPS, gifts)) == {gifts, church}
    assert rules.rivals(("gifts",), gifts) == ()
    assert rules.winner("A", "cups", ("gifts", "hotel"), "satin") == hotel
    assert rules.rivals(("gifts", "hotel"), hotel) == ()
    assert rules.rivals(("gifts", "gifts"), gifts) == ()


def test_a_scope_is_what_a_rule_narrows_to() -> None:
    assert {scope(rule(**scoped)) for scoped in SCOPES} == {
        tuple(scoped.get(key) for key in ("piece", "family", "group", "finish")) for scoped in SCOPES
    }


amounts = st.one_of(st.none(), st.integers(0, 99).map(lambda n: D(n) / 100))
checks = st.builds(Checks, **dict.fromkeys(Checks.__dataclass_fields__, amounts))


@given(checks, checks)
def test_a_check_left_empty_comes_from_the_class(own: Checks, general: Checks) -> None:
    filled = own.over(general)
    for name in Checks.__dataclass_fields__:
        mine = getattr(own, name)
        assert getattr(filled, name) == (getattr(general, name) if mine is None else mine)


AGREED = {"dealer": "Fenny Lane Gifts", "channel": "dealer", "piece": "A", "finish": "satin"}


@pytest.mark.parametrize(
    ("day", "amount"),
    [("2026-01-31", None), ("2026-02-01", "40"), ("2026-02-28", "40"), ("2026-03-01", "38"), ("2026-03-31", "38"),
     ("2026-04-01", None)],
)  # fmt: skip
def test_an_agreed_price_runs_from_its_first_day_to_its_last_and_the_later_one_wins(
    day: str, amount: str | None
) -> None:
    agreed = [
        {**AGREED, "amount": "40", "since": "2026-02-01", "until": "2026-03-15"},
        {**AGREED, "amount": "38", "since": "2026-03-01", "until": "2026-03-31"},
    ]
    entries = {"date": day, "agreed_prices": agreed}
    book = book_of({"book": entries, "rules": [{"since": "2020-01-01"}]})
    found = agreed_price(book, "Fenny Lane Gifts", "dealer", "A", "satin")
    assert (None if found is None else found.amount) == (None if amount is None else D(amount))


def test_an_agreed_price_is_one_dealers_in_one_class_and_finish() -> None:
    book = book_of(
        {"costs": {"A": {"satin": "31", "bright": "33"}}, "channels": {"trade": {}},
         "book": {"agreed_prices": [{**AGREED, "amount": "40", "since": "2026-01-01", "until": "2026-12-31"}]}}
    )  # fmt: skip
    asked = product(("Fenny Lane Gifts", "Old Ford Stores"), ("dealer", "trade"), ("A",), ("satin", "bright"))
    found = {key for key in asked if agreed_price(book, *key) is not None}
    assert found == {("Fenny Lane Gifts", "dealer", "A", "satin")}
