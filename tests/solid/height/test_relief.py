"""Heights seen from above."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.check_solids import box, joined, lathe, moved, pyramid

from moldgen.errors import SpecError
from moldgen.solid.height.relief import cell_for, relief_of


def test_box_is_flat_and_its_margin_bare():
    """A box gives its height over every cell, and nothing in the margin."""
    relief = relief_of(box(4, 3, 7, (10, 20, 0)), cell_mm=0.5, margin_mm=1.0)

    assert relief.heights_mm.shape == (10, 12)
    assert relief.origin_mm == (9.0, 19.0)
    np.testing.assert_allclose(relief.heights_mm[2:-2, 2:-2], 7, rtol=1e-12)
    assert np.isnan(relief.heights_mm[:2]).all()
    assert relief.covered.sum() == 6 * 8
    assert relief.on_table_mm.max() == pytest.approx(7)
    assert relief.on_table_mm[0, 0] == 0


def test_pyramid_follows_its_planes():
    """Over every cell of a square frustum stands the height of its planes."""
    relief = relief_of(pyramid(20, 4, 8), cell_mm=0.37)
    x, y = np.meshgrid(relief.x_mm, relief.y_mm)
    exact = np.minimum(8, 10 - np.maximum(abs(x), abs(y)))
    within = exact > 0

    np.testing.assert_allclose(relief.heights_mm[within], exact[within], rtol=0, atol=1e-9)


def test_only_the_upper_of_two_is_seen():
    """A lid over a box hides it, whichever comes first."""
    low, lid = box(4, 4, 1), box(4, 4, 1, (0, 0, 5))
    for solid in (joined(low, lid), joined(lid, low)):
        relief = relief_of(solid, cell_mm=0.5)
        np.testing.assert_allclose(relief.heights_mm, 6, rtol=1e-12)
        assert set((relief.triangles // 12).ravel()) == ({1} if solid.points_mm[0, 2] == 0 else {0})


def test_hole_through_the_mold_is_bare():
    """Through a ring one sees the table."""
    relief = relief_of(lathe([(4, 0), (8, 0), (8, 3), (4, 3)]), cell_mm=0.25)
    middle = relief.cells(np.zeros((1, 2)))[0]

    assert np.isnan(relief.heights_mm[tuple(middle)])
    assert relief.on_table_mm[tuple(middle)] == 0


def test_what_lies_below_the_floor_is_taken_up_to_it():
    """The table hides what is under it."""
    relief = relief_of(box(2, 2, 3, (0, 0, -5)), cell_mm=0.5, floor_mm=1.5)

    assert (relief.heights_mm == 1.5).all()


def test_rows_run_along_y_and_columns_along_x():
    """Cells are (row, column); places are (x, y)."""
    relief = relief_of(joined(box(6, 2, 1), box(1, 1, 4, (5, 0, 0))), cell_mm=1.0)

    assert relief.heights_mm.shape == (2, 6)
    assert relief.heights_mm[0, 5] == pytest.approx(4)
    assert relief.places_mm(np.array([[0, 5]])).tolist() == [[5.5, 0.5]]
    assert relief.cells(np.array([[5.2, 0.9, 7.0]])).tolist() == [[0, 5]]


def test_places_outside_get_the_nearest_cell():
    """Outside the grid one gets its border."""
    relief = relief_of(box(3, 2, 1), cell_mm=1.0)

    assert relief.cells(np.array([[-9.0, 99.0], [99.0, -9.0]])).tolist() == [[1, 0], [0, 2]]


@settings(max_examples=25, deadline=None)
@given(st.floats(1, 900), st.floats(1, 900), st.floats(0, 60))
def test_chosen_cell_keeps_to_the_number_of_cells(width, depth, margin):
    """The cell chosen from the extent gives at most the cells allowed, and not far fewer."""
    solid = box(width, depth, 1)
    cell = cell_for(solid, margin_mm=margin, n_cells=4000)
    relief = relief_of(solid, cell_mm=cell, margin_mm=margin)

    assert relief.heights_mm.size <= 4000
    assert cell == 0.05 or relief.heights_mm.size > 2000 or min(width, depth) < 20


@settings(max_examples=25, deadline=None)
@given(st.floats(-200, 200), st.floats(-200, 200))
def test_moving_the_mesh_moves_the_origin_alone(x, y):
    """A moved mesh gives the same heights from another origin."""
    solid = pyramid(20, 4, 8)
    here = relief_of(solid, cell_mm=0.9)
    there = relief_of(moved(solid, by=(x, y, 0)), cell_mm=0.9)

    np.testing.assert_allclose(there.heights_mm, here.heights_mm, rtol=0, atol=1e-6)
    assert there.origin_mm == pytest.approx((x - 10, y - 10))


@pytest.mark.parametrize(
    ("more", "sentence"),
    [
        ({"cell_mm": 0.0}, r"^cell_mm must be more than 0 mm \(got 0 mm\)\.$"),
        ({"cell_mm": float("nan")}, r"^cell_mm must be more than 0 mm \(got nan mm\)\.$"),
        (
            {"cell_mm": 1.0, "margin_mm": -1.0},
            r"^margin_mm must be at least 0 mm \(got -1 mm\)\.$",
        ),
    ],
)
def test_bad_numbers_are_refused(more, sentence):
    """Cells of no size and negative margins are refused in one sentence."""
    with pytest.raises(SpecError, match=sentence):
        relief_of(box(1, 1, 1), **more)
