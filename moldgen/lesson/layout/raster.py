"""The pieces of a task as bitmaps: each shape at each turn, and where two of them meet."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor

import numpy as np
import shapely
from shapely import Polygon
from shapely.affinity import rotate, translate

from moldgen.lesson.layout.bitmap import Bitmap, Cells, bitmap_of, meeting_places, touched_cells
from moldgen.lesson.layout.piece import LayoutTask

LEAST_CELL_MM = 1.0
_MOST_CELLS = 700
"""Cells along the longer side of an area. [-]."""
_ARC_STEPS = 8
_NO_GAP_MM = 1e-6
_WORTH_KEEPING = 40_000
"""Pairs of turned shapes that are kept; beyond that all are forgotten."""


@dataclass(frozen=True, slots=True, eq=False)
class TurnedShape:
    """One shape at one turn, its box moved to the origin.

    Attributes
    ----------
    outline : Polygon
        From (0, 0). [mm]
    origin_mm : (x, y)
        Where the piece's own origin lies in it. [mm]
    size_mm : (width, depth)
        Of its box. [mm]
    bitmap : Bitmap
        The cells that it touches.
    """

    outline: Polygon
    origin_mm: tuple[float, float]
    size_mm: tuple[float, float]
    bitmap: Bitmap


class TaskRaster:
    """A task on cells: what may stand where, kept as it is found out.

    Pieces of one outline that ask for the same distances are one shape.

    Parameters
    ----------
    task : LayoutTask
        What is laid out.
    cell_mm : float, optional
        Side of a cell; by the size of the area if left out. [mm]
    """

    def __init__(self, task: LayoutTask, cell_mm: float | None = None) -> None:
        area = task.area
        longest_mm = max(area.width_mm, area.depth_mm)
        self.task = task
        self.cell_mm = cell_mm or max(LEAST_CELL_MM, longest_mm / _MOST_CELLS)
        self.edge_mm = min(task.edges_mm, default=0.0)
        straight = [k for k, turn in enumerate(task.turns_deg) if turn % 90 == 0]
        self.free_turns = tuple(straight or range(len(task.turns_deg)))
        self.shape_of, self._samples = _shapes_of(task)
        self.stride = self._stride()
        self._turned: dict[tuple[int, int], TurnedShape] = {}
        self._rounds: dict[tuple[int, float], Polygon] = {}
        self._grown: dict[tuple[int, int, float], tuple[Bitmap, int]] = {}
        self._meetings: dict[tuple[int, int, int, int], tuple[int, int]] = {}
        self._rooms: dict[tuple[int, int], int] = {}

    def turned(self, shape: int, turn: int) -> TurnedShape:
        """Return a shape at a turn."""
        key = shape, turn
        if key not in self._turned:
            self._turned[key] = self._turn(self._samples[shape], self.task.turns_deg[turn])
        return self._turned[key]

    def room(self, shape: int, turn: int) -> int:
        """Return the places of a shape's box in an empty area, as a bitmap."""
        key = shape, turn
        if key not in self._rooms:
            self._rooms[key] = self._room(shape, turn)
        return self._rooms[key]

    def meetings(self, fixed: tuple[int, int], moved: tuple[int, int]) -> tuple[int, int]:
        """Return where a shape would be too near another, and how far that is to be moved down.

        The other one lies at place 0.
        """
        key = (*fixed, *moved)
        if key not in self._meetings:
            if len(self._meetings) > _WORTH_KEEPING:
                self._meetings.clear()
            self._meetings[key] = self._meet(fixed, moved)
        return self._meetings[key]

    def gap_mm(self, one: int, other: int) -> float:
        """Return the distance that two shapes ask for. [mm]."""
        return self.task.gaps_mm[self._samples[one]][self._samples[other]]

    def _stride(self) -> int:
        """Return cells in a column: the area's, and what reaches beyond it."""
        task = self.task
        tallest = max(
            (shapely.minimum_bounding_radius(task.pieces[k].outline) * 2 for k in self._samples),
            default=0.0,
        )
        gap_mm = max((task.gaps_mm[k][j] for k in self._samples for j in self._samples), default=0)
        beyond = max(task.area.depth_mm + gap_mm, 2 * tallest + 2 * gap_mm)
        return ceil(beyond / self.cell_mm) + 8

    def _turn(self, piece: int, turn_deg: float) -> TurnedShape:
        turned = rotate(self.task.pieces[piece].outline, turn_deg, origin=(0.0, 0.0))
        x0, y0, x1, y1 = turned.bounds
        outline = translate(turned, -x0, -y0)
        bitmap = bitmap_of(self._cells(outline), stride=self.stride)
        return TurnedShape(outline, (-x0, -y0), (x1 - x0, y1 - y0), bitmap)

    def _cells(self, outline: Polygon) -> Cells:
        ring = np.maximum(shapely.get_coordinates(outline.exterior), 0.0)
        return touched_cells(ring, cell_mm=self.cell_mm)

    def _meet(self, fixed: tuple[int, int], moved: tuple[int, int]) -> tuple[int, int]:
        grown, beyond = self._grown_by(*fixed, self.gap_mm(fixed[0], moved[0]))
        bitmap = self.turned(*moved).bitmap
        places = meeting_places(grown, bitmap, stride=self.stride)
        down = (beyond + bitmap.columns - 1) * self.stride + beyond + bitmap.rows - 1
        return places, down

    def _grown_by(self, shape: int, turn: int, gap_mm: float) -> tuple[Bitmap, int]:
        """Return a shape with so much round it, and by how many cells it begins lower."""
        key = shape, turn, gap_mm
        if key not in self._grown:
            beyond = ceil(gap_mm / self.cell_mm - 1e-9)
            turned = rotate(
                self._round(shape, gap_mm), self.task.turns_deg[turn], origin=(0.0, 0.0)
            )
            x, y = (at + beyond * self.cell_mm for at in self.turned(shape, turn).origin_mm)
            bitmap = bitmap_of(self._cells(translate(turned, x, y)), stride=self.stride)
            self._grown[key] = bitmap, beyond
        return self._grown[key]

    def _round(self, shape: int, gap_mm: float) -> Polygon:
        """Return a shape with so much round it, unturned."""
        if (shape, gap_mm) not in self._rounds:
            outline = self.task.pieces[self._samples[shape]].outline
            self._rounds[shape, gap_mm] = grown(outline, gap_mm)
        return self._rounds[shape, gap_mm]

    def _room(self, shape: int, turn: int) -> int:
        task, turned = self.task, self.turned(shape, turn)
        edge_mm = task.edges_mm[self._samples[shape]] - self.edge_mm
        width, depth = task.area.width_mm, task.area.depth_mm
        spans = [
            range(
                ceil(edge_mm / self.cell_mm - 1e-9),
                floor((whole - 2 * self.edge_mm - edge_mm - size + 1e-6) / self.cell_mm) + 1,
            )
            for whole, size in zip((width, depth), turned.size_mm, strict=True)
        ]  # fmt: skip
        column = ((1 << len(spans[1])) - 1) << spans[1].start if spans[1] else 0
        places = 0
        for x in spans[0]:
            places |= column << (x * self.stride)
        for keep_out in task.area.keep_outs:
            places &= ~self._kept_out(keep_out, turned.bitmap)
        return places

    def _kept_out(self, region: Polygon, moved: Bitmap) -> int:
        """Return the places at which a shape would lie over a kept-out region."""
        clear = translate(region, -self.edge_mm, -self.edge_mm)
        inside = clear.intersection(shapely.box(0, 0, *self._inner_mm))
        forbidden = 0
        for part in shapely.get_parts(inside):
            if part.geom_type == "Polygon":
                fixed = bitmap_of(self._cells(part), stride=self.stride)
                places = meeting_places(fixed, moved, stride=self.stride)
                forbidden |= places >> ((moved.columns - 1) * self.stride + moved.rows - 1)
        return forbidden

    @property
    def _inner_mm(self) -> tuple[float, float]:
        area = self.task.area
        return area.width_mm - 2 * self.edge_mm, area.depth_mm - 2 * self.edge_mm


