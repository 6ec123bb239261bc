"""The times of a wall chart: which sheets it has, how long each is heated and cools."""

from __future__ import annotations

from dataclasses import dataclass

from moldgen.errors import SpecError
from moldgen.finding import Severity
from moldgen.job.command.chart import ChartCommand
from moldgen.pipeline.stage import Progress, Stage, quiet
from moldgen.stock import Filament, FormingMachine, Plastic, Sheet, Shop
from moldgen.stock.experience import NoteEstimate, TableExperience
from moldgen.table.by_record import by_record
from moldgen.table.heat_findings import heating_findings, lower_percent
from moldgen.table.heat_up import heat_up
from moldgen.table.printed_mold import PrintedMold
from moldgen.table.run import Run
from moldgen.table.stay import part_cooling, usual_run
from moldgen.wording import span_s

USUAL_PLASTICS = ("HIPS", "ABS", "PETG", "PMMA extruded", "PP")
USUAL_GAUGES_mm = (0.75, 1.0, 1.5, 2.0, 3.0)
"""What a chart has if nobody says which sheets there are; common practice, no source. [mm]."""
_LONGEST_s = 999.0
_MOLD = {"height_mm": 20.0, "skin_mm": 1.2}
_SAME = 0.05
"""Gauges this close are one on a chart, as a share: an inch gauge beside a metric one. [-]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetTimes:
    """The times of one sheet on a table.

    Attributes
    ----------
    plastic : str
        Its name.
    gauge_mm : float
        Its thickness. [mm]
    heat_band_s : pair of int or None
        From when to when to heat; None where that cannot be told. [s]
    cool_band_s : pair of int or None
        From when to when it cools at full thickness on a cold mold. [s]
    power_percent : int
        What the heater is turned down to; 100 for all of it. [%]
    reason : str
        Why no time is told; empty if one is.
    """

    plastic: str
    gauge_mm: float
    heat_band_s: tuple[int, int] | None = None
    cool_band_s: tuple[int, int] | None = None
    power_percent: int = 100
    reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ChartWork:
    """The times of a chart.

    Attributes
    ----------
    machine : FormingMachine
        On which table.
    filament : Filament
        Of the mold that parts cool on.
    plastics : tuple of Plastic
        One for each row.
    gauges_mm : tuple of float
        One for each column. [mm]
    times : dict
        By name of the plastic and gauge.
    known : TableExperience or None
        What notes of the table say, by which the times go.
    """

    machine: FormingMachine
    filament: Filament
    plastics: tuple[Plastic, ...]
    gauges_mm: tuple[float, ...]
    times: dict[tuple[str, float], SheetTimes]
    known: TableExperience | None = None


def chart_work(command: ChartCommand, shop: Shop, *, progress: Progress = quiet) -> ChartWork:
    """Work out the times of a chart.

    Raises
    ------
    SpecError
        If a name is not in stock.
    """
    machine, filament = shop.machine(command.machine), shop.filament(command.filament)
    known = shop.experience.of(machine.name)
    asked = command.named
    named = {shop.plastics.find(name, field="sheets").name: None for name, _ in asked}
    plastics = tuple(shop.plastic(name) for name in named or USUAL_PLASTICS)
    gauges_mm = tuple(sorted({gauge_mm for _, gauge_mm in asked} or USUAL_GAUGES_mm))
    there = {(shop.plastic(name).name, gauge_mm) for name, gauge_mm in asked}
    times = {}
    for number, plastic in enumerate(plastics):
        progress(Stage(1, 2, f"heating {plastic.name}", number / len(plastics)))
        for gauge_mm in gauges_mm:
            is_there = (
                (plastic.name, gauge_mm) in there if asked else _is_sold(plastic, gauge_mm, shop)
            )
            sheet = Sheet(plastic=plastic, gauge_mm=gauge_mm)
            times[plastic.name, gauge_mm] = (
                sheet_times(sheet, machine, filament, known=known)
                if is_there
                else _blank(sheet, "not among your sheets" if asked else "not in stock")
            )
    return ChartWork(
        machine=machine, filament=filament, plastics=plastics, gauges_mm=gauges_mm, times=times,
        known=known,
    )  # fmt: skip


def _is_sold(plastic: Plastic, gauge_mm: float, shop: Shop) -> bool:
    sold = (one.nominal_mm or one.gauge_mm for one in shop.gauges_for(plastic))
    return any(abs(one / gauge_mm - 1) < _SAME for one in sold)


def sheet_times(
    sheet: Sheet,
    machine: FormingMachine,
    filament: Filament,
    *,
    known: TableExperience | None = None,
) -> SheetTimes:
    """Return how long to heat and to cool a sheet, or why that cannot be told.

    Parameters
    ----------
    sheet, machine, filament : Sheet, FormingMachine, Filament
        What is heated, on which table, and what the mold is printed from.
    known : TableExperience, optional
        What notes of the table say.
    """
    known = known or TableExperience(machine=machine.name)
    try:
        heated = by_record(heat_up(sheet, machine), known.heating)
    except SpecError:
        return _blank(sheet, "this table does not get it hot enough")
    if any(one.severity is Severity.STOP for one in heating_findings(heated)):
        return _blank(sheet, "not at this heater: see moldgen heat")
    usable = heated.usable
    if usable.forming_s is None:
        return _blank(sheet, "no safe time at any heat")
    band_s = span_s(usable.forming_s, *usable.band_s)
    if band_s[1] > _LONGEST_s:
        return _blank(sheet, "takes more than a quarter of an hour")
    return SheetTimes(
        plastic=sheet.plastic.name,
        gauge_mm=sheet.gauge_mm,
        heat_band_s=band_s,
        cool_band_s=_cooled_band_s(
            usual_run(sheet, machine, heated), filament, record=known.cooling
        ),
        power_percent=100 if usable is heated else lower_percent(heated),
    )


def _blank(sheet: Sheet, reason: str) -> SheetTimes:
    return SheetTimes(plastic=sheet.plastic.name, gauge_mm=sheet.gauge_mm, reason=reason)


def _cooled_band_s(
    run: Run, filament: Filament, *, record: NoteEstimate | None
) -> tuple[int, int] | None:
    """Return how long a part cools at full thickness; None if it never gets stiff. [s]."""
    mold = PrintedMold(filament=filament, **_MOLD)
    try:
        cooled = part_cooling(run, mold, record=record)
    except SpecError:
        return None
    return span_s(cooled.stiff_s, *cooled.band_s)
