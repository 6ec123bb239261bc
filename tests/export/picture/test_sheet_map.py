"""The map of a formed sheet: contours within the trim line, scale, vents, marks."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely import MultiPolygon
from support.diagrams import is_filled, opened, plotted, sizes_pt, words_of
from support.some import some

from moldgen.errors import SpecError
from moldgen.export.picture.mark import Mark
from moldgen.export.picture.sheet_map import (
    SheetMap,
    path_of,
    plot_scale,
    plot_sheet,
    sheet_map_png,
)
from moldgen.export.picture.value_scale import ValueScale

RED, GREEN, BLUE = (255, 0, 0), (0, 255, 0), (0, 0, 255)
SCALE = ValueScale(edges=(0.0, 0.5, 1.0, 1.5), colors=(RED, GREEN, BLUE), label="thickness [mm]")
HOLE = shapely.box(9, 4, 11, 6)
TRIM = MultiPolygon([shapely.box(2, 2, 18, 8) - HOLE])


def ramp_map(**changes):
    """A sheet of 20 x 10 mm whose value rises from 0 on the left to 1.5 on the right."""
    x, y = (grid.ravel() for grid in np.meshgrid(np.arange(21.0), np.arange(11.0)))
    corner = (np.arange(10)[:, None] * 21 + np.arange(20)).ravel()
    triangles = np.concatenate(
        [np.column_stack([corner, corner + 1, corner + 22]),
         np.column_stack([corner, corner + 22, corner + 21])]
    )  # fmt: skip
    made = SheetMap(
        title="ramp", about="value, from above", points_mm=np.column_stack([x, y]),
        triangles=triangles.astype(np.int32), values=1.5 * x / 20, scale=SCALE,
        areas_cm2=np.array([0.1, 0.4, 0.2]), trim=TRIM, vents_mm=np.array([[3.0, 3.0], [7.0, 5.0]]),
    )  # fmt: skip
    return replace(made, **changes)


def classes_of(ax):
    """The filled contours on axes."""
    (classes,) = [one for one in ax.collections if hasattr(one, "levels") and one.filled]
    return classes


def test_contours_run_where_the_value_has_its_levels():
    """A class ends on a straight line where the interpolated value is its edge, without teeth."""
    classes = classes_of(plotted(plot_sheet, ramp_map()))

    assert tuple(classes.levels) == SCALE.edges
    low, middle, high = (path.vertices[:, 0] for path in classes.get_paths())
    assert (low.min(), low.max()) == pytest.approx((0, 20 / 3))
    assert (middle.min(), middle.max()) == pytest.approx((20 / 3, 40 / 3))
    assert (high.min(), high.max()) == pytest.approx((40 / 3, 20))
    shown = (255 * classes.get_facecolor()[:, :3]).round().astype(int)
    assert [tuple(color) for color in shown.tolist()] == [RED, GREEN, BLUE]


def test_sheet_thicker_than_it_was_counts_to_the_top_class():
    """What is pushed together leaves no hole in the map."""
    ramp = ramp_map()
    *_, high = classes_of(plotted(plot_sheet, replace(ramp, values=1.2 * ramp.values))).get_paths()

    assert high.vertices[:, 0].max() == pytest.approx(20)


def test_a_jump_is_shown_as_one_even_line_without_what_lies_between():
    """Where points turn from first to last, no middle class is seen, nor the triangles' teeth."""
    x, y = ramp_map().points_mm.T
    jump = np.where(x + y % 2 > 10.5, 9.0, -0.5)
    kinds = replace(SCALE, edges=(-1.0, 0.0, 1.0, 9.5), names=("rose", "early", "never"))

    ax = plotted(plot_sheet, ramp_map(values=jump, scale=kinds))
    _, early, never = [one for one in ax.collections if hasattr(one, "levels")]
    border = [paths.get_paths()[0].vertices for paths in (early, never)]

    np.testing.assert_array_equal(*border)
    edge = border[0][(border[0][:, 0] < 19) & (abs(border[0][:, 1] - 5) < 3), 0]
    assert np.ptp(some(edge)) < 0.35
    assert np.mean(edge) == pytest.approx(10, abs=0.35)


def test_contours_are_clipped_at_the_trim_line_and_its_holes():
    """The clip path covers what is cut out, neither the rest of the sheet nor a hole."""
    classes = classes_of(plotted(plot_sheet, ramp_map(limit=0.75)))

    path, transform = classes.get_clip_path().get_transformed_path_and_affine()
    data = classes.axes.transData
    for place, inside in (((3, 3), True), ((1, 3), False), ((10, 5), False), ((17.9, 7.9), True)):
        own = transform.inverted().transform(data.transform(place))
        assert is_filled(path, own) == inside


