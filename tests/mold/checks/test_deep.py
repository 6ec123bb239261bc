"""When a mold is deep, and how tall an outline may stand without being so."""

from dataclasses import replace

import pytest
import shapely
from shapely import MultiPolygon

from moldgen.mold.checks.deep import DEEP_AREAL, depth_text, shallow_mm
from moldgen.mold.checks.draw import Draw

FLAT = Draw(
    name="", areal=1.2, linear=1.1, height_to_width=0.2, mean_thickness_mm=1.0,
    where_mm=(0.0, 0.0, 0.0), sunk=False,
)  # fmt: skip
RECESS = replace(FLAT, name="recess", areal=1.5, height_to_width=0.9, sunk=True)


@pytest.mark.parametrize(
    ("draws", "words"),
    [
        ((), ""),
        ((FLAT, RECESS), ""),
        ((replace(FLAT, height_to_width=0.33),), ""),
        ((replace(FLAT, height_to_width=0.34),), "its height is 0.34 of its width"),
        ((FLAT, replace(RECESS, areal=1.6)), ""),
        ((FLAT, replace(RECESS, areal=2.11)), "recess is drawn 2.1 times"),
        ((replace(FLAT, areal=1.7), RECESS), "the sheet is drawn 1.7 times"),
    ],
)
def test_a_mold_is_deep_by_its_height_or_by_what_the_sheet_is_drawn(draws, words):
    """More than a third of its width high, or anything drawn more than 1.6 times."""
    assert depth_text(draws) == words


@pytest.mark.parametrize(
    ("width_mm", "length_mm", "tall_mm"), [(60, 60, 12.0), (30, 60, 10.0), (20, 60, 6.5)]
)
def test_an_outline_stands_no_taller_than_a_third_of_its_width(width_mm, length_mm, tall_mm):
    """In half millimeters, and no taller than is asked."""
    plate = MultiPolygon([shapely.box(0, 0, length_mm, width_mm)])
    assert shallow_mm(plate, 12.0) == tall_mm


def test_a_star_of_thin_rays_stands_lower_than_its_width_says():
    """Long edges draw the sheet more: the areal draw ratio of upright walls decides."""
    rays = [
        shapely.affinity.rotate(shapely.box(-1, -30, 1, 30), turn) for turn in range(0, 180, 20)
    ]
    star = MultiPolygon([shapely.union_all(rays)])
    tall_mm = shallow_mm(star, 12.0)

    def areal(height_mm):
        return 1 + star.length * height_mm / star.buffer(height_mm).area

    assert tall_mm < 12.0
    assert areal(tall_mm) <= DEEP_AREAL < areal(tall_mm + 0.5)
