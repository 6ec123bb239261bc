"""What an arrangement knows of a mold without its meshes: its foot, its bodies, its trim line."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import shapely
from shapely import MultiPolygon, Polygon

from moldgen.fixture.trim.line import filled
from moldgen.lesson.layout.piece import LayoutPiece
from moldgen.mold.features import foot_of, roots_of
from moldgen.mold.trim_rule import DEEP_MM, TrimUse
from moldgen.pipeline.mold.trim_region import plan_trim, trim_use

if TYPE_CHECKING:
    from moldgen.pipeline.mold.design import MoldDesign

_SPARE_MM = 0.05
"""How far an outline is moved out, to have fewer corners. [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MoldShape:
    """A mold as a thing to be laid out.

    Attributes
    ----------
    piece : LayoutPiece
        The whole mold on the forming table: foot, height, draft and flange.
    bodies : tuple of LayoutPiece
        Each of its bodies on the printer's bed, in their order.
    trim : MultiPolygon
        What is cut out of the sheet, in the job's own coordinates. [mm]
    sag_mm : float
        How far the hot sheet hangs before it is formed. [mm]
    """

    piece: LayoutPiece
    bodies: tuple[LayoutPiece, ...]
    trim: MultiPolygon
    sag_mm: float


def shape_of(design: MoldDesign) -> MoldShape:
    """Return the shape of a mold; only its walls are built for it."""
    raw, setting = design.raw, design.setting
    plan = plan_trim(design.request.trim, trim_use(design.request), raw.plans, sheet=setting.sheet)
    on_block = plan.use is TrimUse.RIM
    piece = LayoutPiece(
        name=design.request.title,
        outline=outline_of(foot_of(raw.plans)),
        height_mm=raw.height_mm,
        draft_deg=min(root.wall.draft_deg for root in roots_of(raw.plans)),
        flange_mm=0.0 if on_block else plan.wanted_mm,
        alone=raw.height_mm >= DEEP_MM and not on_block,
    )
    return MoldShape(
        piece=piece, bodies=_bodies(design, piece), trim=plan.region,
        sag_mm=design.request.forming.sag_mm,
    )  # fmt: skip


def _bodies(design: MoldDesign, piece: LayoutPiece) -> tuple[LayoutPiece, ...]:
    roots = roots_of(design.raw.plans)
    tall_mm = [float(mesh.bounds_mm[1, 2] - mesh.bounds_mm[0, 2]) for mesh in design.raw.meshes]
    return tuple(
        LayoutPiece(
            name=root.name,
            outline=outline_of(root.outer) if len(roots) > 1 else piece.outline,
            height_mm=one_mm,
        )
        for root, one_mm in zip(roots, tall_mm, strict=True)
    )


def outline_of(foot: MultiPolygon) -> Polygon:
    """Return one outline round a foot, with few corners; round several pieces their hull. [mm]."""
    whole = filled(foot)
    one = whole.geoms[0] if len(whole.geoms) == 1 else shapely.convex_hull(whole)
    round_it = one.buffer(_SPARE_MM, quad_segs=2).simplify(_SPARE_MM)
    return Polygon(round_it.exterior)
