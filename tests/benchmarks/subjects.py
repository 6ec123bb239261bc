"""What is timed: a ten-letter word, and two shapes with rounded corners."""

from __future__ import annotations

import numpy as np
from shapely import MultiPolygon, Polygon, box
from shapely.affinity import translate

from moldgen.mold.build import RawMold, build_raw_mold
from moldgen.mold.features import Feature, Wall
from moldgen.outline.lettering.text import TextSpec, outline_from_text
from moldgen.solid.mesh import Body, Mesh
from moldgen.solid.sound import solid_from_mesh

WORD = "BREAKWATER"
CAP_MM = 40.0
WALL = Wall(height_mm=12, draft_deg=5, top_radius_mm=1, base_radius_mm=1.5)


def word_region(n_words: int = 1) -> MultiPolygon:
    """Return the word once, or many of it in a column. [mm]."""
    word = outline_from_text(TextSpec(text=WORD, height_mm=CAP_MM)).region
    rows = [translate(word, 0.0, -1.5 * CAP_MM * row) for row in range(n_words)]
    return MultiPolygon([part for row in rows for part in row.geoms])


def raised(region: MultiPolygon, wall: Wall = WALL) -> RawMold:
    """Return an outline raised along a wall, as one sound solid."""
    raw = build_raw_mold([Feature(name="word", region=region, wall=wall)])
    for mesh in raw.meshes:
        solid_from_mesh(mesh, doing="raising the word")
    return raw


def bodies_of(raw: RawMold) -> tuple[Body, ...]:
    """Return the meshes of a raw mold with names."""
    return tuple(Body("word", mesh) for mesh in raw.meshes)


def rounded_block() -> MultiPolygon:
    """Return a block of 40 x 30 mm with corners of 6 mm: convex."""
    return _rounded(box(-20, -15, 20, 15), 6.0)


def letter_t() -> MultiPolygon:
    """Return a T of 40 x 40 mm with bars of 10 mm and corners of 3 mm: not convex."""
    corners = [(-5, 0), (5, 0), (5, 30), (20, 30), (20, 40), (-20, 40), (-20, 30), (-5, 30)]
    return _rounded(Polygon(corners), 3.0)


def _rounded(region: Polygon, radius_mm: float) -> MultiPolygon:
    rounded = region.buffer(-radius_mm, quad_segs=16).buffer(2 * radius_mm, quad_segs=16)
    return MultiPolygon([rounded.buffer(-radius_mm, quad_segs=16)])


def scanned_hull(width_mm: float = 300.0, depth_mm: float = 200.0, cell_mm: float = 0.25) -> Mesh:
    """Return a worn hull as a scanner gives it: closed, a point every cell, 0.02 mm of noise."""
    x = np.linspace(-1, 1, round(width_mm / cell_mm) + 1)[None]
    y = np.linspace(-1, 1, round(depth_mm / cell_mm) + 1)[:, None]
    z = 6 + 22 * ((1 - x**2) * (1 - y**2)) ** 0.7 + 0.6 * np.sin(14 * x + 3 * y) * np.cos(9 * y)
    z += np.random.default_rng(3).normal(scale=0.02, size=z.shape)
    ny, nx = z.shape
    flat = np.stack(np.broadcast_arrays(x * width_mm / 2, y * depth_mm / 2), -1).reshape(-1, 2)
    node = np.arange(ny * nx).reshape(ny, nx)
    a, b, c, d = (n.ravel() for n in (node[:-1, :-1], node[:-1, 1:], node[1:, :-1], node[1:, 1:]))
    top = np.concatenate([np.stack([a, b, d], 1), np.stack([a, d, c], 1)])
    ring = np.concatenate([node[0, :-1], node[:-1, -1], node[-1, :0:-1], node[:0:-1, 0]])
    low = ny * nx + np.arange(len(ring))
    after, middle = np.roll(low, -1), np.full(len(ring), ny * nx + len(ring))
    sides = [
        np.stack([ring, low, after], 1),
        np.stack([ring, after, np.roll(ring, -1)], 1),
        np.stack([low, middle, after], 1),
    ]
    points = np.zeros((ny * nx + len(ring) + 1, 3))
    points[: ny * nx] = np.column_stack([flat, z.ravel()])
    points[low, :2] = flat[ring]
    return Mesh(points, np.concatenate([top, *sides]).astype(np.int32))
