"""Binary STL, the format every slicing program reads."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from moldgen.errors import GeometryError, SpecError
from moldgen.solid.mesh import Mesh, Points, Triangles

_HEADER_BYTES = 80
_RECORD = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])


def stl_bytes(meshes: Sequence[Mesh], *, title: str) -> bytes:
    """Return meshes as one binary STL; its numbers are millimeters.

    STL has no units and no topology, so the triangles are those of `as_float32`: a reader
    that joins equal points finds the mesh as closed as it was.

    Parameters
    ----------
    meshes : sequence of Mesh
        Bodies, all in one coordinate frame. [mm]
    title : str
        Text for the 80-byte header; characters beyond ASCII become ``?``.

    Returns
    -------
    bytes
        84 + 50 bytes per triangle.

    Raises
    ------
    SpecError
        If there is no mesh.
    GeometryError
        If a coordinate is not finite in single precision.

    References
    ----------
    Public descriptions of the binary STL layout: 80-byte header that must not begin with
    ``solid``, uint32 count, then normal, three corners and a uint16 per triangle, little endian.

    Checked against ``tests/published/binary_stl.csv``.
    """
    if not meshes:
        raise SpecError("meshes", "at least one mesh", "none")
    rounded = [as_float32(mesh) for mesh in meshes]
    records = np.zeros(sum(len(mesh.triangles) for mesh in rounded), _RECORD)
    records["corners"] = np.concatenate([mesh.corners_mm for mesh in rounded])
    records["normal"] = np.concatenate([_unit_normals(mesh) for mesh in rounded])
    count = len(records).to_bytes(4, "little")
    return _header(title) + count + bytes(records.tobytes())


def as_float32(mesh: Mesh) -> Mesh:
    """Return the mesh with its points rounded to single precision, collapsed triangles gone.

    Files store single precision. Rounding can pull the two ends of a very short edge onto
    one another; the triangles beside that edge then have no area, and programs that drop
    them on their own terms leave holes. Here the ends are joined and the triangles removed,
    unless that would leave the mesh less closed than it was, when only the points are rounded.

    Parameters
    ----------
    mesh : Mesh
        Closed or open. [mm]

    Returns
    -------
    Mesh
        Points are doubles that single precision holds exactly. [mm]

    Raises
    ------
    GeometryError
        If there is no triangle, or a coordinate is not finite in single precision.
    """
    if not len(mesh.triangles):
        raise GeometryError("The mesh has no triangles; build it again.")
    with np.errstate(over="ignore"):
        points: Points = mesh.points_mm.astype(np.float32).astype(np.float64) + 0.0
    if not np.isfinite(points).all():
        raise GeometryError("The mesh has a corner that is not a finite number; build it again.")
    rounded = Mesh(points, mesh.triangles.copy())
    ends = _collapsed_edges(rounded)
    if not len(ends):
        return rounded
    joined = _join(rounded, ends)
    return joined if is_closed(joined.triangles) or not is_closed(mesh.triangles) else rounded


def is_closed(triangles: Triangles) -> bool:
    """Return whether every edge is used exactly once in either direction.

    Parameters
    ----------
    triangles : ndarray, shape (m, 3)
        Indices of the corners.
    """
    start = triangles.astype(np.int64).ravel()
    end = np.roll(triangles, -1, axis=1).astype(np.int64).ravel()
    if (start == end).any():
        return False
    span = np.int64(triangles.max(initial=0)) + 1
    there, back = np.sort(start * span + end), np.sort(end * span + start)
    return bool(np.array_equal(there, back) and (np.diff(there) > 0).all())


def _collapsed_edges(mesh: Mesh) -> NDArray[np.int32]:
    """Pairs of joined but different points that lie in the same place, shape (k, 2)."""
    corners = mesh.corners_mm
    same = (corners == np.roll(corners, -1, axis=1)).all(axis=2)
    pairs: NDArray[np.int32] = np.stack(
        [mesh.triangles[same], np.roll(mesh.triangles, -1, axis=1)[same]], axis=1
    )
    return pairs


def _join(mesh: Mesh, ends: NDArray[np.int32]) -> Mesh:
    name = np.arange(len(mesh.points_mm), dtype=np.int32)
    while True:
        low = np.minimum(name[ends[:, 0]], name[ends[:, 1]])
        before = name.copy()
        np.minimum.at(name, ends[:, 0], low)
        np.minimum.at(name, ends[:, 1], low)
        if np.array_equal(before, name):
            break
    triangles = name[mesh.triangles]
    whole = (triangles != np.roll(triangles, -1, axis=1)).all(axis=1)
    used, renumbered = np.unique(triangles[whole], return_inverse=True)
    return Mesh(mesh.points_mm[used], renumbered.reshape(-1, 3).astype(np.int32))


def _unit_normals(mesh: Mesh) -> Points:
    """Return unit normals; zero where a triangle has no area, as the format allows."""
    lengths = mesh.areas_mm2[:, None]
    return np.divide(
        mesh.area_vectors_mm2, lengths, out=np.zeros_like(mesh.area_vectors_mm2), where=lengths > 0
    )


def _header(title: str) -> bytes:
    # The fixed first word keeps a title such as "solid oak tray" from opening the header:
    # readers take a file that begins with "solid" for the text form.
    text = f"binary STL, mm: {title}".encode("ascii", "replace")
    printable = bytes(byte if 32 <= byte < 127 else 63 for byte in text)
    return printable[:_HEADER_BYTES].ljust(_HEADER_BYTES)
