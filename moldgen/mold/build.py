"""Build a tree of features into one closed surface per body."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import atan, degrees, radians, tan

import shapely
from shapely import MultiPolygon, STRtree

from moldgen.errors import SpecError
from moldgen.finding import Cure, Finding, Remedy, Severity, Way
from moldgen.mold.features import Direction, Feature, FeaturePlan, WallEnd
from moldgen.physics.bisection import first_beyond
from moldgen.solid.loft.loft import Contour, LoftedWall, Loop, Surface, add_wall, inset, too_narrow
from moldgen.solid.loft.profile import Profile
from moldgen.solid.loft.surface import Steepest
from moldgen.solid.mesh import Mesh, joined

FLOOR_MM = 1.2
"""Least plastic between the floor of a recess and the table: six layers of 0.2 mm. [mm]."""

DRAFT_KEPT_DEG = 0.1
"""How much less than stated a wall may lean before it is told. [°]."""

OFF_PROFILE_MM = 0.02
"""How far a wall may leave its exact profile before it is told. [mm]."""

CLEARANCE_MM = 0.01
"""Least distance kept between a feature and the edge of the flat it stands on. [mm]."""


@dataclass(frozen=True, eq=False)
class RawMold:
    """Bodies as lofted, before vents and underside are cut.

    Attributes
    ----------
    meshes : tuple of Mesh
        One closed surface per top-level feature (it may hold several pieces).
    plans : tuple of FeaturePlan
        Every feature as built, parents before children.
    findings : tuple of Finding
        Strokes that do not reach the full height.
    """

    meshes: tuple[Mesh, ...]
    plans: tuple[FeaturePlan, ...]
    findings: tuple[Finding, ...]

    @cached_property
    def mesh(self) -> Mesh:
        """All bodies in one. [mm]."""
        return joined(self.meshes)

    @property
    def height_mm(self) -> float:
        """Greatest height above the table. [mm]."""
        return float(self.mesh.bounds_mm[1, 2])


def build_raw_mold(bodies: Sequence[Feature], *, chord_mm: float = 0.01) -> RawMold:
    """Loft every body with all the features on it.

    Parameters
    ----------
    bodies : sequence of Feature
        Raised features that stand on the table at ``z = 0``.
    chord_mm : float
        Greatest distance between a wall's profile and its chords. [mm]

    Raises
    ------
    SpecError
        If a body is sunk, features overlap, a feature leaves its parent's flat, a recess is
        too deep for its body, radii do not fit on a wall, or draft and radii leave no flat.
    """
    for body in bodies:
        if body.direction is Direction.SUNK:
            raise SpecError(
                f"direction of {body.name}", "raised", "sunk", "A body stands on the table."
            )
    refuse_overlaps([(body.name, outer_region(body)) for body in bodies])
    built = [_BodyBuild(chord_mm).build(body) for body in bodies]
    return RawMold(
        tuple(body.surface.mesh() for body in built),
        tuple(plan for body in built for plan in body.plans),
        (
            *(finding for body in bodies for finding in check_reach(body)),
            *(finding for body in built for finding in body.findings),
        ),
    )


def profile_of(feature: Feature) -> Profile:
    """Return the section of a feature's wall.

    Raises
    ------
    SpecError
        If its fillets do not fit on it.
    """
    wall = feature.wall
    try:
        return Profile(
            height_mm=wall.height_mm,
            draft_deg=wall.draft_deg,
            base_radius_mm=wall.base_radius_mm,
            top_radius_mm=wall.top_radius_mm,
            read_mm=wall.height_mm if feature.read_at is WallEnd.TOP else 0.0,
        )
    except SpecError as error:
        raise error.at(f"{error.field} of {feature.name}") from None


def outer_region(feature: Feature) -> MultiPolygon:
    """Return all within the line where a feature's wall leaves the parent's flat. [mm]."""
    profile = profile_of(feature)
    raised = feature.direction is Direction.RAISED
    return inset(feature.region, profile.foot_mm if raised else -profile.inset_mm)


def flat_region(feature: Feature) -> MultiPolygon:
    """Return a feature's own flat: where its children may stand. [mm]."""
    return inset(feature.region, inset_to_flat_mm(feature))


def inset_to_flat_mm(feature: Feature) -> float:
    """Return how far inward of the outline the feature's own flat begins. [mm]."""
    profile = profile_of(feature)
    return profile.inset_mm if feature.direction is Direction.RAISED else -profile.foot_mm


