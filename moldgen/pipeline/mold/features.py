"""Turn the features of a job into features with outlines, walls and radii."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import shapely
from shapely import MultiPolygon, Polygon

from moldgen.errors import OutlineError, SpecError
from moldgen.execution import checkpoint
from moldgen.finding import Finding, Severity
from moldgen.job import Job
from moldgen.job.outline import JobAround, JobText
from moldgen.job.spec import JobBody, JobFeature, ReadAt, Side
from moldgen.mold.build import even_height_mm, flat_region, inset_to_flat_mm
from moldgen.mold.features import Direction, Feature, WallEnd
from moldgen.mold.floor_corner import floor_corner_mm
from moldgen.mold.place.letter import PlacedLetter
from moldgen.mold.plan_radius import plan_radius_mm, stroke_radius_mm
from moldgen.mold.rules import (
    WallRules,
    WantedWall,
    check_wall,
    settle_wall,
    wall_rules,
)
from moldgen.mold.shrinkage import shrinkage_growth
from moldgen.outline.drawing import Drawing
from moldgen.outline.region import rounded_plan, rounding_findings
from moldgen.outline.vanished import parts_left_out
from moldgen.pipeline.chosen_value import ChosenValue
from moldgen.pipeline.mold.ground import Ground, PlacedOutline
from moldgen.pipeline.mold.letters import placed_letters
from moldgen.pipeline.mold.outlines import around, is_drawn, lay_outline
from moldgen.pipeline.mold.whole_letters import (
    Letters,
    letters_apart,
    n_rings,
    names_at,
    rounded_by_less,
)
from moldgen.pipeline.mold.work_estimate import WorkEstimate, refuse_wide
from moldgen.pipeline.setting import Setting
from moldgen.solid.loft.loft import too_narrow
from moldgen.solid.polygons import moved_by, near_origin, polygons_of

SPARE_MM = 0.008
"""How far an outline may move to have fewer corners: a 25th of a printed layer. [mm]."""

_MOST_HALVINGS = 4

LEAST_KEPT = 0.97
"""Share of a piece that rounding its corners leaves of it. [-]."""

LEAST_RADIUS_MM = 0.02
"""A corner less rounded than this is left as it is. [mm]."""


@dataclass(slots=True, eq=False)
class ResolvedFeatures:
    """The bodies of a mold with what was decided for them.

    Attributes
    ----------
    bodies : list of Feature
        What stands on the table.
    rules : dict
        What the rules asked of each feature's wall, by its name.
    findings : list of Finding
        What was mended, rounded or kept under a rule.
    choices : list of ChosenValue
        What was chosen on the way.
    edges_open : list of str
        Features whose radii nobody asked for: they are as round as their strokes allow.
    letters : list of PlacedLetter
        The letters of every text, where they stand.
    work : WorkEstimate
        What is to be built of them.
    """

    bodies: list[Feature] = field(default_factory=list)
    rules: dict[str, WallRules] = field(default_factory=dict)
    findings: list[Finding] = field(default_factory=list)
    choices: list[ChosenValue] = field(default_factory=list)
    edges_open: list[str] = field(default_factory=list)
    letters: list[PlacedLetter] = field(default_factory=list)
    work: WorkEstimate = field(default_factory=WorkEstimate)


def resolve_features(
    job: Job,
    *,
    folder: Path,
    setting: Setting,
    drawings: Mapping[str, Drawing] | None = None,
) -> ResolvedFeatures:
    """Return every feature of a job with its outline in place and its wall settled.

    Parameters
    ----------
    job : Job
        What is wanted.
    folder : Path
        Where paths in the job start.
    setting : Setting
        Sheet and printer, on which the rules for walls depend.
    drawings : mapping, optional
        Drawings in hand, by the name of the SVG file that the job gives for them; the others are
        read from the folder.

    Raises
    ------
    MoldgenError
        If an outline cannot be read or a wall cannot be made.
    """
    resolver = _FeatureResolver(
        job, Ground(None, (0.0, 0.0), folder, drawings=drawings or {}), setting
    )
    for body in job.body:
        resolver.out.bodies.extend(resolver.bodies(body))
    refuse_wide(resolver.out.bodies)
    return resolver.out


def mold_scale(job: Job, setting: Setting) -> float:
    """Return how much larger the mold is made than the part it forms. [-]."""
    if not job.shrinkage:
        return 1.0
    return shrinkage_growth(setting.sheet.plastic, female=job.side is Side.FEMALE)[0]


class _FeatureResolver:
    """Walks down the tree; what is decided gathers in ``out``."""

    def __init__(self, job: Job, table: Ground, setting: Setting) -> None:
        self.job, self.table, self.setting = job, table, setting
        self.out = ResolvedFeatures()
        if job.shrinkage:
            _, growth = shrinkage_growth(setting.sheet.plastic, female=job.side is Side.FEMALE)
            self.table = replace(table, scale=mold_scale(job, setting))
            self.out.findings.append(growth)

    def bodies(self, body: JobBody) -> Iterator[Feature]:
        ground = self.table
        laid = self._lay(body, ground)
        if not body.each:
            yield self._feature(body, laid, Direction.RAISED, ground)
            return
        if body.raised or body.sunk:
            raise SpecError(
                f"each of {body.name}", "false where features stand on the body", "true",
                "Leave out each, or the features on it.",
            )  # fmt: skip
        for name, region in laid.parts:
            part = replace(body, name=f"{body.name} {name}")
            yield self._feature(part, PlacedOutline(region, ()), Direction.RAISED, ground)

    def _lay(self, feature: JobFeature, ground: Ground) -> PlacedOutline:
        outline = feature.outline
        if not isinstance(outline, JobAround):
            laid = lay_outline(outline, ground, name=feature.name)
            if isinstance(outline, JobText):
                regions = [region for _, region in laid.parts]
                self.out.letters.extend(placed_letters(outline, regions))
            self.out.findings.extend(replace(f, subject=feature.name) for f in laid.findings)
            return laid
        middle = ground.middle_mm[0] + outline.x_mm, ground.middle_mm[1] + outline.y_mm
        inner = replace(ground, flat=None, middle_mm=middle)
        drawn = [child for child in (*feature.raised, *feature.sunk) if is_drawn(child.outline)]
        if not drawn:
            raise SpecError(
                f"outline of {feature.name}", "round children that have a shape of their own",
                "around without such children", "Put text, a shape or a drawing on it.",
            )  # fmt: skip
        regions = [lay_outline(child.outline, inner, name=child.name).region for child in drawn]
        return around(outline, regions, ground)

    def _feature(
        self, wanted: JobFeature, laid: PlacedOutline, direction: Direction, ground: Ground
    ) -> Feature:
        checkpoint()
        self.out.work.add(laid.region, direction)
        letters = laid.parts if isinstance(wanted.outline, JobText) else ()
        region = self._rounded(wanted, laid.region, letters)
        region = slimmed(self._read_on_mold(wanted, region, direction, letters))
        height = wanted.wall_mm * ground.scale
        rules = wall_rules(
            direction, height, sheet=self.setting.sheet, printer=self.setting.printer
        )
        on_table = ground.flat is None
        wall = settle_wall(_wanted_wall(wanted, region, height, rules), rules, on_table=on_table)
        read_at = WallEnd.FOOT if wanted.read_at is ReadAt.FOOT else WallEnd.TOP
        feature = Feature(
            name=wanted.name, region=region, direction=direction, wall=wall, read_at=read_at
        )
        if wanted.top_radius_mm is None:
            feature = keeping_flats(feature)
        if wanted.even:
            feature = self._evened(feature)
        self.out.rules[wanted.name] = rules
        radii = (wanted.top_radius_mm, wanted.base_radius_mm, wanted.plan_radius_mm)
        if radii == (None, None, None):
            self.out.edges_open.append(wanted.name)
        self.out.findings.extend(
            finding
            for finding in check_wall(wanted.name, feature.wall, rules, on_table=on_table)
            if _was_asked(wanted, finding)
        )
        whole = replace(feature, children=tuple(self._children(wanted, feature, ground)))
        return self._round_below(wanted, whole)

    def _round_below(self, wanted: JobFeature, feature: Feature) -> Feature:
        """Return a recess whose corners stay round down to its floor."""
        mouth_mm = wanted.plan_radius_mm or 0.0
        corner_mm = floor_corner_mm(feature, mouth_mm=mouth_mm)
        if corner_mm > mouth_mm:
            self.out.choices.append(
                ChosenValue(
                    what=f"corners of {wanted.name} at its floor", value=f"{corner_mm:.3g} mm",
                    because="the sheet is thinnest there",
                )
            )  # fmt: skip
        return replace(feature, floor_corner_mm=corner_mm) if corner_mm else feature

    def _children(self, wanted: JobFeature, feature: Feature, ground: Ground) -> Iterator[Feature]:
        children = [(child, Direction.RAISED) for child in wanted.raised]
        children += [(child, Direction.SUNK) for child in wanted.sunk]
        if not children:
            return
        middle = self._middle(wanted, feature, ground)
        inner = replace(ground, flat=flat_region(feature), middle_mm=middle)
        for child, direction in children:
            yield self._feature(child, self._lay(child, inner), direction, inner)

    def _middle(self, wanted: JobFeature, feature: Feature, ground: Ground) -> tuple[float, float]:
        if isinstance(wanted.outline, JobAround):
            x, y = ground.middle_mm
            return x + wanted.outline.x_mm, y + wanted.outline.y_mm
        x0, y0, x1, y1 = feature.region.bounds
        return (x0 + x1) / 2, (y0 + y1) / 2

    def _rounded(self, wanted: JobFeature, region: MultiPolygon, letters: Letters) -> MultiPolygon:
        """Round the plan's corners: as asked, else by the sheet's thickness where strokes allow."""
        gauge_mm = self.setting.sheet.gauge_mm
        # Piece by piece: rounding all at once would fill the walls between neighboring recesses,
        # and a letter keeps its corners whatever stands beside it.
        parts: list[Polygon] = []
        lost: list[Polygon] = []
        kept: list[Polygon] = []
        asked_mm = wanted.plan_radius_mm
        for piece in region.geoms:
            checkpoint()
            before = MultiPolygon([piece])
            if asked_mm is None:
                most_mm = plan_radius_mm(before, gauge_mm=gauge_mm, height_mm=wanted.wall_mm)
                parts += rounded_within(before, most_mm, what=f"the outline of {wanted.name}").geoms
            elif letters and not _keeps_rings(before, asked_mm):
                kept.append(piece)
                parts += rounded_within(
                    before, asked_mm, what=f"the outline of {wanted.name}"
                ).geoms
            elif shapely.buffer(piece, -asked_mm).is_empty:
                lost.append(piece)
            else:
                parts += self._rounded_piece(wanted.name, before, asked_mm).geoms
        if not parts:  # told as of one outline
            return self._rounded_piece(wanted.name, region, asked_mm or 0.0)
        least_mm = 2 * (asked_mm or 0.0)
        names = names_at(letters, kept)
        self.out.findings += rounded_by_less(names, subject=wanted.name, asked_mm=asked_mm or 0.0)
        self.out.findings += parts_left_out(lost, subject=wanted.name, width_mm=least_mm)
        return MultiPolygon(parts)

    def _rounded_piece(self, name: str, piece: MultiPolygon, radius_mm: float) -> MultiPolygon:
        if radius_mm < LEAST_RADIUS_MM:
            return piece
        after = _rounded_near_origin(piece, radius_mm, what=f"the outline of {name}")
        findings = rounding_findings(piece, after, radius_mm)
        self.out.findings.extend(replace(finding, subject=name) for finding in findings)
        return after

    def _read_on_mold(
        self, wanted: JobFeature, region: MultiPolygon, direction: Direction, letters: Letters
    ) -> MultiPolygon:
        """Offset an outline of the formed part to the mold it lies on, by the sheet between."""
        sunk = direction is Direction.SUNK
        far_side = wanted.read_at is (ReadAt.PART_INSIDE if sunk else ReadAt.PART_OUTSIDE)
        if not far_side:
            return region
        local = local_thickness_mm(
            region, wanted.wall_mm, gauge_mm=self.setting.sheet.gauge_mm, sunk=sunk
        )
        moved = shapely.buffer(region, local if sunk else -local, quad_segs=32)
        left = polygons_of(moved)
        lost = [] if sunk or left.is_empty else _lost(region, left)
        self.out.findings += parts_left_out(lost, subject=wanted.name, width_mm=2 * local)
        if left.is_empty:
            raise SpecError(
                f"outline of {wanted.name}", "wider than the sheet is thick on both sides",
                f"nothing left after {local:.2f} mm", "Make it wider, or use a thinner sheet.",
            )  # fmt: skip
        height_mm = wanted.outline.height_mm if isinstance(wanted.outline, JobText) else None
        gauge = self.setting.sheet.gauge_mm
        by_mm, most_mm = (local, gauge) if sunk else (-local, -gauge)
        self.out.findings += letters_apart(
            letters, subject=wanted.name, by_mm=by_mm, most_mm=most_mm, height_mm=height_mm
        )
        choice = _offset_choice(local, sunk)
        if choice not in self.out.choices:
            self.out.choices.append(choice)
        return left

    def _evened(self, feature: Feature) -> Feature:
        even = even_height_mm(feature)
        wall = feature.wall
        if even >= wall.height_mm - 1e-9:
            return feature
        if even < 0.2:
            raise SpecError(
                f"even of {feature.name}", "possible at 0.2 mm of height or more",
                f"{even:.2f} mm", "Use wider strokes or a smaller top radius.",
            )  # fmt: skip
        self.out.findings.append(
            Finding(
                code="lowered-to-even",
                severity=Severity.NOTE,
                says="the feature was lowered so that every stroke keeps a flat top",
                measured=even,
                limit=wall.height_mm,
                unit="mm",
                subject=feature.name,
                basis="geometry of the drafted wall; asked for by even",
                advice="Widen its thinnest stroke to raise it.",
            )
        )
        return replace(feature, wall=replace(wall, height_mm=even))


def _keeps_rings(piece: MultiPolygon, radius_mm: float) -> bool:
    """Tell whether a radius parts no stroke and fills no counter of a piece."""
    try:
        after = _rounded_near_origin(piece, radius_mm, what="a letter")
    except OutlineError:
        return False
    return n_rings(after) == n_rings(piece)


def _lost(before: MultiPolygon, after: MultiPolygon) -> list[Polygon]:
    """Return the pieces of an outline of which an offset left nothing."""
    return [piece for piece in before.geoms if not shapely.intersects(piece, after)]


def rounded_within(piece: MultiPolygon, radius_mm: float, *, what: str) -> MultiPolygon:
    """Return a piece with its corners rounded as far as it keeps its strokes and counters.

    The radius is halved until no stroke is lost, and no counter filled; tips and notches go.
    """
    while radius_mm >= LEAST_RADIUS_MM:
        try:
            after = _rounded_near_origin(piece, radius_mm, what=what)
        except OutlineError:
            after = MultiPolygon()
        if n_rings(after) == n_rings(piece) and after.area > LEAST_KEPT * piece.area:
            return after
        radius_mm /= 2
    return piece


def _rounded_near_origin(piece: MultiPolygon, radius_mm: float, *, what: str) -> MultiPolygon:
    near, corner = near_origin(piece)
    return moved_by(rounded_plan(near, radius_mm, what=what), corner)


def keeping_flats(feature: Feature) -> Feature:
    """Return a raised feature whose top radius leaves every stroke a flat, if one of it does."""
    if feature.direction is Direction.SUNK:
        return feature
    narrower = feature
    for _ in range(_MOST_HALVINGS):
        if too_narrow(narrower.region, inset_to_flat_mm(narrower)).is_empty:
            return narrower
        wall = replace(narrower.wall, top_radius_mm=narrower.wall.top_radius_mm / 2)
        narrower = replace(narrower, wall=wall)
    return feature


def slimmed(region: MultiPolygon) -> MultiPolygon:
    """Return an outline without the corners it can spare; it moves by no more than `SPARE_MM`."""
    slim = []
    for piece in region.geoms:
        near, corner = near_origin(MultiPolygon([piece]))
        slim += moved_by(polygons_of(shapely.simplify(near, SPARE_MM)), corner).geoms
    return MultiPolygon(slim)


def thinnest_mm(features: Sequence[Feature], gauge_mm: float) -> float:
    """Return the least mean sheet thickness over any feature that can have a vent beside it. [mm].

    The outer wall of a body needs none, so a body counts only if nothing stands on it.
    """
    below = [thinnest_mm(f.children, gauge_mm) for f in features if f.children]
    own = [
        local_thickness_mm(
            feature.region, feature.wall.height_mm, gauge_mm=gauge_mm,
            sunk=feature.direction is Direction.SUNK,
        )
        for feature in features
        if not feature.children
    ]  # fmt: skip
    return min([*own, *below])


def local_thickness_mm(
    region: MultiPolygon, height_mm: float, *, gauge_mm: float, sunk: bool
) -> float:
    """Return the mean thickness of the sheet over a feature. [mm].

    A recess draws its own mouth; a raised feature draws the band around it that is as wide as it
    is high (a rule of thumb for where the sheet comes from).
    """
    if sunk:
        before = region.area
    else:
        before = shapely.buffer(region, height_mm).area
    after = before + region.length * height_mm
    return float(gauge_mm * before / after)


def _wanted_wall(
    wanted: JobFeature, region: MultiPolygon, height_mm: float, rules: WallRules
) -> WantedWall:
    top_radius = wanted.top_radius_mm
    if top_radius is None and not wanted.sunk and not wanted.raised:
        # On a thin stroke the full radius would leave no flat top: a third of the stroke at most.
        top_radius = _none_if(
            min(rules.top_radius.value, stroke_radius_mm(region)), rules.top_radius.value
        )
    return WantedWall(
        height_mm=height_mm,
        draft_deg=wanted.draft_deg,
        top_radius_mm=top_radius,
        base_radius_mm=wanted.base_radius_mm,
    )


def _none_if(value: float, rule: float) -> float | None:
    return None if value >= rule else value


def _was_asked(wanted: JobFeature, finding: Finding) -> bool:
    """Tell whether the value that a wall stays under its rule by was asked for."""
    word = finding.code.removesuffix("-under-rule").replace("-", "_")
    return any(getattr(wanted, f"{word}_{unit}", None) is not None for unit in ("mm", "deg"))


def _offset_choice(local_mm: float, sunk: bool) -> ChosenValue:
    where = "inside" if sunk else "outside"
    return ChosenValue(
        what="outline offset by",
        value=f"{local_mm:.1f} mm",
        because=f"it is the {where} of the formed part; the mean thickness of the sheet there, "
        "which thins unevenly: measure the first part",
    )
