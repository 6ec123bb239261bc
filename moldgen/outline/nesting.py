"""Closed lines that stand inside one another: plates, their holes, islands in the holes."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely import LinearRing, MultiPolygon, Polygon

from moldgen.errors import OutlineError
from moldgen.finding import Finding, Severity
from moldgen.outline.curves import Points
from moldgen.outline.drawing import DrawingPart
from moldgen.outline.region import FillRule, filled, place

_FLAT = 1e-6
"""Rings whose area is less than this share of their squared length enclose nothing."""


def first_copies(rings: Sequence[Points], *, same_mm: float) -> list[int]:
    """Return which rings are not copies of an earlier one.

    Read by the even-odd rule, an outline drawn twice would cancel itself.

    Parameters
    ----------
    rings : sequence of ndarray, shape (n, 2)
        Closed lines. [mm]
    same_mm : float
        Lines that stray no farther than this from each other are copies. [mm]
    """
    if not len(rings):
        return []
    boxes = np.array([[*ring.min(axis=0), *ring.max(axis=0)] for ring in rings])
    low = shapely.points(boxes[:, :2])
    near = shapely.STRtree(low).query(low, predicate="dwithin", distance=2 * same_mm).T
    # Those that lie near and come earlier, ring by ring.
    near = near[(near[:, 1] < near[:, 0])]
    near = near[np.abs(boxes[near[:, 0]] - boxes[near[:, 1]]).max(axis=1) <= same_mm]
    earlier: dict[int, list[int]] = {}
    for at, before in near[np.lexsort(near.T[::-1])].tolist():
        earlier.setdefault(at, []).append(before)
    kept: set[int] = set()
    for at, ring in enumerate(rings):
        twins = (rings[before] for before in earlier.get(at, ()) if before in kept)
        if not any(_apart_mm(ring, twin) <= same_mm for twin in twins):
            kept.add(at)
    return sorted(kept)


def _apart_mm(ring: Points, other: Points) -> float:
    return float(shapely.hausdorff_distance(LinearRing(ring), LinearRing(other)))


def parts_from_lines(
    rings: Sequence[Points], names: Sequence[DrawingPart], *, what: str, same_mm: float
) -> tuple[MultiPolygon, list[DrawingPart], list[Finding]]:
    """Return what closed lines enclose together by the even-odd rule, piece by piece.

    Parameters
    ----------
    rings : sequence of ndarray, shape (n, 2)
        Closed lines. [mm]
    names : sequence of DrawingPart
        For each ring, a part that carries its names; its region is not looked at.
    what : str
        What an error sentence calls the drawing.
    same_mm : float
        Lines this close all along are one line drawn twice. [mm]

    Returns
    -------
    region : MultiPolygon
        All of it. [mm]
    parts : list of DrawingPart
        Each connected piece under the names of its outer line, in the order of the lines.
    findings : list of Finding
        Copies left out, and lines that cross.

    Raises
    ------
    OutlineError
        If the lines enclose nothing.
    """
    solid = [at for at, ring in enumerate(rings) if _encloses(ring)]
    kept = [solid[k] for k in first_copies([rings[at] for at in solid], same_mm=same_mm)]
    if not kept:
        raise OutlineError(f"{what} encloses no area; draw a closed shape.")
    lines = [rings[at] for at in kept]
    region = filled(lines, rule=FillRule.EVEN_ODD, what=what)
    shells = [filled([line], rule=FillRule.NONZERO, what=what) for line in lines]
    pieces = list(region.geoms)
    owners = [
        (kept[owner], piece) for owner, piece in zip(_owners(pieces, shells), pieces, strict=True)
    ]
    parts = [
        _renamed(names[at], MultiPolygon([piece]))
        for at, piece in sorted(owners, key=lambda owner: owner[0])
    ]
    findings = [*_copies(len(solid) - len(kept)), *_tangles(lines, shells)]
    return region, parts, findings


def _encloses(ring: Points) -> bool:
    """Tell a drawn shape, even one that crosses itself, from a line gone over twice."""
    if len(ring) < 3:
        return False
    line = LinearRing(ring)
    simple = filled([ring], rule=FillRule.NONZERO, what="a line")
    return bool(simple.area > _FLAT * line.length**2)


def _owners(pieces: Sequence[Polygon], shells: Sequence[MultiPolygon]) -> list[int]:
    """Return for each piece the smallest shell round a point of it: its outer line."""
    inside = shapely.point_on_surface(list(pieces))
    areas = shapely.area(list(shells))
    owners = [(0.0, 0)] * len(pieces)
    found = [False] * len(pieces)
    for piece, shell in shapely.STRtree(list(shells)).query(inside, "covered_by").T.tolist():
        one = (float(areas[shell]), shell)
        owners[piece] = min(owners[piece], one) if found[piece] else one
        found[piece] = True
    return [shell for _, shell in owners]


def _renamed(name: DrawingPart, region: MultiPolygon) -> DrawingPart:
    return DrawingPart(id=name.id, label=name.label, group=name.group, region=region)


def _copies(n_left_out: int) -> list[Finding]:
    if n_left_out == 0:
        return []
    return [
        Finding(
            code="drawing-line-twice",
            severity=Severity.NOTE,
            says="closed lines drawn twice are read once",
            measured=float(n_left_out),
        )
    ]


def _tangles(lines: Sequence[Points], shells: Sequence[MultiPolygon]) -> list[Finding]:
    tree = shapely.STRtree(list(shells))
    pairs = tree.query(list(shells), predicate="overlaps").T
    crossing = [
        _tangle("two closed lines cross; where they overlap is read as outside", place(spot))
        for a, b in pairs.tolist()
        if a < b and not (spot := shells[a].intersection(shells[b])).is_empty
    ]
    return [
        *(_tangle(_KNOT, _knot_place(line)) for line in lines if not LinearRing(line).is_simple),
        *crossing,
    ]


_KNOT = "a closed line crosses itself; what it goes round twice is read as outside"


def _knot_place(line: Points) -> tuple[float, float, float]:
    reason = shapely.is_valid_reason(Polygon(line))
    words = reason[reason.find("[") + 1 : -1].split() if "[" in reason else ["0", "0"]
    return float(words[0]), float(words[1]), 0.0


def _tangle(says: str, where_mm: tuple[float, float, float]) -> Finding:
    return Finding(
        code="drawing-lines-cross",
        severity=Severity.CAUTION,
        says=says,
        where_mm=where_mm,
        advice="Redraw it if that is not meant.",
    )
