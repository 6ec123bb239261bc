"""OBJ, PLY and GLB that people bring, read with trimesh."""

from __future__ import annotations

import codecs
import io
import warnings
from pathlib import Path

import numpy as np
import trimesh
from numpy.typing import NDArray

from moldgen.solid.mesh import Points, Triangles
from moldgen.solid.reading.promises import refuse_false_promises

Part = tuple[str, Points, Triangles]

_MARKS = {
    codecs.BOM_UTF8: "utf-8-sig", codecs.BOM_UTF32_LE: "utf-32", codecs.BOM_UTF32_BE: "utf-32",
    codecs.BOM_UTF16_LE: "utf-16", codecs.BOM_UTF16_BE: "utf-16",
}  # fmt: skip
"""Encodings by the first bytes of a text; those of UTF-32 begin as UTF-16 does."""


def parts_from_scene(path: Path, data: bytes, *, kind: str) -> list[Part]:
    """Return name, points and triangles of every shape where the file's scene places it.

    Parameters
    ----------
    path : Path
        What errors call the file.
    data : bytes
        Content of the file.
    kind : str
        ``obj``, ``ply`` or ``glb``. GLB is meters with Y up and becomes millimeters with Z up;
        the others keep their numbers.

    Raises
    ------
    FileError
        If it promises more than it holds, or more than is handled.
    """
    if kind == "obj":
        data = _in_utf8(data)
    refuse_false_promises(path, data, kind=kind)
    with warnings.catch_warnings():
        # The library remarks on textures and the like, which a mold has no use for.
        warnings.simplefilter("ignore")
        scene = trimesh.load_scene(
            io.BytesIO(data), file_type=kind, process=False, skip_materials=True
        )
    # The library keeps its nodes in a set; the geometry keeps the order of the file.
    order = {name: number for number, name in enumerate(scene.geometry)}
    nodes = sorted(scene.graph.nodes_geometry, key=lambda node: (order[scene.graph[node][1]], node))
    return [_part(scene, node, kind) for node in nodes]


def _in_utf8(text: bytes) -> bytes:
    """Return text of any encoding as UTF-8; names in old files are told in code pages."""
    for mark, encoding in _MARKS.items():
        if text.startswith(mark):
            return text.decode(encoding).encode()
    try:
        text.decode()
    except UnicodeDecodeError:
        if b"\0" in text:
            raise
        return text.decode("latin-1").encode()
    return text


def _part(scene: trimesh.Scene, node: str, kind: str) -> Part:
    place, geometry = scene.graph[node]
    mesh = scene.geometry[geometry]
    points = np.asarray(mesh.vertices, dtype=np.float64)
    triangles = np.asarray(getattr(mesh, "faces", ()), dtype=np.int32).reshape(-1, 3)
    if kind != "glb":
        return "", points, triangles
    if np.linalg.det(place[:3, :3]) < 0:
        triangles = triangles[:, ::-1]
    return str(node), _z_up_mm(points @ place[:3, :3].T + place[:3, 3]), triangles


def _z_up_mm(points_m: NDArray[np.float64]) -> Points:
    x, y, z = points_m.T
    return np.stack([x, -z, y], axis=1) * 1000.0
