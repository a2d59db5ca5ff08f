"""The book checked as a whole: every name refers to something, no two records claim the same, all faults together."""

from __future__ import annotations

import dataclasses
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Any

from . import units
from .alloy import DISC, INGOT, REJECTS, SHEET, SOLDER_WIRE, Alloy, Form
from .amounts import ZERO, exactly
from .book import Book
from .errors import BookError, Fault
from .labour import PER_DM2, Operation
from .overhead import PRIME_COST, Pool
from .piece import BoughtIn, CastPart, FlatPart, Member, Outwork, Part, Piece, Solder, SpunPart
from .piece_checks import worked_faults
from .rule_checks import rule_faults
from .rules import AgreedPrice, Channel, PriceInForce, Rule

CONTENT_TOLERANCE = "0.0005"
# So many places of one missing name are told one by one; the rest are counted.
TOLD = 5
# Without these nothing can be worked; a fault among them leaves pieces and rules to be worked when it is mended.
FOUNDATION = frozenset(
    {
        "book", "currencies", "taxes", "exchange_rates", "elements", "quotations", "declared_prices", "alloys", "forms",
        "sheets", "stages", "pools", "finishes",
    }
)  # fmt: skip


@dataclasses.dataclass(frozen=True, slots=True)
class LeftOut:
    """What reading left out of a book: names of records dropped for faults of their own, by collection, once for
    each time they stood there; those records as they were given; and fields of the book that could not be read.
    """

    dropped: Mapping[str, Sequence[str]] = dataclasses.field(default_factory=dict)
    records: tuple[tuple[str, Any], ...] = ()
    unread: frozenset[str] = frozenset()

    def __bool__(self) -> bool:
        return bool(self.dropped or self.unread)


class _Names:
    """What names the book knows, also of records dropped for faults of their own, so that one fault is told once."""

    def __init__(self, book: Book, left_out: LeftOut) -> None:
        self._told: Counter[tuple[str, str]] = Counter()
        self.unread = left_out.unread
        self._known = {
            "currencies": {currency.code for currency in book.currencies},
            "taxes": {tax.name for tax in book.taxes},
            "elements": {element.symbol for element in book.elements},
            "alloys": {alloy.name for alloy in book.alloys},
            "forms": {form.name for form in book.forms},
            "sheets": {sheet.name for sheet in book.sheets},
            "stages": {stage.name for stage in book.stages},
            "finishes": {finish.name for finish in book.finishes},
            "families": {family.name for family in book.families},
            "pieces": {piece.number for piece in book.pieces},
            "channels": {channel.name for channel in book.channels},
            "groups": {group for piece in book.pieces for group in piece.groups},
        }
        self.whole = not left_out
        for collection, names in left_out.dropped.items():
            self._known.setdefault(collection, set()).update(names)

    def missing(self, collection: str, name: str | None, record: str, field: str) -> Iterator[Fault]:
        """A fault if `name` is given and no record of `collection` has it; the first few places, then only counted."""
        known = self._known[collection]
        if name is None or name in known or collection in self.unread:
            return
        self._told[collection, name] += 1
        if self._told[collection, name] <= TOLD:
            yield Fault(record, field, f'"{name}"', _listed(collection, known))

    def more(self) -> Iterator[Fault]:
        """One fault for each missing name that stands in more places than were told."""
        for (collection, name), count in self._told.items():
            if count > TOLD:
                found = f'"{name}" in {count - TOLD} more places'
                yield Fault(collection, "", found, _listed(collection, self._known[collection]))


def _listed(collection: str, known: set[str]) -> str:
    if len(known) > 12:
        return f"the name of one of the {len(known)} {collection} of the book"
    return "one of " + ", ".join(f'"{name}"' for name in sorted(known)) if known else f"nothing: no {collection}"


def _twice(collection: str, keys: Iterable[tuple[str, ...]], field: str) -> Iterator[Fault]:
    """A fault for each key that stands more than once in a collection."""
    seen: set[tuple[str, ...]] = set()
    for key in keys:
        if key in seen:
            shown = ", ".join(part for part in key if part)
            yield Fault(f"{collection} {shown}", field, "a second record", "one record only")
        seen.add(key)


