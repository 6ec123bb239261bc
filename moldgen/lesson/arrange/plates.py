"""Bodies on the beds of a printer."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace

import shapely

from moldgen.lesson.arrange.molds import ArrangedMold, moved_mesh
from moldgen.lesson.layout.keep import EarlierShots, Stay, stayed
from moldgen.lesson.layout.piece import (
    QUARTER_TURNS_DEG,
    LayoutArea,
    LayoutPiece,
    LayoutTask,
    LeftOut,
    PieceLayout,
    Shot,
    even_gaps,
)
from moldgen.lesson.layout.search import lay_out, lay_out_tighter
from moldgen.printing.bed_fit import MARGIN_MM, bed_fit
from moldgen.printing.pack import APART_MM
from moldgen.solid.mesh import Body
from moldgen.stock import Printer


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Plates:
    """The bodies of all molds on plates.

    Attributes
    ----------
    layout : PieceLayout
        A shot is one plate; a piece is one body.
    owners : tuple of (int, int)
        For each piece the number of its mold, and of the body in that mold.
    filaments : tuple of str
        From which filament each plate is printed: all that is on it.
    stay : Stay
        What became of the places of an earlier arrangement.
    """

    layout: PieceLayout
    owners: tuple[tuple[int, int], ...]
    filaments: tuple[str, ...]
    stay: Stay = Stay.FIRST

    @property
    def mixed(self) -> bool:
        """Whether one plate is printed from another filament than the next."""
        return len(set(self.filaments)) > 1

    def bodies(self, plate: Shot, molds: Sequence[ArrangedMold]) -> tuple[Body, ...]:
        """Return the finished bodies of a plate where they are printed, each with its name.

        All stages of their molds are computed for it.
        """
        made = []
        for placing in plate.placings:
            mold, body = self.owners[placing.piece]
            name = self.layout.task.pieces[placing.piece].name
            made.append(Body(name, moved_mesh(molds[mold].finished()[body], placing)))
        return tuple(made)


def arrange_plates(
    molds: Sequence[ArrangedMold],
    printer: Printer,
    *,
    tighter: bool = False,
    seed: int = 0,
    before: EarlierShots = (),
) -> Plates:
    """Lay the bodies of molds out on as few plates as are found, each of one filament.

    Parameters
    ----------
    molds : sequence of ArrangedMold
        What is printed.
    printer : Printer
        On which bed.
    tighter, seed : bool, int
        Whether fewer plates are searched for, and how.
    before : EarlierShots
        Where they lay in an earlier arrangement.
    """
    pieces, owners = _pieces(molds)
    fits = [bed_fit(piece.outline, piece.height_mm, printer) for piece in pieces]
    slanted = {round(fit.turn_deg, 3) for fit in fits if fit.turn_deg is not None} - {0.0, 90.0}
    fitting = [k for k, fit in enumerate(fits) if fit.fits]
    area = LayoutArea(
        name=f"the bed of the printer {printer.name}",
        width_mm=printer.bed_width_mm, depth_mm=printer.bed_depth_mm,
    )  # fmt: skip
    turns_deg = (*QUARTER_TURNS_DEG, *sorted(slanted))
    marks = body_marks(molds, owners)
    groups = list(_by_filament(molds, owners, fitting))
    made: list[_Group] = []
    for group in groups:
        task = _task(area, [pieces[k] for k in group], turns_deg)
        fresh = lay_out_tighter(task, seed=seed) if tighter else lay_out(task)
        own = [marks[k] for k in group]
        earlier = before if len(groups) == 1 else _with_any(before, own)
        made.append((group, *stayed(fresh, own, earlier)))
    return Plates(
        layout=_whole(pieces, made, task=_task(area, pieces, turns_deg), fitting=fitting),
        owners=tuple(owners),
        filaments=tuple(
            molds[owners[group[0]][0]].setting.filament.name
            for group, laid, _ in made
            for _ in laid.shots
        ),
        stay=_stay_of([stay for _, _, stay in made]) if before else Stay.FIRST,
    )


_Group = tuple[list[int], PieceLayout, Stay]
"""Numbers of the bodies of one filament, how they are laid out, and what became of before."""


def _by_filament(
    molds: Sequence[ArrangedMold], owners: Sequence[tuple[int, int]], numbers: Sequence[int]
) -> Iterator[list[int]]:
    """Yield the bodies that are printed from the same filament, in the order given."""
    groups: dict[str, list[int]] = {}
    for k in numbers:
        groups.setdefault(molds[owners[k][0]].setting.filament.name, []).append(k)
    yield from groups.values()


def _whole(
    pieces: Sequence[LayoutPiece],
    made: Sequence[_Group],
    *,
    task: LayoutTask,
    fitting: Sequence[int],
) -> PieceLayout:
    """Return the layouts of all groups as one, with the bodies that fit no bed left out."""
    shots = [
        Shot(placings=tuple(replace(one, piece=group[one.piece]) for one in shot.placings))
        for group, laid, _ in made
        for shot in laid.shots
    ]
    over = [
        replace(one, piece=group[one.piece]) for group, laid, _ in made for one in laid.left_out
    ]
    reason = f"does not fit {task.area.name} in any turn; split it, or take a larger printer"
    beyond = [LeftOut(piece=k, reason=reason) for k in range(len(pieces)) if k not in set(fitting)]
    return PieceLayout(task=task, shots=tuple(shots), left_out=(*over, *beyond))


def _task(
    area: LayoutArea, pieces: Sequence[LayoutPiece], turns_deg: tuple[float, ...]
) -> LayoutTask:
    return LayoutTask(
        area=area,
        pieces=tuple(pieces),
        gaps_mm=even_gaps(len(pieces), APART_MM),
        edges_mm=(MARGIN_MM,) * len(pieces),
        turns_deg=turns_deg,
    )


def _with_any(before: EarlierShots, marks: Collection[str]) -> EarlierShots:
    return tuple(shot for shot in before if any(place.mark in marks for place in shot))


def _stay_of(stays: Sequence[Stay]) -> Stay:
    """Return what became of an earlier layout as a whole; a filament that is new changes none."""
    for worst in (Stay.ANEW, Stay.KEPT):
        if worst in stays:
            return worst
    return Stay.SAME


def body_marks(molds: Sequence[ArrangedMold], owners: Sequence[tuple[int, int]]) -> list[str]:
    """Return what each body is known by from one arrangement to the next."""
    return [f"{molds[mold].mark} {body}" for mold, body in owners]


def _pieces(molds: Sequence[ArrangedMold]) -> tuple[list[LayoutPiece], list[tuple[int, int]]]:
    pieces, owners = [], []
    for number, mold in enumerate(molds):
        bodies, name = mold.shape.bodies, mold.piece.name
        for body, one in enumerate(bodies):
            own = name if len(bodies) == 1 else f"{name}, {one.name}"
            pieces.append(replace(one, name=own))
            owners.append((number, body))
    return pieces, owners


def covered_share(layout: PieceLayout) -> float:
    """Return the share of all plates or openings that is covered. [-]."""
    area = layout.task.area
    covered = sum(float(shapely.area(layout.regions(shot)).sum()) for shot in layout.shots)
    return covered / max(len(layout.shots) * area.width_mm * area.depth_mm, 1e-9)
