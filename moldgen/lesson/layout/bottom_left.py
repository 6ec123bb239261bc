"""LayoutPiece after piece into the leftmost and lowest place that is free."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from moldgen.lesson.layout.raster import TaskRaster


@dataclass(frozen=True, slots=True)
class PieceSpot:
    """Where one piece lies.

    Attributes
    ----------
    piece, shot, turn : int
        Its number, the area it lies on, the number of its turn.
    x_mm, y_mm : float
        Lower left corner of its box, from that of the area. [mm]
    end_mm : float
        Right end of its box. [mm]
    """

    piece: int
    shot: int
    turn: int
    x_mm: float
    y_mm: float
    end_mm: float


class _Filling:
    """One area that is being filled: what lies there, and where there is still room."""

    def __init__(self, raster: TaskRaster) -> None:
        self._raster = raster
        self._lies: list[tuple[int, int, int]] = []
        self._free: dict[tuple[int, int], tuple[int, int]] = {}
        self.closed = False

    @property
    def is_empty(self) -> bool:
        """Whether nothing lies here."""
        return not self._lies

    def first_place(self, shape: int, turn: int) -> int:
        """Return the first free place of a shape at a turn; -1 if there is none."""
        key = shape, turn
        known, free = self._free.get(key) or (0, self._raster.room(shape, turn))
        for fixed, at, place in self._lies[known:]:
            meetings, down = self._raster.meetings((fixed, at), key)
            shift = place - down
            free &= ~(meetings << shift if shift >= 0 else meetings >> -shift)
        self._free[key] = len(self._lies), free
        return (free & -free).bit_length() - 1

    def put(self, shape: int, turn: int, place: int) -> None:
        """Lay a shape down."""
        self._lies.append((shape, turn, place))


def bottom_left(
    raster: TaskRaster, order: Sequence[int], turns: Sequence[int | None]
) -> tuple[PieceSpot, ...]:
    """Lay pieces down in an order, each in the first area that has room.

    Parameters
    ----------
    raster : TaskRaster
        The task on cells.
    order : sequence of int
        Numbers of pieces.
    turns : sequence of int or None
        For each piece of the task the number of its turn; None for the one at which it ends
        farthest to the left, of the right angles or of all where there is none.

    Returns
    -------
    tuple of PieceSpot
        In that order; a piece for which an empty area has no room is missing.
    """
    fillings: list[_Filling] = []
    spots = []
    for piece in order:
        spot = _laid(raster, fillings, piece, turns[piece])
        if spot is not None:
            spots.append(spot)
    return tuple(spots)


def _laid(
    raster: TaskRaster, fillings: list[_Filling], piece: int, turn: int | None
) -> PieceSpot | None:
    """Lay a piece down, at any turn if it goes nowhere at those that are tried first."""
    first = raster.free_turns if turn is None else (turn,)
    others = tuple(k for k in range(len(raster.task.turns_deg)) if k not in first)
    return (
        _laid_at(raster, fillings, piece, first)
        or _laid_at(raster, fillings, piece, others)
        or _laid_alone(raster, fillings, piece)
    )


def _laid_at(
    raster: TaskRaster, fillings: list[_Filling], piece: int, turns: Sequence[int]
) -> PieceSpot | None:
    """Lay a piece down at the best of some turns, in the first area that has room."""
    shape, alone = raster.shape_of[piece], raster.task.pieces[piece].alone
    for number, filling in enumerate([*fillings, _Filling(raster)]):
        if filling.closed or (alone and not filling.is_empty):
            continue
        places = [(turn, filling.first_place(shape, turn)) for turn in turns]
        spots = [(_spot(raster, piece, number, *one), one) for one in places if one[1] >= 0]
        if spots:
            best, (turn, place) = min(spots, key=lambda pair: _farness(pair[0]))
            filling.put(shape, turn, place)
            filling.closed = alone
            if number == len(fillings):
                fillings.append(filling)
            return best
    return None


def _laid_alone(raster: TaskRaster, fillings: list[_Filling], piece: int) -> PieceSpot | None:
    """Lay a piece in the middle of an area of its own, if it fits there but not on the cells."""
    task = raster.task
    if task.area.keep_outs:
        return None
    room = [side - 2 * task.edges_mm[piece] for side in (task.area.width_mm, task.area.depth_mm)]
    for turn in range(len(task.turns_deg)):
        width, depth = raster.turned(raster.shape_of[piece], turn).size_mm
        if width <= room[0] + _SLACK_MM and depth <= room[1] + _SLACK_MM:
            filling = _Filling(raster)
            filling.closed = True
            fillings.append(filling)
            x, y = (task.area.width_mm - width) / 2, (task.area.depth_mm - depth) / 2
            return PieceSpot(piece, len(fillings) - 1, turn, x, y, x + width)
    return None


_SLACK_MM = 1e-9


def _farness(spot: PieceSpot) -> tuple[float, float, float]:
    return round(spot.end_mm, 6), spot.x_mm, spot.y_mm


def _spot(raster: TaskRaster, piece: int, number: int, turn: int, place: int) -> PieceSpot:
    column, row = divmod(place, raster.stride)
    x, y = (raster.edge_mm + cell * raster.cell_mm for cell in (column, row))
    width = raster.turned(raster.shape_of[piece], turn).size_mm[0]
    return PieceSpot(piece, number, turn, x, y, x + width)
