"""Layer runs: what the layers of a print hold, for each run of layers that are alike.

Walls follow the outlines; a layer is solid where one of the next layers, up or down, has no
plastic; the first solid layer over air or over infill is a bridge; the rest is infill.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import pi

import numpy as np

from moldgen.arrays import Flags
from moldgen.printing.contours import Contours
from moldgen.printing.inset import Inset, inset_of
from moldgen.printing.print_spec import PrintLine, PrintSpec
from moldgen.printing.print_stack import LEAST_LEVEL, PrintStack, Reach, build_print_stack
from moldgen.solid.mesh import Mesh

JOINED = 0.24
"""Of the way between two lines of infill, what is laid at their ends (fitted). [-]."""
_HELD_MM = 3.0
"""A ceiling over air is held so far over what is below (common practice, no source). [mm]."""
_NEAR_MM = 1.5
_ALIKE = (0.8, 1.25)
"""Outlines of two layers are the same one if middles and areas differ by no more. [mm], [-]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LayerPatch:
    """A part of a layer: its area [mm²] and the length of its edges [mm]."""

    area_mm2: float = 0.0
    edge_mm: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LayerRun:
    """Layers that are alike.

    Attributes
    ----------
    first, count : int
        Number of the lowest, from 0, and how many.
    contours : Contours
        Their outlines. [mm]
    wall_mm : float
        Lines along outlines, per layer. [mm]
    solid, sparse : LayerPatch
        Inside the walls: laid line to line, and filled at the infill's share.
    bridge_mm2 : float
        Of the solid of the first of them, what is laid over air or infill. [mm²]
    """

    first: int
    count: int
    contours: Contours
    wall_mm: float
    solid: LayerPatch
    sparse: LayerPatch
    bridge_mm2: float


def layer_runs(mesh: Mesh, spec: PrintSpec, line: PrintLine) -> Iterator[LayerRun]:
    """Yield what the layers of a closed solid hold, from the bed up.

    Parameters
    ----------
    mesh : Mesh
        As it stands, outside out, equal corners joined. [mm]

    Raises
    ------
    GeometryError
        If a level cut does not close.
    """
    stack = build_print_stack(mesh, layer_mm=line.layer_mm, skins=spec.skins)
    infill_below_mm2 = 0.0
    for number, (first, end) in enumerate(stack.bounds):
        cut, below, above = stack.cuts[number], stack.below(number), stack.above(number)
        core = inset_of(cut, line.inset_mm(spec.walls), spacing_mm=line.spacing_mm)
        sparse = LayerPatch()
        if spec.infill < 1 and not stack.is_skin(number):
            sparse = _sparse(cut, core, (below, above), spec=spec, line=line)
        solid_mm2 = core.all_mm2 - sparse.area_mm2
        over_air = _over_air_mm2(stack, number, core)
        closed = infill_below_mm2 - sparse.area_mm2
        over_infill = max(0.0, closed) if _is_level(above, cut) else 0.0
        infill_below_mm2 = sparse.area_mm2
        yield LayerRun(
            first=first,
            count=end - first,
            contours=cut,
            wall_mm=_wall_mm(cut, core, walls=spec.walls, line=line),
            solid=LayerPatch(
                area_mm2=solid_mm2,
                edge_mm=_solid_edge_mm(stack, number, core, sparse, spec=spec, line=line),
            ),
            sparse=sparse,
            bridge_mm2=min(solid_mm2, over_air + over_infill),
        )


def infill_mm(sparse: LayerPatch, spacing_mm: float) -> float:
    """Return the lines of one of infill's two directions, with what joins their ends. [mm]."""
    return sparse.area_mm2 / spacing_mm + JOINED * sparse.edge_mm / pi


def _wall_mm(cut: Contours, core: Inset, *, walls: int, line: PrintLine) -> float:
    """Return the lines along outlines; a strip too narrow for a core is filled by them. [mm]."""
    insets = line.width_mm / 2 + np.arange(walls) * line.spacing_mm
    around = np.maximum(0.0, cut.length_mm - 2 * pi * np.outer(insets, cut.sign)).sum(axis=0)
    most = cut.area_mm2 / line.spacing_mm
    island = np.where(core.filled, most, np.minimum(around, most))
    each = np.where(core.island, island, around)
    return max(0.0, min(float(each.sum()), cut.all_mm2 / line.spacing_mm))