def _duplicates(book: Book, left_out: LeftOut) -> Iterator[Fault]:
    """Records that claim the same name or place, those dropped for faults of their own included."""

    def once(collection: str, names: Iterable[str], field: str = "name") -> Iterator[Fault]:
        yield from _twice(collection, ((name,) for name in (*names, *left_out.dropped.get(collection, ()))), field)

    yield from once("currencies", (c.code for c in book.currencies), "code")
    yield from _twice("taxes", ((t.name, str(t.since)) for t in book.taxes), "since")
    yield from _twice("exchange_rates", ((r.currency, str(r.date)) for r in book.exchange_rates), "date")
    yield from _twice("elements", ((e.symbol,) for e in book.elements), "symbol")
    yield from _twice("quotations", ((q.element, str(q.date)) for q in book.quotations), "date")
    yield from _twice("declared_prices", ((d.element, str(d.date)) for d in book.declared_prices), "date")
    for collection in (
        "alloys",
        "forms",
        "sheets",
        "stages",
        "pools",
        "finishes",
        "families",
        "channels",
        "rules",
    ):
        yield from once(collection, (record.name for record in getattr(book, collection)))
    yield from _twice("extras", ((x.name, x.channel) for x in book.extras), "name")
    yield from once("pieces", (p.number for p in book.pieces), "number")
    yield from _old_numbers(book)
    yield from _twice(
        "prices_in_force",
        ((p.channel, p.piece, p.finish, f"from {p.quantity}") for p in book.prices_in_force),
        "amount",
    )
    yield from _twice(
        "agreed_prices",
        ((a.dealer, a.channel, a.piece, a.finish, str(a.since)) for a in book.agreed_prices),
        "since",
    )


def _old_numbers(book: Book) -> Iterator[Fault]:
    """A number belongs to one piece for ever, also when it is an old one."""
    owner = {piece.number: piece.number for piece in book.pieces}
    for piece in book.pieces:
        for number in piece.old_numbers:
            if owner.setdefault(number, piece.number) != piece.number:
                allowed = f"a number that is not of piece {owner[number]}"
                yield Fault(f"pieces {piece.number}", "old_numbers", f'"{number}"', allowed)


def _heads(book: Book, names: _Names) -> Iterator[Fault]:
    if "currency" not in names.unread:
        yield from names.missing("currencies", book.currency, "book", "currency")
    for rate in book.exchange_rates:
        record = f"exchange_rates {rate.currency} {rate.date}"
        yield from names.missing("currencies", rate.currency, record, "currency")
        if rate.currency == book.currency:
            yield Fault(record, "currency", f'"{rate.currency}"', "a currency other than the book's own")


def _unit(unit: str, record: str) -> Iterator[Fault]:
    if unit not in units.GRAMS:
        yield Fault(record, "unit", f'"{unit}"', "one of " + ", ".join(f'"{name}"' for name in units.GRAMS))


def _metals(book: Book, names: _Names) -> Iterator[Fault]:
    for quotation in book.quotations:
        record = f"quotations {quotation.element} {quotation.date}"
        yield from names.missing("elements", quotation.element, record, "element")
        yield from names.missing("currencies", quotation.currency, record, "currency")
        yield from _unit(quotation.unit, record)
    for declared in book.declared_prices:
        record = f"declared_prices {declared.element} {declared.date}"
        yield from names.missing("elements", declared.element, record, "element")
        if declared.quoted_from is not None and declared.quoted_from > declared.quoted_to:
            yield Fault(record, "quoted_from", str(declared.quoted_from), f"a day up to {declared.quoted_to}")
        if declared.quoted_to > declared.date:
            # Else a quotation read after the declaration would move every cost.
            yield Fault(record, "quoted_to", str(declared.quoted_to), f"a day up to {declared.date}, its own")
    for alloy in book.alloys:
        yield from _alloy(alloy, names)
    for form in book.forms:
        yield from _form(form, names)


