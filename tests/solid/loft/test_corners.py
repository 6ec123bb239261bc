"""Recess corners that stay round on the way down: closed, never steeper, as round as promised."""

from math import atan, degrees

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon
from support.outlines import as_multi, outlines, rectangle
from support.some import some

from moldgen.outline.region import rounded_plan
from moldgen.solid.loft.corners import least_corner_mm, opened
from moldgen.solid.loft.loft import Surface, add_wall, inset
from moldgen.solid.loft.profile import Profile
from moldgen.solid.loft.rulings import parallel_rungs

DRAFT_DEG = 4.5
BOX = rectangle(60.0, 40.0)
L_SHAPE = as_multi(shapely.union(shapely.box(0, 0, 60, 24), shapely.box(0, 0, 24, 50)))
RING = as_multi(shapely.difference(shapely.box(0, 0, 60, 60), shapely.box(22, 22, 38, 38)))
PLANS = {"box": BOX, "L": L_SHAPE, "ring": RING}


def recess(region, *, depth_mm, floor_mm, base_mm=1.5):
    """Sink an outline into the top of a block and return the mesh and its wall."""
    surface = Surface()
    profile = Profile(
        height_mm=depth_mm, draft_deg=DRAFT_DEG, base_radius_mm=base_mm, top_radius_mm=1.5,
        read_mm=depth_mm,
    )  # fmt: skip
    wall = add_wall(surface, region, profile, z_mm=0.0, sunk=True, floor_corner_mm=floor_mm)
    for piece in wall.inner.pieces:
        surface.fill_flat(piece)
    return surface.mesh(), wall


def inner_edges(mesh, wall):
    """Edges that only one triangle uses: there are as many as corners around the mouth."""
    t = mesh.triangles
    ends = np.sort(np.concatenate([t[:, [0, 1]], t[:, [1, 2]], t[:, [2, 0]]]), axis=1)
    _, used = np.unique(ends, axis=0, return_counts=True)
    assert used.max() == 2
    return int((used == 1).sum()), sum(len(loop.plan_mm) for loop in wall.outer.loops)


@pytest.mark.parametrize("plan", PLANS)
@pytest.mark.parametrize("mouth_mm", [0.0, 3.0])
@pytest.mark.parametrize("floor_mm", [3.0, 5.0])
def test_a_recess_keeps_its_corners_to_the_floor(plan, mouth_mm, floor_mm):
    """The floor has the radius that was told, the mouth its own, and no wall is steeper."""
    region = rounded_plan(PLANS[plan], mouth_mm, what="it") if mouth_mm else PLANS[plan]
    mesh, wall = recess(region, depth_mm=30, floor_mm=floor_mm)
    _, plain = recess(region, depth_mm=30, floor_mm=0.0)
    free, around = inner_edges(mesh, wall)

    assert free == around
    assert least_corner_mm(wall.inner.region, 9.0) == pytest.approx(floor_mm, abs=0.05)
    assert least_corner_mm(plain.inner.region, 9.0) < 1.5
    assert wall.outer.region.equals(plain.outer.region)
    assert degrees(atan(1 / wall.steepest.slope)) >= DRAFT_DEG - 0.06
    assert wall.steepest.moved_mm == 0.0


def sharpest_ridge_deg(mesh, below_mm, above_mm):
    """Most that two triangles of a wall bend over their edge toward the recess. [°]."""
    t = mesh.triangles.astype(np.int64)
    z = mesh.corners_mm[:, :, 2]
    wall = t[(z.max(axis=1) <= above_mm + 1e-6) & (z.min(axis=1) >= below_mm - 1e-6)]
    corners = mesh.points_mm[wall]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normals /= np.linalg.norm(normals, axis=1)[:, None]
    owner = {
        (a, b): k
        for k, f in enumerate(wall.tolist())
        for a, b in zip(f, f[1:] + f[:1], strict=True)
    }
    assert len(wall) > 20
    ridges = [0.0]
    for (a, b), one in owner.items():
        other = owner.get((b, a))
        if other is not None:
            along = mesh.points_mm[b] - mesh.points_mm[a]
            ridges.append(
                float(np.cross(normals[one], normals[other]) @ along / np.linalg.norm(along))
            )
    return degrees(np.arcsin(min(1.0, max(ridges))))


