"""Layer runs: what the layers of a print hold, for each run of layers that are alike.

Level faces part a print into runs; each is told by one level cut through its middle. Walls follow
the outlines; a layer is solid where one of the next layers, up or down, has no plastic; the first
solid layer over air or over infill is a bridge; the rest is infill.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, pi

import numpy as np

from moldgen.arrays import Flags, Floats
from moldgen.printing.contours import Contours, LevelCutter
from moldgen.printing.facing import Facing, measure_facing
from moldgen.printing.print_spec import PrintLine, PrintSpec
from moldgen.solid.mesh import Mesh

MOST_LAYERS = 25
"""Layers that one level cut stands for. [-]."""
_LEAST_LEVEL = 0.02
"""Share of the widest level face from which on a face parts the print. [-]."""
_NARROW = 1.25
"""A core that is narrower than so many lines is filled by walls. [-]."""
_ANCHOR_MM = 3.0
"""A ceiling over air is held so far over what is below (common practice, no source). [mm]."""
JOINED = 0.24
"""Of the way between two lines of infill, what is laid at their ends on the average. [-]."""
_NEAR_MM = 1.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Patch:
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
    solid, sparse : Patch
        Inside the walls: laid line to line, and filled at the infill's share.
    bridge_mm2 : float
        Of the solid of the first of them, what is laid over air or infill. [mm²]
    """

    first: int
    count: int
    contours: Contours
    wall_mm: float
    solid: Patch
    sparse: Patch
    bridge_mm2: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Stack:
    """A print in runs: bounds in layers and one cut each."""

    bounds: Sequence[tuple[int, int]]
    cuts: Sequence[Contours]
    facing: Facing
    n_layers: int
    spec: PrintSpec
    line: PrintLine

    @property
    def inset_mm(self) -> float:
        return self.line.inset_mm(self.spec.walls)

    def middle(self, number: int) -> int:
        first, end = self.bounds[number]
        return (first + end) // 2

    def within_skin(self, number: int) -> tuple[slice, slice]:
        """Return the planes whose skins, below and above, reach the middle of a run."""
        middle, skins = self.middle(number), self.spec.skins
        return (
            slice(max(0, middle - skins + 1), middle + 1),
            slice(middle + 1, middle + skins + 1),
        )

    def farthest(self, number: int) -> tuple[Contours, Contours]:
        """Return the cuts farthest below and above whose runs skins reach from a run."""
        middle, reach = self.middle(number) + 0.5, self.spec.skins
        below = [n for n in range(number) if self.bounds[n][1] > middle - reach]
        above = [n for n in range(number, len(self.bounds)) if self.bounds[n][0] < middle + reach]
        return self.cuts[min(below, default=number)], self.cuts[above[-1]]