def _alloy(alloy: Alloy, names: _Names) -> Iterator[Fault]:
    record = f"alloys {alloy.name}"
    for content in alloy.contents:
        yield from names.missing("elements", content.element, record, "contents")
    yield from _twice(record, ((content.element,) for content in alloy.contents), "contents")
    total = sum((content.fraction for content in alloy.contents), ZERO)
    if abs(total - 1) > Decimal(CONTENT_TOLERANCE):
        yield Fault(record, "contents", f"fractions that add up to {total}", f"1, give or take {CONTENT_TOLERANCE}")
    for credit in alloy.credits:
        yield from names.missing("stages", credit.stage, record, "credits")
        if credit.stage is not None and credit.of != REJECTS:
            yield Fault(record, "credits", f"a stage on a credit for {credit.of}", f"a stage for {REJECTS} only")
    yield from _twice(record, ((credit.of, credit.stage or "") for credit in alloy.credits), "credits")


def _form(form: Form, names: _Names) -> Iterator[Fault]:
    record = f"forms {form.name}"
    yield from names.missing("alloys", form.alloy, record, "alloy")
    if form.supplier_price is not None:
        yield from names.missing("currencies", form.supplier_price.currency, record, "supplier_price.currency")
        yield from _unit(form.supplier_price.unit, record)
        if form.premium or form.conversion_per_kg:
            yield Fault(record, "supplier_price", "a supplier's price beside a premium or charge", "one or the other")
    if form.disc_sizes_mm and form.kind != DISC:
        yield Fault(record, "disc_sizes_mm", f'sizes on a form of kind "{form.kind}"', f'kind "{DISC}"')
    if list(form.disc_sizes_mm) != sorted(set(form.disc_sizes_mm)):
        yield Fault(record, "disc_sizes_mm", "sizes out of order or twice", "sizes that rise")


def _work(book: Book, names: _Names) -> Iterator[Fault]:
    soldering = [stage.name for stage in book.stages if stage.solder]
    if len(soldering) > 1:
        yield Fault("stages", "solder", ", ".join(soldering), "one stage where solder enters")
    for pool in book.pools:
        yield from _pool(pool, names)
    for finish in book.finishes:
        record = f"finishes {finish.name}"
        for index, operation in enumerate(finish.operations):
            yield from names.missing("stages", operation.stage, record, f"operations[{index}].stage")
            for field in ("part", "finish"):
                if getattr(operation, field) is not None:
                    yield Fault(
                        record,
                        f"operations[{index}].{field}",
                        "a value",
                        f"no {field} in a finish's own work",
                    )
        for index, consumable in enumerate(finish.consumables):
            yield from names.missing("stages", consumable.enters, record, f"consumables[{index}].enters")


def _pool(pool: Pool, names: _Names) -> Iterator[Fault]:
    record = f"pools {pool.name}"
    if (pool.rate is None) == (pool.budget is None or pool.activity is None):
        yield Fault(record, "rate", "neither or both", "a rate, or a budget with its activity")
    for stage in pool.stages:
        yield from names.missing("stages", stage, record, "stages")
    if pool.stages and pool.basis == PRIME_COST:
        yield Fault(record, "stages", f'stages on basis "{PRIME_COST}"', "no stages: it covers the whole piece")


_KINDS: Mapping[type, tuple[str, ...]] = {
    SpunPart: (SHEET, DISC),
    FlatPart: (SHEET,),
    CastPart: (INGOT,),
    Solder: (SOLDER_WIRE,),
}


def _piece(piece: Piece, book: Book, names: _Names) -> Iterator[Fault]:
    record = f"pieces {piece.number}"
    yield from names.missing("families", piece.family, record, "family")
    if not piece.names:
        yield Fault(record, "names", "nothing", "a name in one language at least")
    yield from _twice(record, ((text.language,) for text in piece.names), "names")
    if not piece.made:
        yield Fault(record, "made", "nothing", "one finish at least")
    yield from _twice(record, ((made.finish,) for made in piece.made), "made")
    for made in piece.made:
        yield from names.missing("finishes", made.finish, record, "made.finish")
    for index, part in enumerate(piece.parts):
        yield from _part(part, record, f"parts[{index}]", book, names)
    named = [part.name for part in piece.parts if not isinstance(part, Solder | Member)]
    yield from _twice(record, ((name,) for name in named), "parts.name")
    for index, operation in enumerate(piece.operations):
        yield from _operation(operation, record, f"operations[{index}]", piece, book, names)
    for index, consumable in enumerate(piece.consumables):
        yield from names.missing("stages", consumable.enters, record, f"consumables[{index}].enters")
        yield from _made_finish(consumable.finish, piece, record, f"consumables[{index}].finish")
    for own in piece.yields:
        yield from names.missing("stages", own.stage, record, "yields.stage")
    yield from _twice(record, ((own.stage,) for own in piece.yields), "yields")
    for tooling in piece.tooling:
        if tooling.over_pieces is not None and tooling.life_castings is not None:
            yield Fault(record, f"tooling {tooling.name}", "a quantity and a life", "one or the other, or neither")


