"""Discs on a sheet never overlap, never leave it, and are as many as each pattern allows."""

import math
from decimal import Decimal, localcontext
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pricing.amounts import CONTEXT, PI
from pricing.errors import PricingError
from pricing.sheet_layout import Pattern, best_layout, layouts, strip_utilisation

NEAR = 1e-9
sides = st.decimals(min_value=100, max_value=600, places=1)
discs = st.decimals(min_value=40, max_value=250, places=1)
gaps = st.decimals(min_value=0, max_value=12, places=1)


def centres(
    pattern: Pattern, length: float, width: float, d: float, web: float, edge: float
) -> list[tuple[float, float]]:
    """The centres of the discs, set one by one until the next would leave the sheet."""
    along, across = max(length, width), min(length, width)
    if pattern is Pattern.STAGGERED_SHORT:
        along, across = across, along
    pitch = d + web
    row_pitch = pitch if pattern is Pattern.SQUARE else pitch * math.sqrt(3) / 2
    found, y, row = [], edge + d / 2, 0
    while y + d / 2 + edge <= across + NEAR:
        x = edge + d / 2 + (pitch / 2 if row % 2 and pattern is not Pattern.SQUARE else 0)
        while x + d / 2 + edge <= along + NEAR:
            found.append((x, y))
            x += pitch
        y, row = y + row_pitch, row + 1
    return found


@given(sides, sides, discs, gaps, gaps)
def test_every_layout_can_be_built_without_overlap(length, width, d, web, edge):
    for layout in layouts(length, width, d, web, edge):
        built = centres(layout.pattern, *(float(figure) for figure in (length, width, d, web, edge)))
        assert len(built) == layout.count
        assert all(math.dist(a, b) >= float(d + web) - NEAR for a, b in combinations(built, 2))


@given(sides, sides, discs, st.decimals(min_value=0, max_value=50, places=1), gaps, gaps)
def test_a_larger_disc_never_gives_more(length, width, d, more, web, edge):
    smaller, larger = layouts(length, width, d, web, edge), layouts(length, width, d + more, web, edge)
    assert all(after.count <= before.count for before, after in zip(smaller, larger, strict=True))


@given(sides, sides, discs, gaps, gaps)
def test_turning_the_sheet_changes_nothing(length, width, d, web, edge):
    assert layouts(length, width, d, web, edge) == layouts(width, length, d, web, edge)


@given(sides, sides, discs, gaps, gaps)
def test_the_share_of_the_sheet_is_exact_and_under_one(length, width, d, web, edge):
    for layout in layouts(length, width, d, web, edge):
        with localcontext(CONTEXT):
            assert layout.utilisation == layout.count * PI * d * d / 4 / (length * width)
        assert 0 <= layout.utilisation < 1


def test_an_exact_fit_counts():
    """0.7 is not seven times 0.1 in floats."""
    square, _, _ = layouts(Decimal("0.7"), Decimal("0.3"), Decimal("0.1"))
    assert square.count == 21
    with_web, _, _ = layouts(Decimal("1.0"), Decimal("0.3"), Decimal("0.1"), Decimal("0.1"), Decimal("0.05"))
    assert with_web.count == 5


def test_a_second_staggered_row_fits_by_a_hair_or_not():
    with localcontext(CONTEXT):
        need = 100 + 100 * Decimal(3).sqrt() / 2
        room = need.quantize(Decimal("1e-20"))
        just, short = room + Decimal("1e-20"), room - Decimal("1e-20")
    # 150 long, rows of 1 and 1 (the second set half a pitch along).
    _, fits, _ = layouts(Decimal(200), just, Decimal(100))
    _, misses, _ = layouts(Decimal(200), short, Decimal(100))
    assert (fits.count, misses.count) == (3, 2)


def test_the_best_of_equals_is_the_simplest():
    assert best_layout(Decimal(1200), Decimal(600), Decimal(150)).pattern is Pattern.SQUARE
    assert best_layout(Decimal(1200), Decimal(600), Decimal(60)).pattern is Pattern.STAGGERED_LONG


def test_a_disc_too_large_for_the_sheet_is_refused():
    sheet = Decimal(600), Decimal(300)
    assert best_layout(*sheet, Decimal(290), edge_mm=Decimal(5)).count == 2
    with pytest.raises(PricingError) as refused:
        best_layout(*sheet, Decimal(291), edge_mm=Decimal(5), record="sheet 600")
    assert str(refused.value) == (
        "sheet 600, disc: found 291 mm; allowed is what fits a sheet of 600 × 300 mm with an edge of 5 mm"
    )


@pytest.mark.parametrize(
    ("figures", "field"),
    [
        (("0", "300", "50", "0", "0"), "length"),
        (("600", "-1", "50", "0", "0"), "width"),
        (("600", "300", "0", "0", "0"), "disc"),
        (("600", "300", "50", "-1", "0"), "web"),
        (("600", "300", "50", "0", "-1"), "edge"),
    ],
)
def test_figures_below_nothing_are_refused(figures, field):
    with pytest.raises(PricingError) as refused:
        layouts(*(Decimal(figure) for figure in figures), record="sheet 600")
    assert (refused.value.code, refused.value.fault.field) == ("layout", field)


def test_more_rows_use_a_strip_better():
    shares = [strip_utilisation(Decimal(100), Decimal(2), Decimal(2), rows) for rows in range(1, 8)]
    assert shares == sorted(shares)
    assert shares[-1] < Decimal("0.9069")
