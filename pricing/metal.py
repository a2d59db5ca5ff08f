"""Metal in a part: what is drawn, what is in the finished part, what comes back and what is lost, in grams."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache

from .alloy import DISC, GATES, SKELETON, TRIMMINGS
from .amounts import ONE, ZERO
from .blank import (
    constant_volume_blank,
    constant_wall_blank,
    disc_mass_g,
    flat_mass_g,
    next_size,
    rectangle_mm2,
)
from .book import Book
from .errors import PricingError, refuse
from .metal_prices import MetalPrices
from .piece import CONSTANT_VOLUME, CastPart, FlatPart, MetalPart, SpunPart
from .profile import Point, Profile, surface_cm2
from .sheet_layout import best_layout


@dataclass(frozen=True, slots=True)
class Metal:
    """The metal of one part, before counts and yields, in grams.

    `drawn` is what is taken from store, `blank` what is worked (the pour, for a casting), `finished` what is in the
    part; `back` is what is recovered, by kind; `lost` is dust or dross. drawn = finished + Σ back + lost.
    """

    alloy: str
    form: str
    drawn: Decimal
    blank: Decimal
    finished: Decimal
    back: tuple[tuple[str, Decimal], ...]
    lost: Decimal


def blank_diameter_mm(book: Book, part: SpunPart, record: str) -> Decimal:
    """The diameter of a part's blank: as really cut, else from its profile; from stocked discs, the next size up.

    Raises: PricingError where the profile cannot be turned, or no stocked disc is large enough.
    """
    diameter = part.diameter_mm or derived_diameter_mm(part, record)
    sizes = book.form_by_name[part.form].disc_sizes_mm
    return next_size(diameter, sizes, record, f"part {part.name}, diameter_mm") if sizes else diameter


def turned_profile(part: SpunPart, record: str) -> Profile:
    """The profile of a part.

    Raises: PricingError `profile`, naming the part, for points that cannot be turned.
    """
    try:
        return _turned(part.profile)
    except PricingError as error:
        raise refuse(error.code, record, f"part {part.name}, profile", error.fault.found, error.fault.allowed) from None


@lru_cache(maxsize=4096)
def _turned(points: tuple[Point, ...]) -> Profile:
    # Checking that a line can be turned takes longer than anything else of a part, and a what-if seldom moves points.
    return Profile(points)


def derived_diameter_mm(part: SpunPart, record: str) -> Decimal:
    """The diameter of the blank that a part's profile needs, by the rule the part names."""
    profile = turned_profile(part, record)
    if part.blank_rule == CONSTANT_VOLUME:
        if part.thinning is None:
            allowed = "the mean wall as a share of the sheet, for a constant-volume blank"
            raise refuse("blank", record, f"part {part.name}, thinning", "nothing", allowed)
        return constant_volume_blank(profile, part.thinning, part.trimming_allowance_mm).diameter_mm
    return constant_wall_blank(profile, part.trimming_allowance_mm).diameter_mm


def part_area_cm2(part: MetalPart) -> Decimal | None:
    """The finished surface of one part in cm²: as stated, else from its profile and the faces finished; None unknown."""
    if part.area_cm2 is not None:
        return part.area_cm2
    if isinstance(part, SpunPart) and part.profile:
        return surface_cm2(Profile(part.profile)) * part.faces
    return None


def _sheet_metal(
    part: SpunPart | FlatPart, blank: Decimal, drawn: Decimal, alloy: str, dust_share: Decimal, record: str
) -> Metal:
    finished = part.finished_g if part.finished_g is not None else blank * (ONE - (part.trim_share or ZERO))
    share = part.dust_share if part.dust_share is not None else dust_share
    dust = finished * share
    trimmings = blank - finished - dust
    if trimmings < 0:
        allowed = f"at most {blank / (ONE + share):.3f} g: the blank of {blank:.3f} g less dust"
        field = "finished_g" if part.finished_g is not None else "trim_share"
        raise refuse("finished mass", record, f"part {part.name}, {field}", f"{finished:.3f} g", allowed)
    back = ((SKELETON, drawn - blank), (TRIMMINGS, trimmings))
    return Metal(alloy, part.form, drawn, blank, finished, tuple(b for b in back if b[1]), dust)


def spun_metal(book: Book, prices: MetalPrices, part: SpunPart, record: str) -> Metal:
    """The metal of a spun part: blank from its diameter, sheet drawn by its share, or a bought disc."""
    form = book.form_by_name[part.form]
    diameter = blank_diameter_mm(book, part, record)
    blank = disc_mass_g(prices.density(form.alloy), part.thickness_mm, diameter)
    if form.kind == DISC:
        drawn = blank
    elif part.sheet_share is not None:
        drawn = blank / part.sheet_share
    else:
        sheet = book.sheet_by_name[part.sheet or ""]
        layout = best_layout(
            sheet.length_mm, sheet.width_mm, diameter, sheet.web_mm, sheet.edge_mm, f"{record}, {part.name}"
        )
        drawn = blank / layout.utilisation
    return _sheet_metal(part, blank, drawn, form.alloy, book.dust_share, record)


def flat_metal(book: Book, prices: MetalPrices, part: FlatPart, record: str) -> Metal:
    """The metal of a part cut flat from sheet."""
    form = book.form_by_name[part.form]
    area = part.area_mm2
    if area is None:
        area = rectangle_mm2(part.length_mm or ZERO, part.width_mm or ZERO)
    blank = flat_mass_g(prices.density(form.alloy), part.thickness_mm, area)
    return _sheet_metal(part, blank, blank / part.sheet_share, form.alloy, book.dust_share, record)


def cast_metal(book: Book, part: CastPart) -> Metal:
    """The metal of a casting: poured = finished ÷ (1 − gates), melted = poured ÷ (1 − dross); gates come back."""
    poured = part.finished_g / (ONE - part.gate_share)
    melted = poured / (ONE - part.dross_share)
    gates = poured - part.finished_g
    back = ((GATES, gates),) if gates else ()
    return Metal(book.form_by_name[part.form].alloy, part.form, melted, poured, part.finished_g, back, melted - poured)


def part_metal(book: Book, prices: MetalPrices, part: MetalPart, record: str) -> Metal:
    """The metal of any part that is made of it.

    Raises: PricingError for a finished mass above its blank, or a blank that cannot be worked.
    """
    if isinstance(part, SpunPart):
        return spun_metal(book, prices, part, record)
    if isinstance(part, FlatPart):
        return flat_metal(book, prices, part, record)
    return cast_metal(book, part)
