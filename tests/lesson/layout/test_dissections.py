"""The tighter search on published puzzles that fill a strip without waste: how near it comes."""

from itertools import combinations

import pytest
import shapely
from conftest import published
from shapely import Polygon
from shapely.affinity import scale

from moldgen.lesson.layout import search
from moldgen.lesson.layout.piece import LayoutArea, LayoutPiece, LayoutTask, even_gaps
from moldgen.lesson.layout.search import lay_out, lay_out_tighter
from moldgen.lesson.layout.verify import faults_of

UNIT_MM = 24.0
"""A unit of the puzzle on the sheet. [mm]."""
BEST = {"pentominoes 6 x 10": (6, 10), "pentominoes 5 x 12": (5, 12), "tangram 4 x 4": (4, 4)}
"""Width of the strip, and the least length there can be, in units: filled without waste."""
REACHED = {"pentominoes 6 x 10": 0.83, "pentominoes 5 x 12": 0.85, "tangram 4 x 4": 0.88}
"""Least share of the strip, to where it is used, that the search fills. [-]."""
QUARTERS, EIGHTHS = (0.0, 90.0, 180.0, 270.0), tuple(45.0 * k for k in range(8))

every = pytest.mark.parametrize("instance", BEST)


def pieces_of(instance):
    """Return the pieces of a puzzle where they lie in the filled rectangle, by name."""
    return {
        row["piece"]: Polygon(
            [tuple(map(int, corner.split(";"))) for corner in row["corners"].split()]
        )
        for row in published("strip_dissections")
        if row["instance"] == instance
    }


def strip(instance):
    """Return the puzzle as pieces in millimeters, on a strip that is long enough."""
    pieces = pieces_of(instance)
    wide, long = BEST[instance]
    large = [scale(one, UNIT_MM, UNIT_MM, origin=(0, 0)) for one in pieces.values()]
    return LayoutTask(
        area=LayoutArea(name="strip", width_mm=2 * long * UNIT_MM, depth_mm=wide * UNIT_MM),
        pieces=tuple(
            LayoutPiece(name=name, outline=outline)
            for name, outline in zip(pieces, large, strict=True)
        ),
        gaps_mm=even_gaps(len(large), 0.0),
        edges_mm=(0.0,) * len(large),
        turns_deg=EIGHTHS if "tangram" in instance else QUARTERS,
    )


def length_of(layout):
    """Return the length of strip that a layout takes, in units of the puzzle."""
    assert len(layout.shots) == 1
    left, _, right, _ = shapely.total_bounds(layout.regions(layout.shots[0]))
    return (right - left) / UNIT_MM


@every
def test_the_pieces_as_printed_fill_their_rectangle(instance):
    """They lie inside, do not overlap, and have its area: the best length is what it is."""
    wide, long = BEST[instance]
    pieces = pieces_of(instance)

    assert shapely.union_all(list(pieces.values())).equals(shapely.box(0, 0, long, wide))
    assert sum(one.area for one in pieces.values()) == wide * long
    assert all(one.intersection(other).area == 0 for one, other in combinations(pieces.values(), 2))


def test_pentominoes_are_twelve_different_shapes_of_five_cells():
    """None is another one turned or turned over, and both rectangles have the same."""
    kinds = []
    for instance in ("pentominoes 6 x 10", "pentominoes 5 x 12"):
        pieces = pieces_of(instance)
        assert [one.area for one in pieces.values()] == [5] * 12
        kinds.append({name: shape_of(one) for name, one in pieces.items()})

    assert kinds[0] == kinds[1]
    assert len(set(kinds[0].values())) == 12


def shape_of(piece):
    """Return a shape of cells however it lies: the least of its eight ways."""
    x0, y0, x1, y1 = map(int, piece.bounds)
    cells = [
        (x, y)
        for x in range(x0, x1)
        for y in range(y0, y1)
        if piece.contains(shapely.Point(x + 0.5, y + 0.5))
    ]
    ways = []
    for sign in (1, -1):
        turned = [(sign * x, y) for x, y in cells]
        for _ in range(4):
            turned = [(-y, x) for x, y in turned]
            left, low = (min(values) for values in zip(*turned, strict=True))
            ways.append(tuple(sorted((x - left, y - low) for x, y in turned)))
    return min(ways)


@every
def test_the_search_fills_a_strip_nearly_as_well_as_it_can_be_filled(instance, monkeypatch):
    """The layout is sound, no shorter than the best, and as full as was reached before."""
    monkeypatch.setattr(search, "least_shots", lambda task: 0)
    layout = lay_out_tighter(strip(instance), seed=1, tries=600)
    _, best = BEST[instance]

    assert faults_of(layout) == ()
    assert layout.left_out == ()
    assert best - 1e-9 <= length_of(layout) <= best / REACHED[instance]
    assert length_of(layout) <= length_of(lay_out(strip(instance))) + 1e-9
