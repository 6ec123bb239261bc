"""Distances between molds: by height, draft, sheet and flange."""

import pytest
from shapely import box

from moldgen.lesson.layout.distance import edge_mm, gap_mm, gaps_of, pair_of
from moldgen.lesson.layout.piece import LayoutPiece


def piece(name="a", **fields):
    """Return a square piece."""
    return LayoutPiece(name=name, outline=box(0, 0, 50, 50), **fields)


@pytest.mark.parametrize(
    ("one", "other", "gauge_mm", "expected"),
    [
        ({"height_mm": 10}, {"height_mm": 4}, 1.0, 10.0),  # a relief: once its height
        ({"height_mm": 20, "draft_deg": 5}, {"height_mm": 4, "draft_deg": 9}, 1.0, 35.0),
        ({"height_mm": 20, "draft_deg": 2}, {"height_mm": 4, "draft_deg": 9}, 1.0, 40.0),
        ({"height_mm": 20, "draft_deg": 3.5}, {"height_mm": 4, "draft_deg": 9}, 1.0, 37.5),
        ({"height_mm": 2}, {"height_mm": 1}, 3.0, 6.0),  # the sheet must go down between them
        ({"height_mm": 10, "flange_mm": 25}, {"height_mm": 4, "flange_mm": 10}, 1.0, 35.0),
    ],
)
def test_the_largest_need_decides(one, other, gauge_mm, expected):
    """By hand: 1 height if low, 1.75 to 2 by draft if tall, two gauges, or both flanges."""
    pair = piece("a", **one), piece("b", **other)

    assert gap_mm(*pair, gauge_mm=gauge_mm) == pytest.approx(expected)
    assert gap_mm(*reversed(pair), gauge_mm=gauge_mm) == pytest.approx(expected)


def test_a_shared_flange_needs_half_the_room():
    """Where one cut is enough the wider flange counts once, but never less than against webs."""
    pair = piece("a", height_mm=5, flange_mm=25), piece("b", height_mm=5, flange_mm=10)

    assert gap_mm(*pair, gauge_mm=1, share_flange=True) == 25.0
    assert gap_mm(piece(height_mm=14), piece(height_mm=14), gauge_mm=1, share_flange=True) == 14.0


def test_what_the_run_asks_for_is_added_to_its_pair_alone():
    """Names in any order are one pair."""
    pieces = piece("b", height_mm=10), piece("a", height_mm=10), piece("c", height_mm=10)

    gaps = gaps_of(pieces, gauge_mm=1, added_mm={pair_of(*pieces[:2]): 5.0})

    assert gaps == ((10, 15, 10), (15, 10, 10), (10, 10, 10))


def test_the_clamp_keeps_off():
    """25 mm, more for a tall mold or a wide flange."""
    assert edge_mm(piece(height_mm=5)) == 25.0
    assert edge_mm(piece(height_mm=40)) == 40.0
    assert edge_mm(piece(height_mm=30, flange_mm=50)) == 50.0
