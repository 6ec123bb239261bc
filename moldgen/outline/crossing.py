"""Where a drawn path crosses itself, and what its fill rule makes of that."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray
from shapely.geometry.base import BaseGeometry

from moldgen.finding import Finding, Severity
from moldgen.outline.region import FillRule, Ring, as_ring
from moldgen.outline.tangle import refuse_tangled

Points = NDArray[np.float64]

_SAME_DIGITS = 6
"""Points that agree to a nanometer are one place."""


def crossing_findings(
    rings: Sequence[ArrayLike], area: BaseGeometry, *, rule: FillRule, what: str
) -> tuple[Finding, ...]:
    """Return what a person should know about a path that crosses itself, if it does.

    Parameters
    ----------
    rings : sequence of array_like, shape (n, 2)
        The closed curves of one path. [mm]
    area : MultiPolygon
        What they enclose by the fill rule. [mm]
    rule : FillRule
        The path's own fill rule.
    what : str
        What the sentence calls the path.
    """
    curves = [curve for ring in rings if len(curve := as_ring(ring, what=what)) > 2]
    pinched = pinches(area)
    if len(pinched):
        return (_pinched(pinched, rule, what),)
    crossed = crossings(curves)
    return (_wound_twice(crossed, what),) if len(crossed) else ()


def crossings(curves: Sequence[Ring]) -> Points:
    """Return where closed curves cross themselves or each other, shape (n, 2). [mm].

    Raises
    ------
    OutlineError
        If they do so more often than may be.
    """
    if not curves:
        return np.empty((0, 2))
    refuse_tangled(curves, what="the outline")
    sides = [np.stack([curve, np.roll(curve, -1, axis=0)], axis=1) for curve in curves]
    lines = shapely.linestrings(np.concatenate(sides))
    first, second = shapely.STRtree(lines).query(lines, predicate="crosses")
    pairs = first < second
    crossed = shapely.intersection(lines[first[pairs]], lines[second[pairs]])
    points: Points = np.unique(shapely.get_coordinates(crossed).round(_SAME_DIGITS), axis=0)
    return points


def pinches(area: BaseGeometry) -> Points:
    """Return the corners at which an area meets itself in a point alone, shape (n, 2). [mm]."""
    rings = shapely.get_rings(shapely.get_parts(area))
    corners = [shapely.get_coordinates(ring)[:-1].round(_SAME_DIGITS) for ring in rings]
    if not corners:
        return np.empty((0, 2))
    places, counts = np.unique(np.concatenate(corners), axis=0, return_counts=True)
    met: Points = places[counts > 1]
    return met


def _pinched(places: Points, rule: FillRule, what: str) -> Finding:
    return Finding(
        code="drawing-path-crosses",
        severity=Severity.CAUTION,
        says=f"{what} crosses itself{_often(places)}; by its fill rule ({rule}) what it encloses "
        "hangs together there by a point, and a mold parts there",
        where_mm=(float(places[0, 0]), float(places[0, 1]), 0.0),
        advice="Redraw it there, unless separate pieces are meant.",
    )


def _wound_twice(places: Points, what: str) -> Finding:
    return Finding(
        code="drawing-path-crosses",
        severity=Severity.NOTE,
        says=f"{what} crosses itself{_often(places)}; by its fill rule ({FillRule.NONZERO}) what "
        "it goes round twice counts as inside",
        where_mm=(float(places[0, 0]), float(places[0, 1]), 0.0),
        advice="Redraw it there if a hole is meant.",
    )


def _often(places: Points) -> str:
    return f" in {len(places)} places, the first here" if len(places) > 1 else ""
