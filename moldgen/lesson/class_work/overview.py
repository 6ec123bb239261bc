"""What a class gets beside its folders: the overview, the lists, the job cards."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

from moldgen.execution import beside
from moldgen.export.card.job_card import CARD_PAPERS, JobCard, job_cards_pdf_bytes
from moldgen.export.report.cautions import cautions
from moldgen.export.report.report import Picture, Report, report_html_bytes
from moldgen.export.report.table import Table
from moldgen.finding import Finding, counted
from moldgen.job.command.school_class import ClassCommand
from moldgen.job.room import OwnRoom
from moldgen.job.spec import Paper
from moldgen.language import in_words
from moldgen.lesson.class_work.contact_sheet import contact_sheet_png
from moldgen.lesson.class_work.costs import print_cost
from moldgen.lesson.class_work.kept_arrangement import ARRANGEMENT
from moldgen.lesson.class_work.packed import CLASS_ZIP, packed_class
from moldgen.lesson.class_work.papers import LABELS, RISKS, class_papers
from moldgen.lesson.class_work.prints import PRINT_LIST, queue_rows, queue_table
from moldgen.lesson.class_work.record import for_person
from moldgen.lesson.class_work.run import PersonWork
from moldgen.lesson.class_work.shots import timetable_rows, timetable_table
from moldgen.lesson.class_work.workbook import Row, csv_table, xlsx_tables
from moldgen.lesson.print_queue.queue import PrintQueue
from moldgen.lesson.timetable.work import ShotWork, Timetable
from moldgen.pipeline.papers import CARD_PAPER
from moldgen.printing.estimate import spoken_time

_HEAD = ("Name", "Word", "Group", "Sheet color", "Pieces", "Width (mm)", "Depth (mm)",
         "Height (mm)", "Print (h)", "Filament (g)", "Print cost", "Heat (s)", "Cool (s)",
         "To drill", "Stops", "Cautions", "Changed", "Folder", "Problem")  # fmt: skip


def class_rows(works: Sequence[PersonWork], room: OwnRoom | None) -> list[Row]:
    """Return the list of a class: a heading, and a row for each person."""
    return [tuple(in_words(name) for name in _HEAD), *(_row(work, room) for work in works)]


def _row(work: PersonWork, room: OwnRoom | None) -> Row:
    entry, told, record = work.entry, work.record.numbers, work.record
    printed: dict[str, Any] = told.get("print") or {}
    hours = printed.get("time_s")
    return (
        entry.name, entry.says, entry.group, entry.color, entry.pieces,
        _rounded(told.get("width_mm"), 1), _rounded(told.get("depth_mm"), 1),
        _rounded(told.get("height_mm"), 1),
        _rounded(None if hours is None else hours / 3600, 2), _rounded(printed.get("mass_g"), 0),
        _rounded(print_cost(work, room), 2),
        _rounded(told.get("heat_s"), 0), _rounded(told.get("cool_s"), 0),
        told.get("vents_to_drill"), record.stops, record.cautions,
        in_words("; ".join(work.changes)), work.folder, in_words(record.problem),
    )  # fmt: skip


def _rounded(value: float | None, digits: int) -> float | int | None:
    if value is None:
        return None
    return round(value, digits) if digits else round(value)


def class_files(
    title: str,
    works: Sequence[PersonWork],
    *,
    out: Path,
    words: ClassCommand,
    findings: tuple[Finding, ...],
    summary: tuple[tuple[str, str], ...],
    plan: Timetable,
    queue: PrintQueue | None,
    shots: Sequence[ShotWork],
    room: OwnRoom | None,
) -> dict[str, bytes]:
    """Return the files of a class as a whole.

    Parameters
    ----------
    title : str
        What the class is called.
    works : sequence of PersonWork
        What became of each job.
    out : Path
        Folder of the class, where the files of each mold lie.
    words : ClassCommand
        What plans and labels are printed on; cards are half of it.
    findings : tuple of Finding
        What a person can act on.
    summary : tuple of (str, str)
        Rows a person reads at a glance.
    plan : Timetable
        The lessons that it takes.
    queue : PrintQueue or None
        Which plate is printed where and when.
    shots : sequence of ShotWork
        What is formed together.
    room : OwnRoom or None
        Whose prices count.
    """
    with beside(partial(_pictures, works)) as pictures:
        papers = {
            **_lists(class_rows(works, room), plan, queue),
            **_card_files(title, works, words, shots),
            **class_papers(title, works, words),
        }
        shown = pictures()
    page = _overview(title, works, findings=findings, summary=summary, plan=plan, queue=queue)
    files = {"overview.html": report_html_bytes(replace(page, pictures=shown)), **papers}
    own = [work.folder for work in works if work.folder]
    whole = own if words.alone else [*own, ARRANGEMENT]
    packed = packed_class(out, [*own, ARRANGEMENT], files, whole=whole)
    return files | ({CLASS_ZIP: packed} if packed else {})


def _lists(rows: Sequence[Row], plan: Timetable, queue: PrintQueue | None) -> dict[str, bytes]:
    """Return what is for spreadsheets."""
    return {
        "class-list.csv": csv_table(rows),
        "class-list.xlsx": xlsx_tables(
            [
                (in_words("Class"), rows),
                (in_words("Timetable"), timetable_rows(plan)),
                (in_words("Print queue"), queue_rows(queue)),
            ]
        ),
        "timetable.csv": csv_table(timetable_rows(plan)),
        PRINT_LIST: csv_table(queue_rows(queue)),
    }


def _card_files(
    title: str, works: Sequence[PersonWork], words: ClassCommand, shots: Sequence[ShotWork]
) -> dict[str, bytes]:
    """Return the job cards of all people in one file, one for each piece, if there are any."""
    cards = list(_cards(works, shots))
    if not cards:
        return {}
    paper = CARD_PAPERS[CARD_PAPER[Paper(words.paper)]]
    name = in_words(f"Job cards: {title}")
    return {"job-cards.pdf": job_cards_pdf_bytes(cards, paper=paper, title=name)}


def _cards(works: Sequence[PersonWork], shots: Sequence[ShotWork]) -> Iterator[JobCard]:
    """Yield a card for each piece, with its shot and the color of its sheet."""
    numbers: dict[str, list[int]] = defaultdict(list)
    for number, shot in enumerate(shots, start=1):
        for person in shot.people:
            numbers[person].append(number)
    for work in works:
        card, entry = work.record.card, work.entry
        if card is None:
            continue
        for number in numbers[entry.name] or [0] * entry.pieces:
            yield for_person(
                card, entry.name, link=entry.link,
                color=shots[number - 1].color if number else entry.color,
                shot=f"{number} of {len(shots)}" if number and len(shots) > 1 else "",
            )  # fmt: skip


def _overview(
    title: str,
    works: Sequence[PersonWork],
    *,
    findings: tuple[Finding, ...],
    summary: tuple[tuple[str, str], ...],
    plan: Timetable,
    queue: PrintQueue | None,
) -> Report:
    """Return the report of a class, without its picture."""
    shown = ("Name", "Word", "Size", "Print", "Filament", "Vents to drill", "Verdict", "Changed")
    table = Table(
        title="Who makes what",
        header=shown,
        rows=tuple(_told(work) for work in works),
        typed=("Name", "Word"),
    )
    return Report(
        title=in_words(title),
        subtitle="A class: molds, lists and job cards",
        summary=summary,
        findings=findings,
        told_verdict=_class_verdict(works),
        tables=(table, timetable_table(plan), *((queue_table(queue),) if queue else ())),
        cautions=cautions(),
        files=(
            ("job-cards.pdf", "a card for each person, for the table"),
            (LABELS, "a label for each piece, on the grid that was named"),
            (RISKS, "the risk assessment form of the class, to be checked and signed"),
            (
                f"class-list.csv, class-list.xlsx, timetable.csv, {PRINT_LIST}",
                "the tables above, for spreadsheets",
            ),
            (ARRANGEMENT, "templates at 1:1 to place the molds, plates for the printer"),
            (in_words("a folder for each person"), "mold, plan, pictures"),
            (CLASS_ZIP, "all of it in one file"),
        ),
    )


def class_summary(
    works: Sequence[PersonWork], prints: Sequence[int]
) -> tuple[tuple[str, str], ...]:
    """Return the rows that a person reads at a glance.

    Parameters
    ----------
    works : sequence of PersonWork
        What became of each job.
    prints : sequence of int
        How often each person's mold is printed.
    """
    made = [work for work in works if not work.record.problem]
    print_s = sum(_print(one, "time_s") * count for one, count in zip(works, prints, strict=True))
    mass_g = sum(_print(one, "mass_g") * count for one, count in zip(works, prints, strict=True))
    stops = sum(work.record.stops > 0 for work in made)
    cautions_ = sum(work.record.cautions > 0 and not work.record.stops for work in made)
    rows = [
        ("Molds", _built_text(len(made), len(works), sum(work.is_new for work in made))),
        ("Printing", f"{spoken_time(print_s)} in all, {mass_g:.0f} g of filament"),
    ]
    if stops or cautions_:
        told = [f"{counted(stops, 'mold')} with a stop"] * bool(stops)
        told += [f"{counted(cautions_, 'mold')} with cautions"] * bool(cautions_)
        rows.append(("Look at", ", ".join(told)))
    return tuple(rows)


def _built_text(n_made: int, n_all: int, n_new: int) -> str:
    people = f"{n_made} of {counted(n_all, 'person')}".replace("persons", "people")
    if n_new == n_made:
        return people
    return f"{people}, {n_new or 'none'} built anew: the others were there"


def _print(work: PersonWork, what: str) -> float:
    printed = work.record.numbers.get("print") or {}
    return float(printed.get(what) or 0.0)


def _told(work: PersonWork) -> tuple[str, ...]:
    entry, told, record = work.entry, work.record.numbers, work.record
    if record.problem:
        return (entry.name, entry.says, "", "", "", "", record.problem, "")
    sides = (told[f"{side}_mm"] for side in ("width", "depth", "height"))
    return (
        entry.name, entry.says, " x ".join(f"{side:.0f}" for side in sides) + " mm",
        spoken_time(_print(work, "time_s")), f"{_print(work, 'mass_g'):.0f} g",
        str(told.get("vents_to_drill", "")), _verdict(work), "; ".join(work.changes),
    )  # fmt: skip


def _class_verdict(works: Sequence[PersonWork]) -> str:
    """Return how many molds can be printed, if some must be looked at first."""
    ready = sum(not work.record.problem and not work.record.stops for work in works)
    if ready == len(works):
        return ""
    return f"{ready} of {counted(len(works), 'mold')} can be printed. The findings tell the others."


def _verdict(work: PersonWork) -> str:
    record = work.record
    if record.stops:
        return counted(record.stops, "stop")
    return counted(record.cautions, "caution") if record.cautions else "ready"


def _pictures(works: Sequence[PersonWork]) -> tuple[Picture, ...]:
    """Return one picture of all different molds; none if there is none of any."""
    pictures = dict.fromkeys(work.record.picture for work in works if work.record.picture)
    if not pictures:
        return ()
    sheet = contact_sheet_png(tuple(pictures))
    return (Picture(name="The molds", caption="Every different mold of the class.", png=sheet),)
