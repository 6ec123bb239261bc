"""The files of an arrangement: templates at 1:1, plates, pictures, lists and a report."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from functools import cache, partial
from typing import TYPE_CHECKING

from moldgen.export.report.report import Picture, Report, cautions
from moldgen.job.command.arrange import ARRANGE_FORMATS
from moldgen.job.formats import Format
from moldgen.job.spec import Paper
from moldgen.language import in_words
from moldgen.lesson.arrange.plans import cut_plan, plate_plan, shot_plan
from moldgen.lesson.arrange.told import numbered_plates, numbered_shots, tables_of, told_of
from moldgen.pipeline.file_set import OutputFile, plan_files
from moldgen.pipeline.output import Output
from moldgen.pipeline.stage import Stage
from moldgen.units_text import as_read

if TYPE_CHECKING:
    from moldgen.export.plan.plan import Plan
    from moldgen.lesson.arrange.make import Arrangement
    from moldgen.lesson.arrange.plates import Plates
    from moldgen.lesson.layout.piece import Shot


Drawn = Callable[[str, Sequence[object], Callable[[], bytes]], bytes]
"""Gives a file by its name, what it is made of, and what makes it."""


def drawn_anew(name: str, made_of: Sequence[object], draw: Callable[[], bytes]) -> bytes:
    """Draw a file."""
    return draw()


def arrangement_output(work: Arrangement, drawn: Drawn = drawn_anew) -> Output:
    """Return an arrangement with what its files are made of.

    Parameters
    ----------
    work : Arrangement
        Where everything lies.
    drawn : Drawn
        Gives templates, plates and pictures; it may know those that are as before.
    """
    told = told_of(work)
    return Output(
        told=told,
        bodies=(),
        files=lambda paper: _files(work, paper, drawn),
        pictures=lambda: tuple(_pictures(work, drawn)),
        report=lambda: _report(work, told.title),
        formats=work.command.formats,
        usual=ARRANGE_FORMATS,
        paper=work.command.paper,
        units=work.command.units,
        stages=(Stage(4, 4, "writing files"),),
    )


def _files(work: Arrangement, paper: Paper, drawn: Drawn) -> Iterator[OutputFile]:
    for number, shots, shot in numbered_shots(work):
        title = as_read(f"Shot {number}, {shots.sheet_words}")
        plan = cache(partial(shot_plan, shots, shot, work.machine, title=title))
        files = plan_files(
            f"shot-{number}", plan, paper=paper, purpose=f"template at 1:1 to place shot {number}"
        )
        yield from (_known(file, drawn, partial(_made_of_shot, plan, paper)) for file in files)
    for number, plates, plate in numbered_plates(work):
        file = OutputFile(
            name=f"plate-{number}.3mf", purpose=f"plate {number}, to print",
            content=partial(_plate_bytes, work, plates, plate, number), format=Format.THREE_MF,
        )  # fmt: skip
        yield _known(file, drawn, partial(_made_of_plate, work, plates, plate))
    yield _list("placings.csv", _placing_rows(work), purpose="where every mold stands")
    if work.cut_lists:
        yield _list("cut-list.csv", _cut_rows(work), purpose="blanks and offcuts of stock sheets")


def _plate_bytes(work: Arrangement, plates: Plates, plate: Shot, number: int) -> bytes:
    from moldgen.export.mesh.threemf import package_bytes

    return package_bytes(plates.bodies(plate, work.printed), title=f"Plate {number}")


def _known(file: OutputFile, drawn: Drawn, made_of: Callable[[], Sequence[object]]) -> OutputFile:
    """Return a file that is drawn only if it is not known."""
    return replace(file, content=lambda: drawn(file.name, made_of(), file.content))


def _made_of_shot(plan: Callable[[], Plan], paper: Paper) -> Sequence[object]:
    return plan(), paper


def _made_of_plate(work: Arrangement, plates: Plates, plate: Shot) -> Sequence[object]:
    pieces, owners = plates.layout.task.pieces, plates.owners
    return [
        (pieces[one.piece].name, work.printed[mold].mark, body, replace(one, piece=0))
        for one in plate.placings
        for mold, body in (owners[one.piece],)
    ]


def _list(name: str, rows: Iterable[Sequence[object]], *, purpose: str) -> OutputFile:
    def content() -> bytes:
        stream = io.StringIO()
        csv.writer(stream, lineterminator="\n").writerows(rows)
        return stream.getvalue().encode()

    return OutputFile(name=name, purpose=purpose, content=content, format=None)


def _placing_rows(work: Arrangement) -> Iterator[Sequence[object]]:
    yield "shot", "sheet", "name", "file", "x_mm", "y_mm", "turn_deg"
    for number, shots, shot in numbered_shots(work):
        for one in shot.placings:
            mold = shots.molds[one.piece]
            yield (
                number, shots.sheet_words, mold.piece.name, mold.file,
                f"{one.x_mm:.3f}", f"{one.y_mm:.3f}", f"{one.turn_deg:g}",
            )  # fmt: skip


def _cut_rows(work: Arrangement) -> Iterator[Sequence[object]]:
    yield "sheet", "number", "what", "x_mm", "y_mm", "width_mm", "depth_mm"
    for cut in work.cut_lists:
        name = cut.sheet_words
        for number, sheet in enumerate(cut.sheets, start=1):
            parts = [(cut.blanks[one.blank].name, one.rect) for one in sheet.blanks]
            parts += [("offcut", one) for one in sheet.offcuts]
            for what, rect in parts:
                sides = rect.x_mm, rect.y_mm, rect.width_mm, rect.depth_mm
                yield (name, number, what, *(f"{side:.1f}" for side in sides))


def _pictures(work: Arrangement, drawn: Drawn) -> Iterator[Picture]:
    for number, shots, shot in numbered_shots(work):
        title = as_read(f"Shot {number}, {shots.sheet_words}")
        yield _picture(
            f"shot-{number}", shot_plan(shots, shot, work.machine, title=title),
            caption=f"Shot {number} from above: molds with an arrow to their upper side, trim "
            "lines, the clamp's opening, and the holes of the table.", drawn=drawn,
        )  # fmt: skip
    for number, plates, plate in numbered_plates(work):
        plan = plate_plan(
            plates.layout, plate, title=as_read(f"Plate {number}, {plates.printer.name}")
        )
        yield _picture(f"plate-{number}", plan, caption=f"Plate {number} from above.", drawn=drawn)
    for at, cut in enumerate(work.cut_lists, start=1):
        for number, sheet in enumerate(cut.sheets, start=1):
            name = cut.sheet_words
            plan = cut_plan(cut, sheet, title=as_read(f"Stock sheet {number}, {name}"))
            yield _picture(
                f"cuts-{at}-{number}",
                plan,
                caption=f"Stock sheet {number} of {name}, cut up.",
                drawn=drawn,
            )


def _picture(name: str, plan: Plan, *, caption: str, drawn: Drawn) -> Picture:
    def draw() -> bytes:
        from moldgen.export.plan.png import plan_png_bytes

        return plan_png_bytes(plan)

    return Picture(name=name, caption=caption, png=drawn(f"{name}.png", (plan,), draw))


def _report(work: Arrangement, title: str) -> Report:
    return Report(
        title=in_words(title),
        subtitle=work.machine.title,
        tables=tables_of(work),
        steps=(
            ("Template", "Print the template of the shot at 100 %, check its bar, and lay it under "
             "the clamp with its opening lines along the frame."),
            ("Plug", "Plug the holes that are marked: they lie under a part beside its mold."),
            ("Place", "Stand every mold on its outline, the arrow as drawn; take the paper out "
             "from under them, or prick it over the holes."),
            ("Form", "Form as each mold's own report has it; all of one shot take the same sheet."),
        ),
        cautions=cautions(),
    )  # fmt: skip
