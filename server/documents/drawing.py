"""A piece drawn from its own turned parts, or from a few strokes of its kind, until there is a photograph."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from pricing.outline import svg_outline
from pricing.piece import CastPart, Member, Piece, SpunPart
from pricing.profile import Profile

from .strokes import STROKES, Stroke, stroke_name

FLAT = Decimal("0.18")
LIDS = frozenset({"lid"})
MARGIN = Decimal(3)


@dataclass(frozen=True, slots=True)
class Drawing:
    """An SVG picture: its view box and path data, each path with a shift in y and whether it stands on its head."""

    view_box: tuple[Decimal, Decimal, Decimal, Decimal]
    paths: tuple[tuple[str, str], ...]

    @property
    def box(self) -> str:
        """The view box as SVG writes it."""
        return " ".join(format(figure, "f") for figure in self.view_box)

    def svg(self, colour: str = "currentColor") -> str:
        """The picture as a whole SVG document, filled with one colour."""
        drawn = "".join(f'<path d="{path}"{turn}/>' for path, turn in self.paths)
        return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{self.box}" fill="{colour}">{drawn}</svg>'


def drawing(piece: Piece) -> Drawing:
    """The picture of a piece: seen from above where it is flat, from the side where it is turned, else its stroke."""
    spun = [part for part in piece.parts if isinstance(part, SpunPart) and part.profile]
    if not spun:
        return _stroke(STROKES[stroke_name(piece)])
    body = svg_outline(Profile(spun[0].profile), spun[0].thickness_mm)
    width, height = body.view_box[2], body.view_box[3]
    if len(spun) == 1 and height < FLAT * width:
        return _from_above(spun[0])
    return _with_handles(_stacked(spun), piece, spun[0])


def _stroke(stroke: Stroke) -> Drawing:
    x, y, width, height = (Decimal(figure) for figure in stroke.view_box.split())
    return Drawing((x, y, width, height), tuple((path, "") for path in stroke.paths))


def _ring(radius: Decimal) -> str:
    r = format(radius, "f")
    return f"M-{r} 0 A{r} {r} 0 1 0 {r} 0 A{r} {r} 0 1 0 -{r} 0 Z"


def _from_above(part: SpunPart) -> Drawing:
    """A plate as its rings: the rim and the edge of the well, in the proportions of its profile."""
    radii = [point.radius_mm for point in part.profile]
    rim, well = max(radii), radii[1]
    line = rim * Decimal("0.015")
    rings = [rim, rim * Decimal("0.965"), well + line, well]
    path = " ".join(_ring(radius.quantize(Decimal("0.1"))) for radius in rings)
    side = (rim + MARGIN).quantize(Decimal("0.1"))
    return Drawing((-side, -side, 2 * side, 2 * side), ((path, ' fill-rule="evenodd"'),))


def _stacked(spun: list[SpunPart]) -> Drawing:
    """Turned parts one above the other: foot, body, lid; feet and lids are spun upside down and turned over here."""
    lids = [part for part in spun[1:] if part.name in LIDS]
    feet = [part for part in spun[1:] if part.name not in LIDS]
    placed = list(_placed([*feet[::-1], spun[0], *lids], spun[0]))
    top = min(box[1] for _, _, box in placed)
    left = min(box[0] for _, _, box in placed)
    base = max(box[1] + box[3] for _, _, box in placed)
    box = (left - MARGIN, top - MARGIN, -2 * (left - MARGIN), base - top + 2 * MARGIN)
    return Drawing(box, tuple((path, turn) for path, turn, _ in placed))


def _with_handles(drawn: Drawing, piece: Piece, body: SpunPart) -> Drawing:
    """The handles that a piece has cast to it, one at the right or one at each side."""
    handles = sum(part.count for part in piece.parts if isinstance(part, CastPart) and part.name == "handle")
    if not handles:
        return drawn
    box = svg_outline(Profile(body.profile), body.thickness_mm).view_box
    half, height = box[2] / 2, box[3]
    foot = drawn.view_box[1] + drawn.view_box[3] - MARGIN
    reach = (height * Decimal("0.34")).quantize(Decimal("0.1"))
    paths = [(_handle(half, foot - height * Decimal("0.86"), foot - height * Decimal("0.22"), reach), "")]
    if handles > 1:
        paths.append((paths[0][0], ' transform="scale(-1 1)"'))
    x, y, width, tall = drawn.view_box
    return Drawing((x - reach, y, width + 2 * reach, tall), (*drawn.paths, *paths))


def _handle(side: Decimal, top: Decimal, base: Decimal, reach: Decimal) -> str:
    """A looped handle on the right of a wall at `side`, from `top` to `base`."""
    bar = reach * Decimal("0.24")
    near, out, inner = (
        figure.quantize(Decimal("0.1")) for figure in (side * Decimal("0.94"), side + reach, side + reach - bar)
    )
    top, base, high, low = (f.quantize(Decimal("0.1")) for f in (top, base, top + bar, base - bar))
    middle = ((top + base) / 2).quantize(Decimal("0.1"))
    return (
        f"M{near} {top} C{out} {top} {out} {top} {out} {middle} C{out} {base} {side.quantize(Decimal('0.1'))} {base} {near} {base} "
        f"L{near} {low} C{inner} {low} {inner} {low} {inner} {middle} C{inner} {high} {inner} {high} {near} {high} Z"
    )


def _placed(
    parts: list[SpunPart], body: SpunPart
) -> Iterator[tuple[str, str, tuple[Decimal, Decimal, Decimal, Decimal]]]:
    level = Decimal(0)
    for part in parts:
        outline = svg_outline(Profile(part.profile), part.thickness_mm)
        x, y, width, height = outline.view_box
        if part is body:
            turn = f' transform="translate(0 {-level - y - height})"'
        else:
            turn = f' transform="translate(0 {y - level}) scale(1 -1)"'
        yield outline.silhouette, turn, (x, -level - height, width, height)
        level += height


def drawn_pieces(pieces: tuple[Piece, ...]) -> dict[str, Drawing]:
    """The drawing of every piece by number; a set is drawn as its first member."""
    by_number = {piece.number: piece for piece in pieces}

    def shown(piece: Piece) -> Piece:
        member = next((part for part in piece.parts if isinstance(part, Member)), None)
        return piece if member is None else shown(by_number[member.piece])

    return {piece.number: drawing(shown(piece)) for piece in pieces}
