"""A bent strip in words: summary, numbers for programs, and the tables of its report."""

from __future__ import annotations

from typing import Any

from moldgen.bend.heat.overbend import overbend_of
from moldgen.bend.jig.facing import MARGIN_K, face_degC
from moldgen.bend.stand.rest import rest_text
from moldgen.bend.stand.stand import StripBalance
from moldgen.export.report.table import Table
from moldgen.finding import amount
from moldgen.pipeline.print_rows import grams_text, plates_text
from moldgen.pipeline.strip.heat_rows import heat_table, heat_texts
from moldgen.pipeline.strip.jig_prints import estimate_jigs, jig_print_spec
from moldgen.pipeline.strip.plan import bend_text, inches
from moldgen.pipeline.strip.work import BentStrip
from moldgen.pipeline.types import Rows
from moldgen.printing.estimate import basis_of, spoken_time
from moldgen.wording import gauge_text

_PER_INCH = 25.4


def summary_of(work: BentStrip) -> Rows:
    """Return the rows a teacher reads at a glance."""
    strip, layout = work.part.strip, work.layout
    marks = ", ".join(f"{line.center_mm:.1f} mm" for line in layout.lines)
    rows = [
        (
            "Strip",
            f"{work.bench.plastic.title}, {gauge_text(strip.thickness_mm)}, "
            f"{strip.width_mm:g} mm wide",
        ),
        ("Cut length", both(layout.developed_mm)),
        ("Bend lines from the left end", marks),
        ("Heat", "; ".join(heat_texts(work))),
        ("Order", order_text(work)),
        ("Bent", _size(work)),
    ]
    if work.standing is not None:
        rows.append(("Stands on", rest_text(work.shape)))
        rows.append(("Tips at", tip_text(work.standing)))
    printed = work.jigs.printed
    titles = ", ".join(one.title for one in printed)
    rows.append(("To print", f"{titles}; {_taken_text(work)}" if printed else "nothing"))
    return tuple(rows)


def _taken_text(work: BentStrip) -> str:
    taken = estimate_jigs(work.jigs.printed, work.bench)
    return plates_text(taken, jig_print_spec(work.bench.printer))


def numbers_of(work: BentStrip) -> dict[str, Any]:
    """Return the measures for programs."""
    (x0, z0), (x1, z1) = work.shape.bounds_mm
    numbers: dict[str, Any] = {
        "flat_length_mm": work.layout.developed_mm,
        "bend_lines_mm": [line.center_mm for line in work.layout.lines],
        "side_s": [one.side_s for one in work.dwells],
        "n_sides": [one.n_sides for one in work.dwells],
        "step_s": [one.step_s for one in work.dwells],
        "hold_s": [one.hold_s for one in work.dwells],
        "order": list(work.order.numbers),
        "bent_length_mm": float(x1 - x0),
        "bent_width_mm": work.part.strip.width_mm,
        "bent_height_mm": float(z1 - z0),
        "jigs": [one.name for one in work.jigs.printed],
    }
    if work.standing is not None:
        numbers |= {
            "tip_left_deg": work.standing.tip_left_deg,
            "tip_right_deg": work.standing.tip_right_deg,
            "tip_sideways_deg": work.standing.tip_sideways_deg,
        }
    return numbers


def strip_tables(work: BentStrip) -> tuple[Table, ...]:
    """Return the report's tables."""
    tables = [_layout_table(work), heat_table(work), _order_table(work)]
    if work.standing is not None:
        tables.append(_stand_table(work, work.standing))
    if work.jigs.printed:
        tables += [_jig_table(work), _filament_table(work)]
    return (*tables, _value_table(work))


def both(length_mm: float) -> str:
    """Return a length in millimeters and in inches."""
    return f"{length_mm:.1f} mm ({inches(length_mm)})"


def order_text(work: BentStrip) -> str:
    """Return the order of bends, such as ``bend 2, then 1``."""
    if not work.order.found:
        return "none is possible"
    first, *rest = work.order.numbers
    return ", then ".join([f"bend {first}", *map(str, rest)])


def tip_text(standing: StripBalance) -> str:
    """Return how far it leans before it falls."""
    left, right, across = (
        f"{tip:.0f}°" if tip > 0 else "once, it falls"
        for tip in (standing.tip_left_deg, standing.tip_right_deg, standing.tip_sideways_deg)
    )
    return f"{left} to the left, {right} to the right, {across} sideways"


def _size(work: BentStrip) -> str:
    (x0, z0), (x1, z1) = work.shape.bounds_mm
    wide = work.part.strip.width_mm
    return f"{x1 - x0:.1f} mm long, {wide:g} mm wide, {z1 - z0:.1f} mm high"


def _layout_table(work: BentStrip) -> Table:
    rows = tuple(
        (
            bend_text(line),
            f"{line.center_mm:.1f} mm",
            f"{line.center_mm / _PER_INCH:.3f}",
            inches(line.center_mm),
            f"{line.from_previous_mm:.1f} mm",
            f"{line.start_mm:.1f} to {line.end_mm:.1f} mm",
            f"{line.allowance_mm:.2f} mm",
            f"{line.radius_mm:g} mm",
            f"{line.heated_width_mm:.1f} mm",
        )
        for line in work.layout.lines
    )
    header = (
        "Bend", "From the left end", "in", "on a tape", "From the line before", "Curved from, to",
        "Length in the bend", "Inside radius", "Soft width",
    )  # fmt: skip
    strip = work.part.strip
    return Table(
        title="Layout of the flat strip",
        header=header,
        rows=rows,
        note=f"Cut the strip {both(work.layout.developed_mm)} long. Neutral line at "
        f"{strip.neutral:g} of the thickness from the inside ({work.part.neutral_basis}). "
        "Lengths on a tape are to the nearest 1/32 in, which may be 0.4 mm off.",
    )


