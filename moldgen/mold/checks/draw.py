"""How far the sheet is drawn: area, length and depth, of the whole part and each feature.

The areal ratio is exact volume conservation if both areas are of the same material, so the
ground that feeds a feature must be named: the whole part takes from the clear opening of the
clamp; a sunk feature takes from its own mouth; a raised one from its own outline and as far
around it as it is high (common practice, no source: a web reaches about that far).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from moldgen.arrays import Floats
from moldgen.execution import checkpoint
from moldgen.finding import Cure, Finding, Remedy, Severity, Way
from moldgen.mold.checks.case import Case, Place
from moldgen.mold.checks.outlines import Outline, inside
from moldgen.mold.checks.sight import Sight
from moldgen.physics.draw import (
    areal_draw_ratio,
    height_to_width,
    linear_draw_ratio,
    mean_thickness_mm,
)
from moldgen.solid.mesh import Mesh

_COMMON = "common practice, no source"
_NO_WIDTH_MM = 1e-6
_HAIR_MM = 1e-5


@dataclass(frozen=True, kw_only=True)
class Draw:
    """How far the sheet is drawn over or into one thing.

    Attributes
    ----------
    name : str
        The feature; empty for the whole part in its clamp.
    areal : float
        Formed area over the area of sheet that makes it. [-]
    linear : float
        Length of the longest of two lines across over its length before. [-]
    height_to_width : float
        Height or depth over the width, that of the largest circle within. [-]
    mean_thickness_mm : float
        Gauge over areal ratio; the least thickness is less. [mm]
    where_mm : tuple of three floats
        Middle of that circle. [mm]
    sunk : bool
        Whether the sheet is drawn into it.
    """

    name: str
    areal: float
    linear: float
    height_to_width: float
    mean_thickness_mm: float
    where_mm: Place
    sunk: bool


def measure_draws(case: Case, sight: Sight) -> tuple[Draw, ...]:
    """Measure the draw of the whole part, first, and of every outline.

    Areas and lengths are summed over the triangles that are seen along the draw direction.
    """
    outlines = case.outlines
    seen = sight.seen
    steep = case.mesh.areas_mm2 - np.abs(case.mesh.area_vectors_mm2[:, 2])
    gained = np.bincount(case.owner[seen] + 1, weights=steep[seen], minlength=len(outlines) + 1)
    draws = [_whole(case, seen, float(gained.sum()))]
    for number, outline in enumerate(outlines):
        if outline.outer.is_empty or outline.height_mm <= 0:
            continue
        checkpoint()
        own = np.array(inside(outlines, number))
        own_seen = seen & np.isin(case.owner, own)
        draws.append(_feature(case, outline, float(gained[own + 1].sum()), own_seen))
    return tuple(draws)


def check_draw(case: Case, draws: tuple[Draw, ...]) -> tuple[Finding, ...]:
    """Ask whether the sheet stretches that far, one finding per rule and feature."""
    plastic = case.sheet.plastic
    findings = []
    for draw in draws:
        if draw.areal > plastic.areal_draw_limit:
            findings.append(_areal_finding(case, draw))
        elif draw.sunk and draw.height_to_width > plastic.height_to_width_limit:
            findings.append(_depth_finding(case, draw))
        elif draw.linear > plastic.linear_draw_limit:
            findings.append(_linear_finding(case, draw))
    return tuple(findings)


def _whole(case: Case, seen: NDArray[np.bool_], gained_mm2: float) -> Draw:
    machine = case.machine
    hull = shapely.union_all(case.footprints).convex_hull
    # A mold larger than the opening is told by the check of sizes; it feeds on itself then.
    ground = max(machine.opening_width_mm * machine.opening_depth_mm, hull.area)
    areal = areal_draw_ratio(ground + gained_mm2, ground)
    middle, width = _largest_circle(hull)
    return Draw(
        name="",
        areal=areal,
        linear=_linear(
            case, seen, middle, directions=_directions(hull), span=(-np.inf, np.inf),
            ground_mm=min(machine.opening_width_mm, machine.opening_depth_mm),
        ),
        height_to_width=height_to_width(case.height_mm, width),
        mean_thickness_mm=mean_thickness_mm(case.sheet.gauge_mm, areal),
        where_mm=case.place(np.array([*middle, case.floor_mm + case.height_mm])),
        sunk=False,
    )  # fmt: skip


def _feature(case: Case, outline: Outline, gained_mm2: float, seen: NDArray[np.bool_]) -> Draw:
    reach = outline.height_mm if outline.raised else 0.0
    ground = outline.outer.buffer(reach).area if reach else outline.outer.area
    areal = areal_draw_ratio(ground + gained_mm2, ground)
    largest = max(shapely.get_parts(outline.outer), key=lambda polygon: polygon.area)
    middle, width = _largest_circle(largest)
    turn = _directions(largest)
    span = _span(largest, middle, turn[0])
    linear = _linear(
        case,
        seen,
        middle,
        directions=turn[:1],
        span=span,
        ground_mm=(span[1] - span[0]) / 1.002 + 2 * reach,
    )
    up = 1 if outline.raised else -1
    return Draw(
        name=outline.name,
        areal=areal,
        linear=linear,
        height_to_width=height_to_width(outline.height_mm, width),
        mean_thickness_mm=mean_thickness_mm(case.sheet.gauge_mm, areal),
        where_mm=case.place(np.array([*middle, outline.z_mm + up * outline.height_mm])),
        sunk=not outline.raised,
    )


def _largest_circle(shape: shapely.Geometry) -> tuple[Floats, float]:
    """Return the middle and the diameter of the largest circle in a polygon. [mm]."""
    if shape.geom_type != "Polygon":  # a mesh without width, such as a single upright triangle
        return np.asarray(shape.centroid.coords[0]), _NO_WIDTH_MM
    circle = shapely.maximum_inscribed_circle(shape)
    return np.asarray(circle.coords[0]), max(2 * circle.length, _NO_WIDTH_MM)


def _directions(polygon: shapely.Polygon) -> Floats:
    """Return unit vectors along the short and the long side of a polygon, shape (2, 2)."""
    box = shapely.minimum_rotated_rectangle(polygon)
    if box.geom_type != "Polygon":
        return np.eye(2)
    corners = np.asarray(box.exterior.coords)[:3]
    sides = np.diff(corners, axis=0)
    lengths = np.linalg.norm(sides, axis=1)
    order = np.argsort(lengths)
    directions: Floats = (sides / np.maximum(lengths, 1e-300)[:, None])[order]
    return directions


def _span(polygon: shapely.Polygon, middle: Floats, along: Floats) -> tuple[float, float]:
    """Return where a line through the middle leaves the polygon to either side. [mm]."""
    far = float(np.ptp(np.asarray(polygon.bounds).reshape(2, 2), axis=0).sum())
    line = shapely.LineString([middle - far * along, middle + far * along])
    within = shapely.get_parts(shapely.intersection(line, polygon))
    own = min(within, key=lambda part: shapely.distance(part, shapely.Point(middle)))
    ends = (np.asarray(own.coords) - middle) @ along
    # Upright walls stand right at the ends.
    beyond = 1e-3 * float(np.ptp(ends))
    return float(ends.min()) - beyond, float(ends.max()) + beyond


def _linear(
    case: Case,
    seen: NDArray[np.bool_],
    middle: Floats,
    *,
    directions: Floats,
    span: tuple[float, float],
    ground_mm: float,
) -> float:
    """Return the largest linear ratio of the cuts through ``middle`` along the directions."""
    gained = max(
        _gained_mm(
            case.mesh.corners_mm[seen & _near(case.mesh, middle, along)], middle, along, span
        )
        for along in directions
    )
    return linear_draw_ratio(ground_mm + gained, ground_mm)


def _near(mesh: Mesh, middle: Floats, along: Floats) -> NDArray[np.bool_]:
    """Tell which triangles may reach over an upright cut through a middle; few do."""
    side = (mesh.points_mm[:, :2] - middle) @ np.array([-along[1], along[0]])
    # Wider than the hair beside the middle that it is cut at.
    left, right = (side > -_HAIR_MM)[mesh.triangles], (side < _HAIR_MM)[mesh.triangles]
    some_left = left[:, 0] | left[:, 1] | left[:, 2]
    near: NDArray[np.bool_] = some_left & (right[:, 0] | right[:, 1] | right[:, 2])
    return near


def _gained_mm(corners: Floats, middle: Floats, along: Floats, span: tuple[float, float]) -> float:
    """Return by how much an upright cut through triangles is longer than its plan. [mm]."""
    plan = corners[..., :2] - middle
    # A hair beside the middle, so that the cut does not run along edges of the mesh.
    side = plan @ np.array([-along[1], along[0]]) - 1.234e-7
    above = side > 0
    cut = (above[:, 0] != above[:, 1]) | (above[:, 1] != above[:, 2])
    side, above, t, z = side[cut], above[cut], (plan @ along)[cut], corners[cut, :, 2]
    after = np.roll(np.arange(3), -1)
    crosses = above != above[:, after]
    gap = np.where(crosses, side - side[:, after], 1.0)
    share = side / gap
    t_cut = (t + share * (t[:, after] - t))[crosses].reshape(-1, 2)
    z_cut = (z + share * (z[:, after] - z))[crosses].reshape(-1, 2)
    within = (t_cut.mean(axis=1) > span[0]) & (t_cut.mean(axis=1) < span[1])
    level = np.abs(np.diff(t_cut[within], axis=1))
    rise = np.diff(z_cut[within], axis=1)
    return float((np.hypot(level, rise) - level).sum())


def _areal_finding(case: Case, draw: Draw) -> Finding:
    limit = case.sheet.plastic.areal_draw_limit
    return Finding(
        code="draw-areal",
        severity=Severity.STOP if draw.areal > 1.5 * limit else Severity.CAUTION,
        says=(
            "the sheet is drawn to more area than the plastic stretches to, on average"
            f" {draw.mean_thickness_mm:.2f} mm thick; areal draw ratio"
        ),
        measured=draw.areal,
        limit=limit,
        where_mm=draw.where_mm,
        subject=draw.name,
        basis=case.source("areal_draw_limit", _COMMON),
        advice=(
            f"Make it about {_shallower(draw.areal, limit):.0f} % shallower, or wider, or let the"
            " walls have more draft."
        ),
        cures=_lower(case, draw, (limit - 1) / (draw.areal - 1)),
    )


def _depth_finding(case: Case, draw: Draw) -> Finding:
    limit = case.sheet.plastic.height_to_width_limit
    return Finding(
        code="draw-depth",
        severity=Severity.STOP if draw.height_to_width > 2 * limit else Severity.CAUTION,
        says=(
            "the recess is too deep for its width, the bottom corners get very thin; depth to width"
        ),
        measured=draw.height_to_width,
        limit=limit,
        where_mm=draw.where_mm,
        subject=draw.name,
        basis=case.source("height_to_width_limit", _COMMON),
        advice=(
            f"Make it {100 * (1 - limit / draw.height_to_width):.0f} % shallower or help the sheet"
            " down with a plug."
        ),
        cures=_lower(case, draw, limit / draw.height_to_width),
    )


def _linear_finding(case: Case, draw: Draw) -> Finding:
    limit = case.sheet.plastic.linear_draw_limit
    return Finding(
        code="draw-linear",
        severity=Severity.CAUTION,
        says="a line across is stretched further than the plastic draws; linear draw ratio",
        measured=draw.linear,
        limit=limit,
        where_mm=draw.where_mm,
        subject=draw.name,
        basis=case.source("linear_draw_limit", _COMMON),
        advice=f"Make it about {_shallower(draw.linear, limit):.0f} % shallower, or wider.",
        cures=_lower(case, draw, (limit - 1) / (draw.linear - 1)),
    )


def _lower(case: Case, draw: Draw, share: float) -> tuple[Cure, ...]:
    """Return what draws the sheet less: so much of the height."""
    heights_mm = [one.height_mm for one in case.outlines if one.name == draw.name or not draw.name]
    if not heights_mm:
        return ()
    return (Cure(field=Remedy.HEIGHT, way=Way.LOWER, least=share * max(heights_mm)),)


def _shallower(ratio: float, limit: float) -> float:
    """Return how much less height brings a ratio of the form 1 + k height to its limit. [%]."""
    return 100 * (1 - (limit - 1) / (ratio - 1))
