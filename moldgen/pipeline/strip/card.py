"""The job card of a bent strip: what to do at the strip heater, in a few big numbers."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from moldgen.bend.heat.dwell import Dwell
from moldgen.bend.heat.dwell_text import LIFTED_s, clock, faces_down
from moldgen.bend.strip.choices import Turn
from moldgen.export.report.cautions import strip_card_cautions
from moldgen.pipeline.strip.work import BentStrip

if TYPE_CHECKING:
    from moldgen.export.card.job_card import CardStep, JobCard
    from moldgen.export.plan.plan import Plan

BENDING_BLANKS = ("Side (s)", "Held (s)", "Bend no.", "Angle (°)")
"""What is written down at a strip heater."""
BENDING_SEEN = ("Good", "Cold", "Bubbles", "Marks", "Off line", "Cracked")
"""What is ticked there."""


def strip_card(work: BentStrip, *, plan: Plan | None = None, person: str = "") -> JobCard:
    """Return the card of a bent strip.

    Parameters
    ----------
    work : BentStrip
        Worked out.
    plan : Plan, optional
        Shown small.
    person : str
        Whose job it is.
    """
    from moldgen.export.card.job_card import JobCard

    return JobCard(
        title=work.job.title,
        person=person,
        steps=tuple(_steps(work)),
        cautions=strip_card_cautions(),
        plan=plan,
        foot="Times by computation, with their doubt; the directions tell more.",
        blanks=BENDING_BLANKS,
        seen=BENDING_SEEN,
    )


def _steps(work: BentStrip) -> Iterator[CardStep]:
    from moldgen.export.card.job_card import CardStep

    strip, layout = work.part.strip, work.layout
    yield CardStep(
        name="Strip",
        value=f"{work.bench.plastic.name} {strip.thickness_mm:.3g} mm",
        words=f"{layout.developed_mm:.1f} x {strip.width_mm:.1f} mm. Film off along the lines, "
        "edges scraped smooth.",
    )
    yield CardStep(
        name="Lines",
        value=", ".join(f"{one.center_mm:.1f}" for one in layout.lines) + " mm",
        words="From the left end, with a washable pen; write L there.",
    )
    if not work.order.found:
        yield CardStep(name="Stop", value="no order of bends", words="See the report.")
        return
    yield CardStep(
        name="Warm up",
        value="10 min before",
        words=f"Strip heater {work.bench.heater.name}. Time one bend on waste first.",
    )
    for number in work.order.numbers:
        yield _bend(work, number)
    yield CardStep(
        name="Cool",
        value="until cool to the touch",
        words="Then check the angle; a bend that is off can be heated again.",
    )


def _bend(work: BentStrip, number: int) -> CardStep:
    from moldgen.export.card.job_card import CardStep

    dwell = work.dwells[number - 1]
    low, high = (clock(time_s) for time_s in dwell.band_s)
    is_a_side = dwell.step_s is None and dwell.n_sides > 1
    told = (_angle(work, number), _heating(work, number), _press(work, number))
    return CardStep(
        name=f"Bend {number}",
        value=f"{low} to {high} a side" if is_a_side else f"{low} to {high} in all",
        words=" ".join((*told, _hold(dwell))),
    )


def _angle(work: BentStrip, number: int) -> str:
    bend = work.part.strip.bends[number - 1]
    up = bend.turn is Turn.UP
    if bend.is_fold:
        return "Fold it up." if up else "Fold it down."
    return f"{bend.angle_deg:g}° up." if up else f"{bend.angle_deg:g}° down."


def _hold(dwell: Dwell) -> str:
    return f"Hold {clock(dwell.hold_s)}."


def _heating(work: BentStrip, number: int) -> str:
    """Return which face lies over the element, and how often the strip is turned over."""
    dwell, bend = work.dwells[number - 1], work.part.strip.bends[number - 1]
    if dwell.step_s is not None:
        place = next(one for one in work.order.steps if one.number == number)
        down = "The face without the marks down" if place.marks_up else "The marks down"
        return f"{down}: lift it off {LIFTED_s:g} s after each {clock(dwell.step_s)}."
    if work.bench.heater.sides > 1:
        return "Between the elements."
    first, _ = faces_down(bend, dwell.n_sides)
    down = "The marks down" if first == "the marks" else "The face without the marks down"
    if dwell.n_sides == 1:
        return f"{down}, not turned over."
    if dwell.n_sides == 2:
        return f"{down} first, turned over once."
    return f"{down} first, turned over {dwell.n_sides - 1} times."


def _press(work: BentStrip, number: int) -> str:
    """Return what a bend is pressed in."""
    jig = work.jigs.for_bend(number)
    if jig is not None:
        return f"Press: {jig.title}."
    if work.part.strip.bends[number - 1].is_fold:
        return f"Press over a card of {2 * work.part.strip.radii_mm[number - 1]:g} mm."
    return f"Press against a block cut to {work.pressed_deg(number):g}°."
