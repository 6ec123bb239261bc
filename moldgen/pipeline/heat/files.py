"""The files of a sheet's heat: picture, report, numbers, and a station that was timed."""

from __future__ import annotations

from collections.abc import Iterator

from moldgen.export.report.report import Picture, Report, cautions
from moldgen.job.formats import REPORT_FORMATS
from moldgen.pipeline.file_set import OutputFile, file_set, with_documents
from moldgen.pipeline.heat.picture import course_png
from moldgen.pipeline.heat.rows import TIMED_NAME, cooling_text, timing_text
from moldgen.pipeline.heat.rows import tables_of as heat_tables
from moldgen.pipeline.heat.work import HeatWork
from moldgen.pipeline.result import Result
from moldgen.table.calibrate import station_toml, why_no_entry
from moldgen.table.heat_up import SIGNS


def heat_made(work: HeatWork, made: Result) -> Result:
    """Return what was worked out with every file that is wanted."""
    written = file_set(
        _station(work), work.words.formats, pictures=lambda: (_picture(work),), usual=REPORT_FORMATS
    )
    return with_documents(made, written, lambda: _report(work, made.title))


def _station(work: HeatWork) -> Iterator[OutputFile]:
    """Yield the station that was timed, if two sheets were."""
    if work.fit is None or why_no_entry(work.fit):
        return
    text = station_toml(work.fit, TIMED_NAME)
    yield OutputFile(
        name="station.toml",
        purpose="the timed station, for your stock file",
        content=text.encode,
        format=None,
    )


def steps_of(work: HeatWork) -> tuple[tuple[str, str], ...]:
    """Return what to do at the table, step by step."""
    heated, plastic = work.heated, work.sheet.plastic
    warm_s = float(work.life.contact_s[-1])
    return (
        ("Warm up", "Switch the heater on well before, until it no longer gets hotter."),
        ("Clamp", "Take the film off, clamp the sheet all round, gloves on."),
        ("Heat", f"{timing_text(heated)} {plastic.caution}"),
        ("Ready", f"When {SIGNS} (common practice, no source)."),
        ("Form", "Heater away, mold into the sheet, vacuum at once."),
        ("Cool", f"{cooling_text(plastic, cold_s=work.whole.stiff_s, warm_s=warm_s)}."),
        ("Write down", "How long it really took: two gauges timed make all these times yours."),
    )  # fmt: skip


def _picture(work: HeatWork) -> Picture:
    return Picture(
        name="heating",
        caption="Both faces and the mean, in the middle of the sheet, over time; the band is the "
        "forming window, the upright lines are when it opens, the pull, and when it closes.",
        png=course_png(work.heated),
    )


def _report(work: HeatWork, title: str) -> Report:
    return Report(
        title=title,
        subtitle=work.station.title,
        tables=heat_tables(work),
        steps=steps_of(work),
        cautions=cautions(),
    )
