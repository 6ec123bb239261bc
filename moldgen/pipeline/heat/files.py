"""The files of a sheet's heat: picture, report, numbers, and a machine that was timed."""

from __future__ import annotations

from collections.abc import Iterator

from moldgen.export.report.report import Picture, Report, cautions
from moldgen.job.formats import REPORT_FORMATS
from moldgen.pipeline.file_set import OutputFile
from moldgen.pipeline.heat.picture import course_png
from moldgen.pipeline.heat.rows import TIMED_NAME, cooling_text, timing_text
from moldgen.pipeline.heat.tables import tables_of as heat_tables
from moldgen.pipeline.heat.work import N_STAGES, HeatWork
from moldgen.pipeline.output import Output
from moldgen.pipeline.result import Result
from moldgen.pipeline.stage import Stage
from moldgen.table.ready_signs import ready_text
from moldgen.table.timed_entry import machine_toml, why_no_entry
from moldgen.trust import HEATED


def heat_output(work: HeatWork, told: Result) -> Output:
    """Return what was worked out, with what its files are made of."""
    return Output(
        told=told,
        bodies=(),
        files=lambda paper: _machine(work),
        pictures=lambda: (_picture(work),),
        report=lambda: _report(work, told.title),
        formats=work.words.formats,
        units=work.words.units,
        usual=REPORT_FORMATS,
        stages=(Stage(N_STAGES, N_STAGES, "writing files"),),
    )


def _machine(work: HeatWork) -> Iterator[OutputFile]:
    """Yield the machine that was timed, if two sheets were."""
    if work.fit is None or why_no_entry(work.fit):
        return
    text = machine_toml(work.fit, TIMED_NAME)
    yield OutputFile(
        name="machine.toml",
        purpose="the timed machine, for your stock file",
        content=text.encode,
        format=None,
    )


def steps_of(work: HeatWork) -> tuple[tuple[str, str], ...]:
    """Return what to do at the table, step by step."""
    heated, plastic = work.heated, work.sheet.plastic
    return (
        ("Warm up", "Switch the heater on well before, until it no longer gets hotter."),
        ("Clamp", "Take the film off, clamp the sheet all round, gloves on."),
        ("Heat", f"{timing_text(heated)} {plastic.caution}"),
        ("Ready", ready_text(plastic)),
        ("Form", "Heater away, mold into the sheet, vacuum at once."),
        ("Cool", f"{cooling_text(plastic, cold=work.whole, warm_s=work.warm_s)}."),
        ("Write down", "How long it really took: moldgen log add makes all these times yours."),
    )  # fmt: skip


def _picture(work: HeatWork) -> Picture:
    return Picture(
        name="heating",
        caption="Both faces and the mean, in the middle of the sheet, over time; the band is the "
        "forming window, the upright lines are when it opens, forming, and when it closes.",
        png=course_png(work.heated),
    )


def _report(work: HeatWork, title: str) -> Report:
    return Report(
        title=title,
        subtitle=work.machine.title,
        tables=heat_tables(work),
        trust=HEATED,
        steps=steps_of(work),
        cautions=cautions(),
    )
