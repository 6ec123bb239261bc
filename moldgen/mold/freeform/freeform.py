"""Any height field made formable: filled, drafted, rounded, and what that changed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import radians, tan
from typing import Annotated

import numpy as np
import shapely
from shapely import MultiPolygon

from moldgen.arrays import Grid
from moldgen.errors import SpecError
from moldgen.finding import Finding, Severity
from moldgen.mold.build import RawMold
from moldgen.mold.features import Direction, FeaturePlan, Wall
from moldgen.mold.freeform.walls import leaning
from moldgen.quantity import Quantity, Spec
from moldgen.solid.height.even import evened
from moldgen.solid.height.height_solid import (
    HeightField,
    HeightSolid,
    least_lean_deg,
    solid_from_heights,
)
from moldgen.solid.height.settle import settled

FOOT_MM = 0.02
"""How far the line of the foot in a plan may leave the solid's own. [mm]."""

_GEOMETRY = "derived: field of heights before and after, node by node"


@dataclass(frozen=True, kw_only=True, slots=True)
class FreeformSpec(Spec):
    """What is asked of a height field so that a sheet forms over it and comes off."""

    draft_deg: Annotated[
        float, Quantity("°", "least draft of every wall", at_least=0.5, at_most=60)
    ]
    top_radius_mm: Annotated[
        float, Quantity("mm", "radius of outside edges", at_least=0, at_most=50)
    ]
    base_radius_mm: Annotated[
        float, Quantity("mm", "radius of inside corners", at_least=0, at_most=50)
    ]
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
    return float(
        spec.margin_mm + wall + 2 * max(spec.top_radius_mm, spec.base_radius_mm) + 6 * cell_mm
    )


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
    heights = leaning(
        wanted,
        cell_mm=cell,
        draft_deg=spec.draft_deg,
        top_radius_mm=spec.top_radius_mm,
        base_radius_mm=spec.base_radius_mm,
        sunk=spec.sunk,
    )
    heights = settled(heights, cell_mm=cell, draft_deg=spec.draft_deg)
    after = HeightField(origin_mm=field.origin_mm, cell_mm=cell, heights_mm=heights)
    solid = solid_from_heights(after, deviation_mm=spec.deviation_mm, draft_deg=spec.draft_deg)
    return Formable(
        before=before, after=after, solid=solid, least_deg=least_lean_deg(solid)[0], spec=spec
    )


def raw_mold_of(formable: Formable, name: str) -> RawMold:
    """Return a formable shape as one body, as the other stages take it."""
    height = float(formable.after.heights_mm.max())
    spec = formable.spec
    wall = Wall(
        height_mm=height,
        draft_deg=spec.draft_deg,
        top_radius_mm=spec.top_radius_mm,
        base_radius_mm=spec.base_radius_mm,
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
            advice="Choose another draw direction, or make the part of two.",
        )
    yield Finding(
        code="surface-moved",
        severity=Severity.NOTE,
        says=f"to form and come off, the shape gained {change.added_mm3 / 1000:.3g} cm³ for draft "
        f"and inside corners and lost {change.removed_mm3 / 1000:.3g} cm³ at its edges; farthest "
        "the surface moved",
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
            advice="Choose another draw direction or less draft, or allow more.",
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
            says="a small piece of the wall has less draft than stated",
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
