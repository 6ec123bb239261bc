"""Compiled: what still moves of the sheet, copied out for a few dozen steps.

The points of a `MovingPart` are dealt out to two bands, and each band has the triangles that touch
its points; those on the border are worked out twice. So a band writes to its own points only, and
sums each point's forces in the order of the triangles: the result does not depend on how many
processors there are.

Arrays are taken out of their tuples before a loop, never in it: to take one out counts who holds
it, in memory that two processors would fight for.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from moldgen.arrays import Floats
from moldgen.compiling import njit
from moldgen.physics.membrane.force_kernel import (
    AT_ONCE,
    FREE,
    SheetConstants,
    energy_mm2,
    lengths_of_parts,
    pull,
)  # fmt: skip

Indices = NDArray[np.uint32]
N_POINTS, SPLIT, BORDER, BEYOND, END, N_ACTIVE = range(6)
"""What a part's extent tells: points, the second band's first; where the triangles on the border
and those beyond it begin and end; triangles of the sheet that still move."""


class State(NamedTuple):
    """What changes from step to step.

    Attributes
    ----------
    points : ndarray, shape (n, 3)
    speeds : ndarray, shape (n, 3)
        Way per step, seen from the clamp.
    drifts : ndarray, shape (n, 3)
        Speeds averaged over the steps just past; only what differs from them is damped, so that
        the sheet does not lag behind a mold that moves evenly.
    touches : ndarray of int8, shape (n,)
    arrival : ndarray, shape (n,)
    active : ndarray of uint32, shape (m,)
        Triangles that still move come first.
    """

    points: Floats
    speeds: Floats
    drifts: Floats
    touches: NDArray[np.int8]
    arrival: Floats
    active: Indices


class MovingPart(NamedTuple):
    """The points and triangles that still move, and the points those hang on.

    Attributes
    ----------
    points : ndarray, shape (2, n, 4)
        Positions before and after a step, in turn.
    momenta, drifts : ndarray, shape (n, 4)
        Masses times speeds.
    pulls, areas : ndarray, shape (2, n, 4)
        For each band the forces of the rubber, and swept volume per way of the point.
    ease, cross : ndarray, shape (n, 4)
        The inverse of the mass, diagonal and rest as in `weigh`; 0 for points that are not free.
    carried : ndarray, shape (n,)
        1 for a point that comes down with the clamp, else 0.
    rooms_mm : ndarray, shape (n,)
        Way that a point could go, as the part was copied out, before it could meet anything.
    traveled_mm : ndarray, shape (2, k)
        The longest way that any point of each batch of points of a band has gone since then.
    number : ndarray of uint32, shape (n,)
        Which point of the sheet it is.
    place : ndarray of int32, shape (n,)
        Which point of the part one of the sheet is, -1 for those left out.
    corners : ndarray of uint32, shape (m, 3)
    metric : ndarray, shape (m / b, 4, b)
        Both in batches of b.
    kinds : ndarray of uint8, shape (m,)
        Whether a triangle that still moves is before, on or beyond the border.
    waits : ndarray of int64, shape (2, m / b)
        For each band the first point that a batch, or any of the band behind it, touches.
    extent : ndarray of int64
    """

    points: Floats
    momenta: Floats
    drifts: Floats
    pulls: Floats
    areas: Floats
    ease: Floats
    cross: Floats
    carried: Floats
    rooms_mm: Floats
    traveled_mm: Floats
    number: Indices
    place: NDArray[np.int32]
    corners: Indices
    metric: Floats
    kinds: NDArray[np.uint8]
    waits: NDArray[np.int64]
    extent: NDArray[np.int64]


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
def edges_of(part: MovingPart, band: int) -> tuple[int, int]:
    """Return a band's first point and end."""
    extent = part.extent
    return (0, extent[SPLIT]) if band == 0 else (extent[SPLIT], extent[N_POINTS])


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
def section_of(part: MovingPart, band: int) -> tuple[int, int]:
    """Return a band's first triangle and end."""
    extent = part.extent
    return (0, extent[BEYOND]) if band == 0 else (extent[BORDER], extent[END])


@njit(cache=True, nogil=True, error_model="numpy")
def write_back(state: State, part: MovingPart, edges: tuple[int, int], turn: int) -> None:
    """Give the points of a band back to the sheet."""
    number, points, momenta, drifts = part.number, part.points, part.momenta, part.drifts
    ease, cross = part.ease, part.cross
    to_points, to_speeds, to_drifts = state.points, state.speeds, state.drifts
    for k in range(edges[0], edges[1]):
        i = number[k]
        for d in range(3):
            to_points[i, d] = points[turn, k, d]
            to_speeds[i, d] = times(ease, cross, momenta, k, d)
            to_drifts[i, d] = times(ease, cross, drifts, k, d)


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
def times(along: Floats, cross: Floats, rows: Floats, k: int, d: int) -> float:
    """Return one number of a row times its symmetric matrix."""
    after, before = (d + 1) % 3, (d + 2) % 3
    return (
        along[k, d] * rows[k, d] + cross[k, d] * rows[k, after] + cross[k, before] * rows[k, before]
    )


@njit(cache=True, nogil=True, error_model="numpy")
def weigh_up(
    sheet: SheetConstants,
    state: State,
    part: MovingPart,
    turn: int,
    pressure: float,
    clamp_mm: float,
) -> tuple[float, float, float]:
    """Return how far the sheet is from balance, its energy, and what the part has swept.

    The first is the free points' net forces over the forces that make them up, sums of lengths.
    """
    n, m = part.extent[N_POINTS], part.extent[END]
    corners, metric, points = part.corners[:m], part.metric[: m // AT_ONCE], part.points[turn]
    pulls, areas = np.zeros((n + 3, 4)), np.zeros((n + 3, 4))
    pull(corners, metric, sheet.law, points, pulls, areas)
    touches, number, net, swept = state.touches, part.number, 0.0, 0.0
    for k in range(n):
        swept += areas[k, 2] * (points[k, 2] - clamp_mm)
        if touches[number[k]] == FREE:
            squared = 0.0
            for d in range(3):
                squared += (pulls[k, d] + pressure * areas[k, d]) ** 2
            net += np.sqrt(squared)
    parts = lengths_of_parts(corners, metric, sheet.law, points, pressure, n)
    return net / parts if parts > 0.0 else 0.0, energy_mm2(sheet, state.points), swept
