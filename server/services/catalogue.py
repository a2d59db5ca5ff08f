"""What a device holds to quote from: lists in compact columns, made once for each list and role and kept compressed."""

from __future__ import annotations

import datetime
import gzip
import hashlib
import json
from dataclasses import dataclass
from typing import Any

import brotli

from pricing.amounts import plain
from pricing.price_list import ChannelPrices, ListedFinish, PriceList, digest, for_channels
from pricing.records import record_data

from .price_lists import in_force_and_next
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


class Catalogues:
    """The catalogues of an open workshop, each made once."""

    def __init__(self, workshop: Workshop) -> None:
        self._workshop = workshop
        self._kept: dict[tuple[str, ...], Kept] = {}

    def seen_by(self, price_list: PriceList, role: str) -> PriceList:
        """The list with what a role may see: the counter its own shop's prices, unless the house shows it dealers'."""
        everything = role != "counter" or self._workshop.settings.counter_sees_dealers
        names = [c.name for c in price_list.channels if everything or c.kind == "retail"]
        return for_channels(price_list, names, agreed=everything)

    def lists(self, role: str, day: datetime.date) -> list[PriceList]:
        """The list in force and the next, as a role may see them."""
        return [self.seen_by(price_list, role) for price_list in in_force_and_next(self._workshop, day)]

    def whole(self, role: str, day: datetime.date) -> Kept:
        """The whole catalogue."""
        lists = self.lists(role, day)
        key = ("whole", role, *(digest(price_list) for price_list in lists))
        if key not in self._kept:
            self._kept[key] = kept(
                {
                    "lists": [
                        list_head(made) | {"pieces": piece_columns(made), "prices": price_columns(made)}
                        for made in lists
                    ]
                }
            )
        return self._kept[key]

    def prices(self, role: str, day: datetime.date) -> Kept:
        """Prices alone, for a device that holds the same pieces: each list names what its columns belong to."""
        lists = self.lists(role, day)
        key = ("prices", role, *(digest(price_list) for price_list in lists))
        if key not in self._kept:
            self._kept[key] = kept(
                {
                    "lists": [
                        {
                            "number": made.number,
                            "digest": digest(made)[:16],
                            "pieces": pieces_digest(made),
                            "prices": price_columns(made),
                        }
                        for made in lists
                    ]
                }
            )
        return self._kept[key]

    def drawings(self) -> Kept:
        """The drawing of every piece."""
        drawn = self._workshop.drawings()
        key = ("drawings", self._workshop.priced().book.date.isoformat(), str(id(drawn)))
        if key not in self._kept:
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
