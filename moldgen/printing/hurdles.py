"""Hurdles: what a cut should go round: vents, letters, walls and radii it would run along."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import pi, sqrt

import numpy as np
import shapely
from manifold3d import Manifold
from shapely import MultiPolygon

from moldgen.arrays import Floats
from moldgen.solid.mesh import Mesh
from moldgen.solid.slices import region_at, solid_of

CLEAR_MM = {"vent": 1.5, "letter": 0.2}
"""Plastic left between a cut and what it goes round. [mm]."""
UNDERSIDE_MM = 1.5
"""Channels and labels of an underside lie lower than this and are no hurdle. [mm]."""
VENT_MM = 8.0
"""A hole from top to bottom up to this width is taken for a vent. [mm]."""
PART_SHARE = 0.4
"""A raised piece that covers less of the foot than this is taken for a letter. [-]."""
BAND_MM = 1.0
"""A wall or radius within this of a cut, and nearly along it, is run along. [mm]."""
ALONG = 0.25
"""Share of a normal along the cut's axis from which a face runs along the cut. [-]."""
_LEVELS = (0.05, 0.15, 0.3, 0.45, 0.6, 0.75, 0.85, 0.93, 0.98)


class HurdleKind(StrEnum):
    """What stands in the way of a cut."""

    VENT = "vent"
    LETTER = "letter"
    RADIUS = "wall or radius"


COST = {HurdleKind.LETTER: 2000.0, HurdleKind.VENT: 100.0, HurdleKind.RADIUS: 10.0}
"""What crossing one counts: a seam through a letter is seen, a cut vent is opened again, so that no
letter is cut where a gap is in reach, whatever vents lie in it (a judgment)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Hurdle:
    """A place that a cut should go round.

    Attributes
    ----------
    kind : HurdleKind
        What it is.
    name : str
        What findings call it.
    low_mm, high_mm : tuple of three floats
        Its bounding box, with what must be left around it. [mm]
    """

    kind: HurdleKind
    name: str
    low_mm: tuple[float, float, float]
    high_mm: tuple[float, float, float]

    def crossed(self, axis: int, at_mm: float) -> bool:
        """Return whether a plane across an axis goes through it."""
        # A level cut goes through upright vents and between letters; neither is harmed.
        if axis == 2 and self.kind is HurdleKind.VENT:
            return False
        return self.low_mm[axis] < at_mm < self.high_mm[axis]


def hurdles_of_mesh(mesh: Mesh) -> tuple[Hurdle, ...]:
    """Return what a cut through any solid should go round, as far as its level cuts tell.

    Narrow holes are taken for vents, raised pieces much smaller than the foot for letters.
    """
    solid = solid_of(mesh)
    low, high = (float(z) for z in mesh.bounds_mm[:, 2])
    levels = [low + max(share * (high - low), UNDERSIDE_MM) for share in _LEVELS]
    cuts = [(z, region_at(solid, z)) for z in levels if z < high]
    holes: list[Hurdle] = []
    for _, region in cuts:
        for hole in _holes(region, low, high):
            _keep_narrower(holes, hole)
    letters: list[Hurdle] = []
    for letter in _letters(solid, cuts, low, high):
        if not any(_same(letter, other) for other in letters):
            letters.append(letter)
    return (*holes, *letters)


def run_along_mm2(mesh: Mesh, axis: int, places_mm: Floats) -> Floats:
    """Return how much wall or radius lies within `BAND_MM` of each plane and runs along it. [mm²].

    Parameters
    ----------
    axis : int
        0, 1 or 2 for planes across x, y or z.
    places_mm : ndarray, shape (k,)
        Their places on that axis, rising. [mm]
    """
    areas = mesh.areas_mm2
    share = np.divide(
        np.abs(mesh.area_vectors_mm2[:, axis]), areas, out=np.zeros(len(areas)), where=areas > 0
    )
    along = share > ALONG
    reach = mesh.corners_mm[along][:, :, axis]
    start, end = reach.min(axis=1) - BAND_MM, reach.max(axis=1) + BAND_MM
    weight = areas[along] * share[along] * 2 * BAND_MM / (end - start)
    first = np.searchsorted(places_mm, start)
    last = np.searchsorted(places_mm, end, side="right")
    steps = np.zeros(len(places_mm) + 1)
    np.add.at(steps, first, weight)
    np.add.at(steps, last, -weight)
    return np.asarray(np.maximum(np.cumsum(steps)[:-1], 0.0))


def _holes(region: MultiPolygon, low: float, high: float) -> Iterator[Hurdle]:
    for part in region.geoms:
        for ring in part.interiors:
            hole = shapely.Polygon(ring)
            if 2 * sqrt(hole.area / pi) <= VENT_MM:
                yield _boxed(HurdleKind.VENT, "a hole", hole, low, high)


def _keep_narrower(holes: list[Hurdle], hole: Hurdle) -> None:
    """Keep each hole at its narrowest: the pocket below a slit may be cut, the slit may not."""
    for k, other in enumerate(holes):
        if _same(hole, other):
            if _width_mm(hole) < _width_mm(other):
                holes[k] = hole
            return
    holes.append(hole)


def _width_mm(hurdle: Hurdle) -> float:
    return sum(b - a for a, b in zip(hurdle.low_mm[:2], hurdle.high_mm[:2], strict=True))


def _letters(
    solid: Manifold, cuts: Sequence[tuple[float, MultiPolygon]], low: float, high: float
) -> Iterator[Hurdle]:
    """Yield small pieces of a level cut that only shrink further up: what stands free."""
    foot_mm2 = max((region.area for _, region in cuts), default=0.0)
    for k, (z, region) in enumerate(cuts):
        higher = cuts[k + 1 :]
        above = list(higher[0][1].geoms) if higher else []
        for part in region.geoms:
            larger = any(
                other.area > 1.05 * part.area and other.intersects(part) for other in above
            )
            if part.area < PART_SHARE * foot_mm2 and not larger:
                top = max([z, *(up for up, over in higher if over.intersects(part))])
                halfway = _within(region_at(solid, (z + top) / 2), part)
                yield _boxed(HurdleKind.LETTER, "a raised part", halfway, low, high)


def _within(region: MultiPolygon, part: shapely.Polygon) -> shapely.Geometry:
    """Return what is left of a piece halfway up, where its flared foot no longer counts."""
    left = [other for other in region.geoms if other.intersects(part)]
    return shapely.union_all(left) if left else part


def _boxed(kind: HurdleKind, name: str, part: shapely.Geometry, low: float, high: float) -> Hurdle:
    x0, y0, x1, y1 = part.bounds
    clear = CLEAR_MM[kind.value]
    return Hurdle(
        kind=kind,
        name=name,
        low_mm=(x0 - clear, y0 - clear, low),
        high_mm=(x1 + clear, y1 + clear, high),
    )


def _same(one: Hurdle, other: Hurdle) -> bool:
    """Whether the middle of one lies within the other of its kind."""
    middle = [(a + b) / 2 for a, b in zip(one.low_mm[:2], one.high_mm[:2], strict=True)]
    within = all(
        a <= m <= b for a, m, b in zip(other.low_mm[:2], middle, other.high_mm[:2], strict=True)
    )
    return one.kind is other.kind and within
