"""Piece after piece into the leftmost and lowest place that is free."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from moldgen.lesson.layout.raster import TaskRaster


@dataclass(frozen=True, slots=True)
class Spot:
    """Where one piece lies, on cells.

    Attributes
    ----------
    piece, shot, turn : int
        Its number, the area it lies on, the number of its turn.
    column, row : int
        Lower left cell of its box.
    end_mm : float
        Right end of its box. [mm]
    """

    piece: int
    shot: int
    turn: int
    column: int
    row: int
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
) -> tuple[Spot, ...]:
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
    tuple of Spot
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
) -> Spot | None:
    """Lay a piece down, at any turn if it goes nowhere at those that are tried first."""
    first = raster.free_turns if turn is None else (turn,)
    others = tuple(k for k in range(len(raster.task.turns_deg)) if k not in first)
    return _laid_at(raster, fillings, piece, first) or _laid_at(raster, fillings, piece, others)


def _laid_at(
    raster: TaskRaster, fillings: list[_Filling], piece: int, turns: Sequence[int]
) -> Spot | None:
    """Lay a piece down at the best of some turns, in the first area that has room."""
    shape, alone = raster.shape_of[piece], raster.task.pieces[piece].alone
    for number, filling in enumerate([*fillings, _Filling(raster)]):
        if filling.closed or (alone and not filling.is_empty):
            continue
        spots = [_spot(raster, filling, piece, number, turn) for turn in turns]
        best = min((one for one in spots if one is not None), key=_farness, default=None)
        if best is not None:
            filling.put(shape, best.turn, best.column * raster.stride + best.row)
            filling.closed = alone
            if number == len(fillings):
                fillings.append(filling)
            return best
    return None


def _farness(spot: Spot) -> tuple[float, int, int]:
    return round(spot.end_mm, 6), spot.column, spot.row


def _spot(raster: TaskRaster, filling: _Filling, piece: int, number: int, turn: int) -> Spot | None:
    shape = raster.shape_of[piece]
    place = filling.first_place(shape, turn)
    if place < 0:
        return None
    column, row = divmod(place, raster.stride)
    end_mm = column * raster.cell_mm + raster.turned(shape, turn).size_mm[0]
    return Spot(piece, number, turn, column, row, end_mm)
