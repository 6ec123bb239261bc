"""Cells: convex columns under a solid, each as tall as the skin above and around it allows."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from math import cos, pi, sin
from typing import Annotated

import numpy as np
import shapely
from manifold3d import Manifold
from shapely import MultiPolygon, Polygon

from moldgen.arrays import Floats
from moldgen.quantity import Meaning, Quantity, Spec
from moldgen.solid.mesh import Mesh
from moldgen.solid.polygons import polygons_of
from moldgen.solid.slices import region_at
from moldgen.solid.sound import sound

LEAST_WIDE_MM = 4.0
"""A cell narrower than this saves nothing. [mm]."""
LEAST_TALL_MM = 2.0
"""A cell lower than this saves nothing. [mm]."""
STEEP = 1.01
"""Rise of a roof over its run: a little over 45°, so that no facet falls short. [-]."""
_STEP_MM = 0.5
_MOST_LEVELS = 240
_NEAR_MM = 1e-6
_SIDES = 16


@dataclass(frozen=True, slots=True, kw_only=True)
class HollowSpec(Spec):
    """How a solid is hollowed."""

    skin_mm: Annotated[
        float, Quantity("mm", "least thickness of the shell", at_least=0.8, at_most=50)
    ] = 2.4
    rib_mm: Annotated[
        float, Quantity("mm", "thickness of the ribs between cells", at_least=0.8, at_most=50)
    ] = 1.6
    cell_mm: Annotated[
        float, Quantity("mm", "clear width of a cell", at_least=LEAST_WIDE_MM, at_most=200)
    ] = 20.0
    bridge_mm: Annotated[
        float, Quantity("mm", "widest level roof; wider cells slope at 45°", above=0, at_most=60)
    ] = 10.0
    passages: Annotated[bool, Meaning("passages for air through the ribs' feet")] = True


USUAL = HollowSpec()
"""Skin 2.4 mm, cells 20 mm wide."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HollowCell:
    """One hollow.

    Attributes
    ----------
    plan : Polygon
        Its walls seen from above, convex. [mm]
    low_mm, eave_mm, top_mm : float
        The underside, where its roof begins to slope, and its highest level. [mm]
    """

    plan: Polygon
    low_mm: float
    eave_mm: float
    top_mm: float


def place_cells(
    rooms: Sequence[tuple[float, MultiPolygon]], low: float, spec: HollowSpec
) -> tuple[HollowCell, ...]:
    """Place cells on a square grid about the solid's middle, each as tall as the skin allows.

    Parameters
    ----------
    rooms : sequence of (float, MultiPolygon)
        Tops, rising, and where a column may reach them. [mm]
    low : float
        Height of the underside. [mm]
    """
    if not rooms:
        return ()
    cells = []
    for square in _squares(rooms[0][1], spec):
        one = _best([square], rooms, low, spec)
        many = _best(_quartered(square, spec), rooms, low, spec)
        cells += max(one, many, key=_total_mm3)
    return tuple(cells)


def _best(
    squares: Sequence[Polygon],
    rooms: Sequence[tuple[float, MultiPolygon]],
    low: float,
    spec: HollowSpec,
) -> list[HollowCell]:
    """Return the cell of most volume in each square, whatever its height."""
    best = []
    for square in squares:
        tried = [cell for top, room in rooms for cell in _cells(square, room, low, top, spec)]
        if tried:
            best.append(max(tried, key=_cell_mm3))
    return best


def _quartered(square: Polygon, spec: HollowSpec) -> list[Polygon]:
    """Return a square as cells so narrow that a level roof bridges them, ribs between."""
    count = int(np.ceil((spec.cell_mm + spec.rib_mm) / (spec.bridge_mm + spec.rib_mm) - 1e-9))
    side = (spec.cell_mm - (count - 1) * spec.rib_mm) / count
    if count < 2 or side < LEAST_WIDE_MM:
        return []
    x, y, _, _ = square.bounds
    places = (np.arange(count) * (side + spec.rib_mm)).tolist()
    corners = [(x + a, y + b) for b in places for a in places]
    return [shapely.box(a, b, a + side, b + side) for a, b in corners]


def _total_mm3(cells: Iterable[HollowCell]) -> float:
    return sum(map(_cell_mm3, cells))


def rooms_under(
    solid: Manifold, mesh: Mesh, skin_mm: float
) -> Iterator[tuple[float, MultiPolygon]]:
    """Yield tops, rising, and where a column may reach them: a skin away from every face. [mm]."""
    low = float(mesh.bounds_mm[0, 2])
    left: shapely.Geometry | None = None
    for level in _levels(mesh):
        inner = shapely.buffer(region_at(solid, level), -skin_mm, join_style="mitre")
        left = inner if left is None else shapely.intersection(left, inner)
        if left.is_empty:
            return
        top = level - skin_mm
        if top - low >= LEAST_TALL_MM:
            yield top, polygons_of(left)