def _part(part: Part, record: str, field: str, book: Book, names: _Names) -> Iterator[Fault]:
    yield from names.missing("stages", part.enters, record, f"{field}.enters")
    if isinstance(part, SpunPart | FlatPart | CastPart | Solder):
        yield from names.missing("forms", part.form, record, f"{field}.form")
        form = book.form_by_name.get(part.form)
        if form is not None and form.kind not in _KINDS[type(part)]:
            allowed = " or ".join(f'"{kind}"' for kind in _KINDS[type(part)])
            yield Fault(record, f"{field}.form", f'"{form.name}" of kind "{form.kind}"', f"a form of kind {allowed}")
    if isinstance(part, SpunPart):
        yield from _spun(part, record, field, book, names)
    if isinstance(part, FlatPart) and (part.area_mm2 is None) == (part.length_mm is None or part.width_mm is None):
        yield Fault(record, f"{field}.area_mm2", "neither or both", "an area, or a length with a width")
    if isinstance(part, SpunPart | FlatPart) and (part.finished_g is None) == (part.trim_share is None):
        yield Fault(record, f"{field}.finished_g", "neither or both", "a finished mass or a trim share")
    if isinstance(part, BoughtIn | Outwork):
        yield from names.missing("currencies", part.currency, record, f"{field}.currency")
    if isinstance(part, Member):
        yield from _member(part, record, field, book, names)


def _spun(part: SpunPart, record: str, field: str, book: Book, names: _Names) -> Iterator[Fault]:
    yield from names.missing("sheets", part.sheet, record, f"{field}.sheet")
    if part.diameter_mm is None and not part.profile:
        yield Fault(record, f"{field}.diameter_mm", "neither a diameter nor a profile", "one of them at least")
    form = book.form_by_name.get(part.form)
    stated = (part.sheet_share is not None) + (part.sheet is not None)
    if form is not None and form.kind == DISC and stated:
        yield Fault(record, f"{field}.sheet_share", "a share of sheet on a bought disc", "none: discs come cut")
    if form is not None and form.kind == SHEET and stated != 1:
        yield Fault(record, f"{field}.sheet_share", "neither or both", "a share of the sheet used, or a sheet size")


def _member(part: Member, record: str, field: str, book: Book, names: _Names) -> Iterator[Fault]:
    yield from names.missing("pieces", part.piece, record, f"{field}.piece")
    yield from names.missing("finishes", part.finish, record, f"{field}.finish")
    member = book.piece_by_number.get(part.piece)
    if member is not None and part.finish is not None:
        yield from _made_finish(part.finish, member, record, f"{field}.finish")


def _made_finish(finish: str | None, piece: Piece, record: str, field: str) -> Iterator[Fault]:
    made = [made.finish for made in piece.made]
    # A piece made in nothing has its own fault, which is told once.
    if finish is not None and made and finish not in made:
        allowed = ", ".join(f'"{name}"' for name in made)
        yield Fault(record, field, f'"{finish}"', f"a finish that {piece.number} is made in: {allowed}")


def _operation(
    operation: Operation, record: str, field: str, piece: Piece, book: Book, names: _Names
) -> Iterator[Fault]:
    yield from names.missing("stages", operation.stage, record, f"{field}.stage")
    yield from _made_finish(operation.finish, piece, record, f"{field}.finish")
    parts = [part.name for part in piece.parts if not isinstance(part, Solder | Member)]
    if operation.part is not None and operation.part not in parts:
        allowed = ", ".join(f'"{name}"' for name in parts)
        yield Fault(record, f"{field}.part", f'"{operation.part}"', f"a part of the piece: {allowed}")
    if operation.stage is None and book.bench_rate is None and "bench_rate" not in names.unread:
        yield Fault(record, f"{field}.stage", "nothing", "a stage, where the book has no bench rate")
    if operation.basis == PER_DM2 and operation.part is not None:
        yield Fault(record, f"{field}.basis", "dm2 for one part", "per piece, dozen or batch where a part is named")


