"""A piece drawn from its own turned parts, or from a few strokes of its kind, until there is a photograph."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from markupsafe import Markup

from pricing.outline import svg_outline
from pricing.piece import CastPart, Member, Piece, SpunPart
from pricing.profile import Profile

from .strokes import STROKES, Stroke, stroke_name

FLAT = Decimal("0.18")
LIDS = frozenset({"lid"})
CARRIERS = frozenset({"base", "foot"})
MARGIN = Decimal(3)
COLUMN_MM_PER_G = Decimal("0.6")
PEN = Decimal("0.014")
GAP_SHARE = Decimal("0.16")
MOST_SHOWN = 4


@dataclass(frozen=True, slots=True)
class Drawing:
    """An SVG picture: its view box and path data, each path with what its element says beside it (shift, fill rule).

    `upright` pictures are in mm, seen from the side, symmetric about 0, with their foot `MARGIN` above the lower edge.
    `ground` is what lies under the paths of a piece seen from above, drawn as lines.
    """

    view_box: tuple[Decimal, Decimal, Decimal, Decimal]
    paths: tuple[tuple[str, str], ...]
    upright: bool = False
    ground: str = ""

    @property
    def box(self) -> str:
        """The view box as SVG writes it."""
        return " ".join(format(figure, "f") for figure in self.view_box)

    def svg(self, colour: str = "currentColor") -> str:
        """The picture as a whole SVG document, filled with one colour."""
        drawn = "".join(f'<path d="{path}"{beside}/>' for path, beside in self.paths)
        return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{self.box}" fill="{colour}">{drawn}</svg>'

    def lined(self, metal: str, line: str, words: str, pen: Decimal = PEN) -> Markup:
        """The picture drawn in lines on a paler metal, the pen a share of its longer side.

        `words` say what it shows to a reader who cannot see it.
        """
        title = Markup("<title>{}</title>").format(words)
        if self.ground:
            pale = f'<path d="{self.ground}" fill="{metal}"/>'
            drawn = "".join(f'<path d="{path}"{beside} fill="{line}"/>' for path, beside in self.paths)
        else:
            pale = ""
            drawn = "".join(f'<path d="{path}"{beside}/>' for path, beside in self.paths)
        width = (max(self.view_box[2:]) * pen).quantize(Decimal("0.01"))
        drawn_with = "" if self.ground else f' stroke="{line}" stroke-width="{width}" stroke-linejoin="round"'
        head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{self.box}" fill="{metal}"{drawn_with}>'
        return Markup("{}{}{}</svg>").format(Markup(head), title, Markup(pale + drawn))


def drawing(piece: Piece) -> Drawing:
    """The picture of a piece: seen from above where it is flat, from the side where it is turned, else its stroke."""
    spun = [part for part in piece.parts if isinstance(part, SpunPart) and part.profile]
    if not spun:
        return _stroke(STROKES[stroke_name(piece)])
    body = next((part for part in spun if part.name not in LIDS | CARRIERS), spun[0])
    width, height = svg_outline(Profile(body.profile), body.thickness_mm).view_box[2:]
    if len(spun) == 1 and height < FLAT * width:
        return _from_above(body)
    return _with_handles(_stacked(spun, body, _column_mm(piece)), piece, body)


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
    ground = _ring(rim.quantize(Decimal("0.1")))
    return Drawing((-side, -side, 2 * side, 2 * side), ((path, ' fill-rule="evenodd"'),), ground=ground)


def _stacked(spun: list[SpunPart], body: SpunPart, column_mm: Decimal) -> Drawing:
    """Turned parts one above the other: foot, column, body, lid; what is spun upside down is turned over here."""
    lids = [part for part in spun if part.name in LIDS and part is not body]
    feet = [part for part in spun if part.name not in LIDS and part is not body]
    placed = list(_placed([*feet[::-1], body, *lids], body, column_mm))
    top = min(box[1] for _, _, box in placed)
    left = min(box[0] for _, _, box in placed)
    base = max(box[1] + box[3] for _, _, box in placed)
    box = (left - MARGIN, top - MARGIN, -2 * (left - MARGIN), base - top + 2 * MARGIN)
    return Drawing(box, tuple((path, turn) for path, turn, _ in placed), upright=True)


def _column_mm(piece: Piece) -> Decimal:
    """How tall a cast column is drawn, by its metal; 0 without one."""
    columns = [part.finished_g for part in piece.parts if isinstance(part, CastPart) and part.name == "column"]
    return (columns[0] * COLUMN_MM_PER_G).quantize(Decimal("0.1")) if columns else Decimal(0)


def _column(height: Decimal) -> str:
    """A baluster column that stands on 0 and rises to `height`."""
    thin, full = ((height * Decimal(share)).quantize(Decimal("0.1")) for share in ("0.055", "0.11"))
    low, knop, high = ((height * Decimal(share)).quantize(Decimal("0.1")) for share in ("0.14", "0.34", "0.6"))
    right = f"M{full} 0 L{thin} -{low} Q{full * 2} -{knop} {thin} -{high} L{thin} -{high} L{full} -{height}"
    left = f"L-{full} -{height} L-{thin} -{high} Q-{full * 2} -{knop} -{thin} -{low} L-{full} 0 Z"
    return f"{right} {left}"


def _with_handles(drawn: Drawing, piece: Piece, body: SpunPart) -> Drawing:
    """What a piece has cast to it: a handle at the right, one at each side, or a spout at the left."""
    cast = {part.name: part.count for part in piece.parts if isinstance(part, CastPart)}
    if "handle" not in cast:
        return drawn
    box = svg_outline(Profile(body.profile), body.thickness_mm).view_box
    half, height = box[2] / 2, box[3]
    foot = drawn.view_box[1] + drawn.view_box[3] - MARGIN
    reach = (height * Decimal("0.34")).quantize(Decimal("0.1"))
    paths = [(_handle(half, foot - height * Decimal("0.86"), foot - height * Decimal("0.22"), reach), "")]
    if cast["handle"] > 1:
        paths.append((paths[0][0], ' transform="scale(-1 1)"'))
    if "spout" in cast:
        paths.append((_spout(half, foot, height, reach), ""))
    x, y, width, tall = drawn.view_box
    # Handles and spouts go behind the body: they end at its wall wherever that is.
    return replace(drawn, view_box=(x - reach, y, width + 2 * reach, tall), paths=(*paths, *drawn.paths))


def _spout(half: Decimal, foot: Decimal, height: Decimal, reach: Decimal) -> str:
    """A spout at the left of a body `half` wide, from low on its side up to the height of its rim."""
    inside, tip, neck = (
        figure.quantize(Decimal("0.1"))
        for figure in (half * Decimal("0.8"), half + reach, half + reach * Decimal("0.45"))
    )
    low, high, lip = ((foot - height * Decimal(share)).quantize(Decimal("0.1")) for share in ("0.3", "0.62", "1.02"))
    back = (tip - reach * Decimal("0.26")).quantize(Decimal("0.1"))
    outer = f"M-{inside} {low} C-{neck} {low} -{neck} {high} -{tip} {lip}"
    return f"{outer} L-{back} {lip} Q-{inside} {high} -{inside} {high} Z"


def _handle(side: Decimal, top: Decimal, base: Decimal, reach: Decimal) -> str:
    """A looped handle on the right of a wall at `side`, from `top` to `base`."""
    bar = reach * Decimal("0.24")
    near, out, inner = (
        figure.quantize(Decimal("0.1")) for figure in (side * Decimal("0.6"), side + reach, side + reach - bar)
    )
    top, base, high, low = (f.quantize(Decimal("0.1")) for f in (top, base, top + bar, base - bar))
    middle = ((top + base) / 2).quantize(Decimal("0.1"))
    return (
        f"M{near} {top} C{out} {top} {out} {top} {out} {middle} C{out} {base} {side.quantize(Decimal('0.1'))} {base} {near} {base} "
        f"L{near} {low} C{inner} {low} {inner} {low} {inner} {middle} C{inner} {high} {inner} {high} {near} {high} Z"
    )


def _placed(
    parts: list[SpunPart], body: SpunPart, column_mm: Decimal
) -> Iterator[tuple[str, str, tuple[Decimal, Decimal, Decimal, Decimal]]]:
    level = Decimal(0)
    for part in parts:
        outline = svg_outline(Profile(part.profile), part.thickness_mm)
        x, y, width, height = outline.view_box
        if part is body and column_mm:
            half = column_mm / 5
            yield (
                _column(column_mm),
                f' transform="translate(0 {-level})"',
                (-half, -level - column_mm, 2 * half, column_mm),
            )
            level += column_mm
        shift, flip = (-level - y - height, "") if part is body else (y - level, " scale(1 -1)")
        turn = f' transform="translate(0 {shift}){flip}"'
        yield outline.silhouette, turn, (x, -level - height, width, height)
        level += height


def in_a_row(drawings: Sequence[Drawing]) -> Drawing:
    """Upright drawings side by side on one ground, each as large against the others as the pieces are."""
    tall = max(drawn.view_box[3] for drawn in drawings)
    gap = (tall * GAP_SHARE).quantize(Decimal("0.1"))
    x, paths = MARGIN, []
    for drawn in drawings:
        left, top, width, height = drawn.view_box
        shift = f"translate({x - left - MARGIN} {-top - height + MARGIN})"
        paths += [(path, _shifted(beside, shift)) for path, beside in drawn.paths]
        x += width - 2 * MARGIN + gap
    box = (Decimal(0), MARGIN - tall, x - gap + MARGIN, tall)
    return Drawing(box, tuple(paths), upright=True)


def _shifted(beside: str, shift: str) -> str:
    begins = ' transform="'
    return beside.replace(begins, f"{begins}{shift} ", 1) if begins in beside else f'{begins}{shift}"{beside}'


def drawn_pieces(pieces: tuple[Piece, ...]) -> dict[str, Drawing]:
    """The drawing of every piece by number; a set is drawn as those of its members that stand, else as its first."""
    by_number = {piece.number: piece for piece in pieces}

    def members(piece: Piece) -> list[Drawing]:
        held = [part for part in piece.parts if isinstance(part, Member)]
        return [shown(by_number[part.piece]) for part in held for _ in range(min(part.count, 2))]

    def shown(piece: Piece) -> Drawing:
        held = members(piece)
        standing = [drawn for drawn in held if drawn.upright][:MOST_SHOWN]
        if standing:
            return in_a_row(standing)
        return held[0] if held else drawing(piece)

    return {piece.number: shown(piece) for piece in pieces}
