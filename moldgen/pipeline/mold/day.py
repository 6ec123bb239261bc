"""The day at the forming table in numbers: heat, air, load, cooling, release, cycles in a row."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TypeVar

from moldgen.errors import SpecError
from moldgen.execution import checkpoint
from moldgen.finding import Finding, Severity, ranked
from moldgen.mold.air.air_findings import check_evacuation
from moldgen.mold.air.evacuation import Evacuation
from moldgen.mold.checks import grouped
from moldgen.mold.load.load import VacuumLoad, check_load, measure_load
from moldgen.mold.release.release import BodyRelease, check_release, measure_release
from moldgen.pipeline.mold.mold import Mold
from moldgen.pipeline.mold.print_readiness import PrintReadiness
from moldgen.pipeline.mold.thickness import thickness_ratios, thicknesses_mm
from moldgen.pipeline.mold.wood import is_of_print
from moldgen.pipeline.setting import Setting
from moldgen.printing.print_spec import LINE_SHARE
from moldgen.stock import Filament, Insert, Sheet
from moldgen.stock.experience import CyclesStood
from moldgen.table.by_record import by_record
from moldgen.table.cool import Cooling
from moldgen.table.cycles_stood import expected_cycles, stood_with
from moldgen.table.heat_findings import heating_findings
from moldgen.table.heat_up import HeatUp, heat_up
from moldgen.table.life_findings import chosen_infill, top_findings
from moldgen.table.mold_life import MoldLife, mold_life, rank_filaments
from moldgen.table.printed_mold import PrintedMold, printed_mold
from moldgen.table.run import Run
from moldgen.table.stay import part_cooling, usual_run, warm_s

WANTED_CYCLES = 30
"""Pulls that a mold is asked for: a class; common practice, no source."""


T = TypeVar("T")


@dataclass(frozen=True, kw_only=True, eq=False)
class TableDay:
    """What the day at the table will bring with one mold.

    Attributes
    ----------
    setting : Setting
        Sheet, machine, printer, filament.
    heated : HeatUp or None
        How the sheet is heated; None if the machine cannot, which a finding tells.
    printed : PrintedMold
        The mold as heat sees it.
    thinnest : Cooling or None
        How long the part cools where the sheet is thinnest; None if it never does.
    thickest : Cooling or None
        How long it cools where it is thickest: until it is taken off, as notes of the table have
        it. What the air has time for, where it is thinnest, stays as computed.
    warm_s : float or None
        How long the last part that is wanted stays on, there: the mold is warm then. [s]
    run : Run
        One pull after the other; without a time to heat the longest is taken.
    life : MoldLife or None
        What that does to the mold; None if the sheet is not heated or does not cool.
    stood : CyclesStood or None
        How many cycles molds of the filament stood at the table, with what is computed for this
        one; None if no note tells.
    filaments : tuple of Filament
        What else it could be printed from.
    evacuation : Evacuation
        How the vacuum comes, against the cooling at the thinnest place.
    load : VacuumLoad
        What the print bears.
    release : tuple of BodyRelease
        What it takes to pull the bodies out; empty if the plastic's stiffness is not known.
    ready : PrintReadiness
        What printing the mold takes.
    findings : tuple of Finding
        What of the day a person should know.
    """

    setting: Setting
    heated: HeatUp | None
    printed: PrintedMold
    thinnest: Cooling | None
    thickest: Cooling | None
    warm_s: float | None
    run: Run
    life: MoldLife | None
    stood: CyclesStood | None
    filaments: tuple[Filament, ...]
    evacuation: Evacuation
    load: VacuumLoad
    release: tuple[BodyRelease, ...]
    ready: PrintReadiness
    findings: tuple[Finding, ...]

    @property
    def cool_s(self) -> float | None:
        """How long the part cools on a cold mold, where it is thickest; None if for ever. [s]."""
        return None if self.thickest is None else self.thickest.stiff_s

    @cached_property
    def ranked(self) -> tuple[MoldLife, ...]:
        """The same mold from every filament, the one that lasts longest first."""
        if self.life is None:
            return ()
        return rank_filaments(self.run, self.printed, self.filaments)

    @property
    def hardest(self) -> BodyRelease | None:
        """The body that is hardest to pull out with what it has."""
        return max(self.release, key=lambda one: one.force_N / one.holds_N, default=None)


def day_of(
    mold: Mold,
    setting: Setting,
    *,
    insert: Insert | None,
    filaments: tuple[Filament, ...],
    air: Evacuation,
    ready: PrintReadiness,
    printed: PrintedMold,
) -> TableDay:
    """Work out the day at the table.

    Parameters
    ----------
    mold : Mold
        As built; with the formed sheet its thicknesses count, otherwise the means of the features.
    setting : Setting
        Sheet, machine, printer, filament.
    insert : Insert or None
        What the mold is lifted by.
    filaments : tuple of Filament
        What else it could be printed from.
    air : Evacuation
        How the vacuum comes.
    ready : PrintReadiness
        What printing the mold takes.
    printed : PrintedMold
        The mold as heat sees it.

    Notes
    -----
    What a machine cannot do is a finding here, never an error: the mold is good all the same.
    """
    findings: list[Finding] = []
    sheet, machine = setting.sheet, setting.machine
    thin, thick = thickness_ratios(mold, sheet.gauge_mm)
    heated = _tried(lambda: heated_in(setting), "sheet-stays-cool", findings)
    checkpoint()
    run = usual_run(sheet, machine, heated, thickness_ratio=thick)
    cooled = _tried(
        lambda: (
            part_cooling(run, printed, record=setting.cooling),
            part_cooling(run, printed, thickness_ratio=thin),
        ),
        "part-stays-hot",
        findings,
    )
    thickest, thinnest = cooled or (None, None)
    checkpoint()
    life = mold_life(run, printed, n_cycles=WANTED_CYCLES) if heated and cooled else None
    checkpoint()
    load = load_of(mold, setting)
    release = release_of(mold, setting, insert)
    checkpoint()
    findings += [
        *(heating_findings(heated) if heated else ()),
        *check_evacuation(air),
        *(_print_findings(life, load, release, sheet=sheet) if setting.is_printed else ()),
    ]
    return TableDay(
        setting=setting,
        heated=heated,
        printed=printed,
        thinnest=thinnest,
        thickest=thickest,
        warm_s=warm_s(thickest, life) if thickest and life else None,
        run=run,
        life=life,
        stood=_stood(setting, life),
        filaments=filaments,
        evacuation=air,
        load=load,
        release=release,
        ready=ready,
        findings=tuple(findings),
    )


def _stood(setting: Setting, life: MoldLife | None) -> CyclesStood | None:
    if setting.stood is None or life is None:
        return None
    return stood_with(setting.stood, expected=expected_cycles(life))


def _print_findings(
    life: MoldLife | None, load: VacuumLoad, release: tuple[BodyRelease, ...], *, sheet: Sheet
) -> tuple[Finding, ...]:
    """Return what a person should know of what a printed mold bears."""
    sinks = top_findings(life) if life else ()
    return (*sinks, *check_load(load), *check_release(release, sheet=sheet))


def mold_that_lasts(setting: Setting, height_mm: float) -> PrintedMold:
    """Return a mold as it is printed: filled as usual, or so that its top lasts a class.

    Parameters
    ----------
    setting : Setting
        What is formed, where, and what the mold is printed from and with.
    height_mm : float
        Its height. [mm]
    """
    printed = _as_usual(setting, height_mm)
    life = _life(setting, printed)
    return printed if life is None else replace(printed, infill=chosen_infill(life))


def life_of_a_class(setting: Setting, height_mm: float) -> MoldLife | None:
    """Return what a class does to a mold that is filled to last; None if no sheet is heated."""
    return _life(setting, mold_that_lasts(setting, height_mm))


def _as_usual(setting: Setting, height_mm: float) -> PrintedMold:
    if not setting.is_printed:
        return replace(printed_mold(setting.filament, height_mm), infill=1.0)
    line_mm = LINE_SHARE * setting.printer.nozzle_mm
    return replace(printed_mold(setting.filament, height_mm), line_mm=line_mm)


def _life(setting: Setting, printed: PrintedMold) -> MoldLife | None:
    try:
        heated = heated_in(setting)
        run = usual_run(setting.sheet, setting.machine, heated)
        return mold_life(run, printed, n_cycles=WANTED_CYCLES)
    except SpecError:
        return None


def heated_in(setting: Setting) -> HeatUp:
    """Return how the sheet is heated: as computed, and as notes of the machine say.

    Raises
    ------
    SpecError
        If the machine never brings the sheet to where it forms.
    """
    return by_record(heat_up(setting.sheet, setting.machine), setting.heating)


def load_of(mold: Mold, setting: Setting) -> VacuumLoad:
    """Return what the print bears under the machine's vacuum."""
    return measure_load(
        mold.plans,
        mold.undersides,
        mold.vents.vents,
        mold.relief,
        machine=setting.machine,
        printer=setting.printer,
        filament=setting.filament,
    )


