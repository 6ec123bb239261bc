"""The work on a sheet's heat: machine timed, sheet heated and cooled, mold pulled on."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import hypot, log
from shlex import quote

from moldgen.finding import Finding, Severity, ranked
from moldgen.job.command.heat import HeatCommand, SeenCommand, seen_from
from moldgen.pipeline.heat.experience_rows import contradiction_findings
from moldgen.pipeline.stage import Progress, Stage, quiet
from moldgen.stock import FormingMachine, Plastic, Sheet, Shop
from moldgen.stock.experience import CyclesStood, TableExperience, stood_of
from moldgen.table.by_record import by_record, noted_clock
from moldgen.table.calibrate import (
    FITS_WITHIN,
    HeaterFit,
    Seen,
    calibration_findings,
    machine_from_times,
    untold_share,
)
from moldgen.table.cool import Cooling
from moldgen.table.cycles_stood import expected_cycles, stood_with
from moldgen.table.forming_window import Clock
from moldgen.table.heat_doubts import is_timed
from moldgen.table.heat_findings import heating_findings
from moldgen.table.heat_up import HeatUp, heat_up, heating_clock
from moldgen.table.life_findings import life_findings
from moldgen.table.mold_life import MoldLife, mold_life, rank_filaments
from moldgen.table.printed_mold import PrintedMold
from moldgen.table.stay import part_cooling, usual_run, warm_s
from moldgen.table.trial import Conditions

_MOST_GAUGE_mm = 4.0
_SAME = 0.05
N_STAGES = 5
"""How many stages the work is told in, the last of them writing."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HeatWork:
    """Everything there is to say about a sheet's heat.

    Attributes
    ----------
    command : HeatCommand
        What was asked.
    sheet, machine, day
        What, where and how; the machine as timed, if it was.
    fit : Calibrated or None
        What observed times said.
    heated : HeatUp
        How it is heated.
    whole, blown, thinnest : Cooling
        At full gauge and the same under a fan, until the part is taken off; and until it is stiff
        where it is thinnest, as computed.
    warm_s : float
        At full gauge on a mold that has gone through the cycles wanted. [s]
    life : MoldLife
        Of the mold printed from the filament that was asked for.
    stood : CyclesStood or None
        How many cycles such molds stood at the table; None if no note tells.
    ranked : tuple of MoldLife
        Of all filaments, the best first.
    gauges : tuple of (gauge in mm, Clock)
        Other sheets of the same plastic.
    plastics : tuple of (name, Clock)
        Other plastics of the same gauge.
    findings : tuple of Finding
        Gravest first.
    known : TableExperience or None
        What notes of the machine say, as far as they count here.
    """

    words: HeatCommand
    sheet: Sheet
    machine: FormingMachine
    day: Conditions
    fit: HeaterFit | None
    heated: HeatUp
    whole: Cooling
    blown: Cooling
    thinnest: Cooling
    warm_s: float
    life: MoldLife
    stood: CyclesStood | None
    ranked: tuple[MoldLife, ...]
    gauges: tuple[tuple[float, Clock], ...]
    plastics: tuple[tuple[str, Clock], ...]
    findings: tuple[Finding, ...]
    known: TableExperience | None = None


def heat_work(
    command: HeatCommand,
    shop: Shop,
    *,
    others: bool = True,
    progress: Progress = quiet,
) -> HeatWork:
    """Heat a sheet, cool it and pull on the mold, all in numbers.

    Parameters
    ----------
    command : HeatCommand
        What is asked.
    shop : Shop
        What there is.
    others : bool, default True
        Whether other sheets are foretold too.
    progress : callable
        Told of each stage as it begins.

    Raises
    ------
    SpecError
        If a name is not in stock, an observed time cannot be read or explained, or the machine
        cannot heat the sheet.
    """
    sheet = Sheet(plastic=shop.plastic(command.plastic), gauge_mm=command.gauge_mm)
    day = Conditions(fan=command.fan, clear_depth_mm=command.clear_depth_mm)
    first = "fitting the observed times" if command.seen else "reading the words"
    progress(Stage(1, N_STAGES, first))
    fit = _fitted(command, shop, day)
    machine = shop.machine(command.machine) if fit is None else fit.machine
    # Times that are typed go before those of the log.
    known = shop.experience.of(machine.name) if fit is None else None
    record = None if known is None else known.heating
    cooling = None if known is None else known.cooling
    untold = 0.0 if fit is None else untold_share(fit, sheet, day=day)
    open_share = untold if fit is None else hypot(untold, fit.misfit)
    progress(Stage(2, N_STAGES, "heating the sheet"))
    heated = by_record(heat_up(sheet, machine, day=day, untold=open_share), record)
    mold = PrintedMold(
        filament=shop.filament(command.filament),
        height_mm=command.height_mm,
        skin_mm=command.skin_mm,
        infill=command.infill,
    )
    progress(Stage(3, N_STAGES, "forming on the mold"))
    run = usual_run(sheet, machine, heated)
    life = mold_life(run, mold, n_cycles=int(command.cycles))
    findings = [
        *heating_findings(heated),
        *timing_findings(machine, fit, untold, known),
        *life_findings(life),
    ]
    whole = part_cooling(run, mold, record=cooling)
    progress(Stage(4, N_STAGES, "cooling it, other filaments and sheets"))

    def clock_of(other: Sheet) -> Clock:
        return noted_clock(heating_clock(other, machine, day=day), other, record)

    return HeatWork(
        words=command,
        sheet=sheet,
        machine=machine,
        day=day,
        fit=fit,
        heated=heated,
        whole=whole,
        blown=part_cooling(run, mold, fan=True, record=cooling),
        thinnest=part_cooling(run, mold, thickness_ratio=command.thinnest),
        warm_s=warm_s(whole, life),
        life=life,
        stood=_stood(known, life),
        ranked=rank_filaments(run, mold, shop.filaments.entries),
        gauges=tuple(_other_gauges(sheet, clock_of, shop)) if others else (),
        plastics=tuple(_other_plastics(sheet, clock_of, shop)) if others else (),
        findings=ranked(findings),
        known=known,
    )


