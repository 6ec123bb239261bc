"""The map of what making a shape formable changed."""

import numpy as np
import pytest
from support.diagrams import lightness, opened, plotted, sizes_pt, words_of

from moldgen.export.picture.changes import (
    change_map,
    change_map_png,
    plot_after,
    plot_before,
    plot_change,
    plot_colors,
)
from moldgen.export.picture.figure import new_figure

BEFORE = np.zeros((12, 20))
BEFORE[2:10, 3:17] = 4.0
BEFORE[4:8, 6:14] = 8.0
AFTER = BEFORE.copy()
AFTER[3:9, 5] = 6.0
AFTER[5, 10] = 7.5


def shown():
    """The map of a block that got a wall and lost a corner."""
    return change_map(BEFORE, AFTER, cell_mm=0.5, title="block")


def test_only_the_shape_is_shown():
    """Rows and columns without anything are left out; sizes are in mm."""
    assert shown().before_mm.shape == (8, 14)
    assert shown().size_mm == (7.0, 4.0)
    assert (shown().top_mm, shown().most_mm) == (8.0, 2.0)


def test_the_change_is_after_less_before():
    """Added is positive; the colors reach as far either way as the greatest change."""
    ax = plotted(plot_change, shown())

    (picture,) = ax.images
    np.testing.assert_array_equal(picture.get_array(), (AFTER - BEFORE)[2:10, 3:17])
    assert picture.get_clim() == (-2.0, 2.0)
    assert picture.origin == "lower"
    assert "change of height [mm]" in words_of(ax)


@pytest.mark.parametrize(
    ("plot", "heights", "words"),
    [(plot_before, BEFORE, "as brought: height [mm]"), (plot_after, AFTER, "as made: height [mm]")],
)
def test_heights_are_lit_and_higher_is_lighter(plot, heights, words):
    """On flats the color is that of the height; what is not there is left bare."""
    whole = change_map(heights, heights, cell_mm=0.5, title="block")
    ax = plotted(plot, whole)

    (picture,) = ax.images
    colors = picture.get_array()
    light = lightness(255 * colors[..., :3])
    assert light[4, 7] > light[4, 1] + 30
    assert picture.get_clim() == (0, 8)
    assert picture.get_extent() == [0, 7, 0, 4]
    assert words in words_of(ax)
    assert min(sizes_pt(ax)) >= 9


def test_what_is_not_there_is_bare():
    """A node of no height within the window has no color."""
    hole = BEFORE.copy()
    hole[5, 5] = 0.0

    ax = plotted(plot_before, change_map(hole, BEFORE, cell_mm=0.5, title="block"))

    alpha = ax.images[0].get_array()[..., 3]
    assert alpha[3, 2] == 0
    assert alpha.sum() == alpha.size - 1


def test_colors_are_explained():
    """Below each panel stand its least, middle and greatest value."""
    with new_figure() as figure:
        panel, bar = figure.subplots(2)
        plot_change(panel, shown())
        plot_colors(bar, panel)

    assert [label.get_text() for label in bar.get_xticklabels()] == ["-2", "0", "2"]


def test_the_picture_is_a_png():
    """Wide, narrow and unchanged shapes give pictures 1400 pixels wide."""
    for before, after in ((BEFORE, AFTER), (BEFORE.T, AFTER.T), (BEFORE, BEFORE)):
        assert opened(change_map_png(before, after, cell_mm=0.5, title="x")).shape[1] == 1400
