"""What OBJ, PLY and GLB say about their size, checked before anything is made of it."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Any

from moldgen.errors import FileError
from moldgen.execution import limits_now
from moldgen.solid.reading.counts import no_triangles, refuse_placements, refuse_triangles

# glTF 2.0 Specification, section 3.6.2 (accessors) and 4.4 (binary layout).
_COMPONENT_BYTES = {5120: 1, 5121: 1, 5122: 2, 5123: 2, 5125: 4, 5126: 4}
_COMPONENTS = {"SCALAR": 1, "VEC2": 2, "VEC3": 3, "VEC4": 4, "MAT2": 4, "MAT3": 9, "MAT4": 16}
_HEAD_BYTES = 20
_NUMBERS_PER_TRIANGLE = 12
"""Place, normal, color and texture of each corner, where no corner is shared."""
_FACES = re.compile(rb"(?m)^element[ \t]++(?:face|tristrips)[ \t]++0*+[1-9]")
_ELEMENT = re.compile(rb"(?m)^element[ \t]++\w++[ \t]++(\d{1,18})")


def refuse_false_promises(path: Path, data: bytes, *, kind: str) -> None:
    """Refuse a file that promises more than it holds, or more than is handled.

    Parameters
    ----------
    path : Path
        What errors call it.
    data : bytes
        Its content.
    kind : str
        ``obj``, ``ply`` or ``glb``.

    Raises
    ------
    FileError
        If it does.
    """
    _CHECKS[kind](path, data)


def _obj(path: Path, data: bytes) -> None:
    refuse_triangles(path, data.count(b"\nf"))
    most = int(limits_now().face_corners)
    # A corner takes a blank and a number; lines may go on after a backslash.
    long_face = re.compile(rb"(?m)^[ \t]*+f(?:\\\r?\n|[^\n]){%d,}+" % (2 * most))
    for face in long_face.finditer(data):
        n_corners = len(face[0].split()) - 1
        if n_corners > most:
            raise FileError(
                f"{path} has a face of {n_corners:,} corners, more than the {most:,} that can be "
                "handled. Save it with triangles."
            )


def _ply(path: Path, data: bytes) -> None:
    head = data[: data.find(b"end_header")]
    for count in map(int, _ELEMENT.findall(head)):
        if count > len(data):
            raise _short(path)
        refuse_triangles(path, count // 3)
    if not _FACES.search(head):
        raise no_triangles(path)


def _glb(path: Path, data: bytes) -> None:
    n_bytes = int.from_bytes(data[12:16], "little")
    if n_bytes > limits_now().scene_bytes:
        raise FileError(f"{path} describes too many things. Export the one mesh alone.")
    scene = json.loads(data[_HEAD_BYTES : _HEAD_BYTES + n_bytes])
    for accessor in scene.get("accessors", ()):
        _check_accessor(path, accessor, scene.get("bufferViews", ()), len(data))
    counts = [int(accessor.get("count", 0)) for accessor in scene.get("accessors", ())]
    refuse_triangles(path, sum(counts) // _NUMBERS_PER_TRIANGLE)
    _check_nodes(path, scene, counts)


def _check_accessor(path: Path, accessor: Mapping[str, Any], views: Any, n_bytes: int) -> None:
    count = int(accessor.get("count", 0))
    size = _COMPONENT_BYTES[accessor["componentType"]] * _COMPONENTS[accessor["type"]]
    if "bufferView" not in accessor:
        # Numbers that are not written are all zero, which no mesh is.
        raise _short(path)
    view = views[accessor["bufferView"]]
    if not 0 <= count * size <= int(view.get("byteLength", 0)) <= n_bytes:
        raise _short(path)


def _check_nodes(path: Path, scene: Mapping[str, Any], counts: list[int]) -> None:
    """Walk the tree of nodes as it is going to be walked, and count what it places."""
    nodes, meshes = scene.get("nodes", []), scene.get("meshes", [])
    n_numbers = [
        sum(counts[one["attributes"]["POSITION"]] for one in mesh.get("primitives", ()))
        for mesh in meshes
    ]
    level = [root for one in scene.get("scenes", ()) for root in one.get("nodes", ())]
    placed = numbers = 0
    depth = 0
    while level:
        placed, depth = placed + len(level), depth + 1
        refuse_placements(path, placed)
        numbers += sum(n_numbers[nodes[at]["mesh"]] for at in level if "mesh" in nodes[at])
        refuse_triangles(path, numbers // 3)
        if depth > limits_now().nesting:
            raise FileError(f"{path} holds a node that contains itself. Save it again.")
        level = [child for at in level for child in nodes[at].get("children", ())]


def _short(path: Path) -> FileError:
    return FileError(f"{path} promises more than it holds. Copy or save it again.")


_CHECKS: Mapping[str, Callable[[Path, bytes], None]] = MappingProxyType(
    {"obj": _obj, "ply": _ply, "glb": _glb}
)