def _stood(known: TableExperience | None, life: MoldLife) -> CyclesStood | None:
    own = None if known is None else stood_of(known.lives, life.mold.filament.name)
    return own and stood_with(own, expected=expected_cycles(life))


def _fitted(command: HeatCommand, shop: Shop, day: Conditions) -> HeaterFit | None:
    if not command.seen:
        return None
    seen = []
    for number, text in enumerate(command.seen, start=1):
        place = f"--seen {number}"
        timed = seen_from(place, text)
        sheet = Sheet(plastic=_named(place, timed, shop), gauge_mm=timed.gauge_mm)
        seen.append(Seen(sheet=sheet, seconds=timed.seconds))
    return machine_from_times(shop.machine(command.machine), seen, day=day)


def _named(place: str, timed: SeenCommand, shop: Shop) -> Plastic:
    return shop.plastics.find(timed.plastic, field=place)


def timing_findings(
    machine: FormingMachine,
    fit: HeaterFit | None = None,
    untold: float = 0.0,
    known: TableExperience | None = None,
) -> tuple[Finding, ...]:
    """Return what there is to say of a machine that was never timed, or of how it was."""
    if fit is not None:
        return (*calibration_findings(fit), *_untold(fit, untold))
    told = contradiction_findings(known)
    if is_timed(machine) or (known is not None and known.heating is not None):
        return told
    return (*told, *_untimed(machine))


def _untimed(machine: FormingMachine) -> tuple[Finding, ...]:
    table = quote(machine.name)
    return (
        Finding(
            code="machine-untimed",
            severity=Severity.NOTE,
            says="nobody has timed a sheet on this forming machine yet, so its times are a guess",
            subject=machine.name,
            basis=machine.sources.get("heater_degC", ""),
            advice="Time two gauges until they are right, and keep each time, for every command "
            "goes by it: moldgen log add --job Trial "
            f"--machine {table} --plastic HIPS --gauge 1.5 --heated 60",
        ),
    )


def _untold(fit: HeaterFit, share: float) -> tuple[Finding, ...]:
    low, high = (machine.heater_degC for machine in fit.alike)
    if high <= low or fit.misfit > FITS_WITHIN:
        return ()
    return (
        Finding(
            code="times-cannot-tell",
            severity=Severity.NOTE,
            says="the times do not tell heater temperature and share apart: any temperature from "
            f"{low:.0f} to {high:.0f} °C fits as well, with another share",
            subject=fit.machine.name,
            basis="least squares over both, times read to 5 %",
            advice=f"For this sheet that matters {100 * share:.0f} %. A thicker gauge, or a "
            "plastic that forms hotter, tells more.",
        ),
    )


def _other_gauges(
    sheet: Sheet, clock_of: Callable[[Sheet], Clock], shop: Shop
) -> list[tuple[float, Clock]]:
    sold = sorted(one.nominal_mm or one.gauge_mm for one in shop.gauges_for(sheet.plastic))
    gauges_mm = [sheet.gauge_mm]
    for gauge_mm in sold:
        # Inch gauges a hair from a metric one would tell the same twice.
        if gauge_mm <= _MOST_GAUGE_mm and all(
            abs(log(gauge_mm / one)) > _SAME for one in gauges_mm
        ):
            gauges_mm.append(gauge_mm)
    return [(gauge_mm, clock_of(replace(sheet, gauge_mm=gauge_mm))) for gauge_mm in gauges_mm[1:]]


def _other_plastics(
    sheet: Sheet, clock_of: Callable[[Sheet], Clock], shop: Shop
) -> list[tuple[str, Clock]]:
    return [
        (plastic.name, clock_of(replace(sheet, plastic=plastic)))
        for plastic in shop.plastics.entries
        if plastic.name != sheet.plastic.name
    ]
