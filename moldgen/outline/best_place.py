"""Best place: where on a flat a block of words, or any boxes that stay together, has most room."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon

from moldgen.arrays import Floats

Box = tuple[float, float, float, float]
"""Left, bottom, right, top. [mm]"""

FINEST_MM = 0.25
"""Distance between places that are tried, if the room is small enough for it. [mm]."""
_MOST_STEPS = 400
_TIE_MM = 1e-6


def row_boxes(parts: Sequence[MultiPolygon]) -> tuple[Box, ...]:
    """Return the boxes round parts that stand beside each other, one for each row. [mm].

    Parts belong to one row where their heights overlap, so that each line of a text has a box.
    """
    boxes = sorted((part.bounds for part in parts), key=lambda box: -box[3])
    rows: list[Box] = []
    for box in boxes:
        if rows and box[3] > rows[-1][1]:
            x0, y0, x1, y1 = rows[-1]
            rows[-1] = (min(x0, box[0]), min(y0, box[1]), max(x1, box[2]), max(y1, box[3]))
        else:
            rows.append(box)
    return tuple(rows)


def best_place(boxes: Sequence[Box], room: shapely.Geometry) -> tuple[float, float] | None:
    """Return how far boxes are moved together to lie within a room, or None if they nowhere fit.

    Of all places that one has most room whose boxes may grow farthest to every side; of equals, the
    one nearest the middle of the room.

    Parameters
    ----------
    boxes : sequence of boxes
        What shall lie inside, each wholly. [mm]
    room : Polygon or MultiPolygon
        Where. [mm]

    Notes
    -----
    The room is tried at nodes of a grid, which is symmetric about the middle of its box, so that
    symmetric rooms have symmetric places. A node counts only if all that is nearer to it than to
    other nodes lies inside: what is told to fit does fit.
    """
    if room.is_empty or not boxes:
        return None
    grid = _Grid(room)
    starts = grid.places(boxes, 0)
    if not starts.any():
        return None
    grown, too_far = 0, max(grid.inside.shape)
    while too_far - grown > 1:
        halfway = (grown + too_far) // 2
        if grid.places(boxes, halfway).any():
            grown = halfway
        else:
            too_far = halfway
    return grid.nearest(grid.places(boxes, grown), boxes)


class _Grid:
    """The nodes of a room, and which of them lie inside with all that is nearest to them."""

    def __init__(self, room: shapely.Geometry) -> None:
        x0, y0, x1, y1 = room.bounds
        self.step_mm = max(FINEST_MM, max(x1 - x0, y1 - y0) / _MOST_STEPS)
        self.x, self.y = (_nodes(a, b, self.step_mm) for a, b in ((x0, x1), (y0, y1)))
        core = shapely.buffer(room, -self.step_mm * np.sqrt(0.5))
        shapely.prepare(core)
        self.inside = shapely.contains_xy(core, *np.meshgrid(self.x, self.y))
        self._sums = np.pad(self.inside.astype(np.int64).cumsum(0).cumsum(1), ((1, 0), (1, 0)))
        self.middle = np.array([room.centroid.x, room.centroid.y])

    def places(self, boxes: Sequence[Box], grown: int) -> NDArray[np.bool_]:
        """Return at which nodes boxes whose origin is there lie inside, grown by so many steps."""
        fits = np.ones_like(self.inside)
        for x0, y0, x1, y1 in boxes:
            columns = self._span(x0, x1, grown)
            rows = self._span(y0, y1, grown)
            fits &= self._full(rows, columns)
        return np.asarray(fits, np.bool_)

    def _span(self, low: float, high: float, grown: int) -> tuple[int, int]:
        first = int(np.floor(low / self.step_mm + _TIE_MM)) - grown
        return first, int(np.ceil(high / self.step_mm - _TIE_MM)) + grown

    def _full(self, rows: tuple[int, int], columns: tuple[int, int]) -> NDArray[np.bool_]:
        """Return for each node whether all nodes of a window about it lie inside."""
        (n_rows, n_columns), sums = self.inside.shape, self._sums
        row, column = np.arange(n_rows), np.arange(n_columns)
        r0, r1 = row + rows[0], row + rows[1] + 1
        c0, c1 = column + columns[0], column + columns[1] + 1
        within = ((r0 >= 0) & (r1 <= n_rows))[:, None] & ((c0 >= 0) & (c1 <= n_columns))
        r0, r1 = (np.clip(side, 0, n_rows)[:, None] for side in (r0, r1))
        c0, c1 = (np.clip(side, 0, n_columns) for side in (c0, c1))
        count = sums[r1, c1] - sums[r0, c1] - sums[r1, c0] + sums[r0, c0]
        size = (rows[1] - rows[0] + 1) * (columns[1] - columns[0] + 1)
        return np.asarray(within & (count == size), np.bool_)

    def nearest(self, places: NDArray[np.bool_], boxes: Sequence[Box]) -> tuple[float, float]:
        """Return the node of those given that brings the boxes nearest the middle of the room."""
        rows, columns = np.nonzero(places)
        corners = np.array(boxes)
        own = (corners[:, :2].min(axis=0) + corners[:, 2:].max(axis=0)) / 2
        away = np.stack([self.x[columns], self.y[rows]], axis=1) + own - self.middle
        best = int(np.argmin(np.round(np.hypot(*away.T), 6)))
        return float(self.x[columns[best]]), float(self.y[rows[best]])


def _nodes(low: float, high: float, step_mm: float) -> Floats:
    """Return nodes from side to side, symmetric about the middle. [mm]."""
    half = int(np.floor((high - low) / 2 / step_mm))
    return np.asarray((low + high) / 2 + step_mm * np.arange(-half, half + 1), np.float64)
