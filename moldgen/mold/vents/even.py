"""Even places: along a low line as far from one neighbor as from the other, and symmetric."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from moldgen.arrays import Floats
from moldgen.mold.vents.vent import LowPlace, VentSpec
from moldgen.solid.height.join_tree import region_numbers
from moldgen.solid.height.relief import Relief

ON_AXIS_MM = 3.0
"""A place no farther than this from an axis of symmetry is set on it, rather than doubled. [mm]."""

STILL_LOW = 0.8
"""Share of its gap that a place must keep where it is moved to. [-]."""

_ROUNDS = 3
_MOST_CELLS = 1000
_ALIKE = 0.02
_EVEN_MM = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class Mirror:
    """A plane in which a mold is its own mirror image.

    Attributes
    ----------
    across : int
        0 if it stands across x, 1 if across y.
    at_mm : float
        Where it stands. [mm]
    """

    across: int
    at_mm: float


def mirrors_of(relief: Relief) -> tuple[Mirror, ...]:
    """Return the planes, across x and y, in which a mold is its own mirror image.

    A cell of the relief counts as alike if its height lies among those of the mirror image's cell
    and its neighbors: the raster is not in step with the mold's middle.
    """
    heights = relief.on_table_mm - relief.floor_mm
    return tuple(_mirrors(heights, relief))


def _mirrors(heights: Floats, relief: Relief) -> Iterator[Mirror]:
    for across, sides in enumerate((relief.x_mm, relief.y_mm)):
        profile = heights.sum(axis=across)
        used = np.flatnonzero(profile > 0)
        if not len(used):
            return
        own = profile[used[0] : used[-1] + 1]
        if np.abs(own - own[::-1]).sum() > 4 * _ALIKE * own.sum():
            continue
        part = np.take(heights, np.arange(used[0], used[-1] + 1), axis=1 - across)
        if _alike(part, np.flip(part, axis=1 - across)):
            yield Mirror(across=across, at_mm=float((profile * sides).sum() / profile.sum()))


def _alike(heights: Floats, other: Floats) -> bool:
    low, high = other, other
    for axis in (0, 1):
        low, high = _spread(low, axis, np.minimum), _spread(high, axis, np.maximum)
    unlike = (heights < low - _EVEN_MM) | (heights > high + _EVEN_MM)
    return bool(unlike.mean() < _ALIKE)


def _spread(values: Floats, axis: int, choose: np.ufunc) -> Floats:
    """Return the least, or greatest, of every cell and its two neighbors along an axis."""
    moved = np.moveaxis(values, axis, 0)
    out = moved.copy()
    choose(out[1:], moved[:-1], out=out[1:])
    choose(out[:-1], moved[1:], out=out[:-1])
    return np.moveaxis(out, 0, axis)


def mirrored(
    places: Sequence[LowPlace],
    mirrors: Sequence[Mirror],
    gap: NDArray[np.float64],
    relief: Relief,
) -> list[LowPlace]:
    """Return the places on one side of every mirror with their mirror images.

    Parameters
    ----------
    places : sequence of LowPlace
        Places on all of a mold.
    mirrors : sequence of Mirror
        Where it is its own mirror image; without any, all places come back.
    gap : ndarray, shape (ny, nx)
        Gap under ball or sheet: a place is set on an axis only where it stays low. [mm]
    relief : Relief
        The mold seen from above. [mm]
    """
    whole = list(places)
    for mirror in mirrors:
        whole = [one for place in whole for one in _both(place, mirror, gap, relief)]
    return whole


def _both(
    place: LowPlace, mirror: Mirror, gap: NDArray[np.float64], relief: Relief
) -> tuple[LowPlace, ...]:
    away = (place.x_mm, place.y_mm)[mirror.across] - mirror.at_mm
    if abs(away) <= ON_AXIS_MM:
        on_axis = _set(place, mirror, mirror.at_mm)
        row, column = relief.cells(np.array([[on_axis.x_mm, on_axis.y_mm]]))[0]
        if gap[row, column] >= STILL_LOW * place.gap_mm:
            return (on_axis,)
    if away > 0:
        return ()
    return place, _set(place, mirror, mirror.at_mm - away)


def _set(place: LowPlace, mirror: Mirror, at_mm: float) -> LowPlace:
    """Return a place moved across a mirror to where it shall be. [mm]."""
    if mirror.across == 0:
        return replace(place, x_mm=at_mm)
    return replace(place, y_mm=at_mm)


def evened(
    low: NDArray[np.float64],
    relief: Relief,
    found: Sequence[LowPlace],
    lines: Sequence[LowPlace],
    spec: VentSpec,
) -> list[LowPlace]:
    """Move places along lines toward the middle of what each of them serves.

    Parameters
    ----------
    low : ndarray, shape (ny, nx)
        Gap where a place is wanted; 0 elsewhere. [mm]
    relief : Relief
        The mold seen from above. [mm]
    found, lines : sequence of LowPlace
        Places that stay, and those that may move.
    spec : VentSpec
        Gives the least gap.
    """
    numbers = region_numbers(low, floor=spec.least_gap_mm)
    own, fixed = _cells(lines, relief), _cells(found, relief)
    every = np.argwhere(numbers >= 0)
    region = numbers[every[:, 0], every[:, 1]]
    fields = np.stack([low, relief.on_table_mm])
    for number in np.unique(numbers[own[:, 0], own[:, 1]]):
        movable = np.flatnonzero(numbers[own[:, 0], own[:, 1]] == number)
        here = fixed[numbers[fixed[:, 0], fixed[:, 1]] == number]
        # A place alone on its line stands where the sheet is last.
        if number >= 0 and len(movable) + len(here) > 1:
            cells = every[region == number]
            own[movable] = _relaxed(cells, fields, here, own[movable])
    return [
        _moved(place, cell, low, relief) for place, cell in zip(lines, own.tolist(), strict=True)
    ]


def _cells(places: Sequence[LowPlace], relief: Relief) -> NDArray[np.int64]:
    return relief.cells(np.array([(p.x_mm, p.y_mm) for p in places]).reshape(-1, 2))


def _relaxed(
    cells: NDArray[np.int64],
    fields: NDArray[np.float64],
    fixed: NDArray[np.int64],
    movable: NDArray[np.int64],
) -> NDArray[np.int64]:
    """Return where the movable places of one region come to stand, as cells, shape (k, 2).

    The fields are the gap and the height of the ground, shape (2, ny, nx).
    """
    cells = cells[:: max(1, len(cells) // _MOST_CELLS)]
    gaps, ground = fields[:, cells[:, 0], cells[:, 1]]
    wanted, most = fields[:, movable[:, 0], movable[:, 1]] * [[STILL_LOW], [1.0]]
    places = movable.astype(float)
    for _ in range(_ROUNDS):
        sites = np.concatenate([fixed.astype(float), places])
        away = np.hypot(*(cells[:, None, :] - sites[None]).transpose(2, 0, 1))
        nearest = away.argmin(axis=1)
        for k in range(len(places)):
            served = cells[nearest == len(fixed) + k]
            good = (gaps >= wanted[k]) & (ground <= most[k] + _EVEN_MM)
            lowest = cells[(nearest == len(fixed) + k) & good]
            if len(lowest):
                off = np.hypot(*(lowest - served.mean(axis=0)).T)
                places[k] = lowest[int(off.argmin())]
    return places.astype(np.int64)


def _moved(
    place: LowPlace, cell: Sequence[int], low: NDArray[np.float64], relief: Relief
) -> LowPlace:
    row, column = cell
    x, y = relief.places_mm(np.array([[row, column]]))[0]
    return replace(
        place, x_mm=float(x), y_mm=float(y), z_mm=float(relief.on_table_mm[row, column]),
        gap_mm=float(low[row, column]),
    )  # fmt: skip
