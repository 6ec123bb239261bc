"""Straight looks through a mold: how far it is from a place to the next wall."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from moldgen.arrays import Floats, Indices
from moldgen.compiling import njit
from moldgen.solid.zbuffer import in_bands

# More entries than this and the buckets get coarser: long triangles lie in many of them.
_MOST_ENTRIES = 3_000_000
# Fewer looks than this are done before a second thread has started.
_WORTH_THREADS = 2_000
_SPARE_STEPS, _MOST_STEPS = 16, 1e6


@dataclass(frozen=True, eq=False)
class Targets:
    """Triangles sorted into square buckets seen from above, to look at quickly.

    Attributes
    ----------
    corners_mm : ndarray, shape (m, 3, 3)
        Corners of the triangles. [mm]
    low_mm : ndarray, shape (2,)
        Least x and y of the buckets. [mm]
    bucket_mm : float
        Side of a bucket. [mm]
    shape : tuple of two ints
        Number of buckets along x and y.
    start, entries : ndarray
        Triangles of bucket i are ``entries[start[i]:start[i + 1]]``.
    """

    corners_mm: Floats
    low_mm: Floats
    bucket_mm: float
    shape: tuple[int, int]
    start: Indices
    entries: Indices

    def hits(
        self, places_mm: Floats, directions: Floats, reach_mm: float
    ) -> tuple[Floats, Indices]:
        """Return how far each look goes, and which triangle ends it.

        Parameters
        ----------
        places_mm, directions : ndarray, shape (n, 3)
            Where the looks start, and their unit directions. [mm]
        reach_mm : float
            How far to look. [mm]

        Returns
        -------
        distance_mm : ndarray, shape (n,)
            Distance to the first triangle; inf if there is none within reach. [mm]
        triangle : ndarray, shape (n,)
            That triangle; -1 if there is none.
        """
        if not len(self.corners_mm) or not len(places_mm):
            return np.full(len(places_mm), np.inf), np.full(len(places_mm), -1)
        places = np.ascontiguousarray(places_mm, dtype=np.float64)
        ways = np.ascontiguousarray(directions, dtype=np.float64)
        distance, triangle = np.full(len(places), np.inf), np.full(len(places), -1)
        in_bands(
            lambda first, end: _cast(
                places[first:end],
                ways[first:end],
                float(reach_mm),
                self.corners_mm,
                self.low_mm,
                self.bucket_mm,
                *self.shape,
                self.start,
                self.entries,
                distance[first:end],
                triangle[first:end],
            ),
            len(places),
            threads=len(places) > _WORTH_THREADS,
        )
        return distance, triangle


def targets(corners_mm: Floats) -> Targets:
    """Sort triangles into buckets, fine enough to hold a few of them each."""
    corners = np.ascontiguousarray(corners_mm, dtype=np.float64)
    if not len(corners):
        empty = np.empty(0, np.int64)
        return Targets(corners, np.zeros(2), 1.0, (0, 0), empty, empty)
    # Corner by corner: numpy takes ten times as long to reduce an axis of three.
    a, b, c = (corners[:, k, :2] for k in range(3))
    least, most = np.minimum(np.minimum(a, b), c), np.maximum(np.maximum(a, b), c)
    low = np.array([least[:, 0].min(), least[:, 1].min()])
    high = np.array([most[:, 0].max(), most[:, 1].max()])
    extent = np.maximum(high - low, 1e-9)
    bucket = float(0.5 * np.sqrt(extent.prod() / len(corners)) + extent.max() / 2000)
    while True:
        first = ((least - low) / bucket).astype(np.int64)
        last = ((most - low) / bucket).astype(np.int64)
        across = last - first + 1
        if (across[:, 0] * across[:, 1]).sum() <= _MOST_ENTRIES:
            break
        bucket *= 2
    nx, ny = (int(n) + 1 for n in (extent / bucket))
    start, entries = _sorted(first, last, nx, ny)
    return Targets(corners, low, bucket, (nx, ny), start, entries)


@njit(cache=True)
def _sorted(first: Indices, last: Indices, nx: int, ny: int) -> tuple[Indices, Indices]:
    start = np.zeros(nx * ny + 1, np.int64)
    for t in range(first.shape[0]):
        for j in range(first[t, 1], min(last[t, 1], ny - 1) + 1):
            for i in range(first[t, 0], min(last[t, 0], nx - 1) + 1):
                start[j * nx + i + 1] += 1
    for k in range(nx * ny):
        start[k + 1] += start[k]
    free = start.copy()
    entries = np.empty(start[-1], np.int64)
    for t in range(first.shape[0]):
        for j in range(first[t, 1], min(last[t, 1], ny - 1) + 1):
            for i in range(first[t, 0], min(last[t, 0], nx - 1) + 1):
                entries[free[j * nx + i]] = t
                free[j * nx + i] += 1
    return start, entries


@njit(cache=True)
def _distance(
    ox: float, oy: float, oz: float, dx: float, dy: float, dz: float, corner: Floats
) -> float:
    """Distance along a look to one triangle (Moeller and Trumbore 1997); inf for a miss."""
    ax, ay, az = corner[0, 0], corner[0, 1], corner[0, 2]
    ux, uy, uz = corner[1, 0] - ax, corner[1, 1] - ay, corner[1, 2] - az
    vx, vy, vz = corner[2, 0] - ax, corner[2, 1] - ay, corner[2, 2] - az
    px, py, pz = dy * vz - dz * vy, dz * vx - dx * vz, dx * vy - dy * vx
    det = ux * px + uy * py + uz * pz
    if det == 0.0:
        return np.inf
    sx, sy, sz = ox - ax, oy - ay, oz - az
    a = (sx * px + sy * py + sz * pz) / det
    if a < -1e-9 or a > 1 + 1e-9:
        return np.inf
    qx, qy, qz = sy * uz - sz * uy, sz * ux - sx * uz, sx * uy - sy * ux
    b = (dx * qx + dy * qy + dz * qz) / det
    if b < -1e-9 or a + b > 1 + 1e-9:
        return np.inf
    distance: float = (vx * qx + vy * qy + vz * qz) / det
    return distance if distance > 0 else np.inf


@njit(cache=True)
def _to_border(at: float, speed: float) -> float:
    """Distance along a look to the next whole number on one axis."""
    if speed > 0:
        return float(np.floor(at) + 1 - at) / speed
    if speed < 0:
        return float(np.floor(at) - at) / speed
    return float(np.inf)


@njit(cache=True, nogil=True)
def _cast(
    origins: Floats,
    directions: Floats,
    reach: float,
    corners: Floats,
    low: Floats,
    bucket: float,
    nx: int,
    ny: int,
    start: Indices,
    entries: Indices,
    nearest: Floats,
    hit: Indices,
) -> None:
    for k in range(origins.shape[0]):
        ox, oy, oz = origins[k]
        dx, dy, dz = directions[k]
        flat = np.sqrt(dx**2 + dy**2)
        along = 0.0
        last_i, last_j = -9, -9
        # So many columns and rows are crossed; next to a border it may take two steps.
        steps = int(min(4 * reach / bucket, _MOST_STEPS)) + 2 * (nx + ny) + _SPARE_STEPS
        for _ in range(steps):
            x = (ox + along * dx - low[0]) / bucket
            y = (oy + along * dy - low[1]) / bucket
            i, j = int(np.floor(x)), int(np.floor(y))
            if (i != last_i or j != last_j) and 0 <= i < nx and 0 <= j < ny:
                for t in entries[start[j * nx + i] : start[j * nx + i + 1]]:
                    distance = _distance(ox, oy, oz, dx, dy, dz, corners[t])
                    if distance < nearest[k] and distance <= reach:
                        nearest[k] = distance
                        hit[k] = t
            last_i, last_j = i, j
            if flat < 1e-12:
                break
            farther = along + bucket * (min(_to_border(x, dx), _to_border(y, dy)) + 1e-7)
            # A step below what the number resolves would be taken without end.
            if farther <= along or farther > min(reach, nearest[k]):
                break
            along = farther
