"""Local width: how far it is from a border straight across to the border opposite."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon

from moldgen.arrays import Floats
from moldgen.mold.checks.rays import targets
from moldgen.solid.polygons import rings_of

FACING = -0.9
"""Cosine between two outward directions from which borders count as opposite: within 26°."""


_NUDGE_MM = 1e-6


@dataclass(frozen=True, eq=False, kw_only=True)
class Widths:
    """Widths met from places along a border.

    Attributes
    ----------
    widths_mm : ndarray, shape (k,)
        Distance to the border opposite. [mm]
    middles_mm : ndarray, shape (k, 2)
        Half way across. [mm]
    shares_mm : ndarray, shape (k,)
        Length of border each place stands for. [mm]
    """

    widths_mm: Floats
    middles_mm: Floats
    shares_mm: Floats

    def below(self, limit_mm: float) -> Widths:
        """Return the places narrower than a limit."""
        return self._of(self.widths_mm < limit_mm)

    def long(self, times: float) -> Widths:
        """Return the places in stretches so many times as long as they are wide.

        Places hang together whose middles are within a width of each other; both borders count a
        stretch, so it is half as long as what they stand for.
        """
        if not len(self.widths_mm):
            return self
        reach_mm = float(self.widths_mm.max())
        discs = shapely.buffer(shapely.points(self.middles_mm), reach_mm / 2)
        pieces = shapely.get_parts(shapely.union_all(discs))
        tree = shapely.STRtree(pieces)
        place, piece = tree.query(shapely.points(self.middles_mm), predicate="intersects")
        owner = np.zeros(len(self.widths_mm), dtype=np.int64)
        owner[place] = piece
        length_mm = np.bincount(owner, self.shares_mm, len(pieces)) / 2
        width_mm = np.bincount(owner, self.widths_mm * self.shares_mm, len(pieces)) / (
            2 * np.maximum(length_mm, 1e-12)
        )
        return self._of((length_mm >= times * width_mm)[owner])

    def _of(self, chosen: NDArray[np.bool_]) -> Widths:
        return Widths(
            widths_mm=self.widths_mm[chosen],
            middles_mm=self.middles_mm[chosen],
            shares_mm=self.shares_mm[chosen],
        )

    @property
    def least(self) -> int:
        """Number of the narrowest place."""
        return int(np.argmin(self.widths_mm))


def widths_across(
    region: MultiPolygon, *, reach_mm: float, inward: bool, facing: float = FACING
) -> Widths:
    """Measure the strokes of a region, or the gaps in and between its pieces.

    Only borders that face each other count, so the ends of strokes and the tips of wedges do not.

    Parameters
    ----------
    region : MultiPolygon
        Outlines. [mm]
    reach_mm : float
        Widths beyond this are not looked for. [mm]
    inward : bool
        True for strokes, false for gaps.
    facing : float
        Cosine between two outward directions from which borders count as opposite. [-]
    """
    fine = shapely.segmentize(shapely.orient_polygons(region), max(reach_mm / 4, 0.2))
    rings = [np.asarray(ring.coords)[:, :2] for ring in rings_of(fine)]
    if not rings:
        return Widths(widths_mm=np.empty(0), middles_mm=np.empty((0, 2)), shares_mm=np.empty(0))
    start = np.concatenate([ring[:-1] for ring in rings])
    run = np.concatenate([np.diff(ring, axis=0) for ring in rings])
    length = np.linalg.norm(run, axis=1)
    kept = length > 0
    start, run, length = start[kept], run[kept], length[kept]
    # Solid lies to the left of every border, so to the right is outward.
    out = np.stack([run[:, 1], -run[:, 0]], axis=1) / length[:, None]
    return _measured(
        start, run, length, look=out if not inward else -out, out=out, reach_mm=reach_mm,
        opposite=facing,
    )  # fmt: skip


def _measured(
    start: Floats, run: Floats, length: Floats, *, look: Floats, out: Floats, reach_mm: float,
    opposite: float,
) -> Widths:  # fmt: skip
    """Look across from the middle of every border piece, at pieces made into low fences."""
    n = len(start)
    low, high = np.full((n, 1), -1.0), np.full((n, 1), 1.0)
    end = start + run
    fences = np.concatenate(
        [
            np.stack([np.c_[start, low], np.c_[end, low], np.c_[end, high]], axis=1),
            np.stack([np.c_[start, low], np.c_[end, high], np.c_[start, high]], axis=1),
        ]
    )
    middle = start + run / 2
    origin = np.c_[middle + _NUDGE_MM * look, np.zeros(n)]
    width, hit = targets(fences).hits(origin, np.c_[look, np.zeros(n)], reach_mm)
    width += _NUDGE_MM
    facing = np.zeros(n, bool)
    met = hit >= 0
    facing[met] = np.einsum("ij,ij->i", out[met], out[hit[met] % n]) < opposite
    return Widths(
        widths_mm=width[facing],
        middles_mm=(middle + look * np.where(facing, width, 0)[:, None] / 2)[facing],
        shares_mm=length[facing],
    )