def _sets(book: Book) -> Iterator[Fault]:
    """A set that contains itself, through whatever chain, named once by its first piece."""
    members = {piece.number: [part.piece for part in piece.parts if isinstance(part, Member)] for piece in book.pieces}
    state: dict[str, bool] = {}

    def visit(number: str, path: tuple[str, ...]) -> Iterator[Fault]:
        if state.get(number):
            return
        if number in path:
            chain = " → ".join((*path[path.index(number) :], number))
            yield Fault(f"pieces {number}", "parts", f"a set that contains itself: {chain}", "other pieces only")
            state[number] = True
            return
        for member in members.get(number, ()):
            yield from visit(member, (*path, number))
        state[number] = True

    for number in members:
        yield from visit(number, ())


def _member_finishes(book: Book) -> Iterator[Fault]:
    """A member without a finish of its own must be made in every finish of the set."""
    for piece in book.pieces:
        for index, part in enumerate(piece.parts):
            member = book.piece_by_number.get(part.piece) if isinstance(part, Member) else None
            if member is not None and isinstance(part, Member) and part.finish is None:
                for made in piece.made:
                    yield from _made_finish(made.finish, member, f"pieces {piece.number}", f"parts[{index}].finish")


def _channel(channel: Channel, book: Book, names: _Names) -> Iterator[Fault]:
    record = f"channels {channel.name}"
    yield from names.missing("taxes", channel.tax, record, "tax")
    yield from names.missing("taxes", channel.terms.carriage_tax, record, "terms.carriage_tax")
    yield from names.missing("currencies", channel.currency, record, "currency")
    for other in channel.never_above:
        yield from names.missing("channels", other.channel, record, "never_above")
    in_force = [tax for tax in book.taxes if tax.name == channel.tax and tax.since <= book.date]
    if any(tax.name == channel.tax for tax in book.taxes) and not in_force:
        yield Fault(record, "tax", f'"{channel.tax}" only from a later day', f"a tax in force on {book.date}")


def _rule(rule: Rule, names: _Names) -> Iterator[Fault]:
    record = f"rules {rule.name}"
    yield from names.missing("channels", rule.channel, record, "channel")
    yield from names.missing("pieces", rule.piece, record, "piece")
    yield from names.missing("families", rule.family, record, "family")
    if names.whole:
        yield from names.missing("groups", rule.group, record, "group")
    yield from names.missing("finishes", rule.finish, record, "finish")
    yield from names.missing("channels", getattr(rule.method, "channel", None), record, "method.channel")


def _priced(kind: str, price: PriceInForce | AgreedPrice, book: Book, names: _Names) -> Iterator[Fault]:
    record = f"{kind} {price.channel} {price.piece} {price.finish}"
    yield from names.missing("channels", price.channel, record, "channel")
    yield from names.missing("pieces", price.piece, record, "piece")
    piece = book.piece_by_number.get(price.piece)
    if piece is not None:
        yield from _made_finish(price.finish, piece, record, "finish")


def _prices(book: Book, names: _Names) -> Iterator[Fault]:
    for channel in book.channels:
        yield from _channel(channel, book, names)
    for rule in book.rules:
        yield from _rule(rule, names)
    for price in book.prices_in_force:
        yield from _priced("prices_in_force", price, book, names)
    for agreed in book.agreed_prices:
        yield from _priced("agreed_prices", agreed, book, names)
    for agreed in book.agreed_prices:
        if agreed.until < agreed.since:
            record = f"agreed_prices {agreed.channel} {agreed.piece} {agreed.finish}"
            yield Fault(record, "until", str(agreed.until), f"a day from {agreed.since} on")
    for extra in book.extras:
        yield from names.missing("channels", extra.channel, f"extras {extra.name}", "channel")


