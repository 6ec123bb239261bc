"""What a class prints: its plates over the printers of the room, as lists and in words."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import partial

from moldgen.export.report.table import Table
from moldgen.finding import Finding, Severity, counted
from moldgen.job.printer_words import RoomPrinter
from moldgen.language import in_words
from moldgen.lesson.arrange.make import Arrangement
from moldgen.lesson.class_work.run import PersonWork
from moldgen.lesson.class_work.workbook import Row
from moldgen.lesson.print_queue.queue import PrintQueue, QueuePlate, QueuePrinter, plan_queue
from moldgen.printing.bed_fit import usable_bed_mm
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
    of_jobs = shop.printer(made[0].record.numbers["printer"])
    if arrangement is None:
        plates = list(_single_plates(made))
    else:
        of_jobs = arrangement.printer
        plates = list(_shared_plates(works, arrangement))
    kinds = [(shop.printers.find(one.printer, field="printers"), one.count) for one in printers]
    ratios = partial(_noted_ratio, shop.experience, made[0].record.numbers["machine"])
    return plan_queue(plates, list(_queue_printers(kinds or [(of_jobs, 1)], of_jobs, ratios)))


def _noted_ratio(experience: Experience, machine: str, printer: Printer) -> float:
    """Return hours of printing over the estimate, by the notes of the log. [-]."""
    noted = experience.printing(printer.name, machine)
    return 1.0 if noted is None else noted.value


def _queue_printers(
    kinds: Sequence[tuple[Printer, int]], of_jobs: Printer, ratio: Callable[[Printer], float]
) -> Iterator[QueuePrinter]:
    """Yield each printer; how quick it is goes by how much a line of it lays, and by the log."""
    several = sum(count for _, count in kinds) > len(kinds)
    for printer, count in kinds:
        for number in range(1, count + 1):
            name = f"{printer.name} {number}" if several and count > 1 else printer.name
            yield QueuePrinter(
                name=name,
                room_mm=usable_bed_mm(printer),
                pace=_laid_mm2(of_jobs) / _laid_mm2(printer) * ratio(printer) / ratio(of_jobs),
            )


def _laid_mm2(printer: Printer) -> float:
    line = line_of(printer)
    return line.layer_mm * line.spacing_mm


def _single_plates(works: Sequence[PersonWork]) -> Iterator[QueuePlate]:
    for number, work in enumerate(works, start=1):
        told = work.record.numbers
        yield QueuePlate(
            name=f"Plate {number}",
            time_s=told["print"]["time_s"],
            mass_g=told["print"]["mass_g"],
            filament=told["filament"],
            size_mm=(told["width_mm"], told["depth_mm"], told["height_mm"]),
            holds=(work.entry.name,),
        )


def _shared_plates(works: Sequence[PersonWork], arrangement: Arrangement) -> Iterator[QueuePlate]:
    molds, plates = arrangement.printed, arrangement.plates
    for number, plate in enumerate(plates.layout.shots, start=1):
        owners = [plates.owners[one.piece] for one in plate.placings]
        on_it = [works[int(molds[mold].file)] for mold, _ in owners]
        shares = [_body_share(arrangement, mold, body) for mold, body in owners]
        told = [(work.record.numbers, share) for work, share in zip(on_it, shares, strict=True)]
        x0, y0, x1, y1 = _bounds_mm(arrangement, number - 1)
        tall_mm = max(plates.layout.task.pieces[one.piece].height_mm for one in plate.placings)
        yield QueuePlate(
            name=f"Plate {number}",
            time_s=sum(share * one["print"]["time_s"] for one, share in told),
            mass_g=sum(share * one["print"]["mass_g"] for one, share in told),
            filament=" and ".join(sorted({one["filament"] for one, _ in told})),
            size_mm=(x1 - x0, y1 - y0, tall_mm),
            holds=tuple(dict.fromkeys(work.entry.name for work in on_it)),
        )


def _body_share(arrangement: Arrangement, mold: int, body: int) -> float:
    """Return what one body is of its mold, by foot and height. [-]."""
    bodies = arrangement.printed[mold].shape.bodies
    sizes_mm3 = [float(one.outline.area) * one.height_mm for one in bodies]
    return sizes_mm3[body] / sum(sizes_mm3)


def _bounds_mm(arrangement: Arrangement, plate: int) -> tuple[float, float, float, float]:
    import shapely

    layout = arrangement.plates.layout
    x0, y0, x1, y1 = shapely.total_bounds(layout.regions(layout.shots[plate]))
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
