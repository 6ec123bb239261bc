"""Any height field made formable: filled, drafted, rounded, and what that changed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import atan, degrees, radians, tan
from typing import Annotated

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon

from moldgen.errors import SpecError
from moldgen.finding import Finding, Severity
from moldgen.mold.build import RawMold
from moldgen.mold.features import Direction, FeaturePlan, Wall
from moldgen.quantity import Quantity, Spec
from moldgen.solid.envelope import lower_envelope, upper_envelope
from moldgen.solid.even import evened
from moldgen.solid.height_solid import (
    HeightField,
    HeightSolid,
    least_lean_deg,
    solid_from_heights,
)
from moldgen.solid.rolling import filled_hollows, rounded_edges
from moldgen.solid.settle import settled

Grid = NDArray[np.float64]
Flags = NDArray[np.bool_]

LEAN_LOST = 0.0042
"""Share of its lean that a triangle between smoothed nodes of a cone may lose: 0.00414, found by
trying cones and pairs of cones all over a cell, once they are smoothed by `EVEN_CELLS`."""

EVEN_CELLS = 1.0
"""Spread of the bell that evens out the steps of the grid. [cells]."""

LEAST_BLUR_CELLS, STEEP_CELLS = 0.3, 1.3
"""How far a ball on nodes may leave a round that is round enough: level, and more by the sine of
its slope, at most one cell; found by trying walls of 3 to 10° and radii of 4 to 15 cells."""

GENTLE = 0.25
"""Sine of the slope up to which a ball is taken as it rolls; fully below 0.1."""

KEPT_CELLS = 0.2
"""What evening out moves farther than this is kept as brought, if it leans enough. [cells]."""

MOST_STEEP = 0.85
"""Share of the steepest slope up to which that may be."""

KEPT_SPREAD = 0.7
"""Spread of the bell over the places that are kept. [cells]."""

FOOT_MM = 0.02
"""How far the line of the foot in a plan may leave the solid's own. [mm]."""

_GEOMETRY = "derived: field of heights before and after, node by node"


@dataclass(frozen=True, kw_only=True, slots=True)
class FreeformSpec(Spec):
    """What is asked of a height field so that a sheet forms over it and comes off."""

    draft_deg: Annotated[float, Quantity("°", "least lean of every wall", at_least=0.5, at_most=60)]
    rim_mm: Annotated[float, Quantity("mm", "radius of raised edges", at_least=0, at_most=50)]
    root_mm: Annotated[float, Quantity("mm", "radius of hollow edges", at_least=0, at_most=50)]
    deviation_mm: Annotated[
        float, Quantity("mm", "how far triangles may leave the field", above=0, at_most=2)
    ] = 0.02
    smooth_mm: Annotated[
        float, Quantity("mm", "detail finer than this is smoothed away", at_least=0, at_most=50)
    ] = 0.0
    base_mm: Annotated[float, Quantity("mm", "plate under the whole", at_least=0, at_most=100)] = (
        0.0
    )
    margin_mm: Annotated[
        float, Quantity("mm", "plate round the whole", at_least=0, at_most=500)
    ] = 0.0
    most_added: Annotated[
        float, Quantity("", "share that may be added to the volume", above=0, at_most=100)
    ] = 0.25
    sunk: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class Change:
    """What making a shape formable did to it.

    Attributes
    ----------
    volume_mm3 : float
        Volume of the shape as brought. [mm³]
    filled_mm3, filled_mm2 : float
        Undercuts filled: their volume, and the area under them seen from above. [mm³, mm²]
    added_mm3, removed_mm3 : float
        What draft and hollow radii added beyond that; what rounded edges took away. [mm³]
    moved_mm : float
        Farthest that the surface moved, square to it. [mm]
    where_mm : tuple of three floats
        Where that was. [mm]
    """

    volume_mm3: float
    filled_mm3: float
    filled_mm2: float
    added_mm3: float
    removed_mm3: float
    moved_mm: float
    where_mm: tuple[float, float, float]

    @property
    def added(self) -> float:
        """Everything added, as a share of the volume as brought."""
        return (self.filled_mm3 + self.added_mm3) / max(self.volume_mm3, 1e-9)


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Formable:
    """A height field made formable, as a solid.

    Attributes
    ----------
    before, after : HeightField
        The shape on its plate as brought, and as made. [mm]
    solid : HeightSolid
        The latter as a closed surface. [mm]
    least_deg : float
        Least lean of its triangles. [°]
    spec : FreeformSpec
        What was asked for.
    """

    before: HeightField
    after: HeightField
    solid: HeightSolid
    least_deg: float
    spec: FreeformSpec