class _BodyBuild:
    """One body while it is being built: its surface and the plans so far."""

    def __init__(self, chord_mm: float) -> None:
        self.chord_mm = chord_mm
        self.surface = Surface()
        self.plans: list[FeaturePlan] = []
        self.findings: list[Finding] = []

    def build(self, body: Feature) -> _BodyBuild:
        walled = self._add(body, parent="", z_mm=0.0)
        for piece in walled.outer.pieces:
            self.surface.fill_flat(piece, facing_down=True)
        return self

    def _add(self, feature: Feature, *, parent: str, z_mm: float) -> LoftedWall:
        sunk = feature.direction is Direction.SUNK
        refuse_unbuildable(feature, z_mm)
        walled = add_wall(
            self.surface,
            feature.region,
            profile_of(feature),
            z_mm=z_mm,
            sunk=sunk,
            chord_mm=self.chord_mm,
            floor_corner_mm=feature.floor_corner_mm,
        )
        level = z_mm - feature.wall.height_mm if sunk else z_mm + feature.wall.height_mm
        self._note(feature, parent, walled, z_mm, level)
        self.findings.extend(check_wall_made(feature.name, feature.wall.draft_deg, walled.steepest))
        refuse_leaving(feature, walled.inner.region)
        children = [self._add(child, parent=feature.name, z_mm=level) for child in feature.children]
        for piece, cut_out in _stand_on(walled.inner, children):
            self.surface.fill_flat(piece, cut_out)
        return walled

    def _note(
        self, feature: Feature, parent: str, walled: LoftedWall, z_mm: float, level_mm: float
    ) -> None:
        plan = FeaturePlan(
            name=feature.name,
            parent=parent,
            direction=feature.direction,
            wall=feature.wall,
            region=feature.region,
            outer=walled.outer.region,
            flat=walled.inner.region,
            z_parent_mm=z_mm,
            z_flat_mm=level_mm,
        )
        self.plans.append(plan)


def check_wall_made(name: str, draft_deg: float, steepest: Steepest) -> Iterator[Finding]:
    """Find where a wall of the finished triangles keeps less than its draft, or was eased for it.

    Both happen only where strokes or gaps run out into each other in a very small space.
    """
    made_deg = degrees(atan(1 / steepest.slope)) if steepest.slope > 0 else 90.0
    if made_deg < draft_deg - DRAFT_KEPT_DEG:
        yield Finding(
            code="draft-not-kept",
            severity=Severity.CAUTION,
            says="a small piece of the wall has less draft than stated",
            measured=made_deg,
            limit=draft_deg,
            unit="°",
            where_mm=steepest.where_mm,
            subject=name,
            basis="measured on the finished triangles",
            advice="Widen the narrow stroke or gap there, or round the corner.",
        )
    if steepest.moved_mm > OFF_PROFILE_MM:
        yield Finding(
            code="wall-eased",
            severity=Severity.NOTE,
            says="a height inside the wall was moved so that the wall keeps its draft",
            measured=steepest.moved_mm,
            limit=OFF_PROFILE_MM,
            unit="mm",
            where_mm=steepest.where_mm,
            subject=name,
            basis="geometry of the drafted wall where strokes or gaps run out",
            advice="Nothing to do: it does not show on the part.",
        )


def refuse_unbuildable(feature: Feature, z_mm: float) -> None:
    """Raise `SpecError` if a feature cannot be made on a flat at this height, whatever its place.

    A recess must leave a floor above the table, and some of its own flat must be left.
    """
    needed = inset_to_flat_mm(feature)
    if feature.direction is Direction.SUNK:
        _refuse_too_deep(feature, z_mm)
    if needed > 0 and flat_region(feature).is_empty:
        _refuse_no_flat(feature, needed)


def _refuse_too_deep(feature: Feature, z_mm: float) -> None:
    depth = feature.wall.height_mm
    if depth > z_mm - FLOOR_MM + 1e-9:
        raise SpecError(
            f"depth of {feature.name}",
            f"at most {max(0.0, z_mm - FLOOR_MM):.4g} mm, to leave a floor of {FLOOR_MM:g} mm",
            f"{depth:g} mm",
            f"Make it shallower, or the body taller than {depth + FLOOR_MM:.4g} mm there.",
        )