def _order_table(work: BentStrip) -> Table:
    rows = []
    for place, step in enumerate(work.order.steps, start=1):
        faces = [words for words, yes in (("up", step.marks_up), ("down", step.marks_down)) if yes]
        why = " ".join(step.why) or "Nothing would be in its way later."
        rows.append((str(place), f"bend {step.number}", f"marks {' and '.join(faces)}", why))
    note = (
        "Searched so that no leg hits the strip, the jig or the heater's bed; with the fewest "
        "lines heated from one face only, then the fewest changes of side."
        if rows
        else "No order was found: the findings say what is in the way."
    )
    return Table(
        title="Order of the bends",
        header=("Step", "Bend", "On the heater", "Why not later"),
        rows=tuple(rows) or (("-", "-", "-", "-"),),
        note=note,
    )


def _stand_table(work: BentStrip, standing: StripBalance) -> Table:
    x, z = standing.middle_mm
    left, right = standing.contact_mm
    rows = [
        ("stands on", rest_text(standing.shape)),
        ("mass of the strip", f"{standing.mass_kg * 1000:.0f} g"),
        *((load.name, f"{load.mass_kg * 1000:.0f} g") for load in standing.loads),
        ("center of mass", f"{x:.1f} mm from the left, {z:.1f} mm high"),
        ("touches the table", f"from {left:.1f} to {right:.1f} mm"),
        ("tips to the left at", _tip(standing.tip_left_deg)),
        ("tips to the right at", _tip(standing.tip_right_deg)),
        ("tips sideways at", _tip(standing.tip_sideways_deg)),
    ]
    return Table(
        title="How it stands",
        header=("", "Measure"),
        rows=tuple(rows),
        note="It should lean 10° every way before it falls (common practice, no source). Left and "
        "right as in the picture of its side.",
    )


def _tip(deg: float) -> str:
    return f"{deg:.1f}°" if deg > 0 else "falls by itself"


def _jig_table(work: BentStrip) -> Table:
    rows = tuple(
        (
            one.title,
            " x ".join(f"{size:.0f}" for size in one.largest_mm) + " mm",
            str(len(one.bodies)),
            grams_text(taken),
            spoken_time(taken.time_s),
            one.use,
        )
        for one in work.jigs.printed
        for taken in [estimate_jigs([one], work.bench)]
    )
    basis = basis_of(jig_print_spec(work.bench.printer), work.bench.printer)
    return Table(
        title="Jigs to print",
        header=("Jig", "Largest piece", "Pieces", "Mass", "Time", "Use"),
        rows=rows,
        note="Each lies flat on the bed as it is in its file and needs no supports. Mass and time: "
        f"{basis}.",
    )


def _filament_table(work: BentStrip) -> Table:
    plastic, hot = work.bench.plastic, max(one.mean_degC for one in work.dwells)
    rows = []
    for filament in work.bench.filaments:
        warm = face_degC(plastic, filament, bend_degC=hot) + MARGIN_K
        limit = filament.stands_degC
        verdict = "stands it" if warm <= limit else "needs a facing"
        chosen = " (this job)" if filament.name == work.bench.filament.name else ""
        rows.append((f"{filament.name}{chosen}", f"{warm:.0f} °C", f"{limit:.0f} °C", verdict))
    return Table(
        title="Which filament stands the hot strip",
        header=("Filament", "Its face gets", "It stands", "Verdict"),
        rows=tuple(rows),
        note=f"Where two bodies touch (Carslaw and Jaeger, from memory), strip at {hot:.0f} °C, "
        f"and {MARGIN_K:g} °C for warming up from strip to strip. A facing is plywood or sheet "
        "metal glued on the hot faces of the jigs.",
    )


def _value_table(work: BentStrip) -> Table:
    strip, plastic = work.part.strip, work.bench.plastic
    over = overbend_of(strip)
    shown = (("density_kg_m3", "density", "kg/m³"), ("glass_degC", "glass transition", "°C"))
    rows = [
        ("overbend", f"{over.overbend_deg:g}°", work.part.overbend_basis),
        ("neutral line over thickness", f"{strip.neutral:g}", work.part.neutral_basis),
        *(
            (words, amount(getattr(plastic, field), unit), plastic.sources.get(field, ""))
            for field, words, unit in shown
        ),
    ]
    heater = work.bench.heater
    for field, words, unit in (
        ("element_degC", "element of the strip heater", "°C"),
        ("band_mm", "width that is heated", "mm"),
        ("least_leg_mm", "shortest leg the bed holds", "mm"),
    ):
        source = heater.sources.get(field, "")
        rows.append((words, amount(getattr(heater, field), unit), source))
    return Table(
        title=f"What is taken for {plastic.title}",
        header=("Value", "", "Source"),
        rows=tuple(rows),
    )