def release_of(mold: Mold, setting: Setting, insert: Insert | None) -> tuple[BodyRelease, ...]:
    """Return what it takes to pull the bodies out of the part."""
    return measure_release(
        mold.plans,
        mold.markings,
        sheet=setting.sheet,
        filament=setting.filament,
        insert=insert,
        layer_mm=setting.printer.layer_mm,
        thicknesses_mm=thicknesses_mm(mold),
    )


def _tried(work: Callable[[], T], code: str, findings: list[Finding]) -> T | None:
    """Return what comes out, or None and a finding if the table cannot do it."""
    try:
        return work()
    except SpecError as error:
        findings.extend(_cannot(error, code))
        return None


def _cannot(error: SpecError, code: str) -> Iterator[Finding]:
    yield Finding(
        code=code,
        severity=Severity.CAUTION,
        says=f"the {error.field} is not {error.rule}: {error.got}",
        basis="heat through sheet and print, computed",
        advice=error.hint,
    )


def with_day_findings(mold: Mold, day: TableDay) -> Mold:
    """Return the mold with what is known of print and day among its findings, gravest first.

    One finding stands for all where three or more places break the same rule.
    """
    if not day.setting.is_printed:
        told = [*mold.findings, *grouped(day.findings)]
        return replace(mold, findings=ranked(one for one in told if not is_of_print(one)))
    findings = grouped([*day.ready.findings, *day.findings])
    return replace(mold, findings=ranked([*mold.findings, *findings]))
