"""The holes under a mold are counted row by row, in memory that does not grow with its depth."""

import tracemalloc
from dataclasses import replace

import numpy as np
import pytest
from shapely import MultiPolygon, Point, box

from moldgen.errors import SpecError
from moldgen.mold.underside.table_holes import free_holes_mm2
from moldgen.stock import load_shop


def test_rows_add_up_to_the_whole():
    """On the average, as much is free as the region is of the plane, wherever its rows part."""
    region = MultiPolygon([box(3.3, 1.7, 91.2, 83.9), Point(200, 40).buffer(31.7)])

    free = free_holes_mm2(region, pitch_mm=20.0, hole_mm=2.0)

    # One hole for each cell of the grid, counted on a raster of a quarter of a millimeter.
    assert free.mean() == pytest.approx(region.area / 20.0**2 * np.pi, rel=2e-3)


def test_a_large_mold_over_a_fine_grid_takes_little_memory():
    """Two meters over holes every 10 mm were half a gigabyte at once."""
    tracemalloc.start()

    free_holes_mm2(MultiPolygon([box(0, 0, 2000, 2000)]), pitch_mm=10.0, hole_mm=2.0)

    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 60_000_000


def test_a_grid_finer_than_any_table_is_refused():
    """A pitch of 0.001 mm would be millions of millions of holes."""
    machine = load_shop().machine("workshop-600x600")

    with pytest.raises(SpecError, match="hole_pitch_mm must be at least 2 mm"):
        replace(machine, hole_pitch_mm=0.001, hole_diameter_mm=0.0005)