def margin_for_mm(height_mm: float, spec: FreeformSpec, cell_mm: float) -> float:
    """Return the bare table that walls, plate and radii need round a shape of this height. [mm]."""
    wall = (height_mm + spec.base_mm) * tan(radians(spec.draft_deg))
    return float(spec.margin_mm + wall + 2 * max(spec.rim_mm, spec.root_mm) + 6 * cell_mm)


def make_formable(field: HeightField, spec: FreeformSpec) -> Formable:
    """Return the least mold over a field with this draft and these radii, on its plate.

    Undercuts are filled already: a field has none. The walls get their draft by the envelope of
    cones; then a ball fills hollow edges and another rounds raised ones, neither of which makes any
    wall steeper; at last the triangles between the nodes are laid back where they fall along two
    sides at once.

    Parameters
    ----------
    field : HeightField
        Heights as brought, ``-inf`` beside the shape, with `margin_for_mm` round it. [mm]

    Raises
    ------
    SpecError
        If nothing rises above the table, or the border is too near.
    GeometryError
        If the surface does not close.
    """
    before = _on_plate(field, spec)
    cell = field.cell_mm
    wanted = np.array(before.heights_mm)
    if spec.smooth_mm > 0:
        # The width of the bell at half its height is what is asked for.
        wanted = evened(wanted, spread_cells=spec.smooth_mm / cell / 2.3548)
    heights = _leaning(wanted, cell, spec)
    heights = settled(heights, cell_mm=cell, draft_deg=spec.draft_deg)
    after = HeightField(origin_mm=field.origin_mm, cell_mm=cell, heights_mm=heights)
    solid = solid_from_heights(after, deviation_mm=spec.deviation_mm, draft_deg=spec.draft_deg)
    return Formable(
        before=before, after=after, solid=solid, least_deg=least_lean_deg(solid)[0], spec=spec
    )


def _leaning(wanted: Grid, cell_mm: float, spec: FreeformSpec) -> Grid:
    """Return heights with draft and radii, so smooth that triangles keep the draft of the nodes."""
    draft = degrees(atan(tan(radians(spec.draft_deg)) * (1 + LEAN_LOST)))
    heights = wanted
    if spec.sunk:
        heights = lower_envelope(heights, cell_mm=cell_mm, draft_deg=draft)
    heights = upper_envelope(heights, cell_mm=cell_mm, draft_deg=draft)
    changed = _away_mm(heights, np.maximum(wanted, -cell_mm), cell_mm) > KEPT_CELLS * cell_mm
    for ball, roll in ((spec.root_mm, filled_hollows), (spec.rim_mm, _rounded_above)):
        if ball > 0:
            rolled = roll(heights, ball_mm=ball, cell_mm=cell_mm, draft_deg=draft)
            near = _near_rolled(heights, rolled, ball_mm=ball, cell_mm=cell_mm)
            heights = heights + _share_rolled(heights, near, cell_mm) * (rolled - heights)
            changed |= near
    return _evened_out(heights, changed, cell_mm, 1 / tan(radians(draft)))


def _rounded_above(heights: Grid, **ball: float) -> Grid:
    """Round raised edges, but not the foot: there the table goes on."""
    return np.minimum(rounded_edges(np.maximum(heights, 0.0), **ball), heights)


def _near_rolled(heights: Grid, rolled: Grid, *, ball_mm: float, cell_mm: float) -> Flags:
    """Return where a ball is needed, and within its reach of there.

    A ball that stands on nodes takes up to a cell off a steep edge even if that is round enough.
    What moves no farther proves nothing.
    """
    blur = np.minimum(LEAST_BLUR_CELLS + STEEP_CELLS * _sine(heights, cell_mm), 1.0) * cell_mm
    needed = _away_mm(rolled, heights, cell_mm) > np.minimum(blur, ball_mm / 4)
    needed &= np.maximum(heights, rolled) > 0
    return _grown(needed, ball_mm / cell_mm + 2)


def _grown(flags: Flags, reach_cells: float) -> Flags:
    """Return the nodes within a square round every flagged one."""
    if not flags.any():
        return flags
    return np.asarray(evened(flags.astype(np.float64), spread_cells=reach_cells / 3) > 0)


