"""GLB (binary glTF 2.0), for looking at a mold on a page or a phone."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from moldgen.errors import GeometryError, SpecError
from moldgen.export.picture.srgb import light_by_byte
from moldgen.solid.mesh import Body, Mesh

Colors = NDArray[np.uint8]

# Numbers of the glTF 2.0 specification: component types, buffer targets, chunk names.
_UINT16, _UINT32, _FLOAT = 5123, 5125, 5126
_VERTICES, _INDICES = 34962, 34963
_MAGIC, _JSON, _BIN = 0x46546C67, 0x4E4F534A, 0x004E4942
_DULL = {"metallicFactor": 0.0, "roughnessFactor": 0.75}
_MATERIALS = [
    {
        "name": "mold",
        "pbrMetallicRoughness": {"baseColorFactor": [0.67, 0.54, 0.32, 1.0]} | _DULL,
    },
    {"name": "colored", "pbrMetallicRoughness": _DULL},
    {"name": "colored, see-through", "pbrMetallicRoughness": _DULL, "alphaMode": "BLEND"},
]


def glb_bytes(bodies: Sequence[Body], *, colors: Sequence[Colors | None] | None = None) -> bytes:
    """Return bodies as one GLB: meters, Y up, smooth fillets, sharp edges, colors by triangle.

    Parameters
    ----------
    bodies : sequence of Body
        At least one. [mm], Z up.
    colors : sequence, optional
        For each body None, or an array of shape (n_triangles, 3 or 4), uint8, sRGB as on a
        screen (with opacity).

    Returns
    -------
    bytes
        The file; the same arguments give the same bytes.

    Raises
    ------
    SpecError
        If there is no body, or colors do not match the bodies or their triangles.
    GeometryError
        If a body has no triangle, or a coordinate is not finite in single
        precision.

    Notes
    -----
    (x, y, z) in millimeters becomes (x, z, -y)/1000, a pure rotation, so nothing is mirrored.

    References
    ----------
    glTF 2.0 specification: sections 3.4 (axes, units), 3.6 (accessors), 3.7 (meshes), 4 (GLB).
    """
    if not bodies:
        raise SpecError("bodies", "at least one body", "none")
    colors = [None] * len(bodies) if colors is None else colors
    if len(colors) != len(bodies):
        raise SpecError("colors", f"one entry per body, {len(bodies)}", str(len(colors)))
    scene = _Scene()
    for body, paint in zip(bodies, colors, strict=True):
        scene.add(body, paint)
    return scene.packed()


@dataclass(slots=True)
class _Scene:
    """The binary part of the file as it grows, and the JSON lists that describe it."""

    blobs: list[bytes] = field(default_factory=list)
    size: int = 0
    views: list[dict[str, Any]] = field(default_factory=list)
    accessors: list[dict[str, Any]] = field(default_factory=list)
    meshes: list[dict[str, Any]] = field(default_factory=list)

    def add(self, body: Body, paint: Colors | None) -> None:
        positions, normals, tints, indices = _vertices(body.mesh, paint)
        attributes = {
            "POSITION": self._store(positions, "VEC3", _VERTICES, limits=True),
            "NORMAL": self._store(normals, "VEC3", _VERTICES),
        }
        if tints is not None:
            attributes["COLOR_0"] = self._store(tints, "VEC4", _VERTICES)
        # 65535 and 4294967295 mark a restart of strips and are not allowed as indices.
        small = len(positions) < 65535
        corners = indices.astype("<u2" if small else "<u4")
        self.meshes.append({
            "name": body.name,
            "primitives": [{
                "attributes": attributes,
                "indices": self._store(corners, "SCALAR", _INDICES),
                "material": _look(tints),
                "mode": 4,
            }],
        })  # fmt: skip

    def _store(self, values: NDArray[Any], shape: str, target: int, *, limits: bool = False) -> int:
        data = values.tobytes()
        view = {"buffer": 0, "byteOffset": self.size, "byteLength": len(data), "target": target}
        self.views.append(view)
        self.blobs.append(data + bytes(-len(data) % 4))
        self.size += len(self.blobs[-1])
        kind = {"f": _FLOAT, "u": _UINT16 if values.itemsize == 2 else _UINT32}[values.dtype.kind]
        accessor = {
            "bufferView": len(self.views) - 1,
            "componentType": kind,
            "count": len(values),
            "type": shape,
        }
        if shape == "VEC4":
            accessor["normalized"] = True
        if limits:
            # Taken from the rounded numbers: the specification wants them exact.
            accessor["min"] = values.min(axis=0).tolist()
            accessor["max"] = values.max(axis=0).tolist()
        self.accessors.append(accessor)
        return len(self.accessors) - 1

    def packed(self) -> bytes:
        nodes = range(len(self.meshes))
        document = {
            "asset": {"version": "2.0", "generator": "moldgen"},
            "scene": 0,
            "scenes": [{"nodes": list(nodes)}],
            "nodes": [{"name": self.meshes[i]["name"], "mesh": i} for i in nodes],
            "meshes": self.meshes,
            "materials": _MATERIALS,
            "accessors": self.accessors,
            "bufferViews": self.views,
            "buffers": [{"byteLength": self.size}],
        }
        text = json.dumps(document, separators=(",", ":"), ensure_ascii=False).encode()
        chunks = _chunk(_JSON, text, b" ") + _chunk(_BIN, b"".join(self.blobs), b"\0")
        return _words(_MAGIC, 2, 12 + len(chunks)) + chunks


def _vertices(
    mesh: Mesh, paint: Colors | None
) -> tuple[NDArray[np.float32], NDArray[np.float32], NDArray[np.uint16] | None, NDArray[np.intp]]:
    """Split points where normal or color changes; return positions, normals, tints, indices."""
    if not len(mesh.triangles):
        raise GeometryError("The mesh has no triangles; build it again.")
    with np.errstate(over="ignore"):
        positions = (_y_up(mesh.points_mm) / 1000.0).astype("<f4") + np.float32(0.0)
    if not np.isfinite(positions).all():
        raise GeometryError("The mesh has a corner that is not a finite number; build it again.")
    corners = mesh.triangles.reshape(-1)
    normals = _y_up(mesh.corner_normals.reshape(-1, 3))
    # A triangle without area has no normal, yet the format asks for unit length.
    normals[~normals.any(axis=1)] = (0.0, 1.0, 0.0)
    rows: list[NDArray[Any]] = [corners[:, None], np.round(normals * 1e4).astype(np.int32)]
    tints = None if paint is None else np.repeat(_linear(paint, len(mesh.triangles)), 3, axis=0)
    if tints is not None:
        rows.append(tints.astype(np.int32))
    first, indices = _distinct(np.concatenate(rows, axis=1))
    shades = None if tints is None else tints[first]
    return positions[corners[first]], normals[first].astype("<f4"), shades, indices


def _distinct(rows: NDArray[np.int32]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return the first place of each distinct row, and for each row the number of its kind."""
    packed = np.ascontiguousarray(rows).view(np.dtype((np.void, rows.itemsize * rows.shape[1])))
    _, first, kind = np.unique(packed.ravel(), return_index=True, return_inverse=True)
    return first, kind.ravel()


