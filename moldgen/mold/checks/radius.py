"""How round the edges are: the radius of each, read off the triangles beside it.

Where a round of radius r is cut into strips of width w, neighbouring strips turn by w/r. An edge
between two strips therefore shows ``r = w / (2 tan(turn / 2))``, with w their mean width; where
one neighbour is a broad flat, the flat runs out in a tangent and the round has only half its strip
there. A turn too sharp to be a chord of any such round is a sharp edge, of radius 0.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldgen.finding import Finding, Severity
from moldgen.mold.checks.case import Case, Place
from moldgen.mold.checks.outlines import Outline, outlines_of, owner
from moldgen.mold.checks.sight import Sight, uncertainty_deg

Floats = NDArray[np.float64]

SHARP_DEG = 40.0
"""Turn from which an edge is no longer a facet of a round, unless the facets are tiny. [°]."""

FACET_MM = 0.1
"""Most that the chord of a true round may stand off its arc where the turn is sharp. [mm]."""

LEAST_LENGTH_MM = 2.0
"""Length of edge below which a small radius is taken for a blemish of the mesh. [mm]."""

_LEAST_TURN_DEG = 1.0
_BROAD = 3.0
_BASIS = "common practice, no source: edge radius at least the sheet's gauge"


@dataclass(frozen=True, eq=False, kw_only=True)
class Rounds:
    """The edges between triangles that the sheet lies on.

    Attributes
    ----------
    radii_mm : ndarray, shape (k,)
        Radius read at each edge; 0 for a sharp one. [mm]
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
class Edge:
    """The sharpest kind of edge found.

    Attributes
    ----------
    radius_mm : float
        Radius that edges of at least 2 mm length in all do not exceed. [mm]
    sharper_mm : float
        Length of edge below the limit asked for. [mm]
    where_mm : tuple of three floats
        Middle of the longest edge among the sharpest. [mm]
    """

    radius_mm: float
    sharper_mm: float
    where_mm: Place


def measure_rounds(case: Case, sight: Sight) -> Rounds:
    """Read the radius at every edge between two triangles that the sheet lies on.

    Edges between triangles so low that rounding of the coordinates turns them by more than 2° are
    left out, and so are rims of vents and the mold's foot, which the sheet does not follow.
    """
    fit = sight.seen & (uncertainty_deg(case) < 2.0)
    pairs, points = case.edges.triangles, case.edges.points
    both = fit[pairs].all(axis=1)
    pairs, points = pairs[both], points[both]
    first, second = case.normals[pairs[:, 0]], case.normals[pairs[:, 1]]
    sine = np.linalg.norm(np.cross(first, second), axis=1)
    turn = np.arctan2(sine, np.einsum("ij,ij->i", first, second))
    turning = turn > np.radians(_LEAST_TURN_DEG)
    pairs, points, turn = pairs[turning], points[turning], turn[turning]
    ends = case.mesh.points_mm[points]
    lengths = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1)
    middles = ends.mean(axis=1)
    towards = case.middles_mm[pairs[:, 1]] - middles
    return Rounds(
        radii_mm=_radii_mm(2 * case.mesh.areas_mm2[pairs] / lengths[:, None], turn),
        lengths_mm=lengths,
        convex=np.einsum("ij,ij->i", towards, case.normals[pairs[:, 0]]) < 0,
        middles_mm=middles,
        triangle=pairs[:, 0],
    )


def sharpest(case: Case, rounds: Rounds, chosen: NDArray[np.bool_], limit_mm: float) -> Edge | None:
    """Return the sharpest of the chosen edges that is no blemish; None if there is none."""
    own = np.flatnonzero(chosen)
    order = own[np.argsort(rounds.radii_mm[own], kind="stable")]
    run = np.cumsum(rounds.lengths_mm[order])
    if not len(order) or run[-1] < LEAST_LENGTH_MM:
        return None
    reached = int(np.searchsorted(run, LEAST_LENGTH_MM))
    among = order[: reached + 1]
    radius = float(rounds.radii_mm[order[reached]])
    if radius == 0.0:
        among = own[rounds.radii_mm[own] == 0.0]
    longest = among[int(np.argmax(rounds.lengths_mm[among]))]
    below = own[rounds.radii_mm[own] < limit_mm]
    return Edge(
        radius_mm=radius,
        sharper_mm=float(rounds.lengths_mm[below].sum()),
        where_mm=case.place(rounds.middles_mm[longest]),
    )


def check_radius(case: Case, rounds: Rounds) -> tuple[Finding, ...]:
    """Ask whether edges are round enough for the sheet, per feature, standing out and hollow."""
    outlines = outlines_of(case)
    owners = owner(case, outlines)[rounds.triangle]
    limit = case.sheet.gauge_mm
    findings = []
    for number, outline in enumerate(outlines):
        for convex in (True, False):
            chosen = (owners == number) & (rounds.convex == convex)
            edge = sharpest(case, rounds, chosen, limit)
            # Chords read a little small; a tenth is as well as a radius is known.
            if edge and edge.radius_mm < 0.9 * limit:
                findings.append(_finding(case, outline, edge, convex))
    return tuple(findings)


def _radii_mm(widths: Floats, turn: Floats) -> Floats:
    narrow, broad = widths.min(axis=1), widths.max(axis=1)
    width = np.where(broad > _BROAD * narrow, narrow, (narrow + broad) / 2)
    # Beside a broad flat the edge shows half the turn of its one strip.
    half = np.where(broad > _BROAD * narrow, turn, turn / 2)
    radii = width / (2 * np.tan(np.minimum(half, 1.57)))
    stands_off = radii * (1 - np.cos(np.minimum(half, 1.57)))
    sharp = (turn > np.radians(SHARP_DEG)) & (stands_off > FACET_MM)
    return np.where(sharp, 0.0, radii)


def _finding(case: Case, outline: Outline, edge: Edge, convex: bool) -> Finding:
    limit = case.sheet.gauge_mm
    tight = edge.radius_mm < 0.5 * limit
    kind = "edges that stand out" if convex else "hollow edges"
    harm = "thin and mark the sheet" if convex else "are not followed by the sheet"
    return Finding(
        code="edge-convex" if convex else "edge-concave",
        severity=Severity.CAUTION if tight else Severity.NOTE,
        says=f"{edge.sharper_mm:.0f} mm of {kind} {harm}; least radius",
        measured=edge.radius_mm,
        limit=limit,
        unit="mm",
        where_mm=edge.where_mm,
        subject=outline.name,
        basis=_BASIS,
        advice=f"Round them to at least {limit:g} mm.",
    )