def _share_rolled(heights: Grid, near: Flags, cell_mm: float) -> Grid:
    """Return 1 where a rolled field is taken, 0 where heights stay, in between on the way.

    On gentle ground a ball is true; there it is always taken, and smooths what no sheet shows.
    """
    gentle = GENTLE - _sine(evened(heights, spread_cells=2.0), cell_mm)
    taken = evened(near.astype(np.float64), spread_cells=2.0) if near.any() else 0.0
    # A step from one to the other would be a wall of its own.
    return np.asarray(np.clip(np.maximum(2 * taken, 1 + gentle / (GENTLE - 0.1)), 0.0, 1.0))


def _sine(heights: Grid, cell_mm: float) -> Grid:
    """Return the sine of a field's slope."""
    slope = np.hypot(*np.gradient(heights, cell_mm))
    return np.asarray(slope / np.sqrt(1 + slope**2))


def _evened_out(heights: Grid, changed: Flags, cell_mm: float, limit: float) -> Grid:
    """Even out the steps of the grid; keep the rounds that were brought, which that would flatten.

    Walls at the limit are evened out all the same, for that keeps the draft of their triangles.
    """
    even = evened(heights, spread_cells=EVEN_CELLS)
    steep = np.hypot(*np.gradient(heights, cell_mm)) / limit
    near = _grown(changed, 3 * EVEN_CELLS)
    far = _away_mm(even, heights, cell_mm) / (KEPT_CELLS * cell_mm) - 1
    kept = np.clip(far, 0.0, 1.0) * np.clip((MOST_STEEP - steep) / 0.1, 0.0, 1.0)
    kept = evened(np.where(near, 0.0, kept), spread_cells=KEPT_SPREAD)
    return np.asarray(even + kept * (heights - even))


def _away_mm(one: Grid, other: Grid, cell_mm: float) -> Grid:
    """Return how far apart two fields are, square to the first. [mm]."""
    along, across = np.gradient(one, cell_mm)
    return np.asarray(np.abs(one - other) / np.sqrt(1 + along**2 + across**2))


def raw_mold_of(formable: Formable, name: str) -> RawMold:
    """Return a formable shape as one body, as the other stages take it."""
    height = float(formable.after.heights_mm.max())
    spec = formable.spec
    wall = Wall(
        height_mm=height, draft_deg=spec.draft_deg, rim_mm=spec.rim_mm, root_mm=spec.root_mm
    )
    # The foot has a corner at every step of the grid; what is laid out under it needs far fewer.
    foot = MultiPolygon(shapely.get_parts(shapely.simplify(formable.solid.foot, FOOT_MM)).tolist())
    plan = FeaturePlan(
        name=name,
        parent="",
        direction=Direction.RAISED,
        wall=wall,
        region=foot,
        outer=foot,
        flat=MultiPolygon(),
        z_parent_mm=0.0,
        z_flat_mm=height,
    )
    return RawMold((formable.solid.mesh,), (plan,), ())


def change_of(
    formable: Formable,
    *,
    volume_mm3: float | None = None,
    seen_mm3: float | None = None,
    filled_mm2: float = 0.0,
) -> Change:
    """Measure what was changed.

    Parameters
    ----------
    volume_mm3 : float, optional
        Volume of the closed solid as brought, without a plate; of the field itself if left
        out. [mm³]
    seen_mm3 : float, optional
        Volume between the table and what is seen of it from above: undercuts filled, no draft
        yet; that of the field if left out, which holds the first cells of its walls. [mm³]
    filled_mm2 : float
        Area under overhangs, seen from above. [mm²]
    """
    before, after = formable.before, formable.after
    area = before.cell_mm**2
    there = np.isfinite(before.heights_mm) & (before.heights_mm > 0)
    plate = np.where(there, formable.spec.base_mm, 0.0).sum() * area
    field = float(before.on_table_mm.sum() * area - plate)
    seen = field if seen_mm3 is None else seen_mm3
    raised = after.on_table_mm - before.on_table_mm
    moved, node = _farthest(after, raised)
    return Change(
        volume_mm3=seen if volume_mm3 is None else volume_mm3,
        filled_mm3=0.0 if volume_mm3 is None else max(0.0, seen - volume_mm3),
        filled_mm2=filled_mm2,
        added_mm3=float(np.maximum(raised, 0).sum() * area) + max(0.0, field - seen),
        removed_mm3=float(np.maximum(-raised, 0).sum() * area),
        moved_mm=moved,
        where_mm=after.place_mm(node),
    )


