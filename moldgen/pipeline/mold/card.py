"""The job card of a mold: what to do at the table, in a few big numbers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import isfinite
from typing import TYPE_CHECKING

from moldgen.export.report.cautions import card_cautions
from moldgen.finding import counted
from moldgen.job.spec import MoldRequest
from moldgen.mold.underside.cut import Opening
from moldgen.pipeline.mold.day import TableDay
from moldgen.pipeline.mold.day_rows import short_time
from moldgen.pipeline.mold.mold import Mold
from moldgen.pipeline.mold.plan import Drilling
from moldgen.pipeline.mold.steps import lifting_insert, slit_blade_mm, tooling_of
from moldgen.pipeline.mold.trim_region import trim_plan_of
from moldgen.pipeline.setting import Setting
from moldgen.stock.experience import CyclesStood
from moldgen.table.heat_up import HeatUp
from moldgen.table.noted import NotedFactor
from moldgen.table.ready_signs import STICK
from moldgen.wording import clock_text, earliest_text, span_text

if TYPE_CHECKING:
    from moldgen.export.card.job_card import CardStep, JobCard
    from moldgen.export.plan.plan import Plan


def job_card(
    job: MoldRequest,
    mold: Mold,
    setting: Setting,
    *,
    drilling: Sequence[Drilling],
    day: TableDay,
    plan: Plan | None = None,
    person: str = "",
    link: str = "",
) -> JobCard:
    """Return the card of a mold.

    Parameters
    ----------
    job : MoldRequest
        What was asked for.
    mold : Mold
        The finished mold.
    setting : Setting
        Sheet, table, printer and filament.
    drilling : sequence of Drilling
        Vents that are drilled.
    day : TableDay
        The day at the table.
    plan : Plan, optional
        Shown small.
    person : str
        Whose job it is.
    link : str
        Where the log of the job is kept.
    """
    from moldgen.export.card.job_card import JobCard

    return JobCard(
        title=job.title,
        person=person,
        link=link,
        steps=tuple(_steps(job, mold, setting, drilling, day)),
        cautions=card_cautions(),
        plan=plan,
        foot="Times by computation, with their doubt; the report tells more.",
    )


def _steps(
    job: MoldRequest, mold: Mold, setting: Setting, drilling: Sequence[Drilling], day: TableDay
) -> Iterator[CardStep]:
    from moldgen.export.card.job_card import CardStep

    machine, sheet = setting.machine, setting.sheet
    opened = _vents(mold, drilling)
    if opened is not None:
        yield CardStep(name="Vents", value=opened[0], words=opened[1])
    yield CardStep(
        name="Sheet",
        value=sheet.words,
        words=f"{machine.sheet_width_mm:g} x {machine.sheet_depth_mm:g} mm, over the opening all "
        "round. Take the film off.",
    )
    value, words = _heat(day)
    yield CardStep(name="Heat", value=value, words=words)
    yield CardStep(name="Form", value="mold up, vacuum at once", words=_air(day))
    yield _cool(day)
    yield CardStep(name="Release", value=_release(job, mold), words=_pause(day))
    trim = trim_plan_of(job, mold, sheet)
    tooling = tooling_of(trim, setting)
    yield CardStep(
        name="Trim",
        value=tooling.first.value,
        words=f"On the line of the plan, {trim.where}, never on the bend itself."
        + (" Then sand to the line." if tooling.sanded else "")
        + " Deburr every edge.",
    )


def _vents(mold: Mold, drilling: Sequence[Drilling]) -> tuple[str, str] | None:
    """Return what to do so that every vent is open; None if there are none."""
    ways = [mold.bore.opening(one) for one in mold.vents.vents]
    slits, holes = (ways.count(one) for one in (Opening.SLIT, Opening.PRINTED))
    told = []
    if drilling:
        sizes = " and ".join(sorted({one.metric for one in drilling}))
        told.append(
            (f"drill {len(drilling)} x {sizes}", "from below: mold clamped, glasses, no gloves.")
        )
    if slits:
        blade = f"against the light; a blade of {slit_blade_mm(mold.bore):g} mm for threads."
        told.append((f"look through {counted(slits, 'slit')}", blade))
    if holes:
        told.append((f"clear {counted(holes, 'hole')}", "with a pin."))
    if not told:
        return None
    first, others = told[0], told[1:]
    more = [f"{value.capitalize()}: {words}" for value, words in others]
    return first[0], " ".join([first[1].capitalize(), *more])


def _heat(day: TableDay) -> tuple[str, str]:
    plastic = day.setting.sheet.plastic
    signs = f"Ready when {plastic.ready}. {STICK} Too hot when {plastic.too_hot}."
    if day.heated is None:
        return "not on this table", "It does not get hot enough: see the report."
    heated = day.heated.usable
    if heated.forming_s is None:
        return "no safe time", f"No forming window at this heat: see the report. {signs}"
    words = f"{_power(day.heated)}Watch from {earliest_text(heated.band_s[0])} on. {signs}"
    return span_text(heated.forming_s, *heated.band_s), _noted(heated.noted, words)


def _noted(noted: NotedFactor | None, words: str) -> str:
    """Return words with what the time rests on, and what is computed, where notes changed it."""
    if noted is None:
        return words
    notes = counted(noted.n_notes, "note")
    without = clock_text(noted.computed_s)
    return f"{words} By {notes} of this table; computed: {without}."


def _power(heated: HeatUp) -> str:
    """Return the heat to set, where the full one has no window."""
    if heated.usable is heated:
        return ""
    return f"Heater at {heated.power_share:.0%} of its power. ".replace("%", " %")


def _air(day: TableDay) -> str:
    if not isfinite(day.evacuation.down_s):
        return "The air does not get out: see the report."
    down = f"Sheet down after {short_time(day.evacuation.down_s)}."
    if day.thinnest is None:
        return down
    return (
        f"{down} It must be before the thin places are stiff, {clock_text(day.thinnest.stiff_s)}."
    )


def _cool(day: TableDay) -> CardStep:
    from moldgen.export.card.job_card import CardStep

    if day.thickest is None:
        return CardStep(name="Cool", value="until it is stiff", words="Vacuum on; a fan helps.")
    return CardStep(
        name="Cool",
        value=span_text(day.thickest.stiff_s, *day.thickest.band_s),
        words=_noted(day.thickest.noted, "Vacuum on; a fan helps."),
    )


def _release(job: MoldRequest, mold: Mold) -> str:
    wanted = lifting_insert(job, mold)
    return "ease off all round" if wanted is None else f"{wanted[1]} screw, lift straight"


def _pause(day: TableDay) -> str:
    life, words = day.life, "The mold is hot: gloves."
    if life is not None and life.in_a_row is not None and life.pause_s is not None:
        cycles = counted(life.in_a_row, "cycle")
        words += f" After {cycles} in a row let it rest {clock_text(life.pause_s)}."
    if day.stood is not None:
        words += f" Such molds stand {_stood(day.stood)}."
    return words


def _stood(stood: CyclesStood) -> str:
    """Return how many cycles molds of the filament stood, in a few words."""
    molds = counted(stood.cycles.n_notes, "mold")
    if not stood.n_ended:
        return f"{stood.cycles.low:.0f} cycles or more, by {molds} of this table"
    return f"about {stood.cycles.value:.0f} cycles, by {molds} of this table"
