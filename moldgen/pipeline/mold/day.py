"""The day at the forming table in numbers: heat, air, load, cooling, release, cycles in a row."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, TypeVar

from moldgen.errors import SpecError
from moldgen.execution import checkpoint
from moldgen.finding import Finding, Severity, ranked
from moldgen.mold.air.air_findings import check_evacuation
from moldgen.mold.air.evacuation import Evacuation
from moldgen.mold.checks import grouped
from moldgen.mold.checks.draw import Draw
from moldgen.mold.load.load import VacuumLoad, check_load, measure_load
from moldgen.mold.release.release import BodyRelease, check_release, measure_release
from moldgen.physics.air.airflow import ATMOSPHERE_kPa
from moldgen.pipeline.mold.mold import Mold
from moldgen.pipeline.mold.print_readiness import PrintReadiness
from moldgen.pipeline.setting import Setting
from moldgen.printing.print_spec import LINE_SHARE
from moldgen.stock import Filament, Insert, Sheet
from moldgen.table.cool import Cooling, PrintedMold, cool
from moldgen.table.cycle import Run
from moldgen.table.heat_up import HeatUp, heat_up, heating_findings
from moldgen.table.life_findings import top_findings
from moldgen.table.mold_life import MoldLife, mold_life, rank_filaments

if TYPE_CHECKING:
    from moldgen.mold.sheet.formed import FormedSheet

WANTED_CYCLES = 30
"""Pulls that a mold is asked for: a class; common practice, no source."""

_LONGEST_HEAT_s = 3600.0
_LOWEST_MM, _TALLEST_MM = 1.0, 500.0
_LEAST_RATIO, _MOST_RATIO = 0.02, 1.5

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
    cool_s, warm_s : float or None
        The same where it is thickest, in the first pull and in the last that is wanted; the mold
        is cold in one and warm in the other. [s]
    run : Run
        One pull after the other; without a time to heat the longest is taken.
    life : MoldLife or None
        What that does to the mold; None if the sheet is not heated or does not cool.
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
    cool_s: float | None
    warm_s: float | None
    run: Run
    life: MoldLife | None
    filaments: tuple[Filament, ...]
    evacuation: Evacuation
    load: VacuumLoad
    release: tuple[BodyRelease, ...]
    ready: PrintReadiness
    findings: tuple[Finding, ...]

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

    def vacuum_s(self, share: float) -> float:
        """Return when a share of the machine's vacuum is under the sheet; infinite if never. [s].

        Parameters
        ----------
        share : float
            Up to the one that was waited for. [-]
        """
        wanted_kPa = share * self.evacuation.vacuum_kPa
        return self.evacuation.course.when_s(ATMOSPHERE_kPa - wanted_kPa)


def day_of(
    mold: Mold,
    setting: Setting,
    *,
    insert: Insert | None,
    filaments: tuple[Filament, ...],
    air: Evacuation,
    ready: PrintReadiness,
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

    Notes
    -----
    What a machine cannot do is a finding here, never an error: the mold is good all the same.
    """
    findings: list[Finding] = []
    sheet, machine = setting.sheet, setting.machine
    printed = replace(
        printed_mold(setting.filament, mold.height_mm),
        line_mm=LINE_SHARE * setting.printer.nozzle_mm,
    )
    thin, thick = thickness_ratios(mold, sheet.gauge_mm)
    heated = _tried(lambda: heat_up(sheet, machine), "sheet-stays-cool", findings)
    thinnest = _tried(
        lambda: cool(sheet, printed, thickness_ratio=thin), "part-stays-hot", findings
    )
    checkpoint()
    heat_s = _LONGEST_HEAT_s if heated is None else min(heated.forming_s, _LONGEST_HEAT_s)
    run = Run(sheet=sheet, heat_s=heat_s, thickness_ratio=thick, vacuum_kPa=machine.vacuum_kPa)
    # How long the first part stays on does not depend on how long the next one is heated.
    stood = mold_life(run, printed, n_cycles=WANTED_CYCLES)
    life = stood if heated and thinnest else None
    checkpoint()
    load = load_of(mold, setting)
    release = release_of(mold, setting, insert)
    checkpoint()
    findings += [
        *(heating_findings(heated) if heated else ()),
        *(top_findings(life) if life else ()),
        *check_evacuation(air),
        *check_load(load),
        *check_release(release, sheet=sheet),
    ]
    return TableDay(
        setting=setting,
        heated=heated,
        printed=printed,
        thinnest=thinnest,
        cool_s=float(stood.contact_s[0]) if thinnest else None,
        warm_s=float(stood.contact_s[-1]) if life else None,
        run=run,
        life=life,
        filaments=filaments,
        evacuation=air,
        load=load,
        release=release,
        ready=ready,
        findings=tuple(findings),
    )


def thickness_ratios(mold: Mold, gauge_mm: float) -> tuple[float, float]:
    """Return the least and the greatest thickness of the formed part over its gauge. [-].

    Without a forming run, the least mean of any feature, and the gauge itself: broad tops keep it.
    """
    least = least_thickness_ratio(mold.formed, mold.checked.draws, gauge_mm)
    if mold.formed is None:
        return least, 1.0
    own = mold.formed.thickness_mm[mold.formed.part]
    return least, _ratio(float(own.max()) / gauge_mm)


def least_thickness_ratio(
    formed: FormedSheet | None, draws: Sequence[Draw], gauge_mm: float
) -> float:
    """Return the least thickness of the formed part over its gauge. [-].

    Parameters
    ----------
    formed : FormedSheet or None
        The formed sheet, if there was a run.
    draws : sequence of Draw
        How far the sheet is drawn over this mold; they count where no sheet was formed.
    """
    if formed is not None:
        return _ratio(formed.whole.least_mm / gauge_mm)
    means = [draw.mean_thickness_mm for draw in draws]
    return _ratio(min(means, default=gauge_mm) / gauge_mm)


def stiff_where_thinnest_s(
    sheet: Sheet, printed: PrintedMold, thickness_ratio: float
) -> float | None:
    """Return how long the sheet stays soft on a mold; None if it never gets stiff. [s]."""
    try:
        return cool(sheet, printed, thickness_ratio=thickness_ratio).stiff_s
    except SpecError:
        return None


def printed_mold(filament: Filament, height_mm: float) -> PrintedMold:
    """Return a mold as heat sees it."""
    height = min(max(height_mm, _LOWEST_MM), _TALLEST_MM)
    return PrintedMold(filament=filament, height_mm=height)


def thicknesses_mm(mold: Mold) -> dict[str, float]:
    """Return the mean thickness of the formed sheet by feature. [mm]."""
    if mold.formed is not None:
        return {thinned.name: thinned.mean_mm for thinned in mold.formed.thinned}
    return {draw.name: draw.mean_thickness_mm for draw in mold.checked.draws}


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


def _ratio(ratio: float) -> float:
    return min(max(ratio, _LEAST_RATIO), _MOST_RATIO)


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
    findings = grouped([*day.ready.findings, *day.findings])
    return replace(mold, findings=ranked([*mold.findings, *findings]))