def grown(outline: Polygon, gap_mm: float) -> Polygon:
    """Return all that is nearer to an outline than a distance, and at its corners a little more.

    Sides move out by just the distance. Arcs are chords outside of the circle, which touch it
    where its tangent is level or upright, so that what stands straight gains nothing.
    """
    if gap_mm < _NO_GAP_MM:
        return outline
    inside = outline.buffer(gap_mm, quad_segs=_ARC_STEPS)
    steps = (np.arange(4 * _ARC_STEPS) + 0.5) * (np.pi / (2 * _ARC_STEPS))
    far_mm = gap_mm / np.cos(np.pi / (4 * _ARC_STEPS))
    arcs = far_mm * np.column_stack([np.cos(steps), np.sin(steps)])
    corners = shapely.get_coordinates(outline.exterior)[:-1]
    rounds = shapely.polygons(corners[:, None, :] + arcs)
    return Polygon(shapely.union_all([inside, *rounds]).exterior)


def _shapes_of(task: LayoutTask) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Return the shape of each piece, and one piece of each shape."""
    known: dict[object, int] = {}
    samples: list[int] = []
    shapes = []
    for k, piece in enumerate(task.pieces):
        key = piece.outline.wkb, task.edges_mm[k], piece.alone, task.gaps_mm[k]
        if key not in known:
            known[key] = len(samples)
            samples.append(k)
        shapes.append(known[key])
    return tuple(shapes), tuple(samples)
