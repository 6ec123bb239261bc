"""Bodies on the beds of printers: those of one printer and filament share plates."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import shapely

from moldgen.export.mesh.threemf import WrittenBody
from moldgen.export.mesh.threemf_again import placed_body
from moldgen.lesson.arrange.molds import ArrangedMold
from moldgen.lesson.layout.keep import EarlierShots, Stay, stayed
from moldgen.lesson.layout.piece import (
    QUARTER_TURNS_DEG,
    LayoutArea,
    LayoutPiece,
    LayoutTask,
    LeftOut,
    PieceLayout,
    Placing,
    Shot,
    even_gaps,
)
from moldgen.lesson.layout.search import lay_out, lay_out_tighter
from moldgen.printing.bed_fit import MARGIN_MM, bed_fit
from moldgen.printing.pack import APART_MM
from moldgen.stock import Printer


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Plates:
    """The bodies of all molds of one printer and filament on plates.

    Attributes
    ----------
    printer : Printer
        On whose bed.
    filament : str
        From what.
    layout : PieceLayout
        A shot is one plate; a piece is one body.
    owners : tuple of (int, int)
        For each piece the number of its mold, and of the body in that mold.
    stay : Stay
        What became of the places of an earlier arrangement.
    """

    printer: Printer
    filament: str
    layout: PieceLayout
    owners: tuple[tuple[int, int], ...]
    stay: Stay = Stay.FIRST

    @property
    def mark(self) -> str:
        """What they are known by from one arrangement to the next."""
        return f"{self.printer.name} {self.filament}"

    def bodies(self, plate: Shot, molds: Sequence[ArrangedMold]) -> tuple[WrittenBody, ...]:
        """Return the finished bodies of a plate where they are printed, each with its name.

        All stages of their molds are computed for it.
        """
        return tuple(self._body(one, molds) for one in plate.placings)

    def _body(self, placing: Placing, molds: Sequence[ArrangedMold]) -> WrittenBody:
        mold, body = self.owners[placing.piece]
        return placed_body(
            molds[mold].finished()[body], name=self.layout.task.pieces[placing.piece].name,
            x_mm=placing.x_mm, y_mm=placing.y_mm, turn_deg=placing.turn_deg,
        )  # fmt: skip


def arrange_plates(
    molds: Sequence[ArrangedMold],
    *,
    others: Sequence[Printer] = (),
    tighter: bool = False,
    seed: int = 0,
    before: Mapping[str, EarlierShots] | None = None,
) -> tuple[Plates, ...]:
    """Lay the bodies of molds out on as few plates as are found, by printer and filament.

    Parameters
    ----------
    molds : sequence of ArrangedMold
        What is printed; molds that are not are passed over.
    others : sequence of Printer
        Printers that there are as well, for what its own one has no room for.
    tighter, seed : bool, int
        Whether fewer plates are searched for, and how.
    before : mapping of str to EarlierShots
        Where they lay in an earlier arrangement, by `Plates.mark`.
    """
    groups: dict[tuple[str, str], list[int]] = {}
    printers: dict[str, Printer] = {}
    for number, mold in enumerate(molds):
        if mold.setting.is_printed:
            printer = _printer_for(mold, others)
            printers.setdefault(printer.name, printer)
            groups.setdefault((printer.name, mold.setting.filament.name), []).append(number)
    return tuple(
        _arranged(
            molds, numbers, printers[printer], filament=filament, before=before or {},
            lay=lambda task: lay_out_tighter(task, seed=seed) if tighter else lay_out(task),
        )
        for (printer, filament), numbers in groups.items()
    )  # fmt: skip


def _printer_for(mold: ArrangedMold, others: Sequence[Printer]) -> Printer:
    """Return the printer of a mold; if it has no room for it, the first other one that has."""
    own = mold.setting.printer
    return next((one for one in (own, *others) if _has_room(one, mold)), own)


def _has_room(printer: Printer, mold: ArrangedMold) -> bool:
    return all(bed_fit(one.outline, one.height_mm, printer).fits for one in mold.shape.bodies)


def _arranged(
    molds: Sequence[ArrangedMold],
    numbers: Sequence[int],
    printer: Printer,
    *,
    filament: str,
    before: Mapping[str, EarlierShots],
    lay: Callable[[LayoutTask], PieceLayout],
) -> Plates:
    """Lay the bodies of some of the molds out on the beds of one printer."""
    pieces, owners = _pieces(molds, numbers)
    fits = [bed_fit(piece.outline, piece.height_mm, printer) for piece in pieces]
    slanted = {round(fit.turn_deg, 3) for fit in fits if fit.turn_deg is not None} - {0.0, 90.0}
    fitting = [k for k, fit in enumerate(fits) if fit.fits]
    task = LayoutTask(
        area=LayoutArea(
            name=f"the bed of the printer {printer.name}",
            width_mm=printer.bed_width_mm, depth_mm=printer.bed_depth_mm,
        ),
        pieces=tuple(pieces[k] for k in fitting),
        gaps_mm=even_gaps(len(fitting), APART_MM),
        edges_mm=(MARGIN_MM,) * len(fitting),
        turns_deg=(*QUARTER_TURNS_DEG, *sorted(slanted)),
    )  # fmt: skip
    marks = body_marks(molds, owners)
    found = Plates(
        printer=printer, filament=filament, owners=(), layout=PieceLayout(task=task, shots=())
    )
    laid, stay = stayed(lay(task), [marks[k] for k in fitting], before.get(found.mark, ()))
    layout, owned = _whole(laid, pieces, owners, fitting)
    return replace(found, layout=layout, owners=owned, stay=stay)


def body_marks(molds: Sequence[ArrangedMold], owners: Sequence[tuple[int, int]]) -> list[str]:
    """Return what each body is known by from one arrangement to the next."""
    return [f"{molds[mold].mark} {body}" for mold, body in owners]


def _whole(
    laid: PieceLayout,
    pieces: Sequence[LayoutPiece],
    owners: Sequence[tuple[int, int]],
    fitting: Sequence[int],
) -> tuple[PieceLayout, tuple[tuple[int, int], ...]]:
    """Return a layout of the bodies that fit, with those that do not left out, and the owners."""
    beyond = [k for k in range(len(pieces)) if k not in set(fitting)]
    numbers = [*fitting, *beyond]
    reason = f"does not fit {laid.task.area.name} in any turn"
    task = LayoutTask(
        area=laid.task.area,
        pieces=tuple(pieces[k] for k in numbers),
        gaps_mm=even_gaps(len(numbers), APART_MM),
        edges_mm=(MARGIN_MM,) * len(numbers),
        turns_deg=laid.task.turns_deg,
    )
    left_out = [LeftOut(piece=k, reason=reason) for k in range(len(fitting), len(numbers))]
    layout = PieceLayout(task=task, shots=laid.shots, left_out=(*laid.left_out, *left_out))
    return layout, tuple(owners[k] for k in numbers)


def _pieces(
    molds: Sequence[ArrangedMold], numbers: Sequence[int]
) -> tuple[list[LayoutPiece], list[tuple[int, int]]]:
    pieces, owners = [], []
    for number in numbers:
        bodies, name = molds[number].shape.bodies, molds[number].piece.name
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
