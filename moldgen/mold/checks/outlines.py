"""The outlines a mold is made of: from its plan, or cut out of a mesh of unknown make."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon

from moldgen.arrays import Floats, Indices
from moldgen.compiling import njit
from moldgen.mold.features import Direction, FeaturePlan
from moldgen.solid.mesh import Mesh
from moldgen.solid.polygons import polygons_of, rings_of
from moldgen.solid.slices import section

WHOLE_CUTS = (0.5, 0.75, 0.9, 0.97)
"""Shares of the height at which a cavity's mouth is looked for, one after the other."""


_FINEST = 1200


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Outline:
    """One raised or sunk outline with the wall around it.

    Attributes
    ----------
    name, parent : str
        Own name and the name of what it stands on; empty for what stands on the table.
    raised : bool
        Whether the sheet is drawn over it, rather than into it.
    region : MultiPolygon
        The outline as read; for a mesh of unknown make, its section at half height. [mm]
    outer : MultiPolygon
        Everything within the foot of the wall (the mouth, if it is sunk). [mm]
    height_mm : float
        Height or depth of the wall. [mm]
    z_mm : float
        Height of the level it stands on, or is sunk into. [mm]
    draft_deg : float or None
        Draft stated for it; None for a mesh of unknown make. [°]
    """

    name: str
    parent: str
    raised: bool
    region: MultiPolygon
    outer: MultiPolygon
    height_mm: float
    z_mm: float
    draft_deg: float | None = None


def outlines_of_plan(plans: Sequence[FeaturePlan]) -> tuple[Outline, ...]:
    """Return the outlines of planned features, in the order of the plan."""
    return tuple(
        Outline(
            name=plan.name,
            parent=plan.parent,
            raised=plan.direction is Direction.RAISED,
            region=plan.region,
            outer=plan.outer,
            height_mm=plan.wall.height_mm,
            z_mm=plan.z_parent_mm,
            draft_deg=plan.wall.draft_deg,
        )
        for plan in plans
    )


def outline_of_mesh(name: str, part: Mesh, *, sunk: bool) -> Outline:
    """Return the outline of a mesh of unknown make.

    A block is cut at half its height; of a mold with a cavity the holes in the cut are taken.
    """
    return _hollow(name, part) if sunk else _block(name, part)


def owners(places_mm: Floats, outlines: tuple[Outline, ...]) -> Indices:
    """Return the innermost outline that each place lies in, shape (n,); -1 for none.

    This is read from a grid of at most 1200 cells a side, so a place within a cell of an
    outline's foot, which is flat there, may go to the neighbor.

    Parameters
    ----------
    places_mm : ndarray, shape (n, 3)
        Places. [mm]
    """
    low, high = places_mm[:, :2].min(axis=0), places_mm[:, :2].max(axis=0)
    cell = max(float((high - low).max()) / _FINEST, 1e-6)
    nx, ny = (int(n) + 1 for n in (high - low) / cell)
    label = np.full((ny, nx), -1)
    for number in sorted(range(len(outlines)), key=lambda n: _depth(outlines, n)):
        outline = outlines[number]
        upright = outline.draft_deg is None or outline.draft_deg < 1.0
        # An upright wall stands right over the outline, to either side of it by rounding.
        outer = outline.outer.buffer(1.5 * cell) if upright else outline.outer
        _paint(label, outer, number, low, cell)
    column_row = ((places_mm[:, :2] - low) / cell).astype(np.int64)
    return np.asarray(label[column_row[:, 1], column_row[:, 0]], np.int64)


def inside(outlines: tuple[Outline, ...], number: int) -> list[int]:
    """Return the numbers of an outline and of all that stand on or in it."""
    found = [number]
    for other, outline in enumerate(outlines):
        if outline.parent and outline.parent == outlines[number].name and other != number:
            found += inside(outlines, other)
    return found


def _block(name: str, part: Mesh) -> Outline:
    z_low, z_high = part.bounds_mm[:, 2]
    height = float(z_high - z_low)
    return Outline(
        name=name,
        parent="",
        raised=True,
        region=section(part, z_low + 0.5 * height),
        outer=section(part, z_low + 1e-3 * height),
        height_mm=height,
        z_mm=float(z_low),
    )


def _holes(region: MultiPolygon) -> MultiPolygon:
    holes = [Polygon(ring) for part in region.geoms for ring in part.interiors]
    return polygons_of(shapely.union_all(holes))


def _hollow(name: str, part: Mesh) -> Outline:
    z_low, z_high = part.bounds_mm[:, 2]
    height = float(z_high - z_low)
    mouth = MultiPolygon()
    for share in WHOLE_CUTS:
        solid = section(part, z_low + share * height)
        mouth = polygons_of(
            shapely.union_all([Polygon(r) for p in solid.geoms for r in p.interiors])
        )
        if not mouth.is_empty:
            break
    wide = section(part, z_low + 0.999 * height)
    outer = _holes(wide)
    return Outline(
        name=name,
        parent="",
        raised=False,
        region=mouth,
        outer=mouth if outer.is_empty else outer,
        height_mm=_depth_mm(part, mouth, float(z_high)),
        z_mm=float(z_high),
    )


def _depth_mm(part: Mesh, mouth: MultiPolygon, z_high: float) -> float:
    """Depth of the lowest floor within a mouth, seen from above."""
    if mouth.is_empty:
        return 0.0
    up = part.area_vectors_mm2[:, 2] > 0.7 * part.areas_mm2
    middles = part.corners_mm[up].mean(axis=1)
    shapely.prepare(mouth)
    within = shapely.contains_xy(mouth, middles[:, 0], middles[:, 1])
    return z_high - float(middles[within, 2].min(initial=z_high))


def _depth(outlines: tuple[Outline, ...], number: int) -> int:
    names = {outline.name: outline for outline in outlines}
    depth, at = 0, outlines[number]
    while at.parent in names and depth < len(outlines):
        at, depth = names[at.parent], depth + 1
    return depth


def _paint(
    label: Indices, region: MultiPolygon, number: int, low_mm: Floats, cell_mm: float
) -> None:
    """Write a number into the cells whose middle lies within a region."""
    if region.is_empty:
        return
    box = (np.array(region.bounds).reshape(2, 2) - low_mm) / cell_mm
    first = np.maximum(np.floor(box[0]).astype(int), 0)
    last = np.minimum(np.ceil(box[1]).astype(int) + 1, label.shape[::-1])
    if (last <= first).any():
        return
    window = label[first[1] : last[1], first[0] : last[0]]
    flips = np.zeros(window.shape, np.int8)
    for ring in rings_of(region):
        _flip(np.ascontiguousarray((np.asarray(ring.coords) - low_mm) / cell_mm - first), flips)
    window[np.bitwise_xor.accumulate(flips, axis=1) == 1] = number


@njit(cache=True)
def _flip(ring: Floats, flips: NDArray[np.int8]) -> None:
    """Note, in every row, the first cell middle right of each crossing of the ring."""
    ny, nx = flips.shape
    for k in range(ring.shape[0] - 1):
        ax, ay = ring[k]
        bx, by = ring[k + 1]
        first = max(0, int(np.ceil(min(ay, by) - 0.5)))
        last = min(ny - 1, int(np.ceil(max(ay, by) - 0.5)) - 1)
        for i in range(first, last + 1):
            x = ax + (i + 0.5 - ay) * (bx - ax) / (by - ay)
            j = max(0, int(np.ceil(x - 0.5)))
            if j < nx:
                flips[i, j] ^= 1
