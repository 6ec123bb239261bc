"""Pieces on cells: places that are free keep the distance, on every side and at every turn."""

import numpy as np
import pytest
import shapely
from shapely import Polygon, box

from moldgen.lesson.layout.piece import LayoutArea, LayoutPiece, LayoutTask, even_gaps
from moldgen.lesson.layout.raster import TaskRaster, grown

ELL = Polygon([(0, 0), (9.3, 0), (9.3, 3.1), (2.7, 3.1), (2.7, 8.2), (0, 8.2)])
BAR = Polygon([(0, 0), (6.4, 1.3), (6.1, 3.9)])


def offsets(raster, gap_mm):
    """Return offsets of the bar to the ell in cells, and which of them are said to be free."""
    meetings, down = raster.meetings((0, 0), (1, 1))
    reach = int(gap_mm) + 14
    x, y = np.meshgrid(np.arange(-reach, reach), np.arange(-reach, reach), indexing="ij")
    bits = (x * raster.stride + y + down).ravel()
    free = [bit < 0 or not meetings >> int(bit) & 1 for bit in bits]
    return x.ravel(), y.ravel(), np.array(free)


@pytest.mark.parametrize("gap_mm", [0.0, 2.0, 5.5, 7.3])
@pytest.mark.parametrize("turn_deg", [0.0, 90.0, 200.0])
def test_a_free_place_keeps_the_distance(gap_mm, turn_deg):
    """Wherever the bar may lie round the ell, above, below, left or right, it is so far away."""
    task = LayoutTask(
        area=LayoutArea(name="area", width_mm=60, depth_mm=60),
        pieces=(LayoutPiece(name="ell", outline=ELL), LayoutPiece(name="bar", outline=BAR)),
        gaps_mm=even_gaps(2, gap_mm), edges_mm=(0.0, 0.0), turns_deg=(0.0, turn_deg),
    )  # fmt: skip
    raster = TaskRaster(task)
    x, y, free = offsets(raster, gap_mm)
    bar = raster.turned(1, 1).outline

    moved = shapely.transform(
        np.repeat(bar, len(x)),
        lambda at: at + np.repeat(np.column_stack([x, y]), len(bar.exterior.coords), axis=0),
    )
    apart = shapely.distance(ELL, moved)

    assert apart[free].min() >= gap_mm - 1e-9
    assert shapely.area(shapely.intersection(ELL, moved))[free].max() < 1e-9
    assert apart[~free].max() < gap_mm + 3 * raster.cell_mm
    assert free.any()
    assert (~free).any()


@pytest.mark.parametrize("outline", [ELL, BAR])
def test_an_outline_grows_by_the_whole_distance(outline):
    """What is nearer than the distance lies within; level and upright sides gain no more."""
    larger = grown(outline, 5.0)

    assert larger.covers(outline.buffer(5.0 - 1e-9, quad_segs=200))
    assert grown(box(0, 0, 4, 3), 5.0).bounds == pytest.approx((-5, -5, 9, 8), abs=1e-12)
    assert larger.area < 1.01 * outline.buffer(5.0, quad_segs=200).area
