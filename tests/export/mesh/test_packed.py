"""A packed mesh looks the same, takes a third of the bytes and a moment."""

from __future__ import annotations

import struct
import zlib

import numpy as np
import pytest
from support.count_calls import count_calls

import moldgen as mg
from moldgen.errors import FileError
from moldgen.export.mesh.packed import packed_mesh_bytes, read_packed_mesh
from moldgen.export.mesh.stl import stl_bytes
from moldgen.solid.mesh import Mesh


@pytest.fixture(scope="module")
def sign():
    """Return the walls of a sign, as a preview has them."""
    return mg.design(mg.sign("PIER 4")).raw.mesh


def test_positions_are_off_by_half_a_step_at_most(sign):
    """And triangles are the same, so that what was closed stays so."""
    seen = read_packed_mesh(packed_mesh_bytes(sign))
    step_mm = np.ptp(sign.bounds_mm, axis=0) / 65535

    assert np.all(np.abs(seen.points_mm - sign.points_mm) <= 0.51 * step_mm + 1e-5)
    assert np.array_equal(seen.triangles, sign.triangles)
    assert step_mm.max() < 0.003


def test_the_layout_is_as_told():
    """Read with the standard library alone, number by number."""
    points = np.array([[0.0, 0.0, 5.0], [10.0, 0.0, 5.0], [0.0, 20.0, 5.0]])
    data = packed_mesh_bytes(Mesh(points, np.array([[0, 1, 2]], np.int32)))

    assert struct.unpack("<6f2I", data[:32]) == (0, 0, 5, 10, 20, 0, 3, 1)
    assert struct.unpack("<9H", data[32:50]) == (0, 0, 0, 65535, 0, 0, 0, 65535, 0)
    assert struct.unpack("<3I", data[50:]) == (0, 1, 2)


def test_it_is_small_and_quick(sign):
    """Less than half of an STL as it is, a fifth when deflated; made without a loop over it."""
    data = packed_mesh_bytes(sign)

    stl = len(stl_bytes([sign], title="sign"))
    assert len(data) < 0.5 * stl
    assert len(zlib.compress(data)) < 0.2 * stl
    assert count_calls(lambda: packed_mesh_bytes(sign)) < len(sign.triangles) / 10


@pytest.mark.parametrize("change", [lambda d: d[:20], lambda d: d[:-1], lambda d: d + b"x"])
def test_bytes_that_do_not_fit_are_refused(change, sign):
    """One sentence says how many there should be."""
    with pytest.raises(FileError, match="bytes"):
        read_packed_mesh(change(packed_mesh_bytes(sign)))
