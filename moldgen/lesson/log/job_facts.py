"""What the log takes from a job, so that nobody types it again."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from numbers import Real
from pathlib import Path
from typing import Any

from moldgen.errors import FileError, MoldgenError, SpecError
from moldgen.execution import limits_now
from moldgen.job import Job, load_job
from moldgen.lesson.log.shot_note import ShotNote
from moldgen.named_file import bounded_bytes, path_in, told
from moldgen.pipeline.file_name import file_name
from moldgen.stock import Shop, load_shop

FINDINGS = "findings.json"
THINNEST = "thinnest"
"""The place whose computed thickness is known: where a forming run has the sheet thin."""


@dataclass(frozen=True, slots=True, kw_only=True)
class JobFacts:
    """What is known of a mold before a shot.

    Attributes
    ----------
    job, machine, plastic : str
        Name of the job; forming machine and plastic, as the stock calls them.
    thickness_mm : float
        Gauge of the sheet. [mm]
    filament : str
        Of the printed mold; empty if it is not printed, or not known.
    told_heat_s, told_cool_s : float or None
        What the job card says. [s]
    told_print_h : float or None
        How long the mold was to print. [h]
    computed_cool_s, computed_print_h : float or None
        The same without the log, where notes had corrected them. [s] [h]
    printer : str
        Of the printed mold; empty if it is not printed, or not known.
    thinnest_mm : float or None
        Thickness of the formed sheet where it is thin, if its forming was computed; without the
        log. [mm]
    """

    job: str
    machine: str
    plastic: str
    thickness_mm: float
    filament: str = ""
    told_heat_s: float | None = None
    told_cool_s: float | None = None
    told_print_h: float | None = None
    computed_cool_s: float | None = None
    computed_print_h: float | None = None
    printer: str = ""
    thinnest_mm: float | None = None


def facts_of_path(path: Path, *, outputs: Path) -> JobFacts:
    """Return what a job file tells, or the folder that ``make`` wrote.

    Of a job file, computed times come from the folder that it was last made into.

    Parameters
    ----------
    path : Path
        Job file, folder, or the ``findings.json`` in one.
    outputs : Path
        Where jobs are made into, each in a folder of its name.

    Raises
    ------
    MoldgenError
        If it cannot be read, or is not that of a mold.
    """
    if path.is_dir():
        return facts_of_findings(path / FINDINGS)
    if path.suffix.lower() == ".json":
        return facts_of_findings(path)
    job = load_job(path)
    if not isinstance(job, Job):
        raise SpecError("file", "the job of a mold", "a bent strip", "Strips are not formed.")
    own = [path_in(path.parent, job.stock, field="stock")] if job.stock else []
    facts = facts_of_job(job, load_shop(own))
    try:
        made = facts_of_findings(outputs / file_name(job.title) / FINDINGS)
    except MoldgenError:
        return facts
    same = (facts.job, facts.machine, facts.plastic) == (made.job, made.machine, made.plastic)
    if job.sheet.gauge_mm is not None:  # otherwise it was chosen
        same = same and facts.thickness_mm == made.thickness_mm
    return made if same else facts


def facts_of_job(job: Job, shop: Shop) -> JobFacts:
    """Return what a job says, and what is usual where it does not."""
    # Only job files need it.
    from moldgen.pipeline.setting import setting_of

    setting = setting_of(job, shop)
    return JobFacts(
        job=job.title,
        machine=setting.machine.name,
        plastic=setting.sheet.plastic.name,
        thickness_mm=setting.sheet.gauge_mm,
        filament=setting.filament.name if setting.is_printed else "",
        printer=setting.printer.name if setting.is_printed else "",
    )


def facts_of_findings(path: Path) -> JobFacts:
    """Return what the record of a run tells of the mold that it made.

    Raises
    ------
    FileError
        If there is none, or it is not that of a mold.
    """
    try:
        data = bounded_bytes(path, limits_now().job_bytes)
    except OSError as error:
        reason = (error.strerror or "the system refused").lower()
        raise FileError(
            f"{told(path)} cannot be read: {reason}. Name the folder that make wrote."
        ) from None
    try:
        words = json.loads(data)
        return facts_of_numbers(words["title"], words["numbers"])
    except (ValueError, KeyError, TypeError, RecursionError):
        raise FileError(
            f"{told(path)} is not the record of a mold that this version made. "
            "Make the mold again, or type job, machine, plastic and gauge."
        ) from None


def facts_of_numbers(title: str, numbers: Mapping[str, Any]) -> JobFacts:
    """Return what the figures of a mold tell.

    Raises
    ------
    KeyError, TypeError
        If they are not those of a mold.
    """
    made_with = {name: numbers[name] for name in ("machine", "plastic", "filament")}
    made_with["printer"] = numbers.get("printer", "")  # earlier records do not tell it
    if not all(isinstance(word, str) for word in (title, *made_with.values())):
        raise TypeError
    printed = numbers.get("print")
    prints = printed if isinstance(printed, Mapping) else {}
    thickness_mm = _figure(numbers["gauge_mm"])
    if thickness_mm is None:
        raise TypeError
    return JobFacts(
        job=title,
        thickness_mm=thickness_mm,
        told_heat_s=_figure(numbers.get("heat_s")),
        told_cool_s=_figure(numbers.get("cool_s")),
        told_print_h=_hours(prints.get("time_s")),
        computed_cool_s=_figure(numbers.get("cool_computed_s")),
        computed_print_h=_hours(prints.get("computed_time_s")),
        thinnest_mm=_figure(numbers.get("formed_thin_computed_mm", numbers.get("formed_thin_mm"))),
        **made_with,
    )


def _figure(value: Any) -> float | None:
    is_number = isinstance(value, Real) and not isinstance(value, bool)
    return round(float(value), 4) if is_number else None


def _hours(time_s: Any) -> float | None:
    figure_s = _figure(time_s)
    return None if figure_s is None else round(figure_s / 3600, 4)


def facts_of_note(note: ShotNote) -> JobFacts:
    """Return what an earlier note of the same mold tells."""
    return JobFacts(
        job=note.job,
        machine=note.machine,
        plastic=note.plastic,
        thickness_mm=note.thickness_mm,
        filament=note.filament,
        told_heat_s=note.told_heat_s,
        told_cool_s=note.told_cool_s,
        told_print_h=note.told_print_h,
        computed_cool_s=note.computed_cool_s,
        computed_print_h=note.computed_print_h,
        printer=note.printer,
        thinnest_mm=next(
            (one.computed_mm for one in note.readings if one.place.casefold() == THINNEST), None
        ),
    )


def with_typed(facts: JobFacts, *, machine: str, plastic: str, thickness_mm: float | None,
               shop: Callable[[], Shop]) -> JobFacts:  # fmt: skip
    """Return what is known with what was typed in its place; computed times go with the sheet.

    Parameters
    ----------
    facts : JobFacts
        What is known.
    machine, plastic : str
        As typed, by any of their names; empty if not.
    thickness_mm : float or None
        As typed. [mm]
    shop : callable
        Gives what there is in stock.

    Raises
    ------
    SpecError
        With the nearest names, if the stock has no such entry.
    """
    typed = JobFacts(
        job=facts.job,
        machine=shop().machine(machine).name if machine else facts.machine,
        plastic=shop().plastic(plastic).name if plastic else facts.plastic,
        thickness_mm=facts.thickness_mm if thickness_mm is None else thickness_mm,
        filament=facts.filament,
        told_print_h=facts.told_print_h,
        computed_print_h=facts.computed_print_h,
        printer=facts.printer,
    )
    sheets = [(one.machine, one.plastic, one.thickness_mm) for one in (facts, typed)]
    return facts if sheets[0] == sheets[1] else typed
