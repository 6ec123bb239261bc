"""What an arrangement knows of a mold without its meshes: its foot, its bodies, its trim line."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

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


def shape_words(shape: MoldShape) -> dict[str, Any]:
    """Return a shape in plain values, exactly."""
    return {
        "piece": _piece_words(shape.piece), "bodies": list(map(_piece_words, shape.bodies)),
        "trim": shapely.to_wkb(shape.trim, hex=True), "sag_mm": shape.sag_mm,
    }  # fmt: skip


def shape_from(words: Mapping[str, Any]) -> MoldShape:
    """Return a shape from plain values.

    Raises
    ------
    KeyError, TypeError, ValueError
        If they are not those of one.
    """
    trim = _geometry(words["trim"])
    if not isinstance(trim, MultiPolygon):
        raise TypeError("trim")
    return MoldShape(
        piece=_piece(words["piece"]), bodies=tuple(map(_piece, words["bodies"])),
        trim=trim, sag_mm=float(words["sag_mm"]),
    )  # fmt: skip


def _piece_words(piece: LayoutPiece) -> dict[str, Any]:
    return {
        "name": piece.name, "outline": shapely.to_wkb(piece.outline, hex=True),
        "height_mm": piece.height_mm, "draft_deg": piece.draft_deg,
        "flange_mm": piece.flange_mm, "alone": piece.alone,
    }  # fmt: skip


def _piece(words: Mapping[str, Any]) -> LayoutPiece:
    outline = _geometry(words["outline"])
    if not isinstance(outline, Polygon):
        raise TypeError("outline")
    return LayoutPiece(
        name=str(words["name"]), outline=outline, height_mm=float(words["height_mm"]),
        draft_deg=float(words["draft_deg"]), flange_mm=float(words["flange_mm"]),
        alone=bool(words["alone"]),
    )  # fmt: skip


def _geometry(words: object) -> shapely.Geometry:
    try:
        return shapely.from_wkb(words)
    except shapely.errors.ShapelyError as error:
        raise ValueError("no outline") from error


def outline_of(foot: MultiPolygon) -> Polygon:
    """Return one outline round a foot, with few corners; round several pieces their hull. [mm]."""
    whole = filled(foot)
    one = whole.geoms[0] if len(whole.geoms) == 1 else shapely.convex_hull(whole)
    round_it = one.buffer(_SPARE_MM, quad_segs=2).simplify(_SPARE_MM)
    return Polygon(round_it.exterior)