@pytest.mark.parametrize("floor_mm", [4.0, 9.0])
def test_the_wall_of_a_box_has_no_ridges(floor_mm):
    """A corner that gets rounder on the way down is hollow all over."""
    region = rounded_plan(rectangle(80.0, 60.0), 3.0, what="it")
    mesh, _ = recess(region, depth_mm=40, floor_mm=floor_mm)

    assert sharpest_ridge_deg(mesh, -40.0, -2.0) < 0.2


@given(outlines(), st.floats(1.0, 4.0))
@settings(max_examples=25, deadline=None)
def test_a_disk_that_grows_keeps_the_run_of_the_wall(region, radius_mm):
    """A level line opened by a larger disk is nowhere nearer to the one above than the run."""
    for part in some(region.geoms):
        outline = MultiPolygon([part])
        above, below = (
            opened(outline, d, r, 64) for d, r in ((0.5, radius_mm), (1.2, radius_mm + 1.0))
        )
        if below.is_empty:
            continue
        assert above.buffer(-0.7 + 0.02, quad_segs=64).covers(below)
        assert inset(outline, 1.2).buffer(0.01).covers(below)


def test_corners_that_are_round_enough_stay():
    """Opened by a disk no larger than its corners an outline loses less than chords stray."""
    region = rounded_plan(BOX, 8.0, what="it")

    assert least_corner_mm(region, 6.0) == 6.0
    assert least_corner_mm(region, 20.0) == pytest.approx(8.0, abs=0.1)
    assert shapely.hausdorff_distance(opened(region, 0.0, 6.0, 64), region) < 0.02


def test_parallel_edges_face_each_other():
    """Between two rounded boxes of one middle every rung joins edges of one direction."""
    small = rounded_plan(rectangle(40.0, 20.0), 8.0, what="it")
    large = rounded_plan(rectangle(50.0, 30.0), 2.0, what="it")
    outer, inner = (shapely.get_coordinates(each)[:-1][::-1] for each in (large, small))
    if shapely.is_ccw(large.geoms[0].exterior):
        outer, inner = outer[::-1], inner[::-1]
    faces = parallel_rungs([outer], [inner])
    assert faces is not None
    points = np.vstack([np.column_stack([outer, np.zeros(len(outer))]),
                        np.column_stack([inner, np.full(len(inner), -10.0)])])  # fmt: skip
    a, b, c = (points[faces[:, k]] for k in range(3))
    normals = np.cross(b - a, c - a)
    normals /= np.linalg.norm(normals, axis=1)[:, None]
    ends = np.sort(np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]]), axis=1)
    edges, where = np.unique(ends, axis=0, return_inverse=True)
    owners = np.tile(np.arange(len(faces)), 3)
    middles = points.reshape(-1, 3)[faces].mean(axis=1)
    for edge in range(len(edges)):
        both = owners[where == edge]
        if len(both) == 2:
            # Hollow or flat: the middle of either triangle is in front of the other or on it.
            off = (middles[both[1]] - middles[both[0]]) @ normals[both[0]]
            assert off > -1e-9


def test_loops_that_do_not_run_alike_are_refused():
    """Loops of unlike number, or turned against each other, are left to the triangulation."""
    square = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]])
    inner = 2.5 + square / 2
    turned = (square - 5.0) @ (np.array([[1.0, 1.0], [-1.0, 1.0]]) / np.sqrt(2)) * 0.5 + 5.0

    assert parallel_rungs([square], [inner]) is not None
    assert parallel_rungs([square], [inner, inner]) is None
    assert parallel_rungs([square], [turned]) is None


@pytest.mark.parametrize("corners", [4, 6, 8])
def test_edges_apart_in_direction_do_not_face_each_other(corners):
    """Turned by 15 degrees, loops run alike no more, though a strip could be cut between them."""

    def ring(radius_mm, turned_rad):
        angles = turned_rad + 2 * np.pi * np.arange(corners) / corners
        return radius_mm * np.column_stack([np.cos(angles), np.sin(angles)])

    assert parallel_rungs([ring(10.0, 0.0)], [ring(6.0, np.pi / 12)]) is None
    assert parallel_rungs([ring(10.0, 0.0)], [ring(6.0, 0.0)]) is not None
