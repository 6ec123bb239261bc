"""What is timed: a ten-letter word, and two shapes with rounded corners."""

from __future__ import annotations

from shapely import MultiPolygon, Polygon, box
from shapely.affinity import translate

from moldgen.mold.build import RawMold, build_raw_mold
from moldgen.mold.features import Feature, Wall
from moldgen.outline.text import TextSpec, outline_from_text
from moldgen.solid.mesh import Body
from moldgen.solid.sound import solid_from_mesh

WORD = "BREAKWATER"
CAP_MM = 40.0
WALL = Wall(height_mm=12, draft_deg=5, rim_mm=1, root_mm=1.5)


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