def _y_up(vectors: NDArray[np.float64]) -> NDArray[np.float64]:
    x, y, z = vectors.T
    return np.stack([x, z, -y], axis=1)


def _linear(paint: Colors, n_triangles: int) -> NDArray[np.uint16]:
    """Colors as the format wants them: linear light, four parts of 16 bits.

    Linear light in 8 bits would turn dark blues to black.
    """
    if paint.dtype != np.uint8 or paint.shape[:1] != (n_triangles,) or paint[:1].size not in {3, 4}:
        rule = f"uint8, 3 or 4 per triangle, shape ({n_triangles}, 3 or 4)"
        raise SpecError("colors", rule, f"{paint.dtype}, shape {paint.shape}")
    linear = np.full((n_triangles, 4), 65535, dtype="<u2")
    linear[:, :3] = np.round(light_by_byte() * 65535.0).astype("<u2")[paint[:, :3]]
    if paint.shape[-1] == 4:
        linear[:, 3] = paint[:, 3].astype("<u2") * 257
    return linear


def _look(tints: NDArray[np.uint16] | None) -> int:
    """Index of the material for a body of these colors."""
    if tints is None:
        return 0
    return 1 if (tints[:, 3] == 65535).all() else 2


def _chunk(kind: int, data: bytes, padding: bytes) -> bytes:
    data += padding * (-len(data) % 4)
    return _words(len(data), kind) + data


def _words(*values: int) -> bytes:
    return np.array(values, dtype="<u4").tobytes()
