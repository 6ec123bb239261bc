"""Sheet: the flat strip with its holes as fine triangles, and bent, as a solid."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import shapely
from manifold3d import Manifold, triangulate
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon

from moldgen.arrays import Floats
from moldgen.bend.strip.shape import StripShape
from moldgen.errors import SpecError
from moldgen.outline.region import quarter_segments
from moldgen.solid.mesh import Body, Mesh
from moldgen.solid.polygons import polygons_of, rings_of
from moldgen.solid.sound import mesh_from_solid, solid_from_mesh

_SAME_MM = 1e-6


def flat_region(shape: StripShape) -> MultiPolygon:
    """Return the flat strip seen from above, holes cut: its own outline or a rectangle. [mm]."""
    strip, length = shape.strip, shape.path.flat.length_mm
    whole: shapely.Geometry = strip.outline or shapely.box(0.0, 0.0, length, strip.width_mm)
    holes = [
        shapely.Point(along, across).buffer(
            diameter / 2, quad_segs=quarter_segments(diameter / 2, chord_mm=shape.chord_mm)
        )
        for along, across, diameter in strip.holes
    ]
    region = shapely.difference(whole, shapely.union_all(holes)) if holes else whole
    left = polygons_of(region)
    if len(left.geoms) != 1:
        raise SpecError(
            "holes",
            "within the strip, so that it stays one piece",
            f"{len(left.geoms)} pieces",
            "Make the holes smaller or move them inward.",
        )
    return left


def build_sheet(shape: StripShape) -> Body:
    """Return the bent strip as a solid: x and z as in the side view, y across the strip.

    Raises
    ------
    SpecError
        If holes part the strip.
    GeometryError
        If the solid cannot be closed.
    """
    solid = solid_from_mesh(_bent_mesh(shape), doing=f"bending {shape.strip.name}")
    return Body(shape.strip.name, mesh_from_solid(solid))


def sheet_solid(shape: StripShape) -> Manifold:
    """Return the bent strip for the solid modeler."""
    return solid_from_mesh(_bent_mesh(shape), doing=f"bending {shape.strip.name}")


def _bent_mesh(shape: StripShape) -> Mesh:
    parts, along = shape.stations
    cuts = np.unique(along)
    points, triangles = _banded(flat_region(shape), cuts[1:-1])
    half = shape.strip.thickness_mm / 2
    part = _part_at(points[:, 0], parts, along)
    faces = []
    for over in (half, -half):
        xz = shape.path.placed(part, points[:, 0], np.full(len(points), over))
        faces.append(np.column_stack([xz[:, 0], points[:, 1], xz[:, 1]]))
    n = len(points)
    rim = _rim(triangles)
    walls = np.concatenate(
        [
            np.column_stack([rim[:, 1], rim[:, 0], rim[:, 0] + n]),
            np.column_stack([rim[:, 1], rim[:, 0] + n, rim[:, 1] + n]),
        ]
    )
    every = np.concatenate([triangles, triangles[:, ::-1] + n, walls])
    return Mesh(np.concatenate(faces), every.astype(np.int32))


def _part_at(x: Floats, parts: NDArray[np.int64], along: Floats) -> NDArray[np.int64]:
    """Return the part of the strip that each place along it belongs to."""
    before = np.clip(np.searchsorted(along, x, side="right") - 1, 0, len(along) - 2)
    first, second = parts[before], parts[before + 1]
    bend = (first % 2 == 1) | (first != second)
    found: NDArray[np.int64] = np.where(bend, first // 2 * 2 + 1, first)
    return found


def _banded(region: MultiPolygon, cuts: Floats) -> tuple[Floats, NDArray[np.int64]]:
    """Return triangles of a region, none of which crosses a line x = cut."""
    rings = [_split(np.asarray(ring.coords), cuts) for ring in rings_of(region)]
    lines = [shapely.LineString(pair) for ring in rings for pair in pairwise(ring)]
    lines += _across(np.concatenate(rings), cuts, region)
    faces = shapely.get_parts(shapely.polygonize(lines))
    inner = shapely.buffer(region, 1e-9)
    shapely.prepare(inner)
    kept = [face for face in faces if inner.contains(face.representative_point())]
    return _triangles(kept)


def _split(ring: Floats, cuts: Floats) -> Floats:
    """Return a closed ring with a corner wherever it crosses a cut."""
    ring = ring.copy()
    if len(cuts):
        nearest = cuts[np.abs(ring[:, :1] - cuts).argmin(axis=1)]
        ring[:, 0] = np.where(np.abs(ring[:, 0] - nearest) < _SAME_MM, nearest, ring[:, 0])
    out = [ring[:1]]
    for a, b in pairwise(ring):
        low, high = sorted((a[0], b[0]))
        inside = cuts[(cuts > low) & (cuts < high)]
        inside = inside if a[0] < b[0] else inside[::-1]
        y = a[1] + (inside - a[0]) / (b[0] - a[0]) * (b[1] - a[1]) if len(inside) else inside
        out += [np.column_stack([inside, y]), b[None]]
    whole = np.concatenate(out)
    moved = np.append(True, (np.diff(whole, axis=0) != 0).any(axis=1))
    split: Floats = whole[moved]
    return split


def _across(corners: Floats, cuts: Floats, region: MultiPolygon) -> list[shapely.LineString]:
    """Return the pieces of the cuts that lie within the region."""
    lines = []
    shapely.prepare(region)
    for cut in cuts:
        y = np.unique(corners[corners[:, 0] == cut, 1])
        middles = (y[:-1] + y[1:]) / 2
        within = shapely.contains_xy(region, np.full(len(middles), cut), middles)
        lines += [
            shapely.LineString([(cut, low), (cut, high)])
            for low, high, inside in zip(y[:-1], y[1:], within, strict=True)
            if inside
        ]
    return lines


def _triangles(faces: list[Polygon]) -> tuple[Floats, NDArray[np.int64]]:
    corners, pieces, start = [], [], 0
    for face in faces:
        upright = shapely.orient_polygons(face)
        rings = [np.asarray(ring.coords)[:-1] for ring in (upright.exterior, *upright.interiors)]
        pieces.append(np.asarray(triangulate(rings), dtype=np.int64).reshape(-1, 3) + start)
        corners += rings
        start += sum(len(ring) for ring in rings)
    points, number = np.unique(np.concatenate(corners), axis=0, return_inverse=True)
    return points, number.reshape(-1)[np.concatenate(pieces)]


def _rim(triangles: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return the edges that only one triangle has, in its direction."""
    edges = np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]])
    n = int(triangles.max()) + 1
    forth, back = edges[:, 0] * n + edges[:, 1], edges[:, 1] * n + edges[:, 0]
    rim: NDArray[np.int64] = edges[~np.isin(forth, back)]
    return rim
