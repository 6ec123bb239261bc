"""Lines of which three or more meet in one point: the areas that they part."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from moldgen.finding import Finding, Severity
from moldgen.outline.winding import Ring

_SAME_MM = 1e-4
"""Ends nearer than this meet; a point drawn twice in a file is off by rounding alone."""


def areas_parted(lines: Sequence[Ring]) -> tuple[list[Ring], list[Ring], list[Finding]]:
    """Return the areas that branching lines part, if lines branch.

    Parameters
    ----------
    lines : sequence of ndarray, shape (n, 2)
        Open lines. [mm]

    Returns
    -------
    rings : list of ndarray, shape (n, 2)
        The border of each area, without the closing repeat; none where no lines branch. [mm]
    rest : list of ndarray
        The lines that border none of them. [mm]
    findings : list of Finding
        Where the first branch is.
    """
    if len(lines) < 3:
        return [], list(lines), []
    ends = np.array([point for line in lines for point in (line[0], line[-1])])
    nodes, node, count = np.unique(
        np.round(ends / _SAME_MM), axis=0, return_inverse=True, return_counts=True
    )
    branch = np.flatnonzero(count > 2)
    if not len(branch):
        return [], list(lines), []
    firsts = np.full(len(nodes), len(ends))
    np.minimum.at(firsts, node.ravel(), np.arange(len(ends)))
    joined = [_with_ends(line, ends[firsts[node.ravel()[2 * k : 2 * k + 2]]])
              for k, line in enumerate(lines)]  # fmt: skip
    drawn = [shapely.LineString(line) for line in joined]
    areas = shapely.get_parts(shapely.polygonize(drawn))
    rings = [shapely.get_coordinates(ring)[:-1] for ring in shapely.get_exterior_ring(areas)]
    borders = shapely.union_all(shapely.boundary(areas))
    shapely.prepare(borders)
    rest = [line for line, one in zip(joined, drawn, strict=True) if not borders.covers(one)]
    return rings, rest, [_branch(ends[firsts[branch[0]]], len(branch))] if rings else []


def _with_ends(line: Ring, ends: Ring) -> Ring:
    return np.concatenate([ends[:1], line[1:-1], ends[1:]])


def _branch(where: Ring, n: int) -> Finding:
    return Finding(
        code="drawing-lines-branch",
        severity=Severity.CAUTION,
        says="three lines or more meet in a point; what they part is read as one area; points",
        measured=float(n),
        where_mm=(float(where[0]), float(where[1]), 0.0),
        advice="Delete the lines inside if only the border is meant.",
    )
