"""A few strokes for pieces that are not turned: flasks, spoons, frames, ornaments and other castings."""

from __future__ import annotations

from dataclasses import dataclass

from pricing.piece import Piece


@dataclass(frozen=True, slots=True)
class Stroke:
    """A simple picture: view box and paths."""

    view_box: str
    paths: tuple[str, ...]


STROKES = {
    "flask": Stroke("0 0 60 84", ("M24 2h12v7H24z M22 11h16v4c8 1 14 6 14 14v44c0 6-4 9-9 9H17c-5 0-9-3-9-9V29c0-8 6-13 14-14z",)),
    "spoon": Stroke("0 0 40 120", ("M20 2c10 0 15 12 15 22s-6 18-11 20l2 66c0 5-2 8-6 8s-6-3-6-8l2-66C11 42 5 34 5 24S10 2 20 2z",)),
    "fork": Stroke("0 0 40 120", ("M8 2h4v26h4V2h4v26h4V2h4v26h4V2h0v34c0 8-5 11-8 12l2 62c0 5-2 8-6 8s-6-3-6-8l2-62c-3-1-8-4-8-12V2z",)),
    "knife": Stroke("0 0 40 120", ("M16 2c8 6 12 22 12 40 0 10-3 16-6 18l2 50c0 5-2 8-6 8s-6-3-6-8l3-50z",)),
    "frame": Stroke("0 0 80 96", ("M4 4h72v88H4z M16 16v64h48V16z",)),
    "ring": Stroke("0 0 80 80", ("M40 6a34 34 0 1 0 .01 0z M40 20a20 20 0 1 1-.01 0z",)),
    "hanging": Stroke(
        "0 0 80 96",
        ("M40 2a9 9 0 1 0 .01 0z M40 6a5 5 0 1 1-.01 0z", "M40 22l9 20 22 2-17 15 5 22-19-12-19 12 5-22L9 44l22-2z"),
    ),
    "buckle": Stroke("0 0 96 72", ("M10 8h76a6 6 0 0 1 6 6v44a6 6 0 0 1-6 6H10a6 6 0 0 1-6-6V14a6 6 0 0 1 6-6z M16 20v32h30V38h-6v-4h6V20z M50 20v14h30v4H50v14h30V20z",)),
    "tray": Stroke("0 0 120 80", ("M60 4c34 0 56 16 56 36S94 76 60 76 4 60 4 40 26 4 60 4z M60 14C33 14 15 25 15 40s18 26 45 26 45-11 45-26-18-26-45-26z",)),
    "casting": Stroke("0 0 80 80", ("M40 6a34 34 0 1 0 .01 0z M40 12a28 28 0 1 1-.01 0z M40 22a18 18 0 1 0 .01 0z",)),
}  # fmt: skip

_WORDS = (
    ("flask", "flask"),
    ("fork", "fork"),
    ("knife", "knife"),
    ("opener", "knife"),
    ("horn", "spoon"),
    ("spoon", "spoon"),
    ("ladle", "spoon"),
    ("server", "spoon"),
    ("shell", "spoon"),
    ("frame", "frame"),
    ("plaque", "frame"),
    ("box", "frame"),
    ("ring", "ring"),
    ("buckle", "buckle"),
    ("ornament", "hanging"),
    ("pendant", "hanging"),
    ("tray", "tray"),
)


def stroke_name(piece: Piece) -> str:
    """Which strokes show a piece: as it names them, else by a word of its English name."""
    if piece.picture in STROKES:
        return str(piece.picture)
    names = " ".join(text.text for text in piece.names).lower()
    return next((stroke for word, stroke in _WORDS if word in names), "casting")