def check_change(change: Change, spec: FreeformSpec, *, name: str) -> Iterator[Finding]:
    """Tell what was changed; stop where more was added than may be."""
    if change.filled_mm2 > 1.0:
        yield Finding(
            code="undercut-filled",
            severity=Severity.CAUTION,
            says=f"undercuts over {change.filled_mm2:.0f} mm² were filled down to the table",
            measured=change.filled_mm3 / 1000,
            unit="cm³",
            subject=name,
            basis="derived: a sheet drawn from above cannot follow what is hidden from there",
            advice="Choose another pull, or make the part of two.",
        )
    yield Finding(
        code="surface-moved",
        severity=Severity.NOTE,
        says=f"to form and come off, the shape gained {change.added_mm3 / 1000:.3g} cm³ for draft "
        f"and hollow radii and lost {change.removed_mm3 / 1000:.3g} cm³ at its edges; farthest the "
        "surface moved",
        measured=change.moved_mm,
        unit="mm",
        where_mm=change.where_mm,
        subject=name,
        basis=_GEOMETRY,
        advice="The map of changes shows where.",
    )
    if change.added > spec.most_added:
        yield Finding(
            code="too-much-added",
            severity=Severity.STOP,
            says="more was added than the job allows, so the part will not look like what was "
            "brought",
            measured=100 * change.added,
            limit=100 * spec.most_added,
            unit="%",
            where_mm=change.where_mm,
            subject=name,
            basis="the share stated for this job; common practice, no source",
            advice="Choose another pull or less draft, or allow more.",
        )


def check_lean(formable: Formable, *, name: str) -> Iterator[Finding]:
    """Find where the finished triangles lean less than stated."""
    limit = formable.spec.draft_deg
    least, triangle = least_lean_deg(formable.solid)
    if least < limit - 0.1:
        x, y, z = formable.solid.mesh.corners_mm[triangle].mean(axis=0)
        yield Finding(
            code="draft-not-kept",
            severity=Severity.CAUTION,
            says="a small piece of the wall leans less than stated",
            measured=least,
            limit=limit,
            unit="°",
            where_mm=(float(x), float(y), float(z)),
            subject=name,
            basis="measured on the finished triangles",
            advice="Use a smaller cell or a larger radius.",
        )


def _farthest(after: HeightField, raised: Grid) -> tuple[float, tuple[int, int]]:
    """Return the greatest distance between two fields, square to the second, and its node."""
    along, across = np.gradient(after.heights_mm, after.cell_mm)
    away = np.abs(raised) / np.sqrt(1 + along**2 + across**2)
    row, column = np.unravel_index(int(np.argmax(away)), away.shape)
    return float(away[row, column]), (int(row), int(column))


def _on_plate(field: HeightField, spec: FreeformSpec) -> HeightField:
    """Stand a field on its plate: a rectangle round it with corners as round as its margin."""
    heights = np.where(np.isfinite(field.heights_mm), field.heights_mm + spec.base_mm, -np.inf)
    if spec.margin_mm > 0 and spec.base_mm <= 0:
        raise SpecError("margin_mm", "0 mm without a base", f"{spec.margin_mm:g} mm", "Add a base.")
    if spec.margin_mm > 0:
        away = _beyond_plate_mm(field, spec.margin_mm)
        plate = spec.base_mm - away / tan(radians(spec.draft_deg))
        heights = np.maximum(heights, plate)
    return HeightField(origin_mm=field.origin_mm, cell_mm=field.cell_mm, heights_mm=heights)


def _beyond_plate_mm(field: HeightField, margin_mm: float) -> Grid:
    """Return how far outside the plate every node lies, shape (ny, nx). [mm]."""
    rows, columns = np.nonzero(field.heights_mm > 0)
    x, y = field.x_mm, field.y_mm
    out_x = np.maximum(np.maximum(x[columns.min()] - x, x - x[columns.max()]), 0.0)
    out_y = np.maximum(np.maximum(y[rows.min()] - y, y - y[rows.max()]), 0.0)
    return np.asarray(np.maximum(np.hypot(out_x[None], out_y[:, None]) - margin_mm, 0.0))
