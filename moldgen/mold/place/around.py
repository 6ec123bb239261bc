"""What lies around a place in plan: how far it is to an outline in every direction."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Point

from moldgen.arrays import Floats
from moldgen.solid.polygons import rings_of

_WAYS = 36
"""Directions looked in over half a turn: one every 5°."""

PARALLEL = -0.9
"""Cosine between two outward directions from which borders count as parallel: within 26°."""

_SQUARE = 0.94
"""Cosine between a way and its borders' normals from which on it meets them squarely: 20°. [-]."""

_TURN_DEG = 4.0
"""Least turn of a border within half a width, time after time, by which it is a curve. [°]."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Span:
    """The shortest way across a place, from border to border.

    Attributes
    ----------
    width_mm : float
        Its length; infinite where no way meets a border at both ends. [mm]
    middle_mm : tuple of two floats
        Half way across. [mm]
    along_deg : float
        Direction of the stroke or gap that it crosses, 0 to the right, 90 up. [°]
    owners : tuple of two ints
        Numbers of the regions that it ends at.
    balance : float
        The shorter way to a border over the longer one, as seen from the place. [-]
    is_parallel : bool
        Whether the borders at its ends are parallel.
    """

    width_mm: float
    middle_mm: tuple[float, float]
    along_deg: float
    owners: tuple[int, int]
    balance: float
    is_parallel: bool


def narrowest_span(
    place: Point, regions: Sequence[MultiPolygon], *, squarely: bool = False
) -> Span | None:
    """Return the shortest way across a place, or None if every way is open at an end.

    Parameters
    ----------
    place : Point
        Within one of the regions, or between them. [mm]
    regions : sequence of MultiPolygon
        What has borders. [mm]
    squarely : bool
        Whether a way at right angles to both of its borders comes first, so that the way across a
        corner of a stroke is not taken for that across the stroke.
    """
    start, run, owner = _borders(regions)
    angles = np.arange(2 * _WAYS) * np.pi / _WAYS
    look = np.stack([np.cos(angles), np.sin(angles)], axis=1)
    here = np.array([place.x, place.y])
    far, hit = _hits(here, look, start, run)
    across = far[:_WAYS] + far[_WAYS:]
    ahead_out, behind_out = (_outward(run[hit[half]]) for half in _HALVES)
    facing = np.einsum("ij,ij->i", ahead_out, behind_out)
    squareness = [
        np.abs(np.einsum("ij,ij->i", look[:_WAYS], out)) for out in (ahead_out, behind_out)
    ]
    square = np.where(np.minimum(*squareness) > _SQUARE, across, np.inf)
    way = int(np.argmin(square if squarely and np.isfinite(square).any() else across))
    if not np.isfinite(across[way]):
        return None
    there, back = int(hit[way]), int(hit[way + _WAYS])
    ahead, behind = float(far[way]), float(far[way + _WAYS])
    x, y = (here + look[way] * (ahead - behind) / 2).tolist()
    return Span(
        width_mm=ahead + behind,
        middle_mm=(x, y),
        along_deg=(float(np.degrees(angles[way])) + 90.0) % 180.0,
        owners=(int(owner[there]), int(owner[back])),
        balance=min(ahead, behind) / max(ahead, behind, 1e-12),
        is_parallel=bool(facing[way] < PARALLEL),
    )


_HALVES = (slice(None, _WAYS), slice(_WAYS, None))


def _outward(run: Floats) -> Floats:
    """Return unit vectors out of the solid, which lies to the left of every border."""
    out = np.stack([run[:, 1], -run[:, 0]], axis=1)
    unit: Floats = out / np.linalg.norm(out, axis=1)[:, None]
    return unit


def is_curved(span: Span, region: MultiPolygon) -> bool:
    """Return whether both borders at the ends of a span keep turning, as no straight stroke does.

    A corner turns once, a curve all the way.
    """
    turn = np.radians(span.along_deg + 90.0)
    half = span.width_mm / 2 * np.array([np.cos(turn), np.sin(turn)])
    ends = shapely.points(np.array([np.array(span.middle_mm) + half, span.middle_mm - half]))
    return all(_border_turns(end, region, step_mm=span.width_mm / 2) for end in ends)


def _border_turns(end: Point, region: MultiPolygon, *, step_mm: float) -> bool:
    ring = min(rings_of(region), key=end.distance)
    at_mm = ring.project(end)
    along = (at_mm + step_mm * np.arange(-2, 3)) % ring.length
    steps = np.diff(shapely.get_coordinates(shapely.line_interpolate_point(ring, along)), axis=0)
    turns = np.diff(np.unwrap(np.arctan2(steps[:, 1], steps[:, 0])))
    return bool((np.degrees(np.abs(turns)) > _TURN_DEG).all() and abs(np.sign(turns).sum()) == 3)


def _borders(
    regions: Sequence[MultiPolygon],
) -> tuple[Floats, Floats, NDArray[np.int64]]:
    """Return start and run of every piece of border, solid to its left, and whose it is."""
    rings = [
        (np.asarray(ring.coords)[:, :2], number)
        for number, region in enumerate(regions)
        for ring in rings_of(shapely.orient_polygons(region))
    ]
    start = np.concatenate([ring[:-1] for ring, _ in rings])
    run = np.concatenate([np.diff(ring, axis=0) for ring, _ in rings])
    owner = np.concatenate([np.full(len(ring) - 1, number) for ring, number in rings])
    kept = np.linalg.norm(run, axis=1) > 0
    return start[kept], run[kept], owner[kept]


def _hits(
    here: Floats, look: Floats, start: Floats, run: Floats
) -> tuple[Floats, NDArray[np.int64]]:
    """Return how far each way is open, and the piece of border that ends it."""
    to = start - here
    # here + t look = start + s run, solved for every way and every piece.
    cross = look[:, None, 0] * run[None, :, 1] - look[:, None, 1] * run[None, :, 0]
    safe = np.where(np.abs(cross) > 1e-12, cross, np.nan)
    t = (to[:, 0] * run[:, 1] - to[:, 1] * run[:, 0])[None, :] / safe
    s = (to[None, :, 0] * look[:, None, 1] - to[None, :, 1] * look[:, None, 0]) / safe
    met = (t >= 0) & (s >= 0) & (s <= 1)
    far = np.where(met, t, np.inf)
    hit = far.argmin(axis=1)
    return far[np.arange(len(look)), hit], hit
