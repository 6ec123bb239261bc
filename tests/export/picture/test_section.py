"""The section of a mold: true to scale, measured, hatched where there is material."""

import numpy as np
import pytest
from manifold3d import Manifold
from support.diagrams import is_filled, opened, plotted, sizes_pt, words_of
from support.solids_for_export import box, mesh_of, tide_sign
from support.some import some

from moldgen.errors import SpecError
from moldgen.export.picture.section import (
    best_cut_mm,
    cut_axis,
    cut_open,
    cut_place_mm,
    plot_closer,
    plot_section,
    plot_size,
    section_png,
    windows_of,
)
from moldgen.solid.mesh import Body, Mesh


def cut(mesh, **how):
    """The section of one body."""
    return cut_open([Body("x", mesh)], **({"sheet_mm": None, "at_mm": None} | how))


def test_the_mold_is_cut_along_its_longer_side_where_most_walls_are():
    """The cut passes the block, and of equal places takes the one nearest the middle."""
    plate = Manifold.cube((100, 60, 4)) + Manifold.cube((20, 10, 20)).translate((40, 42, 0))
    mesh = mesh_of(plate)

    assert cut_axis(mesh) == 1
    assert 42 < best_cut_mm(mesh, axis=1) < 52
    assert best_cut_mm(box(100, 60, 4), axis=1) == pytest.approx(30)
    assert cut_axis(box(10, 60, 4)) == 0


def test_height_and_length_have_one_scale():
    """Either window shows as much height for its pixels as it shows length."""
    section = cut(tide_sign(), sheet_mm=2)
    for window in some(windows_of(section)):
        ax = plotted(plot_section, section, window)
        (left, right), (floor, ceiling) = ax.get_xlim(), ax.get_ylim()

        assert (left, right) == (window.low_mm, window.high_mm)
        assert (floor, ceiling) == (0, section.ceiling_mm)
        assert (right - left) * window.px_per_mm <= 1400 - 2 * 144 + 1e-9
        assert (ceiling - floor) * window.px_per_mm <= 420 + 1e-6


def test_the_section_is_measured():
    """Height and length stand beside lines as long as they."""
    section = cut(tide_sign(), sheet_mm=2)
    ax = plotted(plot_size, section, windows_of(section)[0])

    lines = [text for text in ax.texts if not text.get_text()]
    (x0, low), (x1, high) = lines[0].xy, lines[0].xyann
    assert (x0, high - low) == (x1, pytest.approx(17))
    (left, y0), (right, y1) = lines[1].xy, lines[1].xyann
    assert (y0, right - left) == (y1, pytest.approx(160))
    assert {"17.0 mm", "160.0 mm"} <= set(words_of(ax))
    assert min(sizes_pt(ax)) >= 9


def test_the_sheet_hangs_above_the_mold_in_its_gauge():
    """It is as thick as its gauge, above the top of the mold; without one there is none."""
    section = cut(tide_sign(), sheet_mm=2)
    ax = plotted(plot_section, section, windows_of(section)[0])

    sheet = ax.patches[-1]
    assert sheet.get_height() == 2
    assert sheet.get_y() > section.top_mm
    assert "sheet 2 mm" in words_of(ax)
    bare = cut(tide_sign())
    assert len(plotted(plot_section, bare, windows_of(bare)[0]).patches) == len(ax.patches) - 1


def test_the_cut_face_is_hatched_where_there_is_material():
    """A hollow inside the solid is neither filled nor hatched."""
    hollow = Manifold.cube((100, 40, 20)) - Manifold.cube((60, 20, 10)).translate((20, 10, 5))
    section = cut(mesh_of(hollow), at_mm=20)

    ax = plotted(plot_section, section, windows_of(section)[0])

    face = ax.patches[0]
    assert face.get_hatch()
    assert is_filled(face.get_path(), (10, 10))
    assert not is_filled(face.get_path(), (50, 10))
    assert not is_filled(face.get_path(), (10, 25))


def test_the_picture_fills_the_area_of_the_cut():
    """The share of paper that is covered by the cut face is that of its area."""
    hollow = Manifold.cube((100, 40, 20)) - Manifold.cube((60, 20, 10)).translate((20, 10, 5))
    shown = opened(section_png([Body("x", mesh_of(hollow))], at_mm=20))

    face = (shown[:, :, 2] > shown[:, :, 0] + 10) & (shown.sum(axis=2) > 250)
    px_per_mm = (1400 - 2 * 144) / 100
    assert face.sum() == pytest.approx((2000 - 600) * px_per_mm**2, rel=0.05)


def test_a_flat_mold_is_drawn_larger_too():
    """A long low mold gets a second window on its walls, a tall one does not."""
    section = cut(tide_sign())
    whole, close = windows_of(section)

    assert close.px_per_mm > 1.5 * whole.px_per_mm
    assert whole.low_mm <= close.low_mm < close.high_mm <= whole.high_mm
    assert windows_of(cut(box(60, 50, 40)))[1] is None
    above = plotted(lambda ax: None)
    below = plotted(lambda ax: plot_closer(above, ax, section, whole, close))
    (ring,) = above.patches
    assert (ring.get_x(), ring.get_width()) == (close.low_mm, close.high_mm - close.low_mm)
    assert f"the same, {close.px_per_mm / whole.px_per_mm:.1f} times larger" in words_of(below)


def test_the_section_says_where_it_is_cut():
    """The place, the direction and the side it is seen from."""
    assert (
        cut(box(100, 40, 20), at_mm=20).about == "cut along x at y = 20.0 mm, seen from the front"
    )
    assert cut(box(10, 40, 20), at_mm=5).about == "cut along y at x = 5.0 mm, seen from the right"


def test_a_section_that_misses_is_refused():
    """A cut beside the mold is told with the mold's extent."""
    with pytest.raises(SpecError, match=r"at_mm must be within the mold, 0 to 40 mm \(got 99 mm\)"):
        section_png([Body("x", box(100, 40, 20))], at_mm=99)


def test_a_surface_too_open_to_have_a_cut_face_is_refused_by_its_own_name():
    """One triangle encloses nothing: no place to cut is told, and the sentence says why."""
    leaf = Mesh(np.array([[0, 0, 0], [60, 0, 0], [30, 40, 20.0]]), np.array([[0, 1, 2]], np.int32))

    assert cut_place_mm([Body("leaf", leaf)]) is None
    assert cut_place_mm([Body("x", box(100, 40, 20))]) == 20
    with pytest.raises(SpecError, match="bodies must be closed where they are cut"):
        section_png([Body("leaf", leaf)])
