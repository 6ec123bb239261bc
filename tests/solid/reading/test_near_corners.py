"""Corners of a mesh file that differ by rounding alone are one corner."""

import numpy as np
import pytest
from support.solids_for_export import box

from moldgen.export.mesh.stl import stl_bytes
from moldgen.solid.mesh import Mesh
from moldgen.solid.reading.mesh_file import load_mesh
from moldgen.solid.topology import closely_welded, topology_of


def loose_box(by_mm):
    """A box of loose triangles whose corners at 0 are off by some multiples of a length."""
    solid = box(40, 30, 20)
    corners = solid.points_mm[solid.triangles].reshape(-1, 3)
    corners = corners - corners.min(axis=0)
    step = np.arange(corners.size).reshape(corners.shape) * 7 % 5 - 2
    off = np.where(corners == 0, by_mm * step, 0.0)
    return Mesh(corners + off, np.arange(len(corners), dtype=np.int32).reshape(-1, 3))


def test_a_solid_whose_corners_are_off_by_rounding_is_closed(tmp_path):
    """Copies of a corner that differ by 1e-17 near 0 leave no edge open."""
    path = tmp_path / "chassis.stl"
    path.write_bytes(stl_bytes([loose_box(1e-17)], title="chassis"))

    (body,) = load_mesh(path, unit="mm")

    assert topology_of(body.mesh).closed
    assert len(body.mesh.points_mm) == 8


def test_a_gap_that_is_drawn_stays_open(tmp_path):
    """Corners a micrometer apart are two corners, and the surface has holes."""
    path = tmp_path / "torn.stl"
    path.write_bytes(stl_bytes([loose_box(1e-3)], title="torn"))

    (body,) = load_mesh(path, unit="mm")

    assert len(body.mesh.edges.open) > 0


@pytest.mark.parametrize("at", [0.5, 0.0])
def test_corners_on_both_sides_of_a_step_are_joined(at):
    """Wherever two copies lie on the grid of the weld, they become one."""
    extent = 8.0
    step = extent * 1e-9
    middle = (1000 + at) * step
    points = np.array(
        [[0, 0, 0], [extent, 0, 0], [middle - 0.01 * step, 1, 0], [middle + 0.01 * step, 1, 0]]
    )

    joined = closely_welded(Mesh(points, np.array([[0, 1, 2], [1, 0, 3]], np.int32)))

    assert len(joined.points_mm) == 3