def _levels(mesh: Mesh) -> list[float]:
    """Return levels close to one another, and on either side of every flat."""
    low, high = (float(z) for z in mesh.bounds_mm[:, 2])
    step = max(_STEP_MM, (high - low) / _MOST_LEVELS)
    even = np.arange(low + 0.02, high, step)
    flat = np.abs(mesh.area_vectors_mm2[:, 2]) > 0.999 * mesh.areas_mm2
    heights = np.round(mesh.corners_mm[flat][:, :, 2].mean(axis=1), 4)
    kinds, place = np.unique(heights, return_inverse=True)
    sizes = np.bincount(place, weights=mesh.areas_mm2[flat], minlength=len(kinds))
    flats = kinds[sizes > 1.0]
    every = np.concatenate([even, flats - _NEAR_MM, flats + _NEAR_MM])
    return sorted({float(z) for z in every if low + 0.01 < z < high})


def _squares(region: MultiPolygon, spec: HollowSpec) -> Iterator[Polygon]:
    x0, y0, x1, y1 = region.bounds
    for y in _rows(y0, y1, spec):
        for x in _rows(x0, x1, spec):
            yield shapely.box(x, y, x + spec.cell_mm, y + spec.cell_mm)


def _rows(low: float, high: float, spec: HollowSpec) -> Floats:
    """Return where cells begin so that a row of them lies evenly about the middle."""
    pitch = spec.cell_mm + spec.rib_mm
    count = max(1, int(np.ceil((high - low + spec.rib_mm) / pitch - 1e-9)))
    first = (low + high) / 2 - (count * pitch - spec.rib_mm) / 2
    return np.asarray(first + np.arange(count) * pitch, np.float64)


def _cells(
    square: Polygon, room: MultiPolygon, low: float, top: float, spec: HollowSpec
) -> Iterator[HollowCell]:
    for part in polygons_of(shapely.intersection(room, square)).geoms:
        plan = _convex(part)
        wide = _inscribed_mm(plan)
        if wide < LEAST_WIDE_MM - 1e-6:
            continue
        rise = STEEP * max(0.0, (wide - spec.bridge_mm) / 2)
        if top - rise - low >= LEAST_TALL_MM / 2:
            yield HollowCell(plan=plan, low_mm=low, eave_mm=top - rise, top_mm=top)


def _convex(part: Polygon) -> Polygon:
    """Return a piece itself if it is convex, else the largest round one within it."""
    hull = shapely.convex_hull(part)
    if part.area > 0.999 * hull.area and not part.interiors:
        return hull if part.area > (1 - 1e-9) * hull.area else _shrunk(hull, part)
    line = shapely.maximum_inscribed_circle(part, tolerance=0.02)
    x, y = line.coords[0]
    turns = np.arange(_SIDES) * 2 * pi / _SIDES
    return Polygon([(x + line.length * cos(a), y + line.length * sin(a)) for a in turns])


def _shrunk(hull: Polygon, part: Polygon) -> Polygon:
    """Return a nearly convex piece's hull, taken in as far as it stood out."""
    over = float(shapely.hausdorff_distance(hull, part))
    return polygons_of(shapely.buffer(hull, -over, join_style="mitre")).geoms[0]


def _inscribed_mm(plan: Polygon) -> float:
    return 2 * float(shapely.maximum_inscribed_circle(plan, tolerance=0.01).length)


def cell_width_mm(cell: HollowCell) -> float:
    """Return the width of a cell: that of the largest circle in it. [mm]."""
    return _inscribed_mm(cell.plan)


def _cell_mm3(cell: HollowCell) -> float:
    return float(
        cell.plan.area * (cell.eave_mm - cell.low_mm)
        + _roof(cell).area * (cell.top_mm - cell.eave_mm)
    )


def _roof(cell: HollowCell) -> Polygon:
    """Return the level part of a cell's roof."""
    run = (cell.top_mm - cell.eave_mm) / STEEP
    closed = shapely.buffer(cell.plan, -run, join_style="mitre")
    parts = polygons_of(closed).geoms
    return max(parts, key=lambda part: part.area) if len(parts) else Polygon()


def cell_tool(cell: HollowCell) -> Manifold:
    """Return the cutter of a cell: convex, as its column and its roof are."""
    rings = [(cell.plan, cell.low_mm - 1.0), (cell.plan, cell.eave_mm), (_roof(cell), cell.top_mm)]
    corners = [
        (x, y, z) for plan, z in rings for x, y in np.asarray(plan.exterior.coords)[:-1].tolist()
    ]
    return sound(Manifold.hull_points(np.array(corners)), doing="shaping a cell")
