"""What can be typed after the compare command: a job, and what of it is to be varied."""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum
from itertools import product
from typing import Annotated

from moldgen.errors import SpecError
from moldgen.job.cluster_words import (
    ClusterKeys,
    ClusterWord,
    WorkerCount,
    check_worker_words,
)
from moldgen.job.form import Each
from moldgen.job.room import OwnRoom
from moldgen.job.spec import USUAL_FILAMENT, USUAL_GAUGE_MM, Job, Look, ReadUnits, StockFile
from moldgen.mold.choices import FormingLook
from moldgen.quantity import Meaning, Quantity, Spec
from moldgen.units_text import Units

MOST_VARIANTS = 24


class CompareFormat(StrEnum):
    """What is written of a comparison."""

    CSV = "csv"
    PNG = "png"
    JSON = "json"


def _names(about: str) -> Meaning:
    return Meaning(f"{about}, with commas between them; as the job says if left out")


@dataclass(frozen=True, slots=True, kw_only=True)
class CompareCommand(Spec):
    """What the compare command can say."""

    file: Annotated[str, Meaning("job file (TOML) of a mold")]
    sheet: Annotated[tuple[str, ...], _names('plastics of the sheet, "HIPS, PETG"')] = ()
    gauge_mm: Annotated[
        tuple[float, ...],
        Each(
            'thicknesses of the sheet, "1, 1.5"; as the job says if left out',
            Quantity("mm", "thickness", at_least=0.1, at_most=12),
        ),
    ] = ()
    machine: Annotated[tuple[str, ...], _names("forming tables")] = ()
    filament: Annotated[tuple[str, ...], _names("filaments")] = ()
    forming: Look = FormingLook.PREVIEW
    workers: WorkerCount = 0
    cluster: ClusterWord = ""
    cluster_keys: ClusterKeys = ""
    units: ReadUnits = Units.MM
    stock: StockFile = ""
    formats: Annotated[tuple[CompareFormat, ...], Meaning("files to write: csv, png, json")] = (
        tuple(CompareFormat)
    )

    def __post_init__(self) -> None:
        Spec.__post_init__(self)
        check_worker_words(self.workers, self.cluster, self.cluster_keys)
        if not self.formats:
            raise SpecError("formats", "at least one format", "none", "Write at least csv.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Variant:
    """What one of the molds that are compared is made with."""

    plastic: str
    gauge_mm: float
    machine: str
    filament: str


def variants_of(command: CompareCommand, job: Job, room: OwnRoom | None) -> tuple[Variant, ...]:
    """Return what is compared: every sheet in every gauge on every table with every filament.

    Where nothing is named, the sheets in the cupboard of a room.

    Raises
    ------
    SpecError
        If there is nothing to compare, or too much.
    """
    plastics, gauges = _listed(command.sheet), command.gauge_mm
    machines, filaments = _listed(command.machine), _listed(command.filament)
    named = plastics or gauges or machines or filaments
    sheets = [
        (plastic, gauge_mm)
        for plastic in plastics or (job.sheet.plastic,)
        for gauge_mm in gauges or (job.sheet.gauge_mm or USUAL_GAUGE_MM,)
    ]
    if not named and room is not None:
        sheets = [(sheet.plastic, sheet.gauge_mm) for sheet in room.sheet]
    variants = [
        Variant(plastic=plastic, gauge_mm=gauge_mm, machine=machine, filament=filament)
        for (plastic, gauge_mm), machine, filament in product(
            sheets, machines or (job.machine,), filaments or (job.filament or USUAL_FILAMENT,)
        )
    ]
    found = tuple(dict.fromkeys(variants))
    if len(found) < 2:
        hint = 'Name several, such as --gauge "1, 1.5".'
        raise SpecError("sheet, gauge, machine or filament", "more than one", "one", hint)
    if len(found) > MOST_VARIANTS:
        hint = "Compare fewer at a time."
        raise SpecError("variants", f"at most {MOST_VARIANTS}", f"{len(found)}", hint)
    return found


def _listed(words: tuple[str, ...]) -> tuple[str, ...]:
    parts = (part.strip() for word in words for part in re.split("[,;]", word))
    return tuple(dict.fromkeys(part for part in parts if part))
