"""The map of draft: walls in their colors, the least one ringed, areas in the legend."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.diagrams import opened, plotted, sizes_pt, words_of
from support.solids_for_export import box, frustum, leans_deg, mesh_of

from moldgen.errors import SpecError
from moldgen.export.picture.class_map import class_map, class_map_png, plot_classes, plot_legend
from moldgen.export.picture.draft_map import draft_colors, draft_map, draft_map_png, draft_scale
from moldgen.solid.mesh import Body, joined


def test_draft_colors_are_red_under_the_limit_and_blue_above():
    """Undercut, under the limit, above it, flat and unknown are five different colors."""
    drafts = np.array([-3, 0.0, 4.85, 4.95, 12, 25, 60, 90, np.nan])

    colors = draft_colors(drafts, limit_deg=5).astype(int)

    assert (colors[[0, 1, 2], 0] > 1.8 * colors[[0, 1, 2], 2]).all()
    assert (colors[[3, 4, 5, 6], 2] > colors[[3, 4, 5, 6], 0] + 15).all()
    assert (colors[1] == colors[2]).all()
    assert (np.diff(colors[3:7].sum(axis=1)) > 0).all()
    distinct = {tuple(color) for color in colors.tolist()}
    assert len(distinct) == 8
    # Told apart without color as well: dark undercut, mid red, light flat.
    light = colors @ (0.2126, 0.7152, 0.0722)
    assert light[0] < light[1] - 30 < light[7] - 60


@settings(max_examples=30, deadline=None)
@given(st.floats(0, 60), st.floats(-90, 90))
def test_no_wall_below_the_limit_is_ever_blue(limit_deg, draft_deg):
    """For any limit: red exactly when the wall leans less than the limit less 0.1 degree."""
    [[red, _, blue]] = draft_colors(np.array([draft_deg]), limit_deg=limit_deg).astype(int)

    assert (red > 1.8 * blue) == (draft_deg < limit_deg - 0.1)


def test_the_map_shows_walls_where_they_are():
    """Blue walls all round, sand in the middle, at their places in mm; no alarm."""
    mesh = mesh_of(frustum(100, 60, 20, draft_deg=20))
    ax = plotted(plot_classes, draft_map(mesh, leans_deg(mesh), limit_deg=5))

    (picture,) = ax.images
    x0, x1, y0, y1 = picture.get_extent()
    view = picture.get_array().astype(int)

    def color(x_mm, y_mm):
        row = (y1 - y_mm) / (y1 - y0) * view.shape[0]
        return view[int(row), int((x_mm - x0) / (x1 - x0) * view.shape[1])]

    assert color(0, 0)[0] > color(0, 0)[2]
    # The foot lies at 50 and 30 mm, the flat begins 7.28 mm within.
    for x, y in ((-49.5, 0), (49.5, 0), (0, 29.5), (0, -29.5), (-43.3, 0), (43.3, 0), (0, 23.3)):
        assert color(x, y)[2] > color(x, y)[0] + 20
    for x, y in ((-42, 0), (42, 0), (0, 22), (0, -22)):
        assert color(x, y)[0] > color(x, y)[2]
    assert view.shape[1] / (x1 - x0) == pytest.approx(view.shape[0] / (y1 - y0))
    assert x0 < -50 < 50 < x1
    assert ax.lines[:] == []
    assert ax.get_xlabel() == "x [mm]"
    assert min(sizes_pt(ax)) >= 9


def test_the_file_shows_the_view_pixel_by_pixel():
    """In the PNG the view stands as it is, not scaled, its first row at the top."""
    posts = joined([box(60, 30, 5), box(10, 10, 10, at_mm=(50, 30, 0))])
    # No wall under the limit, or a ring would be drawn over it.
    shown = draft_map(posts, np.maximum(leans_deg(posts), 20), limit_deg=5)
    assert (shown.view != shown.view[::-1]).any()

    picture = opened(class_map_png(shown))

    tall, wide, _ = shown.view.shape
    left, top = 96 + (1272 - wide) // 2, 112
    # A pixel inside the border, where the scales are drawn.
    inside = picture[top + 2 : top + tall - 2, left + 2 : left + wide - 2]
    np.testing.assert_array_equal(inside, shown.view[2:-2, 2:-2])


def test_the_legend_tells_areas():
    """Flats and walls have their own area under the name of their class."""
    mesh = mesh_of(frustum(100, 60, 20, draft_deg=20))
    ax = plotted(plot_legend, draft_map(mesh, leans_deg(mesh), limit_deg=5))

    # Flats: (100 - 2 t)(60 - 2 t), t = 20 tan 20 deg = 7.2794.
    flat_cm2 = (100 - 14.5588) * (60 - 14.5588) / 100
    said = words_of(ax)
    assert said[said.index("top face") + 1] == f"{flat_cm2:.1f} cm²"
    shown = [tuple(round(255 * part) for part in bar.get_facecolor()[:3]) for bar in ax.patches]
    assert shown == list(draft_scale(5).colors)
    assert {text.get_weight() for text in ax.texts} == {"normal"}


def test_the_steepest_wall_is_ringed():
    """A wall below the limit is counted and set in bold, ringed at its place, and named."""
    mesh = mesh_of(frustum(100, 60, 20, draft_deg=3))
    drafts = leans_deg(mesh)
    right = np.abs(mesh.corners_mm[:, :, 0].mean(axis=1) - 49.4) < 1
    drafts[right & (drafts < 45)] = 1.5
    shown = draft_map(mesh, drafts, limit_deg=5)

    ax, legend = plotted(plot_classes, shown), plotted(plot_legend, shown)

    (ring,) = ax.lines
    assert ring.get_xdata()[0] > 40
    assert "least: 1.5°" in words_of(ax)
    # All four walls: half the perimeters' sum times the slant height 20/cos 3 deg.
    walls_cm2 = (320 + 320 - 8 * 2 * 20 * np.tan(np.radians(3)) / 2) / 2 * 20.0274 / 100
    bold = [text.get_text() for text in legend.texts if text.get_weight() == "bold"]
    assert bold == ["under 5°", f"{walls_cm2:.1f} cm²"]


def test_a_map_without_walls_is_drawn():
    """Drafts that are all unknown give a gray map, not a failure."""
    mesh = box(30, 20, 5)

    shown = opened(draft_map_png([Body("x", mesh)], np.full(12, np.nan), limit_deg=5))

    assert shown.shape[1] == 1400
    assert np.ptp(shown[300, 700]) < 10


def test_the_size_of_the_mold_is_told():
    """Width, depth and height stand beside the title."""
    about = draft_map(box(30, 20, 5), np.full(12, 90.0), limit_deg=5).about

    assert about.endswith("30.0 × 20.0 × 5.0 mm")


def test_a_tiny_or_narrow_mold_is_drawn():
    """Neither a needle nor a long thin strip breaks the map."""
    for size in ((0.5, 400, 5), (400, 0.5, 5), (0.1, 0.1, 0.1)):
        view = draft_map(box(*size), np.full(12, 90.0), limit_deg=5).view
        assert min(view.shape[:2]) >= 16


def test_values_must_be_one_for_each_triangle():
    """A map of other values than triangles is refused."""
    with pytest.raises(SpecError, match="values must be one for each of 12 triangles"):
        class_map(box(1, 1, 1), np.zeros(3), draft_scale(5), title="", about="")
