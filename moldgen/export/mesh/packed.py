"""A mesh as few bytes, for a picture that changes while somebody types.

Positions are whole 16-bit steps of the bounding box, a few micrometers in a sign: enough to look
at, not to print. All numbers are little-endian::

    12 bytes   corner of the box with the least x, y, z: three 32-bit floats [mm]
    12 bytes   size of the box along x, y, z: three 32-bit floats [mm]
     8 bytes   number of points and of triangles: two 32-bit integers
     6 bytes   a point: x, y, z, three 16-bit integers; 65535 stands for the far side of the box
    12 bytes   a triangle: numbers of its points, three 32-bit integers
"""

from __future__ import annotations

import numpy as np

from moldgen.errors import FileError
from moldgen.solid.mesh import Mesh

_STEPS = 65535
_HEAD_BYTES = 32


def packed_mesh_bytes(mesh: Mesh) -> bytes:
    """Return a mesh with positions in 16 bits.

    Parameters
    ----------
    mesh : Mesh
        With at least one point. [mm]

    Returns
    -------
    bytes
        As the module says; no position is off by more than half a step of its box's side.
    """
    low, high = mesh.bounds_mm.astype("<f4")
    size = high - low
    per_mm = np.divide(_STEPS, size, out=np.zeros(3, "<f4"), where=size > 0)
    steps = np.clip(np.rint((mesh.points_mm - low) * per_mm), 0, _STEPS).astype("<u2")
    counts = np.array([len(mesh.points_mm), len(mesh.triangles)], "<u4")
    parts = (low, size, counts, steps, mesh.triangles.astype("<u4"))
    return b"".join(part.tobytes() for part in parts)


def read_packed_mesh(data: bytes) -> Mesh:
    """Return the mesh that was packed.

    Parameters
    ----------
    data : bytes
        From `packed_mesh_bytes`.

    Returns
    -------
    Mesh
        With positions to half a step of its box. [mm]

    Raises
    ------
    FileError
        If the bytes are too few or too many for what they say they hold.
    """
    if len(data) < _HEAD_BYTES:
        raise FileError(f"A packed mesh begins with {_HEAD_BYTES} bytes; {len(data)} are there.")
    low, size = np.frombuffer(data, "<f4", 6).astype(np.float64).reshape(2, 3)
    n_points, n_triangles = (int(n) for n in np.frombuffer(data, "<u4", 2, 24))
    wanted = _HEAD_BYTES + 6 * n_points + 12 * n_triangles
    if len(data) != wanted:
        raise FileError(f"A packed mesh of that size has {wanted} bytes; {len(data)} are there.")
    steps = np.frombuffer(data, "<u2", 3 * n_points, _HEAD_BYTES).reshape(-1, 3)
    triangles = np.frombuffer(data, "<u4", 3 * n_triangles, _HEAD_BYTES + 6 * n_points)
    return Mesh(low + steps * (size / _STEPS), triangles.astype(np.int32).reshape(-1, 3))
