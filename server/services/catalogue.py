"""What a device holds to quote from: lists in compact columns, made once for each list and role and kept compressed."""

from __future__ import annotations

import datetime
import gzip
import hashlib
import json
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import brotli

from pricing.amounts import plain
from pricing.price_list import ChannelPrices, ListedFinish, PriceList, digest, for_channels
from pricing.records import record_data

from .price_lists import body_of, in_force_and_next
from .workshop import Workshop


@dataclass(frozen=True, slots=True)
class Kept:
    """A reply made once: its bytes, its compressed forms and its entity tag."""

    body: bytes
    brotli: bytes
    gzip: bytes
    tag: str


def kept(data: Any) -> Kept:
    """A JSON reply with its compressed forms and a tag from its bytes."""
    body = json.dumps(data, ensure_ascii=False, separators=(",", ":")).encode()
    return Kept(
        body=body,
        brotli=brotli.compress(body, quality=11),
        gzip=gzip.compress(body, 9, mtime=0),
        tag=hashlib.sha256(body).hexdigest()[:24],
    )


def _offers(prices: ChannelPrices | None) -> Any:
    """A price alone as its string; with breaks, the single price and then [from, price, whether families count]."""
    if prices is None:
        return None
    single, *breaks = prices.offers
    if not breaks:
        return plain(single.amount)
    return [plain(single.amount), *([o.quantity, plain(o.amount), int(o.over_family)] for o in breaks)]


def _price_column(finishes: list[ListedFinish], channel: str) -> list[Any]:
    return [
        _offers(next((prices for prices in finish.prices if prices.channel == channel), None)) for finish in finishes
    ]


def piece_columns(price_list: PriceList) -> dict[str, Any]:
    """The pieces and finishes of a list in columns; a piece's finishes stand together, in the order of pieces."""
    families = [family.name for family in price_list.families]
    finish_names = list(dict.fromkeys(f.finish for entry in price_list.entries for f in entry.finishes))
    standings = list(dict.fromkeys(f.standing for entry in price_list.entries for f in entry.finishes))
    units = list(dict.fromkeys(entry.unit for entry in price_list.entries))
    entries = price_list.entries
    return {
        "families": [[family.name, *(text.text for text in family.names[1:])] for family in price_list.families],
        "finish_names": finish_names,
        "standings": standings,
        "units": units,
        "number": [entry.number for entry in entries],
        "name": [entry.names[0].text for entry in entries],
        "family": [families.index(entry.family) for entry in entries],
        "unit": [units.index(entry.unit) for entry in entries],
        "lead_days": [entry.lead_days for entry in entries],
        "pack": {str(i): entry.pack_quantity for i, entry in enumerate(entries) if entry.pack_quantity > 1},
        "least": {str(i): entry.least_order for i, entry in enumerate(entries) if entry.least_order > 1},
        "old": {str(i): list(entry.old_numbers) for i, entry in enumerate(entries) if entry.old_numbers},
        "groups": _groups(price_list),
        "made": [[finish_names.index(f.finish) for f in entry.finishes] for entry in entries],
        "standing": [[standings.index(f.standing) for f in entry.finishes] for entry in entries],
        "packed_g": [_same_or_each([int(f.packed_g) for f in entry.finishes]) for entry in entries],
        "tooling": {
            entry.number: [[t.name, plain(t.amount)] for t in entry.finishes[0].first_order]
            for entry in entries
            if entry.finishes[0].first_order
        },
    }


def _groups(price_list: PriceList) -> dict[str, list[int]]:
    groups: dict[str, list[int]] = {}
    for place, entry in enumerate(price_list.entries):
        for group in entry.groups:
            groups.setdefault(group, []).append(place)
    return groups


def _same_or_each(values: list[int]) -> int | list[int]:
    return values[0] if len(set(values)) == 1 else values


def price_columns(price_list: PriceList) -> dict[str, list[Any]]:
    """The prices of a list by channel, in the order of its finishes."""
    finishes = [finish for entry in price_list.entries for finish in entry.finishes]
    return {channel.name: _price_column(finishes, channel.name) for channel in price_list.channels}


