"""The files of a sheet's heat: picture, report, numbers, and a station that was timed."""

from __future__ import annotations

from collections.abc import Mapping

from moldgen.errors import SpecError
from moldgen.export.report import Picture, Report, cautions, report_html_bytes
from moldgen.job.heat_words import HEAT_FORMATS
from moldgen.job.spec import Format
from moldgen.pipeline.heat_picture import course_png
from moldgen.pipeline.heat_rows import TIMED_NAME, numbers_of, summary_of
from moldgen.pipeline.heat_rows import tables_of as heat_tables
from moldgen.pipeline.heat_work import HeatWork
from moldgen.stock.shelf import one_of
from moldgen.table.calibrate import station_toml, why_no_entry
from moldgen.table.heat_up import SIGNS
from moldgen.table.said import clock_words

_PICTURE = "heating.png"
_STATION = "station.toml"
_FOR = {
    _PICTURE: "picture",
    _STATION: "the timed station, for your stock file",
    "findings.json": "findings and numbers for programs",
    "report.html": "this report",
}


def heat_files(work: HeatWork) -> dict[str, bytes]:
    """Return every file that is wanted, by name.

    Raises
    ------
    SpecError
        If nothing can be written in a format that is wanted.
    """
    wanted = set(work.words.formats)
    if odd := sorted(wanted - set(HEAT_FORMATS)):
        hint = "Nothing is made here that could be printed or cut."
        raise SpecError("formats", one_of(HEAT_FORMATS), odd[0], hint)
    files: dict[str, bytes] = {}
    picture = course_png(work.heated)
    if Format.PNG in wanted:
        files[_PICTURE] = picture
    if work.fit is not None and not why_no_entry(work.fit):
        files[_STATION] = station_toml(work.fit, TIMED_NAME).encode()
    if Format.JSON in wanted:
        from moldgen.export.findings_json import findings_json_bytes

        files["findings.json"] = findings_json_bytes(
            work.findings, title=_title(work), summary=numbers_of(work)
        )
    if Format.HTML in wanted:
        files["report.html"] = _report(work, picture, files)
    return files


def steps_of(work: HeatWork) -> tuple[tuple[str, str], ...]:
    """Return what to do at the table, step by step."""
    heated, plastic = work.heated, work.sheet.plastic
    opens = clock_words(heated.clock.opens_s or 0)
    low_s, high_s = (clock_words(time_s) for time_s in heated.band_s)
    return (
        ("Warm up", "Switch the heater on well before, until it no longer gets hotter."),
        ("Clamp", "Take the film off, clamp the sheet all round, gloves on."),
        ("Heat", f"{clock_words(heated.pull_s)}, which may be {low_s} to {high_s}. Watch it "
                 f"from {opens} on and stay with it. {plastic.caution}"),
        ("Ready", f"When {SIGNS} (common practice, no source)."),
        ("Form", "Heater away, mold into the sheet, vacuum at once."),
        ("Cool", f"Keep the vacuum {clock_words(work.whole.stiff_s)} on a cold mold, "
                 f"{clock_words(float(work.life.contact_s[-1]))} on one that has warmed up, "
                 f"until the part is below {plastic.set_degC:g} °C and stiff."),
        ("Write down", "How long it really took: two gauges timed make all these times yours."),
    )  # fmt: skip


def _title(work: HeatWork) -> str:
    return f"Heating {work.sheet.plastic.name}, {work.sheet.gauge_mm:.3g} mm"


def _report(work: HeatWork, picture: bytes, files: Mapping[str, bytes]) -> bytes:
    name = "Temperatures while heating"
    caption = (
        "Both faces and the mean, in the middle of the sheet, over time; the band is the "
        "forming window, the upright lines are when it opens, the pull, and when it closes."
    )
    return report_html_bytes(
        Report(
            title=_title(work),
            subtitle=work.station.title,
            summary=summary_of(work),
            findings=work.findings,
            pictures=(Picture(name=name, caption=caption, png=picture),),
            tables=heat_tables(work),
            steps=steps_of(work),
            cautions=cautions(),
            files=tuple((file, _FOR[file]) for file in (*files, "report.html")),
        )
    )
