"""Strips between loops that face each other: sound or refused, never wrong."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon
from shapely.affinity import translate
from support.outlines import outlines, rectangle, regular
from support.some import some

from moldgen.solid.loft.contour import clean_pieces, inset
from moldgen.solid.loft.flips import twice_areas
from moldgen.solid.loft.ladder import rungs


def _strip(outer, inner):
    """The strip's triangles, and all corners in the order in which they are numbered."""
    return rungs(outer, inner), np.concatenate([*outer, *inner])


def _rings(region):
    (rings,) = clean_pieces(region)
    return rings


def _borders(rings, first):
    """Directed edges of loops whose corners are numbered one after another."""
    edges = set()
    for ring in rings:
        there = first + np.arange(len(ring))
        edges |= set(zip(there.tolist(), np.roll(there, -1).tolist(), strict=True))
        first += len(ring)
    return edges


def _open_edges(faces):
    """Directed edges of triangles that no neighbor runs along the other way."""
    ends = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]]).tolist()
    edges = {(a, b) for a, b in ends}
    assert len(edges) == len(ends)
    return {(a, b) for a, b in edges if (b, a) not in edges}


@given(outlines(), st.floats(0.01, 1.5))
@settings(max_examples=40, deadline=None)
def test_a_strip_covers_the_band_once_or_is_refused(region, run_mm):
    """Between a contour and the next, every triangle turns left and the areas add up."""
    for part in some(region.geoms):
        outside = shapely.MultiPolygon([part])
        inside = inset(outside, run_mm)
        pieces = list(clean_pieces(inside))
        outer = _rings(outside)
        faces, plan = _strip(outer, [ring for piece in pieces for ring in piece])
        if faces is None:
            continue
        inner = [ring for piece in pieces for ring in piece]
        band = Polygon(outer[0], outer[1:]).area - sum(
            Polygon(piece[0], piece[1:]).area for piece in pieces
        )
        areas = twice_areas(faces, plan)
        assert areas.min() > 0
        assert areas.sum() / 2 == pytest.approx(band, abs=1e-6)
        first = sum(len(ring) for ring in outer)
        back = {(b, a) for a, b in _borders(inner, first)}
        assert _open_edges(faces) == _borders(outer, 0) | back


def test_corners_of_concentric_rings_face_each_other():
    """Two rings of as many corners are joined by rungs between neighbors."""
    outer, inner = _rings(regular(10, 60)), _rings(regular(9, 60))
    faces, plan = _strip(outer, inner)
    edges = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
    longest = np.hypot(*(plan[edges[:, 0]] - plan[edges[:, 1]]).T).max()
    assert longest <= np.hypot(1.0, 2 * np.pi * 10 / 60)
    assert len(faces) == 120


def test_holes_find_their_partners_in_any_order():
    """Holes of the next contour may be numbered in another order."""
    holes = [shapely.Point(x, y).buffer(2) for x, y in ((-12, 0), (3, 8), (11, -6))]
    plate = shapely.MultiPolygon([rectangle(40, 40).difference(shapely.union_all(holes))])
    outer, inner = _rings(plate), _rings(inset(plate, 0.5))
    turned = [inner[0], inner[2], inner[3], inner[1]]
    faces, plan = _strip(outer, turned)
    band = plate.area - inset(plate, 0.5).area
    assert twice_areas(faces, plan).sum() / 2 == pytest.approx(band, rel=1e-4)


@pytest.mark.parametrize(
    ("outer", "inner"),
    [
        (rectangle(20, 20), rectangle(4, 4)),
        (rectangle(20, 20), translate(rectangle(18, 18), 3, 0)),
    ],
    ids=["far within", "across the border"],
)
def test_loops_in_doubtful_places_are_sound_or_refused(outer, inner):
    """A small loop far within may be joined; one that crosses the border never is."""
    faces, plan = _strip(_rings(outer), _rings(inner))
    if faces is not None:
        assert outer.covers(inner)
        area = twice_areas(faces, plan).sum() / 2
        assert area == pytest.approx(outer.area - inner.area, rel=1e-9)
    assert faces is not None or not outer.covers(inner)


def test_loops_that_split_or_close_are_refused():
    """A contour in two pieces, one without its hole, or none at all, has no ladder."""
    ring = rectangle(20, 20).difference(rectangle(4, 4))
    outer = _rings(shapely.MultiPolygon([ring]))
    assert rungs(outer, _rings(rectangle(10, 10))) is None
    assert rungs(outer, []) is None
    halves = [*_rings(rectangle(3, 3)), *_rings(rectangle(5, 5))]
    assert rungs(_rings(rectangle(20, 20)), halves) is None


def test_two_holes_that_face_one_are_refused():
    """Where two holes have one nearest partner, the loops do not face each other."""

    def plate(*places):
        holes = [shapely.Point(x, 0).buffer(1) for x in places]
        return _rings(
            shapely.MultiPolygon([rectangle(60, 20).difference(shapely.union_all(holes))])
        )

    assert rungs(plate(-20, -17), plate(-18.5, 20)) is None
