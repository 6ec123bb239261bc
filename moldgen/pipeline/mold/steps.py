"""The steps of the day at the table."""

from __future__ import annotations

from collections.abc import Sequence

from moldgen.fixture.trim.line import is_straight
from moldgen.fixture.trim.tool import BASIS, Tooling, trim_tooling
from moldgen.job import Job
from moldgen.job.outline import JobText
from moldgen.job.spec import JobFeature, MoldRequest
from moldgen.mold.underside.cut import BoreSpec, Opening
from moldgen.pipeline.mold.day import TableDay
from moldgen.pipeline.mold.day_rows import day_text
from moldgen.pipeline.mold.hanging import hanging_holes, hanging_step
from moldgen.pipeline.mold.mold import Mold
from moldgen.pipeline.mold.plan import Drilling, drills_in_text
from moldgen.pipeline.mold.trim_region import TrimPlan, trim_plan_of
from moldgen.pipeline.setting import Setting
from moldgen.pipeline.types import Rows


def on_the_day(
    job: MoldRequest,
    mold: Mold,
    setting: Setting,
    drilling: Sequence[Drilling],
    day: TableDay,
) -> Rows:
    """Return what to do at the table, step by step.

    Parameters
    ----------
    job : MoldRequest
        What was asked for.
    mold : Mold
        The finished mold.
    setting : Setting
        Sheet, table, printer and filament.
    drilling : Sequence[Drilling]
        Vents that are drilled after printing.
    day : TableDay
        The day at the table.
    """
    features = job.body if isinstance(job, Job) else ()
    text = day_text(day)
    trim = trim_plan_of(job, mold, setting.sheet)
    holes = hanging_holes(job, mold)
    return (
        ("Print", f"{text['set']} {text['print']}"),
        *_vent_steps(mold, drilling),
        ("Place", "Stand the mold in the middle of the table over its holes, the arrow on its "
                  "underside to the far side." + _reading_text(features)),
        ("Clamp", f"Clamp a sheet of {setting.machine.sheet_width_mm:g} x "
                  f"{setting.machine.sheet_depth_mm:g} mm so that it covers the opening all round; "
                  "take its film off first."),
        ("Heat", text["heat"]),
        ("Form", "Raise the mold into the sheet, then the vacuum at once. Watch the last "
                 "points to fill."),
        ("Cool", text["cool"]),
        ("Release", f"{_release_text(job, mold)} {text['release']}".strip()),
        ("Trim", f"On the line of the plan, {trim.where}, never on the bend itself"
                 f"{f' ({trim.because})' if trim.because else ''}. "
                 f"{tooling_of(trim, setting).words} ({BASIS})"),
        *((("Hanging holes", hanging_step(holes)),) if holes else ()),
    )  # fmt: skip


def _reading_text(features: Sequence[JobFeature]) -> str:
    """Return how letters lie on the table, if there are any."""
    if any(isinstance(one.outline, JobText) or _reading_text((*one.raised, *one.sunk))
           for one in features):  # fmt: skip
        return " Letters read from left to right."
    return ""


def tooling_of(trim: TrimPlan, setting: Setting) -> Tooling:
    """Return what a mold's parts are trimmed with, along the line of its plan."""
    straight = all(is_straight(part) for part in trim.region.geoms)
    return trim_tooling(setting.sheet.plastic, setting.sheet.gauge_mm, straight=straight)


def _vent_steps(mold: Mold, drilling: Sequence[Drilling]) -> Rows:
    """Return what to do so that every vent is open: nothing about drills unless one is used."""
    ways = {mold.bore.opening(vent) for vent in mold.vents.vents}
    if Opening.SLIT in ways:
        opened = (
            "Hold the mold to the light: every slit shows. Open them with a blade of "
            f"{slit_blade_mm(mold.bore):g} mm if a thread closes one."
        )
    elif Opening.PRINTED in ways:
        opened = "Every vent is printed: clear the holes with a pin."
    else:
        opened = ""
    printed = (("Vents", opened),) if opened else ()
    return (*printed, ("Drill", _drill_text(drilling))) if drilling else printed


def _drill_text(drilling: Sequence[Drilling]) -> str:
    return (
        f"{drills_in_text(drilling).capitalize()}, from below: each counterbore ends in a cone "
        "that guides the drill. Clamp the mold; wear glasses, no gloves at the drill."
    )


BLADE_PLAY_MM = 0.1
"""A blade that clears a slit is so much thinner. [mm]."""


def slit_blade_mm(bore: BoreSpec) -> float:
    """Return the thickness of a blade that clears the slits of a mold. [mm]."""
    return max(BLADE_PLAY_MM, bore.slit_mm - BLADE_PLAY_MM)


_HELD = {"heat-set": "threaded insert", "nut": "captive nut"}


def lifting_insert(job: MoldRequest, mold: Mold) -> tuple[str, str] | None:
    """Return kind and thread of the insert that a mold is lifted by; None if it has none."""
    if any(marking.pocket.is_empty for marking in mold.markings):
        return None
    return job.underside.insert_wanted


def _release_text(job: MoldRequest, mold: Mold) -> str:
    wanted = lifting_insert(job, mold)
    if wanted is None:
        return "Ease the part off all round; a little air between part and mold helps."
    kind, thread = wanted
    return (
        f"Turn an {thread} screw into the {_HELD[kind]} underneath and lift straight; ease the "
        "part off all round."
    )
