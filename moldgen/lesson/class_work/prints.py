"""What a class prints: its plates over the printers of the room, as lists and in words."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import partial
from typing import Any

from moldgen.export.report.table import Table
from moldgen.finding import Finding, Severity, counted
from moldgen.job.printer_words import RoomPrinter
from moldgen.language import in_words
from moldgen.lesson.arrange.make import Arrangement
from moldgen.lesson.arrange.plates import Plates
from moldgen.lesson.arrange.told import numbered_plates
from moldgen.lesson.class_work.run import PersonWork
from moldgen.lesson.class_work.workbook import Row
from moldgen.lesson.layout.piece import Shot
from moldgen.lesson.print_queue.queue import PrintQueue, QueuePlate, QueuePrinter, plan_queue
from moldgen.printing.bed_fit import BEYOND_BED, usable_bed_mm
from moldgen.printing.estimate import spoken_time
from moldgen.printing.print_spec import line_of
from moldgen.stock import Printer, Shop
from moldgen.stock.experience import Experience

PRINT_LIST = "print-queue.csv"
_HEAD = ("Printer", "Plate", "Start", "End", "Print (h)", "Filament (g)", "Filament", "Change",
         "What is on it")  # fmt: skip


def class_queue(
    works: Sequence[PersonWork],
    arrangement: Arrangement | None,
    printers: Sequence[RoomPrinter],
    *,
    shop: Shop,
) -> PrintQueue | None:
    """Return the print queue of a class; None if nothing is printed.

    Parameters
    ----------
    works : sequence of PersonWork
        What became of each job.
    arrangement : Arrangement or None
        Which bodies share a plate; each mold has its own if there is none.
    printers : sequence of RoomPrinter
        What prints side by side; the printer of the jobs if there are none.
    shop : Shop
        What these printers are.

    Raises
    ------
    SpecError
        If a printer is not in stock.
    """
    made = [work for work in works if not work.record.problem and work.record.numbers["printer"]]
    if not made:
        return None
    own = {name: shop.printer(name) for work in made for name in [work.record.numbers["printer"]]}
    first = next(iter(own.values()))
    ratio = partial(_noted_ratio, shop.experience, made[0].record.numbers["machine"])
    pace = partial(_pace, first, ratio)
    paces = {name: pace(printer) for name, printer in own.items()}
    if arrangement is None:
        plates, there = list(_single_plates(made, paces)), list(own.values())
    else:
        plates = list(_shared_plates(works, arrangement, paces))
        there = list({one.printer.name: one.printer for one in arrangement.plates}.values())
    kinds = [(shop.printers.find(one.printer, field="printers"), one.count) for one in printers]
    return plan_queue(plates, list(_queue_printers(kinds or [(one, 1) for one in there], pace)))


def _noted_ratio(experience: Experience, machine: str, printer: Printer) -> float:
    """Return hours of printing over the estimate, by the notes of the log. [-]."""
    noted = experience.printing(printer.name, machine)
    return 1.0 if noted is None else noted.value


def n_prints(works: Sequence[PersonWork], arrangement: Arrangement | None) -> tuple[int, ...]:
    """Return how often each person's mold is printed: as often as it stands on one sheet."""
    if arrangement is None:
        return tuple(0 if work.record.problem else 1 for work in works)
    counts = Counter(int(mold.file) for mold in arrangement.printed)
    return tuple(counts[number] for number in range(len(works)))


def on_other_printers(
    works: Sequence[PersonWork], arrangement: Arrangement | None
) -> tuple[PersonWork, ...]:
    """Return what became of each job, less the stop of those that another printer has room for."""
    if arrangement is None:
        return tuple(works)
    there: dict[int, str] = {}
    for plates in arrangement.plates:
        for shot in plates.layout.shots:
            for one in shot.placings:
                mold, _ = plates.owners[one.piece]
                there[int(arrangement.printed[mold].file)] = plates.printer.name
    return tuple(
        _moved(work, there.get(number, work.record.numbers.get("printer", "")))
        for number, work in enumerate(works)
    )


def _moved(work: PersonWork, printer: str) -> PersonWork:
    record = work.record
    if record.problem or printer == record.numbers["printer"]:
        return work
    left = [
        (code, says)
        for code, says in zip(record.codes, record.findings, strict=True)
        if code != BEYOND_BED
    ]
    changes = (*work.changes, f"printed on {printer}, which has room for it")
    kept = replace(
        record,
        stops=record.stops - (len(record.codes) - len(left)),
        codes=tuple(code for code, _ in left),
        findings=tuple(says for _, says in left),
    )
    return replace(work, record=kept, changes=changes)


def _queue_printers(
    kinds: Sequence[tuple[Printer, int]], pace: Callable[[Printer], float]
) -> Iterator[QueuePrinter]:
    """Yield each printer, and how quick it is."""
    several = sum(count for _, count in kinds) > len(kinds)
    for printer, count in kinds:
        for number in range(1, count + 1):
            name = f"{printer.name} {number}" if several and count > 1 else printer.name
            yield QueuePrinter(
                name=name,
                room_mm=usable_bed_mm(printer),
                pace=pace(printer),
            )


