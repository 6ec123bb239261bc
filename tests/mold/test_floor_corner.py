"""Corners of a recess at its floor: as round as at the mouth, where the floor has the room."""

from dataclasses import replace

import pytest
import shapely
from support.outlines import as_multi, rectangle

from moldgen.mold.build import build_raw_mold, flat_region
from moldgen.mold.features import Direction, Feature, Wall
from moldgen.mold.floor_corner import floor_corner_mm
from moldgen.outline.region import rounded_plan
from moldgen.solid.loft.corners import least_corner_mm


def recess(region, *, depth_mm=80.0, children=()):
    """A recess at the usual lean."""
    wall = Wall(height_mm=depth_mm, draft_deg=4.5, top_radius_mm=1.5, base_radius_mm=1.5)
    return Feature(
        name="recess", region=region, direction=Direction.SUNK, wall=wall, children=children
    )


def stub(width_mm, x_mm=0.0):
    """A square that stands on a floor, so far from its middle in both directions."""
    square = rectangle(width_mm, width_mm).geoms[0]
    region = as_multi(shapely.transform(square, lambda xy: xy + x_mm))
    wall = Wall(height_mm=5.0, draft_deg=4.0, top_radius_mm=1.0, base_radius_mm=1.0)
    return Feature(name="stub", region=region, wall=wall)


@pytest.mark.parametrize(("depth_mm", "floor_mm"), [(20.0, 6.0), (80.0, 6.0), (200.0, 10.0)])
def test_a_floor_keeps_the_corner_of_the_mouth(depth_mm, floor_mm):
    """It is the mouth's radius, or a twentieth of the depth where that is more."""
    region = rounded_plan(rectangle(150.0, 150.0), 6.0, what="it")

    assert floor_corner_mm(recess(region, depth_mm=depth_mm), mouth_mm=6.0) == floor_mm


@pytest.mark.parametrize(
    ("region", "depth_mm"),
    [
        (rectangle(60.0, 60.0), 4.0),
        (rounded_plan(rectangle(90.0, 90.0), 30.0, what="it"), 40.0),
    ],
)
def test_corners_that_are_shallow_or_round_are_left(region, depth_mm):
    """A relief keeps its corners, and so does a recess that is round at its floor anyway."""
    assert floor_corner_mm(recess(region, depth_mm=depth_mm), mouth_mm=3.0) == 0.0


def test_a_narrow_recess_keeps_its_floor():
    """The radius is halved until the disk passes the neck between two wide ends."""
    ends = [shapely.box(x, 0, x + 30, 30) for x in (0, 44)]
    region = as_multi(shapely.union_all([*ends, shapely.box(25, 12, 50, 22)]))
    feature = recess(region, depth_mm=30.0)
    chosen_mm = floor_corner_mm(feature, mouth_mm=4.0)

    assert 0.0 < chosen_mm < 4.0
    assert chosen_mm in {2.0, 1.0}


def test_what_stands_in_a_corner_of_the_floor_keeps_its_place():
    """A stub in the corner has the radius halved or left; one in the middle does not."""
    region = rectangle(100.0, 100.0)
    middle = recess(region, children=(stub(20.0),))
    corner = recess(region, children=(stub(20.0, 31.0),))

    assert floor_corner_mm(middle, mouth_mm=8.0) == 8.0
    assert floor_corner_mm(corner, mouth_mm=8.0) < 8.0


def test_a_mold_is_built_with_it():
    """The flat of the built recess has the radius, which its wall alone would have taken away."""
    region = rounded_plan(rectangle(120.0, 120.0), 6.0, what="it")
    feature = recess(region)
    wall = Wall(height_mm=84.0, draft_deg=3.0, top_radius_mm=1.5, base_radius_mm=0.0)
    rounder = replace(feature, floor_corner_mm=6.0)
    block = Feature(name="block", region=rectangle(160.0, 160.0), wall=wall, children=(rounder,))
    built = build_raw_mold([block])

    assert built.findings == ()
    assert least_corner_mm(built.plans[1].flat, 9.0) == pytest.approx(6.0, abs=0.05)
    assert least_corner_mm(flat_region(feature), 9.0) < 0.2
