"""How round the edges are: the radius of each, read off the triangles on either side of it.

From the middle of every edge a straight path is walked over the surface, square to the edge, both
ways. It crosses other edges, and the surface turns a little at each. Where the path turns by
``turn`` over a length ``L`` the surface has the radius ``L / turn``; the tightest stretch that
turns by at least `TELLING_DEG` counts, so the unevenness of a triangulation, which turns little
and back again, does not. A turn at one edge that no round shares is a sharp edge, of radius 0.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldgen.arrays import Floats
from moldgen.finding import Cure, Finding, Remedy, Severity, Way
from moldgen.mold.checks.case import Case, Place
from moldgen.mold.checks.edge_paths import tightest
from moldgen.mold.checks.outlines import Outline
from moldgen.mold.checks.sight import Sight

TELLING_DEG = 25.0
"""Least turn of a stretch of surface that has a radius worth telling. [°]."""

SHARP_DEG = 46.0
"""Turn from which a single edge is no longer a facet of a round, unless facets are tiny: a
quarter round may be two chords. [°]."""

ALONE_DEG = 35.0
"""Turn from which an edge is sharp if no other near it turns likewise. [°]."""

FACET_MM = 0.1
"""Most that the chord of a true round may stand off its arc where the turn is sharp. [mm]."""

LEAST_LENGTH_MM = 2.0
"""Length of edge below which a small radius is taken for a blemish of the mesh. [mm]."""

LEAST_SHARE = 0.01
"""Share of all rounded edges below which a small radius is unevenness of the triangles. [-]."""

_LEAST_TURN_DEG = 0.5
_BASIS = "common practice, no source: edge radius at least the sheet's gauge"


@dataclass(frozen=True, eq=False, kw_only=True)
class Rounds:
    """The edges between triangles that the sheet lies on.

    Attributes
    ----------
    radii_mm : ndarray, shape (k,)
        Radius read at each edge; 0 for a sharp one, inf for one rounder than was looked. [mm]
    lengths_mm : ndarray, shape (k,)
        Length of each edge. [mm]
    convex : ndarray, shape (k,)
        Whether the mold stands out there.
    middles_mm : ndarray, shape (k, 3)
        Middle of each edge. [mm]
    triangle : ndarray, shape (k,)
        One of the two triangles.
    """

    radii_mm: Floats
    lengths_mm: Floats
    convex: NDArray[np.bool_]
    middles_mm: Floats
    triangle: NDArray[np.int64]


@dataclass(frozen=True, kw_only=True)
class SharpEdge:
    """The sharpest kind of edge found.

    Attributes
    ----------
    radius_mm : float
        Radius that at least 2 mm of edge, and a hundredth of all, do not exceed; 0 if 2 mm of
        edge are sharp. [mm]
    sharper_mm : float
        Length of edge sharper than the limit asked for. [mm]
    where_mm : tuple of three floats
        Middle of the longest edge among the sharpest. [mm]
    """

    radius_mm: float
    sharper_mm: float
    where_mm: Place


def measure_rounds(case: Case, sight: Sight, *, reach_mm: float | None = None) -> Rounds:
    """Read the radius at every edge between two triangles that the sheet lies on.

    Edges of triangles so low that rounding of the coordinates turns them by more than 2° are left
    out, and so are rims of vents and the mold's foot, which the sheet does not follow.

    Parameters
    ----------
    reach_mm : float, optional
        How far to walk to either side; radii up to twice that are told. One and a half gauges if
        not given. [mm]
    """
    reach = 1.5 * case.sheet.gauge_mm if reach_mm is None else reach_mm
    fit = sight.seen & (case.uncertainty_deg < 2.0)
    pairs, points = case.edges.triangles, case.edges.points
    turn = _turns(case)
    own = np.flatnonzero(fit[pairs].all(axis=1) & _may_be_tight(case, turn, 2 * reach))
    ends = case.mesh.points_mm[points[own]]
    radii = tightest(
        case.mesh, pairs, points, turns_rad=turn, open_triangles=sight.seen, chosen=own,
        reach_mm=reach, telling_deg=TELLING_DEG, sharp_deg=SHARP_DEG, alone_deg=ALONE_DEG,
        facet_mm=FACET_MM,
    )  # fmt: skip
    return Rounds(
        radii_mm=radii,
        lengths_mm=np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1),
        convex=turn[own] > 0,
        middles_mm=ends.mean(axis=1),
        triangle=pairs[own, 0],
    )


def sharpest(
    case: Case, rounds: Rounds, chosen: NDArray[np.bool_], limit_mm: float
) -> SharpEdge | None:
    """Return the sharpest of the chosen edges that is no blemish; None if there is none."""
    own = np.flatnonzero(chosen & np.isfinite(rounds.radii_mm))
    order = own[np.argsort(rounds.radii_mm[own], kind="stable")]
    run = np.cumsum(rounds.lengths_mm[order])
    if not len(order) or run[-1] < LEAST_LENGTH_MM:
        return None
    n_sharp = int(np.searchsorted(rounds.radii_mm[order], 0.0, side="right"))
    sharp_mm = float(run[n_sharp - 1]) if n_sharp else 0.0
    least = LEAST_LENGTH_MM
    if sharp_mm < LEAST_LENGTH_MM:
        least = max(least, LEAST_SHARE * float(run[-1]))
    reached = int(np.searchsorted(run, least))
    radius = float(rounds.radii_mm[order[reached]])
    among = order[: int(np.searchsorted(rounds.radii_mm[order], radius, side="right"))]
    longest = among[int(np.argmax(rounds.lengths_mm[among]))]
    below = own[rounds.radii_mm[own] < limit_mm]
    return SharpEdge(
        radius_mm=radius,
        sharper_mm=float(rounds.lengths_mm[below].sum()),
        where_mm=case.place(rounds.middles_mm[longest]),
    )


def check_radius(case: Case, rounds: Rounds) -> tuple[Finding, ...]:
    """Ask whether edges are round enough for the sheet, per feature, standing out and hollow."""
    owners = case.owner[rounds.triangle]
    # Chords read a little small; a tenth is as well as a radius is known.
    limit = 0.9 * case.sheet.gauge_mm
    findings = []
    for number, outline in enumerate(case.outlines):
        for convex in (True, False):
            chosen = (owners == number) & (rounds.convex == convex)
            edge = sharpest(case, rounds, chosen, limit)
            if edge and edge.radius_mm < limit:
                findings.append(_finding(case, outline, edge, convex))
    return tuple(findings)


def _turns(case: Case) -> Floats:
    """Turn at every shared edge; positive where the mold stands out. [rad]."""
    pairs, points = case.edges.triangles, case.edges.points
    first, second = case.normals[pairs[:, 0]], case.normals[pairs[:, 1]]
    run = case.mesh.points_mm[points[:, 1]] - case.mesh.points_mm[points[:, 0]]
    run /= np.maximum(np.linalg.norm(run, axis=1), 1e-300)[:, None]
    # The first triangle runs the edge forward, so the cross product runs along it if convex.
    sine = np.einsum("ij,ij->i", np.cross(first, second), run)
    turns: Floats = np.arctan2(sine, np.einsum("ij,ij->i", first, second))
    return turns


def _may_be_tight(case: Case, turn: Floats, radius_mm: float) -> NDArray[np.bool_]:
    """Leave out edges that turn too little, for their triangles' widths, to be worth a walk."""
    bend = np.abs(turn)
    ends = case.mesh.points_mm[case.edges.points]
    lengths = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1)
    widths = 2 * case.mesh.areas_mm2[case.edges.triangles].min(axis=1) / lengths
    round_enough = widths > bend * radius_mm
    return np.asarray(
        (bend > np.radians(_LEAST_TURN_DEG)) & (~round_enough | (bend > np.radians(TELLING_DEG)))
    )


def _finding(case: Case, outline: Outline, edge: SharpEdge, convex: bool) -> Finding:
    limit = case.sheet.gauge_mm
    tight = edge.radius_mm < 0.5 * limit
    kind = "outside edges" if convex else "inside corners"
    harm = "thin and mark the sheet" if convex else "are not followed by the sheet"
    return Finding(
        code="edge-convex" if convex else "edge-concave",
        severity=Severity.CAUTION if tight else Severity.NOTE,
        says=f"{kind} {harm}; least radius",
        measured=edge.radius_mm,
        limit=limit,
        unit="mm",
        where_mm=edge.where_mm,
        subject=outline.name,
        basis=_BASIS,
        advice=f"Round them to at least {limit:g} mm.",
        cures=(
            Cure(
                field=Remedy.TOP_RADIUS if convex else Remedy.BASE_RADIUS, way=Way.HIGHER,
                least=limit,
            ),
            Cure(field=Remedy.GAUGE, way=Way.LOWER, least=edge.radius_mm),
        )[: 2 if edge.radius_mm > 0 else 1],
    )  # fmt: skip