def _refuse_no_flat(feature: Feature, needed_mm: float) -> None:
    half = widest_half_mm(feature.region)
    raise SpecError(
        f"outline of {feature.name}",
        f"wider than {2 * needed_mm:.1f} mm somewhere, so that draft and radii leave it a flat",
        f"{2 * half:.1f} mm at its widest",
        _what_would_do(feature, half),
    )


def _what_would_do(feature: Feature, half_mm: float) -> str:
    """Say which height, draft or radius, each alone, would leave a flat on the widest stroke."""
    sunk = feature.direction is Direction.SUNK
    fields = (
        ("height_mm", "depth" if sunk else "height", " mm"),
        ("draft_deg", "draft", "°"),
        (
            "base_radius_mm" if sunk else "top_radius_mm",
            "base radius" if sunk else "top radius",
            " mm",
        ),
    )
    most = [(word, _most(feature, field, half_mm), unit) for field, word, unit in fields]
    ways = [f"a {word} of {value:g}{unit}" for word, value, unit in most if value is not None]
    if not ways:
        return "Make its strokes wider."
    return f"Make its strokes wider; or {' or '.join(ways)} would do."


def _most(feature: Feature, field: str, half_mm: float) -> float | None:
    """Return the greatest value of one field, in tenths, that leaves a flat; None if none does."""
    step = 0.1
    now = float(getattr(feature.wall, field))
    least = 0 if field.endswith(("deg", "top_radius_mm", "base_radius_mm")) else 1
    most = first_beyond(
        lambda n: not _leaves_flat(feature, field, n * step, half_mm),
        least - 1,
        int(now / step + 1e-9) + 1,
    ) - 1  # fmt: skip
    return round(most * step, 1) if most >= least else None


def _leaves_flat(feature: Feature, field: str, value: float, half_mm: float) -> bool:
    try:
        wall = replace(feature.wall, **{field: value})
        return inset_to_flat_mm(replace(feature, wall=wall)) < half_mm - 0.1
    except SpecError:
        return False


def widest_half_mm(region: MultiPolygon) -> float:
    """Return the radius of the largest circle within a region. [mm]."""
    circles = shapely.maximum_inscribed_circle(shapely.get_parts(region), tolerance=0.02)
    return float(shapely.length(circles).max())


def _stand_on(
    flat: Contour, children: Sequence[LoftedWall]
) -> Iterator[tuple[tuple[Loop, ...], list[Loop]]]:
    """Pair every piece of a flat with the loops of the features that stand on it."""
    pieces = [piece for child in children for piece in child.outer.pieces]
    if len(flat.pieces) == 1:
        yield flat.pieces[0], [loop for piece in pieces for loop in piece]
        return
    polygons = [shapely.Polygon(p[0].plan_mm, [q.plan_mm for q in p[1:]]) for p in flat.pieces]
    within: list[list[Loop]] = [[] for _ in polygons]
    if pieces:
        starts = shapely.points([piece[0].plan_mm[0] for piece in pieces])
        owners = STRtree(polygons).query_nearest(starts, all_matches=False)[1]
        for piece, owner in zip(pieces, owners, strict=True):
            within[owner].extend(piece)
    yield from zip(flat.pieces, within, strict=True)


def refuse_leaving(feature: Feature, flat: MultiPolygon) -> None:
    """Raise `SpecError` if a child's wall does not stand wholly on the feature's flat."""
    outers = [(child.name, outer_region(child)) for child in feature.children]
    room = shapely.buffer(flat, -CLEARANCE_MM)
    for name, outer in outers:
        off = shapely.difference(outer, room)
        if not off.is_empty:
            _refuse_off_flat(name, feature.name, off, room)
    refuse_overlaps(outers)


def _refuse_off_flat(name: str, parent: str, off: shapely.Geometry, room: shapely.Geometry) -> None:
    if room.is_empty:
        raise SpecError(
            f"outline of {name}",
            f"on the flat of {parent}",
            "no flat is left there",
            f"Make {parent} wider, or its draft and radii smaller.",
        )
    far = max(shapely.points(shapely.get_coordinates(off)), key=room.distance)
    raise SpecError(
        f"outline of {name}",
        f"within the flat of {parent}, fillet included",
        f"{room.distance(far):.2f} mm outside at x {far.x:.1f}, y {far.y:.1f} mm",
        f"Move or shrink {name}, or make {parent} larger.",
    )


