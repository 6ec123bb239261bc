"""What is laid out, on what, and where it lies: the data that every layout is said in."""

from __future__ import annotations

from dataclasses import dataclass

import shapely
from shapely import Polygon
from shapely.affinity import rotate, translate

from moldgen.errors import SpecError

QUARTER_TURNS_DEG = (0.0, 90.0, 180.0, 270.0)
"""Turns that keep what is straight straight. [°]."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LayoutPiece:
    """One thing to be laid out, seen from above.

    Attributes
    ----------
    name : str
        What findings, lists and templates call it.
    outline : Polygon
        Its foot without holes, in its own coordinates, up along y. [mm]
    height_mm : float
        How tall it stands. [mm]
    draft_deg : float
        Least draft of its outer walls. [°]
    flange_mm : float
        Sheet that the part keeps all round its foot after trimming. [mm]
    alone : bool
        Whether it needs a sheet of its own.
    """

    name: str
    outline: Polygon
    height_mm: float = 0.0
    draft_deg: float = 0.0
    flange_mm: float = 0.0
    alone: bool = False

    def __post_init__(self) -> None:
        if self.outline.is_empty or not self.outline.is_valid or self.outline.interiors:
            rule = "a valid polygon without holes"
            raise SpecError("outline", rule, self.name, "Take its outer line alone.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Placing:
    """Where a piece lies.

    Attributes
    ----------
    piece : int
        Its number in the layout's pieces.
    x_mm, y_mm : float
        Where its own origin lies, from the lower left corner of the area. [mm]
    turn_deg : float
        How far it is turned about its own origin, counter-clockwise. [°]
    """

    piece: int
    x_mm: float
    y_mm: float
    turn_deg: float

    def region(self, piece: LayoutPiece) -> Polygon:
        """Return the piece's foot where it lies. [mm]."""
        turned = rotate(piece.outline, self.turn_deg, origin=(0.0, 0.0))
        return translate(turned, self.x_mm, self.y_mm)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LayoutArea:
    """What pieces are laid on: a clear opening, a bed.

    Attributes
    ----------
    name : str
        What it is called.
    width_mm, depth_mm : float
        Its sides along x and y, from the corner at (0, 0). [mm]
    keep_outs : tuple of Polygon
        Where nothing may stand. [mm]
    """

    name: str
    width_mm: float
    depth_mm: float
    keep_outs: tuple[Polygon, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Shot:
    """One filled area: a sheet's forming, or a plate of the printer.

    Attributes
    ----------
    placings : tuple of Placing
        In the order of their pieces.
    """

    placings: tuple[Placing, ...]

    @property
    def pieces(self) -> tuple[int, ...]:
        """Numbers of what lies on it."""
        return tuple(one.piece for one in self.placings)


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """A piece that lies nowhere.

    Attributes
    ----------
    piece : int
        Its number in the layout's pieces.
    reason : str
        Why, in one sentence.
    """

    piece: int
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LayoutTask:
    """What is to be laid out, and what must be kept.

    Attributes
    ----------
    area : LayoutArea
        Of which as many are filled as it takes.
    pieces : tuple of LayoutPiece
        What is laid out.
    gaps_mm : tuple of tuple of float, shape (n, n)
        Least distance between the feet of two pieces, the same both ways. [mm]
    edges_mm : tuple of float, shape (n,)
        Least distance of each foot to the area's edge. [mm]
    turns_deg : tuple of float
        Turns that a piece may have, counter-clockwise. [°]
    """

    area: LayoutArea
    pieces: tuple[LayoutPiece, ...]
    gaps_mm: tuple[tuple[float, ...], ...]
    edges_mm: tuple[float, ...]
    turns_deg: tuple[float, ...] = QUARTER_TURNS_DEG

    def __post_init__(self) -> None:
        n = len(self.pieces)
        if len(self.edges_mm) != n or [len(row) for row in self.gaps_mm] != [n] * n:
            raise SpecError("gaps_mm and edges_mm", f"of {n} pieces", "another number")
        if any(self.gaps_mm[i][j] != self.gaps_mm[j][i] for i in range(n) for j in range(i)):
            raise SpecError("gaps_mm", "the same both ways", "two distances for a pair")
        if not self.turns_deg:
            raise SpecError("turns_deg", "at least one turn", "none", "Write 0.")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PieceLayout:
    """Pieces laid out.

    Attributes
    ----------
    task : LayoutTask
        What was asked for.
    shots : tuple of Shot
        Filled areas; each piece lies on one of them or is left out.
    left_out : tuple of LeftOut
        What lies nowhere, and why.
    """

    task: LayoutTask
    shots: tuple[Shot, ...]
    left_out: tuple[LeftOut, ...] = ()

    def regions(self, shot: Shot) -> tuple[Polygon, ...]:
        """Return the feet of all pieces of a shot where they lie. [mm]."""
        return tuple(one.region(self.task.pieces[one.piece]) for one in shot.placings)

    def fill(self, shot: Shot) -> float:
        """Return the share of the area that the feet of a shot cover. [-]."""
        area = self.task.area
        return float(shapely.area(self.regions(shot)).sum() / (area.width_mm * area.depth_mm))


def even_gaps(n_pieces: int, gap_mm: float) -> tuple[tuple[float, ...], ...]:
    """Return one distance for every pair of pieces, as a layout's task wants it. [mm]."""
    return ((gap_mm,) * n_pieces,) * n_pieces