def test_a_red_line_runs_where_the_limit_is():
    """The line of the limit is clipped as well; a sheet all above it has none."""
    ax = plotted(plot_sheet, ramp_map(limit=0.75))
    (line,) = [one for one in ax.collections if hasattr(one, "levels") and not one.filled]

    assert line.levels == [0.75]
    assert line.get_paths()[0].vertices[:, 0] == pytest.approx(10)
    assert line.get_clip_path() is not None
    above = ramp_map(values=np.full(231, 1.2), limit=0.75)
    assert len(plotted(plot_sheet, above).collections) == 1


def test_vents_outlines_and_marks_are_drawn_in():
    """Vents lie where they are, outlines on the mold, and the words of a mark beside it."""
    mark = Mark(x_mm=4.0, y_mm=5.0, words="thinnest: 0.30 mm")
    outline = MultiPolygon([shapely.box(5, 3, 15, 7)])

    ax = plotted(plot_sheet, ramp_map(marks=(mark,), outlines=(outline,)))

    vents, ring = ax.lines
    np.testing.assert_array_equal(vents.get_xydata(), [[3, 3], [7, 5]])
    np.testing.assert_array_equal(ring.get_xydata(), [[4, 5]])
    (words,) = ax.texts
    assert (words.get_text(), words.xy) == ("thinnest: 0.30 mm", (4.0, 5.0))
    assert words.get_ha() == "left"
    trim, drawn = (patch.get_path().vertices for patch in ax.patches)
    assert (trim.min(), trim[:, 0].max()) == (2, 18)
    assert (drawn[:, 0].min(), drawn[:, 0].max()) == (5, 15)
    assert ax.get_xlabel() == "x [mm]"
    assert ax.get_ylabel() == "y [mm]"
    assert min(sizes_pt(ax)) >= 9


def test_words_turn_toward_the_middle():
    """On the right half of the map they stand left of their ring."""
    ax = plotted(plot_sheet, ramp_map(marks=(Mark(x_mm=17.0, y_mm=5.0, words="thinnest"),)))

    assert ax.texts[0].get_ha() == "right"


def test_the_scale_is_a_histogram_in_the_colors_of_the_map():
    """Each class has a bar from edge to edge, as long as its area, and its own color."""
    ax = plotted(plot_scale, ramp_map(limit=0.375))

    bars, strip = (container.patches for container in ax.containers)
    assert [bar.get_width() for bar in bars] == [0.1, 0.4, 0.2]
    assert [(bar.get_y(), bar.get_height()) for bar in bars] == [(0, 0.5), (0.5, 0.5), (1, 0.5)]
    shown = [tuple(round(255 * part) for part in bar.get_facecolor()[:3]) for bar in bars]
    assert shown == [RED, GREEN, BLUE]
    assert [bar.get_facecolor() for bar in strip] == [bar.get_facecolor() for bar in bars]
    assert {"thickness [mm]", "area [cm²]"} <= set(words_of(ax))
    assert ax.lines[0].get_ydata() == [0.375, 0.375]
    assert "0.375" in ax.texts[0].get_text()
    assert ax.get_ylim() == (0, 1.5)


def test_classes_with_names_are_named():
    """Where the edges tell nothing, names stand beside bars of one height."""
    named = replace(SCALE, edges=(-1.0, 0.0, 0.2, 5.0), names=("rose", "early", "never"))

    ax = plotted(plot_scale, ramp_map(scale=named))

    assert [label.get_text() for label in ax.get_yticklabels()] == ["rose", "early", "never"]
    assert {bar.get_height() for bar in ax.containers[0].patches} == {1.0}


def test_a_path_leaves_holes_open():
    """A place within the outline is inside, one within the hole is not, whatever their sense."""
    around, hole = shapely.box(2, 2, 18, 8).exterior, HOLE.exterior
    for part in (
        shapely.Polygon(around, [hole]),
        shapely.Polygon(around, [hole.reverse()]),
        shapely.Polygon(around.reverse(), [hole.reverse()]),
    ):
        region = MultiPolygon([part])
        path = path_of(region)
        assert is_filled(path, (3, 3))
        assert not is_filled(path, (10, 5))
        assert not is_filled(path, (1, 1))


def test_values_must_be_one_for_each_point():
    """A map of other values than points is refused."""
    with pytest.raises(SpecError, match="values must be one for each of 231 points"):
        ramp_map(values=np.zeros(3))


def test_the_picture_shows_the_part_and_not_its_hole():
    """Blue on the right within the trim line; paper in its hole and beside it."""
    shown = opened(sheet_map_png(ramp_map(vents_mm=np.zeros((0, 2)))))

    blue = (shown == BLUE).all(axis=2)
    green = (shown == GREEN).all(axis=2)
    assert blue[:, :1060].sum() > 10_000
    # The middle third holds the hole: 4 of its 20/3 x 6 mm.
    px_per_mm2 = blue[:, :1060].sum() / ((18 - 40 / 3) * 6)
    assert green[:, :1060].sum() / px_per_mm2 == pytest.approx(20 / 3 * 6 - 4, rel=0.03)
