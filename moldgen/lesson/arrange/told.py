"""What is told of an arrangement: summary, findings, numbers and tables."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from moldgen.export.report.table import Table
from moldgen.finding import Finding, Severity, counted, ranked
from moldgen.lesson.arrange.holes import table_holes
from moldgen.lesson.arrange.plates import covered_share
from moldgen.lesson.layout.keep import Stay
from moldgen.lesson.layout.piece import PieceLayout, Shot
from moldgen.lesson.layout.verify import least_gap_of
from moldgen.pipeline.result import Result

if TYPE_CHECKING:
    from moldgen.lesson.arrange.make import Arrangement
    from moldgen.lesson.arrange.plates import Plates
    from moldgen.lesson.arrange.shots import ShotLayout

_RUN = "the sheet formed quickly over the whole shot"


def told_of(work: Arrangement) -> Result:
    """Return title, summary, findings and numbers of an arrangement."""
    return Result(
        title=title_of(work),
        summary=tuple(_summary(work)),
        findings=ranked((*_left_out(work), *_webs(work), *_stayed(work))),
        numbers=numbers_of(work),
        units=work.command.units,
    )


def title_of(work: Arrangement) -> str:
    """Return what an arrangement is called."""
    names = list(dict.fromkeys(mold.piece.name for mold in work.molds))
    if len(names) == 1:
        return f"Arrange {names[0]}"[:110]
    return f"Arrange {names[0]} and {counted(len(names) - 1, 'other')}"[:110]


def numbered_shots(work: Arrangement) -> Iterator[tuple[int, ShotLayout, Shot]]:
    """Yield every shot with its number, those of one sheet after the other."""
    number = 0
    for shots in work.shots:
        for shot in shots.layout.shots:
            number += 1
            yield number, shots, shot


def numbered_plates(work: Arrangement) -> Iterator[tuple[int, Plates, Shot]]:
    """Yield every plate with its number, those of one printer and filament after the other."""
    number = 0
    for plates in work.plates:
        for plate in plates.layout.shots:
            number += 1
            yield number, plates, plate


def _summary(work: Arrangement) -> Iterator[tuple[str, str]]:
    count = len(work.molds)
    yield "Molds", f"{count}, formed on the table {work.machine.name}"
    for shots in work.shots:
        layout = shots.layout
        fill = f"{100 * covered_share(layout):.0f} % of the opening covered"
        yield (
            shots.sheet_words,
            f"{counted(len(layout.shots), 'shot')} for {counted(len(layout.task.pieces), 'mold')}, "
            f"{fill}",
        )
    if any(len(shot.placings) > 1 for _, _, shot in numbered_shots(work)):
        yield "Webs", webs_text(work)
    for plates in work.plates:
        layout = plates.layout
        yield (
            "Plates",
            f"{len(layout.shots)} on the printer {_printer_words(work, plates)}, "
            f"{len(layout.task.pieces)} prints",
        )
    for cut in work.cut_lists:
        waste = sum(one.area_mm2 for sheet in cut.sheets for one in sheet.offcuts) / 1e6
        yield (
            "Stock",
            f"{counted(len(cut.sheets), 'sheet')} of {cut.task.width_mm:.0f} x "
            f"{cut.task.depth_mm:.0f} mm {cut.sheet_words} for "
            f"{counted(len(cut.blanks), 'blank')}; {waste:.2f} m² of offcuts",
        )  # fmt: skip


def webs_text(work: Arrangement) -> str:
    """Return in words what forming the sheet over each shot has shown."""
    if not any(shots.formed for shots in work.shots):
        return "not looked for (--forming off)"
    left = sum(len(shots.left) for shots in work.shots)
    wider = sum(len(shots.wider) for shots in work.shots)
    if left:
        return f"{counted(left, 'pair')} of neighbors still web"
    moved = f", after {counted(wider, 'pair')} moved apart" if wider else ""
    return f"none between neighbors in the quick run of each shot{moved}"


def _left_out(work: Arrangement) -> Iterator[Finding]:
    for layout, where in (
        *((shots.layout, "sheet") for shots in work.shots),
        *((plates.layout, "plate") for plates in work.plates),
    ):  # fmt: skip
        for one in layout.left_out:
            yield Finding(
                code=f"no-room-on-{where}",
                severity=Severity.STOP,
                says=one.reason,
                subject=layout.task.pieces[one.piece].name,
                basis=f"{layout.task.area.name}, measured on the outline",
                advice="Make it smaller, or take a larger table."
                if where == "sheet" else "Split it, or take a larger printer.",
            )  # fmt: skip


def _webs(work: Arrangement) -> Iterator[Finding]:
    for shots in work.shots:
        unsolved = {pair for pair, _ in shots.left}
        for gap in shots.wider:
            if gap.pair not in unsolved:
                yield Finding(
                    code="moved-apart",
                    severity=Severity.NOTE,
                    says=f"{_both(gap.pair)} webbed at {gap.rule_mm:.0f} mm, as the rule has "
                    "it, and were moved apart; distance",
                    measured=gap.gap_mm,
                    unit="mm",
                    basis=_RUN,
                )
        for pair, web in shots.left:
            yield Finding(
                code="neighbors-web",
                severity=Severity.CAUTION,
                says=f"the sheet folds between {_both(pair)}; how tall",
                measured=web.height_mm,
                unit="mm",
                where_mm=(*web.where_mm, 0.0),
                basis=_RUN,
                advice="Form them on different sheets, or ask for a larger --gap.",
            )


def _stayed(work: Arrangement) -> Iterator[Finding]:
    stays = {one.stay for one in work.shots}
    if Stay.ANEW in stays:
        yield _stay_note(
            "molds-arranged-anew",
            "the molds are laid out anew on the sheets: what is new has no room beside the others, "
            "or fewer sheets are enough now. Use the new templates",
        )
    elif Stay.KEPT in stays:
        yield _stay_note(
            "molds-stay",
            "the molds stay where an earlier run placed them; laid out anew they would stand "
            "elsewhere",
            advice="Ask for --rearrange to lay all of them out anew.",
        )
    if Stay.ANEW in {one.stay for one in work.plates}:
        yield _stay_note(
            "prints-arranged-anew",
            "the prints are laid out anew on the plates: what is new has no room beside the "
            "others, or fewer plates are enough now. Use the new plates",
        )


def _stay_note(code: str, says: str, *, advice: str = "") -> Finding:
    basis = "the places of the earlier run"
    return Finding(code=code, severity=Severity.NOTE, says=says, basis=basis, advice=advice)


def _both(pair: tuple[str, str]) -> str:
    return f"two of {pair[0]}" if pair[0] == pair[1] else f"{pair[0]} and {pair[1]}"


def numbers_of(work: Arrangement) -> dict[str, Any]:
    """Return the arrangement for programs; it can be laid out again from it."""
    return {
        "machine": work.machine.name,
        "printer": " and ".join(dict.fromkeys(plates.printer.name for plates in work.plates)),
        "opening_width_mm": work.machine.opening_width_mm,
        "opening_depth_mm": work.machine.opening_depth_mm,
        "tighter": work.command.tighter,
        "seed": work.command.seed,
        "shots": [
            {
                "number": number, "sheet": shots.sheet_words,
                "fill": round(shots.layout.fill(shot), 4),
                "placings": _placings(shots.layout, shot, [m.file for m in shots.molds]),
            }
            for number, shots, shot in numbered_shots(work)
        ],
        "plates": [
            {
                "number": number, "printer": plates.printer.name, "filament": plates.filament,
                "placings": _placings(
                    plates.layout, plate, [work.printed[mold].file for mold, _ in plates.owners]
                ),
            }
            for number, plates, plate in numbered_plates(work)
        ],
        "stock_sheets": sum(len(cut.sheets) for cut in work.cut_lists),
    }  # fmt: skip


def _placings(layout: PieceLayout, shot: Shot, files: list[str]) -> list[dict[str, Any]]:
    return [
        {
            "name": layout.task.pieces[one.piece].name, "file": files[one.piece],
            "x_mm": round(one.x_mm, 3), "y_mm": round(one.y_mm, 3), "turn_deg": one.turn_deg,
        }
        for one in shot.placings
    ]  # fmt: skip


def tables_of(work: Arrangement) -> tuple[Table, ...]:
    """Return what stands where, how it is cut, and which distances the run asked for."""
    return (*_shot_tables(work), *_wider_table(work), *_plate_tables(work), *_cut_tables(work))


def _shot_tables(work: Arrangement) -> Iterator[Table]:
    for number, shots, shot in numbered_shots(work):
        regions = shots.layout.regions(shot)
        trims = [shots.molds[one.piece].trim_at(one) for one in shot.placings]
        holes = table_holes(work.machine, regions, trims)
        least = least_gap_of(shots.layout, shot)
        note = f"{len(holes.plugged)} free holes of the table to plug: they would mark a part."
        if len(regions) > 1:
            note = f"Least distance of two molds {least:.1f} mm. {note}"
        yield Table(
            title=f"Shot {number}, {shots.sheet_words}",
            header=("mold", "left, mm", "front, mm", "turn"),
            typed=("mold",),
            rows=tuple(
                (
                    shots.layout.task.pieces[one.piece].name,
                    f"{region.bounds[0]:.0f}", f"{region.bounds[1]:.0f}", f"{one.turn_deg:g}°",
                )
                for one, region in zip(shot.placings, regions, strict=True)
            ),
            note=f"From the lower left corner of the opening to the mold. {note}",
        )  # fmt: skip


def _wider_table(work: Arrangement) -> Iterator[Table]:
    rows = tuple(
        (f"{gap.pair[0]}, {gap.pair[1]}", f"{gap.rule_mm:.1f} mm", f"{gap.gap_mm:.1f} mm")
        for shots in work.shots for gap in shots.wider
    )  # fmt: skip
    if rows:
        yield Table(
            title="Moved apart, because the sheet webbed", header=("molds", "by the rule", "now"),
            rows=rows, note=_RUN.capitalize() + ".",
        )  # fmt: skip


def _plate_tables(work: Arrangement) -> Iterator[Table]:
    for group in work.plates:
        rows = tuple(
            (str(number), ", ".join(plates.layout.task.pieces[k].name for k in plate.pieces))
            for number, plates, plate in numbered_plates(work)
            if plates is group
        )
        if rows:
            yield Table(
                title=f"Plates of the printer {_printer_words(work, group)}",
                header=("plate", "bodies"),
                rows=rows,
                typed=("bodies",),
            )


def _printer_words(work: Arrangement, plates: Plates) -> str:
    """Return the name of a printer, with the filament where there are several."""
    several = len({one.filament for one in work.plates}) > 1
    return f"{plates.printer.name} ({plates.filament})" if several else plates.printer.name


def _cut_tables(work: Arrangement) -> Iterator[Table]:
    for cut in work.cut_lists:
        rows = []
        for number, sheet in enumerate(cut.sheets, start=1):
            for at, one in enumerate(sheet.cuts, start=1):
                way = "front to back" if one.upright else "left to right"
                piece = f"{one.of.width_mm:.0f} x {one.of.depth_mm:.0f} mm"
                rows.append((str(number), str(at), piece, way, f"{one.at_mm:.1f} mm"))
        yield Table(
            title=f"Cuts, {cut.sheet_words}",
            header=("stock sheet", "cut", "piece", "way", "from its left or lower edge"),
            rows=tuple(rows),
            note=f"Each from edge to edge of the piece; a cut takes {cut.task.kerf_mm:g} mm away.",
        )