def _pace(first: Printer, ratio: Callable[[Printer], float], printer: Printer) -> float:
    """Return the time of a printer over that of the first one, by what a line lays and the log."""
    return _laid_mm2(first) / _laid_mm2(printer) * ratio(printer) / ratio(first)


def _laid_mm2(printer: Printer) -> float:
    line = line_of(printer)
    return line.layer_mm * line.spacing_mm


def _single_plates(works: Sequence[PersonWork], paces: Mapping[str, float]) -> Iterator[QueuePlate]:
    for number, work in enumerate(works, start=1):
        told = work.record.numbers
        yield QueuePlate(
            name=f"Plate {number}",
            time_s=_first_s(told, paces),
            mass_g=told["print"]["mass_g"],
            filament=told["filament"],
            size_mm=(told["width_mm"], told["depth_mm"], told["height_mm"]),
            holds=(work.entry.name,),
        )


def _first_s(told: Mapping[str, Any], paces: Mapping[str, float]) -> float:
    """Return how long a mold would print on the first printer. [s]."""
    return float(told["print"]["time_s"]) / paces[told["printer"]]


def _shared_plates(
    works: Sequence[PersonWork], arrangement: Arrangement, paces: Mapping[str, float]
) -> Iterator[QueuePlate]:
    molds = arrangement.printed
    for number, plates, plate in numbered_plates(arrangement):
        owners = [plates.owners[one.piece] for one in plate.placings]
        on_it = [works[int(molds[mold].file)] for mold, _ in owners]
        shares = [_body_share(arrangement, mold, body) for mold, body in owners]
        told = [(work.record.numbers, share) for work, share in zip(on_it, shares, strict=True)]
        x0, y0, x1, y1 = _bounds_mm(plates, plate)
        tall_mm = max(plates.layout.task.pieces[one.piece].height_mm for one in plate.placings)
        yield QueuePlate(
            name=f"Plate {number}",
            time_s=sum(share * _first_s(one, paces) for one, share in told),
            mass_g=sum(share * one["print"]["mass_g"] for one, share in told),
            filament=plates.filament,
            size_mm=(x1 - x0, y1 - y0, tall_mm),
            holds=tuple(dict.fromkeys(work.entry.name for work in on_it)),
        )


def _body_share(arrangement: Arrangement, mold: int, body: int) -> float:
    """Return what one body is of its mold, by foot and height. [-]."""
    bodies = arrangement.printed[mold].shape.bodies
    sizes_mm3 = [float(one.outline.area) * one.height_mm for one in bodies]
    return sizes_mm3[body] / sum(sizes_mm3)


def _bounds_mm(plates: Plates, plate: Shot) -> tuple[float, float, float, float]:
    import shapely

    x0, y0, x1, y1 = shapely.total_bounds(plates.layout.regions(plate))
    return float(x0), float(y0), float(x1), float(y1)


def queue_findings(queue: PrintQueue | None) -> tuple[Finding, ...]:
    """Return what fits none of the printers."""
    return tuple(
        Finding(
            code="class-plate", severity=Severity.CAUTION,
            says=f"{plate.name} fits none of the printers, {', '.join(plate.holds)}",
            basis="the beds of the printers named",
            advice="Name a larger printer with --printers as well.",
        )
        for plate in (queue.left_out if queue else ())
    )  # fmt: skip


def queue_text(queue: PrintQueue) -> str:
    """Return a print queue in one line."""
    changes = queue.n_filament_changes
    told = (
        f"{counted(len(queue.slots), 'plate')} on {counted(len(queue.printers), 'printer')}: the "
        f"last is done after {spoken_time(queue.end_s)}"
    )
    more = f", {counted(changes, 'change')} of filament" if changes else ""
    return f"{told}{more}"


def queue_rows(queue: PrintQueue | None) -> list[Row]:
    """Return a print queue as a list: a heading, and a row for each plate."""
    return [tuple(in_words(name) for name in _HEAD), *(_rows(queue) if queue else ())]


def queue_table(queue: PrintQueue) -> Table:
    """Return a print queue as a table of the report."""
    return Table(
        title="Print queue",
        header=_HEAD,
        rows=tuple(tuple(map(str, row)) for row in _rows(queue)),
        typed=("What is on it",),
        note=f"The longest plate first. Hours and minutes from the first start, "
        f"{queue.change_s / 60:.0f} min between plates; no order is quicker than "
        f"{spoken_time(queue.bound_s)}. Other printers are as quick as their lines are thick.",
    )


def _rows(queue: PrintQueue) -> Iterator[tuple[str | float, ...]]:
    for slot in queue.slots:
        plate = slot.plate
        yield (
            slot.printer.name, in_words(plate.name), _clock(slot.start_s), _clock(slot.end_s),
            round((slot.end_s - slot.start_s) / 3600, 2), round(plate.mass_g), plate.filament,
            in_words("yes") if slot.changes_filament else "", ", ".join(plate.holds),
        )  # fmt: skip


def _clock(time_s: float) -> str:
    hours, minutes = divmod(round(time_s / 60), 60)
    return f"{hours}:{minutes:02d}"
