"""The best of many layouts: orders and turns are changed a little, again and again.

The same task and seed give the same layout anywhere: how long it searches is counted in layouts
tried, not in seconds.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import ceil
from random import Random

import shapely

from moldgen.execution import checkpoint
from moldgen.lesson.layout.bottom_left import PieceSpot, bottom_left
from moldgen.lesson.layout.piece import LayoutTask, LeftOut, PieceLayout, Placing, Shot
from moldgen.lesson.layout.raster import TaskRaster

TRIES = 600
"""Layouts tried by the search that packs tighter, for thirty pieces or fewer. [-]."""
_MANY = 30
_MEMORY = 30
"""A layout is taken on if it is no worse than the one so many tries ago. [-]."""
_SPREAD_SHARE = 0.02
"""What the mean right end counts beside the farthest. [-]."""


@dataclass(frozen=True, slots=True)
class _Trial:
    order: tuple[int, ...]
    turns: tuple[int | None, ...]
    spots: tuple[PieceSpot, ...]
    cost: float

    @property
    def n_shots(self) -> int:
        """How many areas it takes."""
        return len({spot.shot for spot in self.spots})


def lay_out(task: LayoutTask) -> PieceLayout:
    """Lay pieces out at once: the best of a few orders.

    Parameters
    ----------
    task : LayoutTask
        What is laid out.

    Returns
    -------
    PieceLayout
        Each piece lies on one of its areas, or is left out with a reason.
    """
    raster = TaskRaster(task)
    return _layout(raster, _first(raster).spots)


def lay_out_tighter(
    task: LayoutTask,
    *,
    seed: int = 0,
    tries: int | None = None,
    tell: Callable[[float], None] = lambda share: None,
) -> PieceLayout:
    """Lay pieces out as tightly as a search finds, never worse than at once.

    Parameters
    ----------
    task : LayoutTask
        What is laid out.
    seed : int
        Of the search: another one may find a tighter layout.
    tries : int, optional
        Layouts that are tried; fewer for many pieces if left out, so that the time is about even.
    tell : callable, optional
        Told which share of the tries is done.

    Returns
    -------
    PieceLayout
        The same for the same task, seed and tries.

    Notes
    -----
    Late acceptance hill climbing over the order and the turns of the pieces (Burke and Bykov, "The
    late acceptance hill-climbing heuristic", European Journal of Operational Research 258, 2017,
    from memory), each laid bottom left.
    """
    raster = TaskRaster(task)
    first = _first(raster)
    if first.n_shots <= least_shots(task):
        return _layout(raster, first.spots)
    n = len(task.pieces)
    most = tries if tries is not None else max(1, round(TRIES * min(1.0, (_MANY / n) ** 2)))
    return _layout(raster, _searched(raster, first, Random(seed), most, tell).spots)


def least_shots(task: LayoutTask) -> int:
    """Return the number of areas below which no layout can be, by the sum of the pieces' areas.

    Notes
    -----
    Pieces a distance apart do not overlap when each is grown by half of it, and lie in an area
    grown by as much.
    """
    alone = sum(piece.alone for piece in task.pieces)
    shared = [k for k, piece in enumerate(task.pieces) if not piece.alone]
    if not shared:
        return alone
    half = min((task.gaps_mm[i][j] for i in shared for j in shared), default=0.0) / 2
    edge = min(task.edges_mm[k] for k in shared)
    sides = [side + 2 * (half - edge) for side in (task.area.width_mm, task.area.depth_mm)]
    grown = shapely.buffer([task.pieces[k].outline for k in shared], half, quad_segs=4)
    room = max(sides[0], 0.0) * max(sides[1], 0.0)
    # Chords cut corners, so that the sum is on the small side; a bound may be.
    return alone + (max(1, ceil(shapely.area(grown).sum() / room - 1e-9)) if room else 1)


def _first(raster: TaskRaster) -> _Trial:
    """Return the best of the usual orders: large pieces first."""
    pieces = raster.task.pieces
    sizes: tuple[Callable[[int], float], ...] = (
        lambda k: pieces[k].outline.area,
        lambda k: pieces[k].outline.convex_hull.area,
        lambda k: float(shapely.minimum_bounding_radius(pieces[k].outline)),
    )
    free: tuple[int | None, ...] = (None,) * len(pieces)
    orders = dict.fromkeys(
        tuple(sorted(range(len(pieces)), key=lambda k: (-size(k), k))) for size in sizes
    )
    trials: list[_Trial] = []
    enough = least_shots(raster.task)
    for order in orders:
        trials.append(_tried(raster, order, free))
        if trials[-1].n_shots <= enough:
            break
    return min(trials, key=lambda trial: trial.cost)


def _searched(
    raster: TaskRaster, first: _Trial, chance: Random, tries: int, tell: Callable[[float], None]
) -> _Trial:
    best = now = first
    costs = [first.cost] * _MEMORY
    enough = least_shots(raster.task)
    for number in range(tries):
        checkpoint()
        tell(number / tries)
        trial = _tried(raster, *_changed(now, chance, len(raster.task.turns_deg)))
        if trial.cost <= max(now.cost, costs[number % _MEMORY]):
            now = trial
        costs[number % _MEMORY] = now.cost
        best = min(best, now, key=lambda one: one.cost)
        if best.n_shots <= enough:
            break
    return best


def _tried(raster: TaskRaster, order: Sequence[int], turns: Sequence[int | None]) -> _Trial:
    spots = bottom_left(raster, order, turns)
    return _Trial(tuple(order), tuple(turns), spots, _cost(raster, spots))


def _cost(raster: TaskRaster, spots: Sequence[PieceSpot]) -> float:
    """Return how far a layout reaches: whole areas, and the right end in the last one. [mm]."""
    whole = raster.task.area.width_mm
    ends = [spot.shot * whole + spot.end_mm for spot in spots]
    missing = len(raster.task.pieces) - len(spots)
    mean = sum(ends) / max(len(ends), 1)
    return max(ends, default=0.0) + _SPREAD_SHARE * mean + 1e6 * missing


def _changed(
    trial: _Trial, chance: Random, n_turns: int
) -> tuple[tuple[int, ...], tuple[int | None, ...]]:
    """Return an order and turns with two pieces swapped, one moved, or one turned."""
    order, turns = list(trial.order), list(trial.turns)
    i, j = (chance.randrange(len(order)) for _ in range(2))
    kind = chance.random()
    if kind < 0.4:
        order[i], order[j] = order[j], order[i]
    elif kind < 0.8:
        order.insert(j, order.pop(i))
    else:
        turns[i] = chance.choice((None, *range(n_turns)))
    return tuple(order), tuple(turns)


def _layout(raster: TaskRaster, spots: Sequence[PieceSpot]) -> PieceLayout:
    task = raster.task
    by_shot: dict[int, list[Placing]] = {}
    for spot in sorted(spots, key=lambda one: one.piece):
        by_shot.setdefault(spot.shot, []).append(_placing(raster, spot))
    shots = tuple(
        _centered(task, Shot(placings=tuple(by_shot[number]))) for number in sorted(by_shot)
    )
    laid = {spot.piece for spot in spots}
    missing = [k for k in range(len(task.pieces)) if k not in laid]
    left_out = tuple(LeftOut(piece=k, reason=_too_large(task, k)) for k in missing)
    return PieceLayout(task=task, shots=shots, left_out=left_out)


def _placing(raster: TaskRaster, spot: PieceSpot) -> Placing:
    origin = raster.turned(raster.shape_of[spot.piece], spot.turn).origin_mm
    return Placing(
        piece=spot.piece,
        x_mm=spot.x_mm + origin[0],
        y_mm=spot.y_mm + origin[1],
        turn_deg=raster.task.turns_deg[spot.turn],
    )


def _centered(task: LayoutTask, shot: Shot) -> Shot:
    """Return a shot moved as a whole to the middle, as far as edges and keep-outs let it."""
    if task.area.keep_outs:
        return shot
    shifts = []
    for axis, whole in enumerate((task.area.width_mm, task.area.depth_mm)):
        before, behind = [], []
        for one in shot.placings:
            bounds = one.region(task.pieces[one.piece]).bounds
            before.append(bounds[axis] - task.edges_mm[one.piece])
            behind.append(whole - task.edges_mm[one.piece] - bounds[axis + 2])
        shifts.append((min(behind) - min(before)) / 2)
    return Shot(
        placings=tuple(
            replace(one, x_mm=one.x_mm + shifts[0], y_mm=one.y_mm + shifts[1])
            for one in shot.placings
        )
    )


def _too_large(task: LayoutTask, piece: int) -> str:
    x0, y0, x1, y1 = task.pieces[piece].outline.bounds
    area, edge_mm = task.area, task.edges_mm[piece]
    room = area.width_mm - 2 * edge_mm, area.depth_mm - 2 * edge_mm
    kept = " beside what is kept out" if area.keep_outs else ""
    return (
        f"{x1 - x0:.0f} x {y1 - y0:.0f} mm find no room in {room[0]:.0f} x {room[1]:.0f} mm{kept}, "
        f"{edge_mm:.0f} mm from the edge of {area.name}, at any of the turns allowed"
    )
