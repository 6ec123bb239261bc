"""The files of a wall chart: one page for the wall, a report, numbers."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import fields
from functools import partial
from typing import TYPE_CHECKING, Any

from moldgen.finding import Finding, counted
from moldgen.job.command.chart import ChartCommand
from moldgen.job.formats import CHART_FORMATS, Format
from moldgen.job.spec import Paper
from moldgen.pipeline.file_set import OutputFile
from moldgen.pipeline.heat.chart import ChartWork, SheetTimes, chart_work
from moldgen.pipeline.heat.work import timing_findings
from moldgen.pipeline.output import Output
from moldgen.pipeline.result import Result
from moldgen.pipeline.stage import Progress, Stage, quiet
from moldgen.stock import Plastic, Shop
from moldgen.table.ready_signs import STICK
from moldgen.trust import COOLING, HEATING
from moldgen.wording import gauge_text

if TYPE_CHECKING:
    from moldgen.export.card.wall_chart import ChartCell, WallChart
    from moldgen.export.report.report import Report
    from moldgen.export.report.table import Table


def design_chart(command: ChartCommand, *, shop: Shop, progress: Progress = quiet) -> Output:
    """Work out a wall chart, and what its files are made of.

    Raises
    ------
    SpecError
        If a name is not in stock.
    """
    work = chart_work(command, shop, progress=progress)
    return Output(
        told=_told(work, command),
        bodies=(),
        files=lambda paper: _files(work, paper),
        pictures=tuple,
        report=lambda: _report(work),
        formats=command.formats,
        usual=CHART_FORMATS,
        paper=command.paper,
        units=command.units,
        stages=(Stage(2, 2, "writing files"),),
    )


def _told(work: ChartWork, command: ChartCommand) -> Result:
    blank = sum(bool(one.reason) for one in work.times.values())
    told = len(work.times) - blank
    return Result(
        title=f"Heating times on {work.machine.name}",
        summary=(
            ("Forming table", work.machine.name),
            ("Sheets", ", ".join(plastic.name for plastic in work.plastics)),
            ("Told", f"{counted(told, 'sheet')}; {blank or 'none'} left blank"),
        ),
        findings=_findings(work),
        numbers={"sheets": [_numbers(one) for one in work.times.values()]},
        units=command.units,
    )


def _findings(work: ChartWork) -> tuple[Finding, ...]:
    """Return what there is to say of the table."""
    return timing_findings(work.machine, known=work.known)


def _numbers(one: SheetTimes) -> dict[str, Any]:
    return {line.name: getattr(one, line.name) for line in fields(one)}


def _files(work: ChartWork, paper: Paper) -> Iterator[OutputFile]:
    def content() -> bytes:
        from moldgen.export.card.wall_chart import wall_chart_pdf_bytes
        from moldgen.export.plan.paper import paper_named

        return wall_chart_pdf_bytes(wall_chart(work), paper=paper_named(Paper(paper).value).turned)

    yield OutputFile(
        name="heating-chart.pdf",
        purpose="the chart for the wall, one page",
        content=content,
        format=Format.PDF,
    )


def wall_chart(work: ChartWork) -> WallChart:
    """Return what stands on the wall."""
    from moldgen.export.card.wall_chart import ChartRow, WallChart
    from moldgen.export.report.cautions import card_cautions

    return WallChart(
        title=f"Heating times on {work.machine.name}",
        heads=tuple(gauge_text(gauge_mm) for gauge_mm in work.gauges_mm),
        rows=tuple(
            ChartRow(
                name=plastic.name,
                watch=f"Ready when {plastic.ready}.",
                cells=tuple(map(partial(_cell, work, plastic), work.gauges_mm)),
            )
            for plastic in work.plastics
        ),
        foot=(_reading(work), tuple(_trust(work)), card_cautions()),
    )


def _reading(work: ChartWork) -> tuple[str, ...]:
    """Return how the chart is read."""
    return (
        "Seconds from cold, in the middle of the sheet.",
        f"Below: seconds to cool at full thickness on a cold mold of {work.filament.name}.",
        "Watch the sheet, not the clock.",
        STICK,
    )


def _trust(work: ChartWork) -> Iterator[str]:
    """Yield how far the times may be trusted."""
    yield f"Trust: heating {HEATING.text}; cooling {COOLING.text}."
    heating = None if work.known is None else work.known.heating
    if heating is not None:
        yield f"Times by {counted(heating.n_notes, 'note')} of this table."
    elif timing_findings(work.machine):
        yield "Nobody has timed a sheet on this table yet: its times are a guess."
    cooling = None if work.known is None else work.known.cooling
    if cooling is not None:
        yield f"Cooling by {counted(cooling.n_notes, 'note')} of this table."


def _cell(work: ChartWork, plastic: Plastic, gauge_mm: float) -> ChartCell:
    from moldgen.export.card.wall_chart import ChartCell

    one = work.times[plastic.name, gauge_mm]
    if one.heat_band_s is None:
        return ChartCell(reason=one.reason)
    power = f"{one.power_percent} % power" if one.power_percent < 100 else ""
    return ChartCell(
        heat="–".join(map(str, one.heat_band_s)),
        cool="–".join(map(str, one.cool_band_s)) if one.cool_band_s else "?",
        power=power,
    )


def _report(work: ChartWork) -> Report:
    from moldgen.export.report.report import Report, cautions

    return Report(
        title=f"Heating times on {work.machine.name}",
        subtitle=work.machine.title,
        tables=(_table(work),),
        trust=(HEATING, COOLING),
        cautions=cautions(),
    )


def _table(work: ChartWork) -> Table:
    from moldgen.export.report.table import Table

    return Table(
        title="Heating and cooling times",
        header=("Sheet", "Heat for (s)", "Cool for (s)", "Power", "Left blank because"),
        rows=tuple(_rows(work.times.values())),
        note="Cooling at full thickness on a cold mold.",
    )


def _rows(times: Iterable[SheetTimes]) -> Iterator[tuple[str, ...]]:
    for one in times:
        heat, cool = (
            "" if band_s is None else f"{band_s[0]} to {band_s[1]}"
            for band_s in (one.heat_band_s, one.cool_band_s)
        )
        power = "" if one.reason else f"{one.power_percent} %"
        yield f"{one.plastic} {gauge_text(one.gauge_mm)}", heat, cool, power, one.reason
