"""The mold of a note: its figures and findings, from the record that make wrote."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from moldgen.errors import FileError, SpecError
from moldgen.execution import limits_now
from moldgen.finding import Finding, Severity
from moldgen.job import load_job
from moldgen.lesson.log.job_facts import FINDINGS
from moldgen.lesson.log.shot_note import ShotNote
from moldgen.lesson.log.trouble_case import TroubleCase
from moldgen.named_file import bounded_bytes, told
from moldgen.pipeline.file_name import file_name
from moldgen.stock import Sheet, Shop
from moldgen.table.by_record import by_record
from moldgen.table.heat_up import heat_up

_SHOWN = ("code", "says", "measured", "limit", "unit", "subject", "basis", "advice", "place")


def trouble_case(note: ShotNote, file: str, *, shop: Shop, outputs: Path) -> TroubleCase:
    """Return a note beside what is known of its mold.

    Parameters
    ----------
    note : ShotNote
        What was seen.
    file : str
        Job file of the mold, or the folder that make wrote; left out, the folder of the job's name
        is looked into.
    shop : Shop
        Plastics and filaments.
    outputs : Path
        Where jobs are made into, each in a folder of its name.

    Raises
    ------
    MoldgenError
        If a file that is named cannot be read.
    """
    path = Path(file)
    if file and path.suffix.lower() == ".toml":
        folder = outputs / file_name(load_job(path).title)
        return _case(note, folder / FINDINGS, shop=shop, job_file=file, must=False)
    job_file = f"{file_name(note.job)}.toml"
    if file:
        record = path if path.suffix.lower() == ".json" else path / FINDINGS
        return _case(note, record, shop=shop, job_file=job_file, must=True)
    record = outputs / file_name(note.job) / FINDINGS
    return _case(note, record, shop=shop, job_file=job_file, must=False)


def _case(note: ShotNote, path: Path, *, shop: Shop, job_file: str, must: bool) -> TroubleCase:
    """Return the case of a record; without one, of the note alone, unless it must be there."""
    if not must and not path.exists():
        return case_alone(note, shop=shop, job_file=job_file)
    try:
        words = json.loads(bounded_bytes(path, limits_now().job_bytes))
        return TroubleCase(
            note=note, shop=shop, job_file=job_file, numbers=dict(words["numbers"]),
            findings=tuple(_finding(one) for one in words["findings"]),
        )  # fmt: skip
    except OSError as error:
        reason = (error.strerror or "the system refused").lower()
        raise FileError(
            f"{told(path)} cannot be read: {reason}. Name the folder that make wrote."
        ) from None
    except (ValueError, KeyError, TypeError, RecursionError):
        raise FileError(
            f"{told(path)} is not the record of a mold that this version made. Make it again."
        ) from None


def case_alone(note: ShotNote, *, shop: Shop, job_file: str = "job.toml") -> TroubleCase:
    """Return a note of whose mold nothing is known."""
    return TroubleCase(
        note=note, shop=shop, job_file=job_file, table_heat_s=_table_heat_s(note, shop)
    )


def _table_heat_s(note: ShotNote, shop: Shop) -> float | None:
    """Return what the sheet of a note takes on its table, by the notes where there are any. [s]."""
    plastic, machine = shop.plastics.get(note.plastic), shop.machines.get(note.machine)
    if plastic is None or machine is None:
        return None
    known = shop.experience.of(machine.name)
    sheet = Sheet(plastic=plastic, gauge_mm=note.thickness_mm)
    try:
        heated = by_record(heat_up(sheet, machine), known.heating if known else None)
    except SpecError:
        return None
    return heated.usable.forming_s


def _finding(words: Mapping[str, Any]) -> Finding:
    """Return a finding as it was written, without its place in the mold.

    Raises
    ------
    ValueError, KeyError, TypeError
        If it is none.
    """
    values = {name: words[name] for name in _SHOWN}
    figures = (values["measured"], values["limit"])
    texts = [value for name, value in values.items() if name not in ("measured", "limit")]
    if not all(isinstance(one, str) for one in texts):
        raise TypeError
    if not all(one is None or isinstance(one, int | float) for one in figures):
        raise TypeError
    return Finding(severity=Severity(words["severity"]), **values)
