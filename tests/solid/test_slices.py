"""Sections of surfaces that go through themselves."""

import numpy as np
import shapely
from support.check_solids import box, joined

from moldgen.solid.slices import section

RECTANGLES = [(0, 0, 4, 5), (1, 0, 3, 3), (2, 2, 4, 4), (2, 3, 5, 5)]
"""Left, bottom, right and top of boxes whose sides lie along each other in part."""


def test_a_section_of_boxes_that_share_pieces_of_their_sides_is_an_area():
    """Where lines lie on each other in part the cut is an area all the same, within the boxes."""
    boxes = [box(x1 - x0, y1 - y0, 10, (x0, y0, 0)) for x0, y0, x1, y1 in RECTANGLES]
    whole = shapely.union_all([shapely.box(*sides) for sides in RECTANGLES])

    cut = section(joined(*boxes), 3.0)

    assert cut.is_valid
    assert 0.5 * whole.area < cut.area <= whole.area + 1e-6
    assert np.isclose(shapely.difference(cut, whole).area, 0, atol=1e-6)
