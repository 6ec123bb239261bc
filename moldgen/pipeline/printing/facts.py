"""Facts: what a brought part is, in numbers a person can hold against a ruler and a scale."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldgen.mold.checks import Case
from moldgen.mold.checks.draft import Draft, measure_draft
from moldgen.mold.checks.radius import Rounds, measure_rounds, sharpest
from moldgen.mold.checks.sight import sight
from moldgen.mold.checks.undercut import Undercut, measure_undercuts
from moldgen.mold.checks.wall import measure_walls
from moldgen.printing.hurdles import UNDERSIDE_MM

REACH_MM = 25.0
"""Walls thicker than this are not told from solid ones. [mm]."""
RADIUS_MM = 6.0
"""Radii up to this are read; rounder edges are called rounder. [mm]."""


@dataclass(frozen=True, eq=False, kw_only=True)
class PartFacts:
    """What is measured of a part.

    Attributes
    ----------
    size_mm : tuple of three floats
        Sides of its box: x, y, z. [mm]
    low_mm : tuple of three floats
        Least corner of its box. [mm]
    volume_mm3, area_mm2 : float
        Volume (nan if it is not closed) and surface. [mm³], [mm²]
    n_bodies, n_pieces, n_triangles : int
        Bodies of the file, pieces that hang together, triangles.
    closed : bool
        Whether every body is closed.
    draft : Draft
        Lean of every face that the sheet would lie on.
    undercuts : tuple of Undercut
        What the sheet would get under, the deepest first.
    convex_mm, concave_mm : float
        Sharpest radius of at least 2 mm of edge that stands out, and of one that is hollow; inf
        if all are rounder than was looked. [mm]
    wall_mm : float
        Thinnest wall; inf if all are thicker than was looked. [mm]
    wall_where_mm : tuple of three floats, or None
        Where. [mm]
    """

    size_mm: tuple[float, float, float]
    low_mm: tuple[float, float, float]
    volume_mm3: float
    area_mm2: float
    n_bodies: int
    n_pieces: int
    n_triangles: int
    closed: bool
    draft: Draft
    undercuts: tuple[Undercut, ...]
    convex_mm: float
    concave_mm: float
    wall_mm: float
    wall_where_mm: tuple[float, float, float] | None


def measure_part(case: Case) -> PartFacts:
    """Measure everything about a part that can be told from its triangles alone.

    Parameters
    ----------
    case : Case
        The part, and the draw direction in whose direction draft and undercut are meant.
    """
    closed = all(topology.closed for topology in case.topologies)
    volume = float(sum(abs(part.volume_mm3) for part in case.parts)) if closed else float("nan")
    seen = sight(case)
    rounds = measure_rounds(case, seen, reach_mm=RADIUS_MM)
    corners = np.concatenate([body.mesh.points_mm for body in case.bodies])
    wall, where = _thinnest(case)
    return PartFacts(
        size_mm=_triple(np.ptp(corners, axis=0)),
        low_mm=_triple(corners.min(axis=0)),
        volume_mm3=volume,
        area_mm2=float(case.mesh.areas_mm2.sum()),
        n_bodies=len(case.bodies),
        n_pieces=sum(topology.n_pieces for topology in case.topologies),
        n_triangles=len(case.mesh.triangles),
        closed=closed,
        draft=measure_draft(case, seen),
        undercuts=measure_undercuts(case, seen),
        convex_mm=_sharpest_mm(case, rounds, rounds.convex),
        concave_mm=_sharpest_mm(case, rounds, ~rounds.convex),
        wall_mm=wall,
        wall_where_mm=where,
    )


def _triple(row: NDArray[np.float64]) -> tuple[float, float, float]:
    x, y, z = (float(value) for value in row)
    return x, y, z


def _sharpest_mm(case: Case, rounds: Rounds, chosen: NDArray[np.bool_]) -> float:
    edge = sharpest(case, rounds, chosen, RADIUS_MM)
    return edge.radius_mm if edge is not None else float("inf")


def _thinnest(case: Case) -> tuple[float, tuple[float, float, float] | None]:
    """Thinnest wall that at least 1 mm² of surface has behind it."""
    walls = measure_walls(case, reach_mm=REACH_MM).thickness_mm
    # Ribs and letters of an underside are no walls of the part.
    high = case.mesh.corners_mm[:, :, 2].max(axis=1) > case.floor_mm + UNDERSIDE_MM
    own = np.flatnonzero(np.isfinite(walls) & high)
    order = own[np.argsort(walls[own], kind="stable")]
    enough = np.cumsum(case.mesh.areas_mm2[order]) >= 1.0
    if not enough.any():
        return float("inf"), None
    least = int(order[int(np.argmax(enough))])
    return float(walls[least]), case.place(case.middles_mm[least])