def refuse_overlaps(outers: Sequence[tuple[str, MultiPolygon]]) -> None:
    """Raise `SpecError` if two features on one flat run into each other."""
    if len(outers) < 2:
        return
    regions = [outer for _, outer in outers]
    tree = STRtree(regions)
    pairs = tree.query(regions, predicate="dwithin", distance=CLEARANCE_MM)
    for first, second in pairs.T:
        if first < second:
            a, b = outers[first], outers[second]
            place = shapely.shortest_line(a[1], b[1]).centroid
            raise SpecError(
                f"gap between {a[0]} and {b[0]}",
                "open after fillets and draft are added",
                f"they touch at x {place.x:.1f}, y {place.y:.1f} mm",
                "Move them apart, or draw them as one outline.",
            )


def check_reach(feature: Feature) -> Iterator[Finding]:
    """Find strokes too narrow to reach the full height, in a feature and all on it."""
    needed = inset_to_flat_mm(feature)
    lost = too_narrow(feature.region, needed) if needed > 0 else MultiPolygon()
    if not lost.is_empty:
        yield _reach_finding(feature, lost, needed)
    for child in feature.children:
        yield from check_reach(child)


LEAST_FLAT_MM = 0.4
"""Width of the flat that an evened stroke keeps on top: one line of a 0.4 mm nozzle. [mm]."""


def even_height_mm(feature: Feature) -> float:
    """Return the greatest height at which every stroke of a raised outline keeps a flat. [mm].

    Only an outline read at the foot gains by being lower; read at the top, the stroke that is too
    narrow for its own top radius stays so at any height.
    """
    half = _least_half_width_mm(feature)
    wall = feature.wall
    top_run = profile_of(feature).inset_mm - (
        wall.height_mm * tan(radians(wall.draft_deg)) if feature.read_at is WallEnd.FOOT else 0.0
    )
    lean = tan(radians(wall.draft_deg))
    if feature.read_at is WallEnd.TOP or lean == 0:
        return wall.height_mm
    return max(0.0, min(wall.height_mm, (half - top_run - LEAST_FLAT_MM / 2) / lean))


def _reach_finding(feature: Feature, lost: MultiPolygon, needed_mm: float) -> Finding:
    edge = feature.region.boundary
    circles = shapely.maximum_inscribed_circle(
        shapely.get_parts(shapely.intersection(feature.region, lost)), tolerance=0.02
    )
    centers = shapely.get_point(circles, 0)
    halves = shapely.distance(centers, edge)
    worst = int(halves.argmin())
    reached = _height_reached_mm(feature, float(halves[worst]))
    return Finding(
        code="stroke-below-height",
        severity=Severity.CAUTION,
        says="a stroke is too narrow to reach the full height and ends in a ridge",
        measured=reached,
        limit=feature.wall.height_mm,
        unit="mm",
        where_mm=(float(centers[worst].x), float(centers[worst].y), reached),
        subject=feature.name,
        basis="geometry of the drafted wall",
        advice=_reach_advice(feature, needed_mm),
        cures=(
            Cure(field=Remedy.TOP_RADIUS, way=Way.LOWER, least=0.5 * feature.wall.top_radius_mm),
            Cure(
                field=Remedy.SIZE, way=Way.HIGHER,
                least=needed_mm / max(float(halves[worst]), 0.1 * needed_mm),
            ),
        ),
    )  # fmt: skip


def _reach_advice(feature: Feature, needed_mm: float) -> str:
    even = even_height_mm(feature)
    lower = f", or {even:.1f} mm of height" if 0.1 < even < feature.wall.height_mm else ""
    return (
        f"Strokes need {2 * needed_mm:.1f} mm of width here; "
        f"wider strokes, less draft, a smaller top radius{lower} would do."
    )


def _height_reached_mm(feature: Feature, half_width_mm: float) -> float:
    profile = profile_of(feature)
    if feature.direction is Direction.SUNK:
        return feature.wall.height_mm - profile.height_at_mm(-half_width_mm)
    return profile.height_at_mm(half_width_mm)


def _least_half_width_mm(feature: Feature) -> float:
    lost = too_narrow(feature.region, inset_to_flat_mm(feature))
    if lost.is_empty:
        return inset_to_flat_mm(feature)
    circles = shapely.maximum_inscribed_circle(shapely.get_parts(lost), tolerance=0.02)
    return float(shapely.distance(shapely.get_point(circles, 0), feature.region.boundary).min())