def list_head(price_list: PriceList) -> dict[str, Any]:
    """What a device says of a list: number, workshop, days, digest, taxes, channels with terms, extras."""
    return {
        "number": price_list.number,
        "workshop": price_list.workshop,
        "effective": price_list.effective.isoformat(),
        "until": price_list.until.isoformat(),
        "digest": digest(price_list)[:16],
        "taxes": [record_data(tax) for tax in price_list.taxes],
        "channels": [record_data(channel) for channel in price_list.channels],
        "extras": [record_data(extra) for extra in price_list.extras],
        "agreed": [record_data(agreed) for agreed in price_list.agreed],
        "metals": [record_data(metal) for metal in price_list.metals],
    }


def whole_list(price_list: PriceList) -> dict[str, Any]:
    """A list as a device holds it: its head, its pieces and its prices."""
    return list_head(price_list) | {"pieces": piece_columns(price_list), "prices": price_columns(price_list)}


def prices_alone(price_list: PriceList) -> dict[str, Any]:
    """The prices of a list, and which piece columns they belong to.

    A row a finish, in it a place a channel: prices of one finish look alike, and packed they take a third less.
    """
    columns = price_columns(price_list)
    return {
        "number": price_list.number,
        "digest": digest(price_list)[:16],
        "pieces": pieces_digest(price_list),
        "channels": list(columns),
        "prices": [list(row) for row in zip(*columns.values(), strict=True)],
    }


def sees_channel(workshop: Workshop, role: str, kind: str) -> bool:
    """Whether a role sees prices of a kind of channel: the counter its own shop's, unless the house shows it dealers'."""
    return role != "counter" or kind == "retail" or workshop.settings.counter_sees_dealers


def seen_by(workshop: Workshop, price_list: PriceList, digest: str, role: str) -> PriceList:
    """The list with what a role may see."""
    names = [c.name for c in price_list.channels if sees_channel(workshop, role, c.kind)]
    if len(names) == len(price_list.channels):
        return price_list
    return workshop.kept_once((digest, *names), lambda: for_channels(price_list, names))


class Catalogues:
    """The catalogues of an open workshop, each made once."""

    def __init__(self, workshop: Workshop) -> None:
        self._workshop = workshop
        self._kept: dict[tuple[str, ...], Kept] = {}

    def lists(self, role: str, day: datetime.date) -> list[PriceList]:
        """The list in force and the next, as a role may see them."""
        return [
            seen_by(self._workshop, body_of(self._workshop, list_id), digest, role)
            for list_id, digest in in_force_and_next(self._workshop, day)
        ]

    def whole(self, role: str, day: datetime.date) -> Kept:
        """The whole catalogue."""
        return self._once("whole", role, day, whole_list)

    def prices(self, role: str, day: datetime.date) -> Kept:
        """Prices alone, for a device that holds the same pieces: each list names what its columns belong to."""
        return self._once("prices", role, day, prices_alone)

    def _once(self, what: str, role: str, day: datetime.date, of: Callable[[PriceList], dict[str, Any]]) -> Kept:
        key = (what, role, *(digest for _, digest in in_force_and_next(self._workshop, day)))
        if key not in self._kept:
            self._kept[key] = kept({"lists": [of(price_list) for price_list in self.lists(role, day)]})
        return self._kept[key]

    def drawings(self) -> Kept:
        """The drawing of every piece."""
        key = ("drawings", self._workshop.edition())
        if key not in self._kept:
            drawn = self._workshop.drawings()
            self._kept[key] = kept({number: [d.box, [list(path) for path in d.paths]] for number, d in drawn.items()})
        return self._kept[key]


def piece_data(price_list: PriceList, number: str) -> dict[str, Any] | None:
    """One piece of a list as plain data, by its number or an old one; None where the list has none."""
    for entry in price_list.entries:
        if number == entry.number or number in entry.old_numbers:
            return {"list": price_list.number, **record_data(entry)}
    return None


def pieces_digest(price_list: PriceList) -> str:
    """A digest of the piece columns, to see whether a device's pieces are still these."""
    data = json.dumps(piece_columns(price_list), ensure_ascii=False, sort_keys=True)
    return hashlib.sha256(data.encode()).hexdigest()[:16]
