"""Vents of a mold that is its own mirror image are mirror images of each other."""

import numpy as np
import pytest

from moldgen.mold.vents.even import Mirror, mirrored, mirrors_of
from moldgen.mold.vents.vent import LowPlace, Reason
from moldgen.solid.height.relief import Relief


def relief_of(heights):
    """A relief of these heights, cells of 1 mm."""
    heights = np.asarray(heights, float)
    return Relief(
        origin_mm=(0.0, 0.0), cell_mm=1.0, heights_mm=heights,
        triangles=np.zeros(heights.shape, np.int32),
    )  # fmt: skip


def place(x_mm, y_mm=10.0, gap_mm=1.0):
    """A low place."""
    return LowPlace(x_mm=x_mm, y_mm=y_mm, z_mm=0.0, gap_mm=gap_mm, air_mm3=0.0, reason=Reason.LINE)


def block():
    """A block of 20 x 10 mm in the middle of 40 x 20 mm of table."""
    heights = np.zeros((20, 40))
    heights[5:15, 10:30] = 5.0
    return relief_of(heights)


def test_a_block_is_its_own_mirror_image_both_ways():
    """Its middle planes are found where they stand; a step on one side leaves one of them."""
    uneven = np.array(block().heights_mm)
    uneven[5:15, 10:18] = 9.0

    found = mirrors_of(block())
    assert [one.across for one in found] == [0, 1]
    assert [one.at_mm for one in found] == pytest.approx([20.0, 10.0])
    assert [one.across for one in mirrors_of(relief_of(uneven))] == [1]
    assert mirrors_of(relief_of(np.zeros((20, 40)))) == ()


@pytest.mark.parametrize("away_mm", [-3.0, -1.0, 0.0, 2.5])
def test_a_place_near_the_middle_is_set_on_it(away_mm):
    """It is not doubled, where the middle is as low."""
    gap = np.ones((20, 40))
    (found,) = mirrored([place(20 + away_mm)], [Mirror(across=0, at_mm=20.0)], gap, block())

    assert (found.x_mm, found.y_mm) == (20.0, 10.0)


def test_a_place_near_a_middle_that_is_high_is_doubled():
    """The middle has no gap under the sheet: a vent there would pull nothing."""
    gap = np.ones((20, 40))
    gap[:, 19:21] = 0.1
    found = mirrored([place(18.0)], [Mirror(across=0, at_mm=20.0)], gap, block())

    assert [one.x_mm for one in found] == [18.0, 22.0]


def test_one_side_is_kept_and_mirrored():
    """What lies on the other side is its image, wherever a place was found there."""
    gap = np.ones((20, 40))
    found = mirrored([place(12.0), place(27.0)], [Mirror(across=0, at_mm=20.0)], gap, block())

    assert [one.x_mm for one in found] == [12.0, 28.0]
    assert mirrored([place(27.0)], [], gap, block()) == [place(27.0)]
