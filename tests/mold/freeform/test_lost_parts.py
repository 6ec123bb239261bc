"""Thin parts that rounding takes away are told with place and size."""

import numpy as np
import pytest

from moldgen.finding import Severity
from moldgen.mold.freeform.freeform import FreeformSpec, make_formable
from moldgen.mold.freeform.lost import check_lost_parts
from moldgen.solid.height.height_solid import HeightField

CELL_MM = 0.5
SPEC = FreeformSpec(draft_deg=3.0, top_radius_mm=1.5, base_radius_mm=1.0, deviation_mm=0.05)


def lost(*fins):
    """What is told of a hull of 50 x 30 x 8 mm with fins: x, y, width, depth, top. [mm]."""
    heights = np.full((120, 160), -np.inf)
    heights[30:90, 30:130] = 8.0
    for x, y, width, depth, top in fins:
        rows = slice(30 + round(y / CELL_MM), 30 + round((y + depth) / CELL_MM))
        columns = slice(30 + round(x / CELL_MM), 30 + round((x + width) / CELL_MM))
        heights[rows, columns] = top
    field = HeightField(origin_mm=(-15.0, -15.0), cell_mm=CELL_MM, heights_mm=heights)
    return list(check_lost_parts(make_formable(field, SPEC), name="hull"))


def test_a_fin_thinner_than_the_radius_on_both_sides_is_told():
    """A skeg 1 mm thick, 16 mm high, leaves a low ridge; the caution says where and how large."""
    (told,) = lost((10, 14, 20, 1, 24))

    assert (told.code, told.severity, told.subject) == (
        "thin-part-lost", Severity.CAUTION, "hull",
    )  # fmt: skip
    assert "a part of 20 x 1 mm seen from above" in told.says
    assert told.measured == pytest.approx(14.5, abs=1)
    assert 10 <= told.where_mm[0] <= 30
    assert told.where_mm[1] == pytest.approx(14.5, abs=1)


def test_parts_are_counted_and_the_highest_is_told():
    """Of two pins the higher one is told, and that there are two."""
    (told,) = lost((10, 10, 1.5, 1.5, 16), (30, 20, 1.5, 1.5, 22))

    assert told.says.startswith("2 parts are too thin")
    assert told.where_mm[0] == pytest.approx(30.5, abs=1.5)


def test_edges_and_broad_parts_are_not_told():
    """A hull and a cabin on it lose their sharp edges, and no part."""
    assert lost() == []
    assert lost((10, 8, 14, 12, 18)) == []


def test_a_crumb_is_not_told():
    """A spike of less than 1 mm² is noise of a scan."""
    assert lost((10, 10, 0.5, 0.5, 16)) == []
