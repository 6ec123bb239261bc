"""Blanks cut from stock sheets by straight cuts from edge to edge, as a shear or a saw makes them.

Each cut parts one rectangle in two and takes the kerf with it; what is left over is an offcut.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import product

from moldgen.errors import SpecError

_SLACK_MM = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Rect:
    """A rectangle of sheet.

    Attributes
    ----------
    x_mm, y_mm : float
        Its lower left corner on the stock sheet. [mm]
    width_mm, depth_mm : float
        Its sides along x and y. [mm]
    """

    x_mm: float
    y_mm: float
    width_mm: float
    depth_mm: float

    @property
    def area_mm2(self) -> float:
        """Its area. [mm²]."""
        return self.width_mm * self.depth_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class Blank:
    """A rectangle that is wanted.

    Attributes
    ----------
    name : str
        What it is for.
    width_mm, depth_mm : float
        Its sides; the film's grain runs along the first. [mm]
    """

    name: str
    width_mm: float
    depth_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CutBlank:
    """A blank on its stock sheet.

    Attributes
    ----------
    blank : int
        Its number among those wanted.
    rect : Rect
        Where it lies.
    turned : bool
        Whether it lies a quarter turn round.
    """

    blank: int
    rect: Rect
    turned: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class StraightCut:
    """One straight cut through a rectangle, from edge to edge.

    Attributes
    ----------
    of : Rect
        What is parted.
    upright : bool
        Whether it runs along y.
    at_mm : float
        From the left or lower edge of that rectangle to the cut. [mm]
    kerf : Rect
        What the cut takes away.
    """

    of: Rect
    upright: bool
    at_mm: float
    kerf: Rect


@dataclass(frozen=True, slots=True, kw_only=True)
class CutSheet:
    """One stock sheet, cut up.

    Attributes
    ----------
    blanks : tuple of CutBlank
        What is cut from it.
    cuts : tuple of StraightCut
        In the order in which they are made.
    offcuts : tuple of Rect
        What is left over.
    """

    blanks: tuple[CutBlank, ...]
    cuts: tuple[StraightCut, ...]
    offcuts: tuple[Rect, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CutTask:
    """What is to be cut from what.

    Attributes
    ----------
    width_mm, depth_mm : float
        Sides of a stock sheet; the film's grain runs along the first. [mm]
    kerf_mm : float
        What a cut takes away; 0 for knife and shear. [mm]
    may_turn : bool
        Whether a blank may lie with its grain across.
    """

    width_mm: float
    depth_mm: float
    kerf_mm: float = 0.0
    may_turn: bool = True


_Choice = tuple[bool, bool, int]
"""Turned first; which side is cut through first; in what order blanks are tried."""


def cut_blanks(blanks: Sequence[Blank], task: CutTask) -> tuple[CutSheet, ...]:
    """Return how blanks are cut from as few stock sheets, with offcuts as large, as are found.

    Parameters
    ----------
    blanks : sequence of Blank
        What is wanted, one for each.
    task : CutTask
        Stock, kerf and whether blanks may be turned.

    Raises
    ------
    SpecError
        If a blank is larger than a stock sheet.

    Notes
    -----
    Blank by blank into the first free rectangle that has room, split from edge to edge; the best
    of all fixed ways to turn, to split and to order, and of those that change from row to row.
    """
    for one in blanks:
        _refuse_large(one, task)
    ways = [_cut_all(blanks, task, way) for way in _ways(task)]
    return min(ways, key=_worth)


def _ways(task: CutTask) -> Iterator[_Choice]:
    yield from product((False, True) if task.may_turn else (False,), (False, True), range(3))


def _worth(sheets: tuple[CutSheet, ...]) -> tuple[float, ...]:
    """Return what is best when least: sheets, then the lack of large offcuts, then cuts."""
    largest = max((one.area_mm2 for sheet in sheets for one in sheet.offcuts), default=0.0)
    return len(sheets), -round(largest, 3), sum(len(sheet.cuts) for sheet in sheets)


_ORDERS: tuple[Callable[[Blank], tuple[float, float]], ...] = (
    lambda one: (-one.width_mm * one.depth_mm, -one.width_mm),
    lambda one: (-max(one.width_mm, one.depth_mm), -one.depth_mm),
    lambda one: (-one.depth_mm, -one.width_mm),
)


def _cut_all(blanks: Sequence[Blank], task: CutTask, way: _Choice) -> tuple[CutSheet, ...]:
    left = sorted(range(len(blanks)), key=lambda k: (*_ORDERS[way[2]](blanks[k]), k))
    sheets = []
    while left:
        cutting = _Cutting(blanks, task, way, left)
        whole = Rect(x_mm=0.0, y_mm=0.0, width_mm=task.width_mm, depth_mm=task.depth_mm)
        cutting.fill(whole)
        left = cutting.left
        sheets.append(cutting.done())
    return tuple(sheets)


class _Cutting:
    """One stock sheet while it is cut up."""

    def __init__(
        self, blanks: Sequence[Blank], task: CutTask, way: _Choice, left: Sequence[int]
    ) -> None:
        self._blanks, self._task, self._way = blanks, task, way
        self.left = list(left)
        self._placed: list[CutBlank] = []
        self._cuts: list[StraightCut] = []
        self._offcuts: list[Rect] = []

    def done(self) -> CutSheet:
        """Return the sheet as it has been cut."""
        return CutSheet(
            blanks=tuple(self._placed), cuts=tuple(self._cuts), offcuts=tuple(self._offcuts)
        )

    def fill(self, free: Rect) -> None:
        """Cut the first blank that fits out of a free rectangle, and fill what is left of it."""
        for k in self.left:
            turned = self._turned(self._blanks[k], free)
            if turned is not None:
                self.left.remove(k)
                self._cut_out(k, free, turned)
                return
        if free.area_mm2 > _SLACK_MM:
            self._offcuts.append(free)

    def _turned(self, blank: Blank, free: Rect) -> bool | None:
        """Return whether a blank lies turned in a free rectangle; None if it does not fit."""
        ways = (self._way[0], not self._way[0]) if self._task.may_turn else (False,)
        fitting = [
            turned for turned in ways
            if all(
                side <= room + _SLACK_MM
                for side, room in zip(
                    _sides(blank, turned), (free.width_mm, free.depth_mm), strict=True
                )
            )
        ]  # fmt: skip
        return fitting[0] if fitting else None

    def _cut_out(self, k: int, free: Rect, turned: bool) -> None:
        width, depth = _sides(self._blanks[k], turned)
        upright = self._way[1]
        first, rest = self._part(free, width if upright else depth, upright=upright)
        own, beside = self._part(first, depth if upright else width, upright=not upright)
        self._placed.append(CutBlank(blank=k, rect=own, turned=turned))
        for one in (beside, rest):
            if one is not None:
                self.fill(one)

    def _part(self, of: Rect, at_mm: float, *, upright: bool) -> tuple[Rect, Rect | None]:
        """Cut a rectangle; the same and nothing if it is no larger than asked for."""
        whole = of.width_mm if upright else of.depth_mm
        if whole - at_mm <= _SLACK_MM:
            return of, None
        kerf = min(self._task.kerf_mm, whole - at_mm)
        near = _slice(of, 0.0, at_mm, upright=upright)
        lost = _slice(of, at_mm, kerf, upright=upright)
        far = _slice(of, at_mm + kerf, whole - at_mm - kerf, upright=upright)
        self._cuts.append(StraightCut(of=of, upright=upright, at_mm=at_mm, kerf=lost))
        return near, far if far.area_mm2 > _SLACK_MM else None


def _slice(of: Rect, start_mm: float, size_mm: float, *, upright: bool) -> Rect:
    if upright:
        return Rect(x_mm=of.x_mm + start_mm, y_mm=of.y_mm, width_mm=size_mm, depth_mm=of.depth_mm)
    return Rect(x_mm=of.x_mm, y_mm=of.y_mm + start_mm, width_mm=of.width_mm, depth_mm=size_mm)


def _sides(blank: Blank, turned: bool) -> tuple[float, float]:
    sides = blank.width_mm, blank.depth_mm
    return (sides[1], sides[0]) if turned else sides


def _refuse_large(blank: Blank, task: CutTask) -> None:
    stock = task.width_mm + _SLACK_MM, task.depth_mm + _SLACK_MM
    ways = [_sides(blank, turned) for turned in ((False, True) if task.may_turn else (False,))]
    if not any(width <= stock[0] and depth <= stock[1] for width, depth in ways):
        hint = "Name a larger stock sheet" + (
            "." if task.may_turn else ", or let blanks be turned."
        )
        raise SpecError(
            "stock_sheet", f"large enough for the blank of {blank.name}, "
            f"{blank.width_mm:g} x {blank.depth_mm:g} mm",
            f"{task.width_mm:g} x {task.depth_mm:g} mm", hint,
        )  # fmt: skip