def _is_level(reach: Reach, cut: Contours) -> bool:
    return reach.level_mm2 > LEAST_LEVEL * cut.all_mm2


def _sparse(
    cut: Contours, core: Inset, reached: tuple[Reach, Reach], *, spec: PrintSpec, line: PrintLine
) -> LayerPatch:
    """Return what stays within the walls of all layers that skins reach: it takes infill."""
    inset_mm = line.inset_mm(spec.walls)
    left_mm2 = cut.all_mm2 - sum(reach.ends_mm2 for reach in reached)
    lengths = [float(reach.cut.length_mm.sum()) for reach in reached]
    length_mm = max(min(lengths), sum(lengths) - float(cut.length_mm.sum()))
    turns = sum(float(reach.cut.sign.sum()) for reach in reached) - float(cut.sign.sum())
    area_mm2 = left_mm2 - inset_mm * length_mm + pi * inset_mm**2 * turns
    # Under walls that begin on a level face, and over those that end at one, lies a skin too.
    if sum(reach.level_mm2 for reach in reached) > LEAST_LEVEL * left_mm2:
        area_mm2 -= line.spacing_mm * sum(
            float(reach.cut.length_mm @ _is_new(reach.cut, cut)) for reach in reached
        )
        inset_mm += line.spacing_mm
    least = spec.least_infill_mm2
    own, *ends = (
        inset_of(one, inset_mm, spacing_mm=line.spacing_mm).kept(least)
        for one in (cut, *(reach.cut for reach in reached))
    )
    counted = [
        end
        for end, reach in zip(ends, reached, strict=True)
        if reach.ends_mm2 > LEAST_LEVEL * left_mm2
    ]
    share = min(kept for kept, _ in (own, *counted))
    edge_mm = sum(edge for _, edge in ends) - own[1]
    return LayerPatch(
        area_mm2=share * min(max(0.0, area_mm2), core.all_mm2), edge_mm=max(0.0, edge_mm)
    )


def _solid_edge_mm(
    stack: PrintStack,
    number: int,
    core: Inset,
    sparse: LayerPatch,
    *,
    spec: PrintSpec,
    line: PrintLine,
) -> float:
    """Return the length of the edges of what is laid solid. [mm]."""
    slight_mm2 = LEAST_LEVEL * core.all_mm2
    if sparse.area_mm2 <= slight_mm2:
        return float(core.edge_mm.sum())
    if core.all_mm2 - sparse.area_mm2 <= slight_mm2:
        return 0.0
    cut, below, above = stack.cuts[number], stack.below(number), stack.above(number)
    gone = _is_new(cut, below.cut) | _is_new(cut, above.cut)
    edge_mm = float(core.edge_mm @ gone)
    for reach in (below, above):
        fresh = reach.cut.of(_is_new(reach.cut, cut))
        inner = inset_of(fresh, line.inset_mm(spec.walls), spacing_mm=line.spacing_mm)
        edge_mm += inner.kept(spec.least_infill_mm2)[1]
    return edge_mm if _is_level(above, cut) else edge_mm + 2 * stack.slope_mm(number)


def _is_new(one: Contours, other: Contours) -> Flags:
    """Tell which outlines of a cut are not those of another, nearly unchanged."""
    if one is other:
        return np.zeros(len(one.area_mm2), dtype=bool)
    apart_x, apart_y = (
        np.abs(np.subtract.outer(one.middle_mm[:, axis], other.middle_mm[:, axis]))
        for axis in range(2)
    )
    grown = np.divide.outer(one.area_mm2, other.area_mm2)
    least, most = _ALIKE
    same = (apart_x < _NEAR_MM) & (apart_y < _NEAR_MM) & (grown > least) & (grown < most)
    is_new: Flags = ~np.any(same, axis=1)
    return is_new


def _over_air_mm2(stack: PrintStack, number: int, core: Inset) -> float:
    """Return what a run's first layer lays over air inside its walls, and its hold. [mm²]."""
    first, _ = stack.bounds[number]
    ceiling_mm2, all_mm2 = float(stack.facing.level_down_mm2[first]), stack.cuts[number].all_mm2
    if first == 0 or ceiling_mm2 <= LEAST_LEVEL * all_mm2:
        return 0.0
    held_mm2 = 0.5 * _HELD_MM * float(stack.cuts[number - 1].length_mm.sum())
    return min(core.all_mm2, (ceiling_mm2 + held_mm2) * core.all_mm2 / max(all_mm2, 1e-9))
