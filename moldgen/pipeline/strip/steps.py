"""What to do at the bench, step by step, for a student and for the person who supervises."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterator

from moldgen.bend.heat.dwell_text import clock
from moldgen.bend.stand.rest import rest_text
from moldgen.export.report.cautions import strip_cautions
from moldgen.pipeline.print_rows import infill_text
from moldgen.pipeline.strip.jig_prints import jig_print_spec
from moldgen.pipeline.strip.plan import bend_text, inches
from moldgen.pipeline.strip.rows import both
from moldgen.pipeline.strip.work import BentStrip
from moldgen.units_text import as_read

Steps = tuple[tuple[str, str], ...]


def steps_of(work: BentStrip) -> Steps:
    """Return what to do, step by step; what kind of step it is, and the sentence."""
    return tuple(_steps(work))


def directions_text(work: BentStrip) -> bytes:
    """Return the directions as plain text, to print or to read on a phone at the bench."""
    lines = [work.job.title, "=" * len(work.job.title), ""]
    for number, (word, text) in enumerate(steps_of(work), start=1):
        lines.append(f"{number}. {word}")
        for sentence in _SENTENCE_END.split(as_read(text)):
            lines += _wrapped(sentence, "   - ")
        lines.append("")
    lines += ["Take care", "---------", ""]
    for caution in strip_cautions():
        lines += _wrapped(as_read(caution), "- ")
    return ("\n".join(lines) + "\n").encode()


_SENTENCE_END = re.compile(r"(?<=[.!]) (?=[A-Z])")


def _wrapped(words: str, lead: str) -> list[str]:
    return textwrap.wrap(
        words, 78, initial_indent=lead, subsequent_indent=" " * len(lead), break_on_hyphens=False
    )


def _steps(work: BentStrip) -> Iterator[tuple[str, str]]:
    if work.jigs.printed:
        yield "Print", _print_text(work)
    yield "Cut", _cut_text(work)
    yield "Mark", _mark_text(work)
    if not work.order.found:
        yield "Stop", "There is no order in which this strip can be bent: see the findings."
        return
    heater = work.bench.heater
    yield (
        "Warm up",
        f"Switch the strip heater ({heater.name}) on ten minutes before, and the extraction. Put "
        f"on glasses and gloves. {_timing(work.bench.timed)}",
    )
    for number in work.order.numbers:
        words = bend_text(work.layout.lines[number - 1])
        yield f"{words[0].upper()}{words[1:]}", _bend_step(work, number)
    yield "Check", _check_words(work)
    yield (
        "Finish",
        "Let it cool to the touch before it is stood up or loaded. Wash the marks off with water "
        "and a little soap, never with alcohol or thinner.",
    )
    if work.standing is not None:
        yield "Stand", f"It stands on {rest_text(work.shape)}, as in the pictures."


def _timing(timed: bool) -> str:
    """Return what to do about times that are not known well."""
    first = "Time one bend on a piece of waste of the same sheet first"
    if timed:
        return f"{first}: the times below follow from a strip that was timed on this heater."
    return (
        f"{first}: the times below are as wide as they are for want of it. Write the time of a "
        "side that was right as side in [test_strip] of the job, and they become your heater's."
    )


def _print_text(work: BentStrip) -> str:
    titles = ", ".join(one.title for one in work.jigs.printed)
    facing, spec = work.job.jigs.facing_mm, jig_print_spec(work.bench.printer)
    glue = (
        f" Glue plywood or sheet metal {facing:g} mm thick on the hot faces of the jigs."
        if facing
        else ""
    )
    return (
        f"{titles[0].upper()}{titles[1:]}: flat as they are in their files, no supports, "
        f"{work.bench.printer.layer_mm:g} mm layers, {spec.walls} walls, {infill_text(spec)}, in "
        f"{work.bench.filament.title}."
        f"{glue}"
    )


def _cut_text(work: BentStrip) -> str:
    strip = work.part.strip
    shape = "on the outline of the drawing" if strip.outline is not None else "square"
    holes = ""
    if strip.holes:
        sizes = sorted({size for _, _, size in strip.holes})
        drills = " and ".join(f"{size:g} mm" for size in sizes)
        holes = (
            f" Drill {len(strip.holes)} of {drills} on the crosses of the drawing, on waste wood."
        )
    return (
        f"Saw the strip {both(work.layout.developed_mm)} long and {both(strip.width_mm)} wide, "
        f"{shape}.{holes} Scrape saw marks off all edges: a notch is where a bend cracks."
    )


def _mark_text(work: BentStrip) -> str:
    places = ", ".join(
        f"{line.number} at {line.center_mm:.1f} mm ({inches(line.center_mm)})"
        for line in work.layout.lines
    )
    gauge = " or hook the marking gauge over the left end" if _has(work, "marking-gauge") else ""
    return (
        f"Take the film off along the lines. Measure every bend line from the left end: {places}; "
        f"or lay the strip on the drawing and use the ticks beside it{gauge}. Draw with a washable "
        "pen, never with a scriber. This is the side with the marks; write L on its left end."
    )


def _bend_step(work: BentStrip, number: int) -> str:
    heating = " ".join(work.dwells[number - 1].steps[1:-1])
    hold = clock(work.dwells[number - 1].hold_s)
    jig = work.jigs.for_bend(number)
    pressed = work.pressed_deg(number)
    if jig is not None:
        how = jig.use
    elif work.part.strip.bends[number - 1].is_fold:
        gap = 2 * work.part.strip.radii_mm[number - 1]
        how = f"Fold it over a card as thick as the gap, {gap:g} mm."
    else:
        how = f"Fold it against a block of wood cut to {pressed:g}°, spring back included."
    return f"{heating} {how} Hold it {hold}, until it is stiff, or it springs back."


def _check_words(work: BentStrip) -> str:
    gauges = [one for one in work.jigs.printed if one.name.startswith("angle-gauge")]
    if gauges:
        return " ".join(one.use for one in gauges) + " A bend that is off can be heated again."
    angles = ", ".join(f"{bend.angle_deg:g}°" for bend in work.part.strip.bends)
    return (
        f"Hold a protractor to the bends: {angles} from flat. A bend that is off can be heated "
        "again."
    )


def _has(work: BentStrip, name: str) -> bool:
    return work.jigs.named(name) is not None
