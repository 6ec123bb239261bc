"""A layout that stays as it was: what lay somewhere stays there, what is new takes a free place."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import Enum

from shapely.affinity import rotate

from moldgen.lesson.layout.piece import (
    LayoutArea,
    LayoutPiece,
    LayoutTask,
    PieceLayout,
    Placing,
    Shot,
)
from moldgen.lesson.layout.search import lay_out
from moldgen.lesson.layout.verify import SLACK_MM, faults_of, faults_of_shot

_RASTER_MM = 0.01
"""What the corners of a rounded outline lie inside of it, at the most. [mm]."""


class Stay(Enum):
    """What became of an earlier layout."""

    FIRST = "there was none"
    SAME = "kept, and laid out anew it would be the same"
    KEPT = "kept, though laid out anew it would be another"
    ANEW = "given up: what is new does not fit into it, or fewer areas are enough"


@dataclass(frozen=True, slots=True, kw_only=True)
class EarlierPlace:
    """Where something lay in an earlier layout.

    Attributes
    ----------
    mark : str
        What it was.
    x_mm, y_mm, turn_deg : float
        Its placing. [mm, °]
    middle_mm : (x, y)
        Middle of its foot's box where it lay. [mm]
    """

    mark: str
    x_mm: float
    y_mm: float
    turn_deg: float
    middle_mm: tuple[float, float]

    def same(self, piece: int) -> Placing:
        """Return the placing of the same thing, a piece of another layout now."""
        return Placing(piece=piece, x_mm=self.x_mm, y_mm=self.y_mm, turn_deg=self.turn_deg)

    def for_another(self, number: int, piece: LayoutPiece) -> Placing:
        """Return the placing of something else, its middle where that of the former was."""
        own = _middle_mm(rotate(piece.outline, self.turn_deg, origin=(0.0, 0.0)).bounds)
        x_mm, y_mm = self.middle_mm[0] - own[0], self.middle_mm[1] - own[1]
        # Of one size they lie to the last bit alike, so that a change taken back leaves no trace.
        if max(abs(x_mm - self.x_mm), abs(y_mm - self.y_mm)) < SLACK_MM:
            return self.same(number)
        return Placing(piece=number, x_mm=x_mm, y_mm=y_mm, turn_deg=self.turn_deg)


EarlierShots = tuple[tuple[EarlierPlace, ...], ...]
"""What lay on each filled area."""


def places_of(layout: PieceLayout, marks: Sequence[str]) -> EarlierShots:
    """Return where everything lies in a layout, for the next one.

    Parameters
    ----------
    layout : PieceLayout
        A layout.
    marks : sequence of str
        What each of its pieces is: pieces of one mark are alike.
    """
    return tuple(
        tuple(
            EarlierPlace(
                mark=marks[one.piece], x_mm=one.x_mm, y_mm=one.y_mm, turn_deg=one.turn_deg,
                middle_mm=_middle_mm(one.region(layout.task.pieces[one.piece]).bounds),
            )
            for one in shot.placings
        )
        for shot in layout.shots
    )  # fmt: skip


def stayed(
    fresh: PieceLayout, marks: Sequence[str], before: EarlierShots
) -> tuple[PieceLayout, Stay]:
    """Return pieces laid out where they lay before, if that can be, and what became of it.

    What lay somewhere lies there again. What is new takes the first place that nobody has now and
    where it keeps all distances; what finds none is laid out in the room that is left beside the
    others, and then on areas of its own. Areas on which nothing is left are given up. A layout
    that takes more areas than it would anew is not kept.

    Parameters
    ----------
    fresh : PieceLayout
        The same pieces laid out anew.
    marks : sequence of str
        What each piece is.
    before : EarlierShots
        The earlier layout; empty if there is none.
    """
    if not before:
        return fresh, Stay.FIRST
    kept = _as_before(fresh, marks, before)
    if kept is None or len(kept.shots) > len(fresh.shots):
        return fresh, Stay.ANEW
    return kept, Stay.SAME if kept.shots == fresh.shots else Stay.KEPT


def _as_before(
    fresh: PieceLayout, marks: Sequence[str], before: EarlierShots
) -> PieceLayout | None:
    task, beyond = fresh.task, {one.piece for one in fresh.left_out}
    shots: list[list[Placing]] = [[] for _ in before]
    wanted = [number for number in range(len(marks)) if number not in beyond]
    left, free = _same(wanted, marks, before, shots)
    over = [number for number in left if not _take_place(task, number, free, shots)]
    over = _filled_up(task, over, shots)
    shots += [list(shot.placings) for shot in _laid_out(task, over, task.area)]
    made = tuple(
        Shot(placings=tuple(sorted(shot, key=lambda one: one.piece))) for shot in shots if shot
    )
    layout = PieceLayout(task=task, shots=made, left_out=fresh.left_out)
    return None if faults_of(layout) else layout


def _filled_up(
    task: LayoutTask, numbers: Sequence[int], shots: Sequence[list[Placing]]
) -> list[int]:
    """Lay pieces out beside what lies on areas already; return those that find no room."""
    left = list(numbers)
    for shot in shots:
        social = [k for k in left if not task.pieces[k].alone]
        if not social or not shot or any(task.pieces[one.piece].alone for one in shot):
            continue
        # The largest distance that one of them asks for, so that it is enough for all.
        taken = tuple(
            one.region(task.pieces[one.piece]).buffer(
                max(task.gaps_mm[one.piece][k] for k in social) + _RASTER_MM, quad_segs=32
            )
            for one in shot
        )
        beside = replace(task.area, keep_outs=(*task.area.keep_outs, *taken))
        for found in _laid_out(task, social, beside)[:1]:
            shot += found.placings
            left = [k for k in left if k not in found.pieces]
    return left


def _laid_out(task: LayoutTask, numbers: Sequence[int], area: LayoutArea) -> tuple[Shot, ...]:
    """Return some of the pieces laid out by themselves; those that fit nowhere are left away."""
    if not numbers:
        return ()
    own = replace(
        task, area=area,
        pieces=tuple(task.pieces[k] for k in numbers),
        gaps_mm=tuple(tuple(task.gaps_mm[i][j] for j in numbers) for i in numbers),
        edges_mm=tuple(task.edges_mm[k] for k in numbers),
    )  # fmt: skip
    return tuple(
        Shot(placings=tuple(replace(one, piece=numbers[one.piece]) for one in shot.placings))
        for shot in lay_out(own).shots
    )


def _same(
    wanted: Sequence[int],
    marks: Sequence[str],
    before: EarlierShots,
    shots: list[list[Placing]],
) -> tuple[list[int], list[tuple[int, EarlierPlace]]]:
    """Place what was there; return the pieces that were not, and the places that are free now."""
    waiting: dict[str, list[int]] = {}
    for number in wanted:
        waiting.setdefault(marks[number], []).append(number)
    free = []
    for which, places in enumerate(before):
        for place in places:
            if waiting.get(place.mark):
                shots[which].append(place.same(waiting[place.mark].pop(0)))
            else:
                free.append((which, place))
    return sorted(number for numbers in waiting.values() for number in numbers), free


def _take_place(
    task: LayoutTask,
    number: int,
    free: list[tuple[int, EarlierPlace]],
    shots: list[list[Placing]],
) -> bool:
    for taken, placing in _tries(task, number, free):
        which = free[taken][0]
        shot = Shot(placings=(*shots[which], placing))
        if not any(faults_of_shot(PieceLayout(task=task, shots=(shot,)), shot)):
            shots[which].append(placing)
            del free[taken]
            return True
    return False


def _tries(
    task: LayoutTask, number: int, free: Sequence[tuple[int, EarlierPlace]]
) -> Iterator[tuple[int, Placing]]:
    for taken, (_, place) in enumerate(free):
        if place.turn_deg in task.turns_deg:
            yield taken, place.for_another(number, task.pieces[number])


def _middle_mm(bounds: tuple[float, float, float, float]) -> tuple[float, float]:
    return (bounds[0] + bounds[2]) / 2, (bounds[1] + bounds[3]) / 2