def count_layers(height_mm: float, layer_mm: float) -> int:
    """Return how many layers a height takes."""
    return max(1, round(height_mm / layer_mm))


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
    bottom_mm, height_mm = mesh.bounds_mm[0, 2], float(np.ptp(mesh.bounds_mm[:, 2]))
    n_layers = count_layers(height_mm, line.layer_mm)
    facing = measure_facing(mesh, layer_mm=height_mm / n_layers, n_layers=n_layers)
    bounds = list(pairwise(_planes(facing, spec.skins, n_layers)))
    cutter = LevelCutter(mesh)
    cuts = [
        cutter.at(bottom_mm + ((first + end) // 2 + 0.5) * height_mm / n_layers)
        for first, end in bounds
    ]
    stack = _Stack(bounds=bounds, cuts=cuts, facing=facing, n_layers=n_layers, spec=spec, line=line)
    infill_below_mm2 = 0.0
    for number in range(len(bounds)):
        run = _run(stack, number, infill_below_mm2)
        infill_below_mm2 = run.sparse.area_mm2
        yield run


def _planes(facing: Facing, skins: int, n_layers: int) -> list[int]:
    """Return the planes between runs: level faces, where their skins end, and some between."""
    least_mm2 = _LEAST_LEVEL * max(facing.level_up_mm2.max(), facing.level_down_mm2.max())
    ups = np.flatnonzero(facing.level_up_mm2 > least_mm2)
    downs = np.flatnonzero(facing.level_down_mm2 > least_mm2)
    found = np.concatenate(([0, n_layers], ups, ups - skins, downs, downs + skins))
    planes = np.unique(np.clip(found, 0, n_layers)).astype(int).tolist()
    even = [
        first + round((end - first) * part / parts)
        for first, end in pairwise(planes)
        for parts in [ceil((end - first) / MOST_LAYERS)]
        for part in range(parts)
    ]
    return [*even, n_layers]


def _run(stack: _Stack, number: int, infill_below_mm2: float) -> LayerRun:
    first, end = stack.bounds[number]
    cut, inset = stack.cuts[number], stack.inset_mm
    core_mm2 = max(0.0, float(_cores(cut, inset, stack.line).sum()))
    sparse = _sparse(stack, number, core_mm2)
    solid_mm2 = core_mm2 - sparse.area_mm2
    edge_mm = _solid_edge_mm(stack, number, core_mm2, sparse)
    return LayerRun(
        first=first,
        count=end - first,
        contours=cut,
        wall_mm=_wall_mm(cut, stack),
        solid=Patch(area_mm2=solid_mm2, edge_mm=edge_mm),
        sparse=sparse,
        bridge_mm2=min(solid_mm2, _bridge_mm2(stack, number, core_mm2)
                       + _over_infill_mm2(stack, number, infill_below_mm2 - sparse.area_mm2)),
    )  # fmt: skip


def _cores(cut: Contours, inset_mm: float, line: PrintLine) -> Floats:
    """Return what each outline leaves inside walls; negative of holes. [mm²].

    Steiner's formula for an offset by d: area less d times length, plus πd² for each turn round.
    """
    area = cut.area_mm2 - inset_mm * cut.length_mm + cut.sign * pi * inset_mm**2
    inner_mm = cut.length_mm - 2 * pi * inset_mm
    too_narrow = cut.island & (2 * area < _NARROW * line.spacing_mm * inner_mm)
    return np.where(too_narrow | (cut.island & (area < 0)), 0.0, area)


def _inner_edges_mm(cut: Contours, inset_mm: float, line: PrintLine) -> Floats:
    """Return the length of each outline moved into the plastic; none of what walls fill. [mm]."""
    edge = np.maximum(0.0, cut.length_mm - cut.sign * 2 * pi * inset_mm)
    return np.where(_cores(cut, inset_mm, line) == 0, 0.0, edge)


def _wall_mm(cut: Contours, stack: _Stack) -> float:
    """Return the lines along outlines; a strip too narrow for a core is filled by them. [mm]."""
    line, walls = stack.line, np.arange(stack.spec.walls)
    insets = line.width_mm / 2 + walls * line.spacing_mm
    around = np.maximum(0.0, cut.length_mm - 2 * pi * np.outer(insets, cut.sign)).sum(axis=0)
    most = cut.area_mm2 / line.spacing_mm
    filled = cut.island & (_cores(cut, stack.inset_mm, line) == 0)
    each = np.where(cut.island, np.where(filled, most, np.minimum(around, most)), around)
    return max(0.0, min(float(each.sum()), cut.all_mm2 / line.spacing_mm))


def _sparse(stack: _Stack, number: int, core_mm2: float) -> Patch:
    """Return what stays within the walls of all layers that skins reach: it takes infill."""
    below_planes, above_planes = stack.within_skin(number)
    reach = stack.spec.skins
    if stack.middle(number) < reach or stack.middle(number) + reach >= stack.n_layers:
        return Patch()
    if stack.spec.infill >= 1:
        return Patch()
    facing, cut, inset, line = stack.facing, stack.cuts[number], stack.inset_mm, stack.line
    below, above = stack.farthest(number)
    lost_below = float(facing.down_mm2[below_planes].sum())
    lost_above = float(facing.up_mm2[above_planes].sum())
    below, above = (below if lost_below else cut), (above if lost_above else cut)
    left = cut.all_mm2 - lost_below - lost_above
    length = [float(one.length_mm.sum()) for one in (below, above, cut)]
    turns = sum(float(one.sign.sum()) for one in (below, above)) - float(cut.sign.sum())
    area = left - inset * max(min(length[:2]), length[0] + length[1] - length[2])
    area += pi * inset**2 * turns
    level = facing.level_down_mm2[below_planes].sum() + facing.level_up_mm2[above_planes].sum()
    if level > _LEAST_LEVEL * left:
        area -= line.spacing_mm * sum(
            float(one.length_mm[_fresh(one, cut)].sum()) for one in (below, above)
        )
        inset += line.spacing_mm
    several = [cut, *[o for o, lost in ((below, lost_below), (above, lost_above)) if
                      lost > _LEAST_LEVEL * left]]  # fmt: skip
    kept = min(_kept_share(one, inset, stack) for one in several)
    edge = _kept_edge_mm(below, inset, stack) + _kept_edge_mm(above, inset, stack)
    edge -= _kept_edge_mm(cut, inset, stack)
    return Patch(area_mm2=kept * min(max(0.0, area), core_mm2), edge_mm=max(0.0, edge))


def _fresh(one: Contours, other: Contours) -> Flags:
    """Tell which outlines of a cut are not those of another, nearly unchanged."""
    if one is other:
        return np.zeros(len(one.area_mm2), dtype=bool)
    apart = np.maximum(
        *(
            np.abs(np.subtract.outer(one.middle_mm[:, axis], other.middle_mm[:, axis]))
            for axis in range(2)
        )
    )
    grown = one.area_mm2[:, None] / other.area_mm2
    return ~((apart < _NEAR_MM) & (grown > 0.8) & (grown < 1.25)).any(axis=1)


def _kept_share(cut: Contours, inset_mm: float, stack: _Stack) -> float:
    """Return the share of the cores that are large enough for infill. [-]."""
    cores = _cores(cut, inset_mm, stack.line)[cut.island]
    total = float(cores.sum())
    return float(cores[cores >= stack.spec.least_infill_mm2].sum()) / total if total else 0.0


def _kept_edge_mm(cut: Contours, inset_mm: float, stack: _Stack) -> float:
    """Return the length of the edges of cores that are large enough for infill. [mm]."""
    cores = _cores(cut, inset_mm, stack.line)
    edges = _inner_edges_mm(cut, inset_mm, stack.line)
    large = cut.island & (cores >= stack.spec.least_infill_mm2)
    return float(edges[large].sum() + _kept_share(cut, inset_mm, stack) * edges[~cut.island].sum())


def _solid_edge_mm(stack: _Stack, number: int, core_mm2: float, sparse: Patch) -> float:
    """Return the length of the edges of what is laid solid. [mm]."""
    cut, inset, line = stack.cuts[number], stack.inset_mm, stack.line
    edges = _inner_edges_mm(cut, inset, line)
    if sparse.area_mm2 <= _LEAST_LEVEL * core_mm2:
        return float(edges.sum())
    if core_mm2 - sparse.area_mm2 <= _LEAST_LEVEL * core_mm2:
        return 0.0
    ends = stack.farthest(number)
    planes = stack.within_skin(number)
    lost = [stack.facing.down_mm2[planes[0]].sum(), stack.facing.up_mm2[planes[1]].sum()]
    ends = [end if area else cut for end, area in zip(ends, lost, strict=True)]
    gone = _fresh(cut, ends[0]) | _fresh(cut, ends[1])
    fresh = sum(_kept_edge_mm(end.of(_fresh(end, cut)), inset, stack) for end in ends)
    level = stack.facing.level_up_mm2[planes[1]].sum()
    slope_mm = 0.0
    if level <= _LEAST_LEVEL * cut.all_mm2:
        slope_mm = stack.facing.slope_mm2[planes[1]].sum() / (stack.spec.skins * line.layer_mm)
    return float(edges[gone].sum() + fresh + 2 * slope_mm)


def _bridge_mm2(stack: _Stack, number: int, core_mm2: float) -> float:
    """Return what a run's first layer lays over air inside its walls, and its hold. [mm²]."""
    first, _ = stack.bounds[number]
    ceiling = float(stack.facing.level_down_mm2[first])
    all_mm2 = stack.cuts[number].all_mm2
    if first == 0 or all_mm2 <= 0 or ceiling <= _LEAST_LEVEL * all_mm2:
        return 0.0
    held = 0.5 * _ANCHOR_MM * float(stack.cuts[number - 1].length_mm.sum())
    return min(core_mm2, (ceiling + held) * core_mm2 / all_mm2)


def _over_infill_mm2(stack: _Stack, number: int, closed_mm2: float) -> float:
    """Return what a run's first layer lays over infill that ends under it. [mm²]."""
    _, above = stack.within_skin(number)
    level = float(stack.facing.level_up_mm2[above].sum())
    return max(0.0, closed_mm2) if level > _LEAST_LEVEL * stack.cuts[number].all_mm2 else 0.0


def infill_mm(sparse: Patch, spacing_mm: float) -> float:
    """Return the lines of one of infill's two directions, with what joins their ends. [mm]."""
    return sparse.area_mm2 / spacing_mm + JOINED * sparse.edge_mm / pi