# What a field of any record refers to by name, for records that could not be read whole.
_REFERENCES = {
    "alloy": "alloys", "channel": "channels", "currency": "currencies", "element": "elements", "enters": "stages",
    "family": "families", "finish": "finishes", "form": "forms", "piece": "pieces", "sheet": "sheets",
    "stage": "stages", "tax": "taxes",
}  # fmt: skip


def _references(record: str, data: Any, names: _Names, field: str = "") -> Iterator[Fault]:
    """Names that nothing has, in a record left out for other faults of its own."""
    if isinstance(data, dict):
        for key, value in data.items():
            at = f"{field}.{key}" if field else str(key)
            if isinstance(value, str) and key in _REFERENCES:
                yield from names.missing(_REFERENCES[key], value, record, at)
            yield from _references(record, value, names, at)
    elif isinstance(data, list):
        for index, item in enumerate(data):
            yield from _references(record, item, names, f"{field}[{index}]")


_Check = Callable[[Book, _Names], Iterator[Fault]]
_BETWEEN_RECORDS: tuple[_Check, ...] = (_heads, _metals, _work, _prices)


@exactly
def faults_of(book: Book, left_out: LeftOut | None = None) -> list[Fault]:
    """Every fault between the records of a book, in its order; empty for a sound book.

    References to what reading left out stand. Figures are worked (blanks against masses, rules against each other)
    for every record that has no fault itself and rests on none that has.
    """
    left_out = left_out or LeftOut()
    names = _Names(book, left_out)
    faults = list(_duplicates(book, left_out))
    for check in _BETWEEN_RECORDS:
        faults += check(book, names)
    for piece in book.pieces:
        faults += _piece(piece, book, names)
    faults += _sets(book)
    faults += _member_finishes(book)
    for record, data in left_out.records:
        faults += _references(record, data, names)
    faults += names.more()
    sound = book if not (faults or left_out) else _sound_part(book, faults, left_out)
    return faults if sound is None else faults + _worked_faults(sound)


def _worked_faults(book: Book) -> list[Fault]:
    return [*worked_faults(book), *rule_faults(book)]


def _collection(record: str) -> str:
    return record.split(" ")[0].split("[")[0]


def _sound_part(book: Book, faults: Iterable[Fault], left_out: LeftOut) -> Book | None:
    """What of a faulty book can still be worked: pieces, channels and rules without a fault that rest on none.

    None where the fault is in what everything rests on: metals, stages, pools and the like.
    """
    faulty = {fault.record for fault in faults}
    at_fault = {_collection(record) for record in faulty} | set(left_out.dropped) | set(left_out.unread)
    if left_out.unread or at_fault & FOUNDATION:
        return None
    pieces = _sound_pieces(book, faulty)
    channels = tuple(c for c in book.channels if f"channels {c.name}" not in faulty)
    rules = _sound_rules(book, faulty, {piece.number for piece in pieces}, {channel.name for channel in channels})
    return dataclasses.replace(
        book, pieces=pieces, channels=channels, rules=rules, prices_in_force=(), agreed_prices=(), extras=()
    )


def _sound_pieces(book: Book, faulty: set[str]) -> tuple[Piece, ...]:
    """The pieces without a fault whose members, through whatever chain, have none either."""
    sound = {piece.number: piece for piece in book.pieces if f"pieces {piece.number}" not in faulty}
    while True:
        resting = [
            number
            for number, piece in sound.items()
            if any(isinstance(part, Member) and part.piece not in sound for part in piece.parts)
        ]
        if not resting:
            return tuple(sound.values())
        for number in resting:
            del sound[number]


def _sound_rules(book: Book, faulty: set[str], pieces: set[str], channels: set[str]) -> tuple[Rule, ...]:
    return tuple(
        rule
        for rule in book.rules
        if f"rules {rule.name}" not in faulty
        and rule.channel in channels
        and getattr(rule.method, "channel", rule.channel) in channels
        and (rule.piece is None or rule.piece in pieces)
    )


def checked(book: Book) -> Book:
    """The book itself, if it has no fault.

    Raises: BookError with every fault together.
    """
    faults = faults_of(book)
    if faults:
        raise BookError(faults)
    return book


def replace(book: Book, **changes: Any) -> Book:
    """A second book with some fields changed, checked as a whole: what a what-if is made of.

    Raises: BookError with every fault together.
    """
    return checked(dataclasses.replace(book, **changes))
