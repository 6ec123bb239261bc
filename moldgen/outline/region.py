"""The normal form of an outline, and the few ways to move, size and round it.

Every way in ends here, so that a floor above never meets an open ring, a crossing, a
repeated point or a hole that winds the wrong way.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite, pi, radians

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray
from shapely import GEOSException, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from moldgen.errors import OutlineError, SpecError
from moldgen.finding import Finding, Severity
from moldgen.outline.tangle import refuse_tangled
from moldgen.outline.winding import FillRule, Ring, wound_area
from moldgen.solid.arcs import chords_for

__all__ = [
    "FARTHEST_MM", "LARGEST_MM", "SMALLEST_MM", "FillRule", "Ring", "as_region", "as_ring",
    "centerd", "filled", "mirrored", "moved", "place", "quarter_segments", "region_from_points",
    "region_from_rings", "rounded_plan", "rounding_findings", "scaled_to", "size_mm", "turned",
    "united",
]  # fmt: skip

LARGEST_MM = 5000.0
"""No forming table takes more; a bigger outline is a drawing in the wrong unit."""
SMALLEST_MM = 0.1
"""Thinner than any sheet that is formed; a smaller outline is a drawing in the wrong unit."""
FARTHEST_MM = 1e6
"""Beyond a kilometer from the origin, coordinates no longer hold a nanometer."""
CHORD_MM = 0.005
"""Largest distance between a rounded corner and its true arc."""
_SAME_MM = 1e-6
"""Points closer than this are one point."""


def as_region(geometry: BaseGeometry, *, what: str = "the outline") -> MultiPolygon:
    """Return a polygon geometry in the one form that the rest of moldgen relies on.

    Parameters
    ----------
    geometry : Polygon, MultiPolygon or GeometryCollection
        Areas in millimeters, y up; lines and points in a collection are left out. [mm]
    what : str
        What the error sentence calls it.

    Returns
    -------
    MultiPolygon
        2-D and valid, outer rings counter-clockwise, holes clockwise, without repeated
        points; rings and their starts in an order that depends on the shape alone. [mm]

    Raises
    ------
    OutlineError
        If it crosses itself, encloses nothing, is not finite, or is absurdly big or small.
    """
    flat = shapely.force_2d(geometry)
    _check_finite(shapely.get_coordinates(flat), what)
    region = _normal(_untangled(flat, what))
    _check_size(region, what)
    return region


def region_from_points(points_mm: ArrayLike, *, what: str = "the outline") -> MultiPolygon:
    """Return the region inside one closed line.

    Parameters
    ----------
    points_mm : array_like, shape (n, 2)
        Corners in order; the last need not repeat the first. [mm]
    what : str
        What the error sentence calls it.

    Raises
    ------
    OutlineError
        If there are fewer than three different points, or `as_region` refuses the shape.
    """
    ring = as_ring(points_mm, what=what)
    if len(np.unique(ring, axis=0)) < 3:
        raise OutlineError(
            f"{what} has fewer than three different points and encloses nothing; "
            "draw a closed shape."
        )
    return as_region(Polygon(ring), what=what)


def region_from_rings(
    rings: Sequence[ArrayLike], *, rule: FillRule, what: str = "the outline"
) -> MultiPolygon:
    """Return what closed curves enclose together, under a fill rule.

    The curves may cross themselves and each other, and come in any order and direction.

    Parameters
    ----------
    rings : sequence of array_like, shape (n, 2)
        Closed curves; the last point need not repeat the first. [mm]
    rule : FillRule
        Which side of the curves is inside.
    what : str
        What the error sentence calls it.

    Raises
    ------
    OutlineError
        If the curves enclose nothing, or `as_region` refuses what they enclose.
    """
    return as_region(filled(rings, rule=rule, what=what), what=what)


def filled(rings: Sequence[ArrayLike], *, rule: FillRule, what: str) -> MultiPolygon:
    """Return what closed curves enclose, perhaps nothing; size is not judged."""
    curves = [curve for ring in rings if len(curve := as_ring(ring, what=what)) > 2]
    refuse_tangled(curves, what=what)
    return _normal(_untangled(wound_area(curves, rule), what))


def as_ring(points_mm: ArrayLike, *, what: str = "the outline") -> Ring:
    """Return a closed curve as an array of shape (n, 2), without the closing repeat.

    Raises
    ------
    OutlineError
        If the points are not pairs of finite numbers.
    """
    try:
        ring = np.asarray(points_mm, dtype=np.float64)
    except (TypeError, ValueError):
        ring = np.empty(0)
    if ring.ndim != 2 or ring.shape[1] != 2:
        raise OutlineError(f"{what} must be a list of points, each an x and a y in mm.")
    _check_finite(ring, what)
    return ring[:-1] if len(ring) > 1 and np.array_equal(ring[0], ring[-1]) else ring


def rounded_plan(
    region: MultiPolygon, radius_mm: float, *, what: str = "the outline"
) -> MultiPolygon:
    """Return the outline with every plan corner, convex or concave, given a radius.

    A morphological opening rounds what points out, a closing what points in. Strokes
    narrower than twice the radius are lost and gaps narrower than that are filled; ask
    `rounding_findings` which.

    Parameters
    ----------
    region : MultiPolygon
        The outline. [mm]
    radius_mm : float
        Radius of the corners; 0 changes nothing. [mm]

    Raises
    ------
    SpecError
        If the radius is negative or not finite.
    OutlineError
        If no part of the outline is wide enough for the radius.
    """
    if not (isfinite(radius_mm) and radius_mm >= 0):
        raise SpecError("radius_mm", "at least 0 mm", f"{radius_mm:g} mm")
    if radius_mm == 0:
        return region
    segments = quarter_segments(radius_mm)
    opened = _offset(_offset(region, -radius_mm, segments), radius_mm, segments)
    if opened.is_empty:
        raise OutlineError(
            f"{what} is nowhere {2 * radius_mm:g} mm wide, so corners of {radius_mm:g} mm "
            "leave nothing of it; enlarge it or choose a smaller corner radius."
        )
    closed = _offset(_offset(opened, radius_mm, segments), -radius_mm, segments)
    return as_region(closed, what=what)


def _offset(region: BaseGeometry, by_mm: float, segments: int) -> BaseGeometry:
    # The geometry engine leaves floating-point flags behind, which mean nothing here.
    with np.errstate(all="ignore"):
        return shapely.buffer(region, by_mm, quad_segs=segments)


def quarter_segments(radius_mm: float, *, chord_mm: float = CHORD_MM / 2) -> int:
    """Return into how many chords a quarter circle must be cut.

    Half of `CHORD_MM` is the default because rounding passes over a corner twice.
    """
    return chords_for(radius_mm, pi / 2, chord_mm=chord_mm, at_least=2)


def rounding_findings(
    region: MultiPolygon, rounded: MultiPolygon, radius_mm: float
) -> tuple[Finding, ...]:
    """Return what rounding cost besides corners: strokes lost and gaps filled, with places.

    A piece counts when it is larger than the tip of a 30° corner, which covers
    ``r^2 (cot 15° - 75° in radians)``, about 2.42 r^2.
    """
    tip_mm2 = 2.43 * radius_mm**2
    changes = [
        ("stroke-lost-to-radius", "a stroke narrower than twice the corner radius is lost; width",
         shapely.difference(region, rounded)),
        ("gap-filled-by-radius", "a gap narrower than twice the corner radius is filled; width",
         shapely.difference(rounded, region)),
    ]  # fmt: skip
    return tuple(
        Finding(
            code=code,
            severity=Severity.CAUTION,
            says=says,
            measured=_widest_mm(piece),
            limit=2 * radius_mm,
            unit="mm",
            where_mm=place(piece),
            basis="derived: a circle of the corner radius does not go in",
            advice="Choose a smaller corner radius or a wider drawing.",
        )
        for code, says, difference in changes
        for piece in shapely.get_parts(difference)
        if piece.area > tip_mm2
    )


def _widest_mm(piece: Polygon) -> float:
    """Return the diameter of the largest circle in a piece, to a hundredth of it."""
    across = float(np.hypot(*np.subtract(piece.bounds[2:], piece.bounds[:2])))
    finest = min(0.01 * piece.area / piece.length, 0.01 * across)
    return 2 * float(shapely.maximum_inscribed_circle(piece, tolerance=finest).length)


def place(geometry: BaseGeometry) -> tuple[float, float, float]:
    """Return a point inside a geometry as the place of a finding, in millimeters."""
    point = shapely.point_on_surface(geometry)
    return (float(point.x), float(point.y), 0.0)


def size_mm(region: BaseGeometry) -> tuple[float, float]:
    """Return width and height of the box round a region, in millimeters."""
    left, bottom, right, top = region.bounds
    return right - left, top - bottom


def scaled_to(
    region: MultiPolygon, *, width_mm: float | None = None, height_mm: float | None = None
) -> MultiPolygon:
    """Return the region stretched to a width, a height or both, about its lower left.

    With one of the two, the proportions stay.

    Raises
    ------
    SpecError
        If neither is given, or one is not a positive number.
    """
    for field, wanted_mm in (("width_mm", width_mm), ("height_mm", height_mm)):
        if wanted_mm is not None and not (isfinite(wanted_mm) and wanted_mm > 0):
            raise SpecError(field, "more than 0 mm", f"{wanted_mm:g} mm")
    if width_mm is None and height_mm is None:
        raise SpecError("width_mm", "given when height_mm is not", "neither", "Give one of them.")
    across, up = size_mm(region)
    x = width_mm / across if width_mm is not None else height_mm / up  # type: ignore[operator]
    y = height_mm / up if height_mm is not None else x
    corner = np.array(region.bounds[:2])
    grown = shapely.transform(region, lambda xy: (xy - corner) * (x, y) + corner)
    return as_region(grown)


def moved(region: MultiPolygon, by_mm: tuple[float, float]) -> MultiPolygon:
    """Return the region shifted by x and y, in millimeters."""
    return as_region(shapely.transform(region, lambda xy: xy + np.asarray(by_mm)))


def centerd(region: MultiPolygon) -> MultiPolygon:
    """Return the region with the middle of its box at the origin."""
    left, bottom, right, top = region.bounds
    return moved(region, (-(left + right) / 2, -(bottom + top) / 2))


def turned(region: MultiPolygon, angle_deg: float) -> MultiPolygon:
    """Return the region turned counter-clockwise about the origin; quarter turns are exact."""
    quarters, rest_deg = divmod(angle_deg, 90.0)
    if rest_deg == 0.0:
        cos, sin = [(1, 0), (0, 1), (-1, 0), (0, -1)][int(quarters) % 4]
    else:
        cos, sin = np.cos(radians(angle_deg)), np.sin(radians(angle_deg))
    turn = np.array([[cos, sin], [-sin, cos]])
    return as_region(shapely.transform(region, lambda xy: xy @ turn))


def mirrored(region: MultiPolygon) -> MultiPolygon:
    """Return the region as seen in a mirror: left and right swapped about x = 0."""
    return as_region(shapely.transform(region, lambda xy: xy * (-1.0, 1.0)))


def _normal(region: BaseGeometry) -> MultiPolygon:
    # A part or a hole that is thinner than a point is wide is a line.
    pieces = [_without_lines(part) for part in shapely.get_parts(region) if not _is_line(part)]
    whole = MultiPolygon(pieces)
    try:
        lean = shapely.remove_repeated_points(whole, _SAME_MM)
    except GEOSException:
        lean = whole
    ordered = shapely.orient_polygons(shapely.normalize(lean if lean.is_valid else whole))
    return ordered if isinstance(ordered, MultiPolygon) else MultiPolygon([ordered])


def _is_line(part: Polygon) -> bool:
    return bool(part.area <= _SAME_MM * part.length / 2)


def _without_lines(part: Polygon) -> Polygon:
    holes = [hole for hole in part.interiors if not _is_line(Polygon(hole))]
    return part if len(holes) == len(part.interiors) else Polygon(part.exterior, holes)


def _untangled(flat: BaseGeometry, what: str) -> BaseGeometry:
    """Unite overlapping parts and split rings that touch themselves; refuse crossings."""
    polygons = [
        part
        for piece in shapely.get_parts(flat)
        for part in shapely.get_parts(piece)
        if part.geom_type == "Polygon" and not part.is_empty
    ]
    if all(polygon.is_valid for polygon in polygons):
        whole = MultiPolygon(polygons)
        if whole.is_valid:
            return whole
        refuse_tangled(_rings_of(polygons), what=what)
        return shapely.union_all(polygons)
    refuse_tangled(_rings_of(polygons), what=what)
    return shapely.union_all([_split_at_touches(polygon, what) for polygon in polygons])


def _rings_of(polygons: Sequence[Polygon]) -> list[Ring]:
    return [shapely.get_coordinates(ring)[:-1] for ring in shapely.get_rings(polygons)]


def united(regions: Sequence[BaseGeometry], *, what: str) -> BaseGeometry:
    """Return regions as one.

    Raises
    ------
    OutlineError
        If they cross each other too often.
    """
    refuse_crossed(regions, what=what)
    return shapely.union_all(regions)


def refuse_crossed(regions: Sequence[BaseGeometry], *, what: str) -> None:
    """Raise `OutlineError` if regions cross themselves and each other too often."""
    refuse_tangled(_rings_of(list(shapely.get_parts(regions))), what=what)


def _split_at_touches(polygon: Polygon, what: str) -> BaseGeometry:
    if polygon.is_valid:
        return polygon
    mended = shapely.make_valid(polygon, method="structure", keep_collapsed=False)
    # A ring that only touches itself keeps its area; one that crosses itself does not.
    if abs(mended.area - polygon.area) <= 1e-9 * max(polygon.area, mended.area):
        return mended
    reason = shapely.is_valid_reason(polygon)
    spot = reason[reason.find("[") + 1 : -1].split() if "[" in reason else []
    x, y = (round(float(value), 2) + 0.0 for value in spot) if len(spot) == 2 else (0.0, 0.0)
    raise OutlineError(
        f"{what} crosses itself near x {x:g}, y {y:g} mm; mend it first with repair, "
        "or redraw that corner."
    )


def _check_finite(coordinates: NDArray[np.float64], what: str) -> None:
    if not np.isfinite(coordinates).all():
        raise OutlineError(
            f"{what} has a point that is not a finite number; draw or export it again."
        )
    if coordinates.size and np.abs(coordinates).max() > FARTHEST_MM:
        raise OutlineError(
            f"{what} reaches {np.abs(coordinates).max() / 1e6:.3g} km from the origin of the "
            "drawing; check its unit, or move it to the origin."
        )


def _check_size(region: MultiPolygon, what: str) -> None:
    if region.is_empty:
        raise OutlineError(f"{what} encloses no area; draw a closed shape.")
    across, up = size_mm(region)
    if max(across, up) > LARGEST_MM:
        raise OutlineError(
            f"{what} is {across:.4g} x {up:.4g} mm, more than {LARGEST_MM:g} mm; "
            "check the unit of the drawing or scale it down."
        )
    if min(across, up) < SMALLEST_MM:
        raise OutlineError(
            f"{what} is only {across:.3g} x {up:.3g} mm, less than {SMALLEST_MM:g} mm; "
            "check the unit of the drawing or scale it up."
        )
