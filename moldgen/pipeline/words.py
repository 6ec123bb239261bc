"""The measures of a mold in words: summary, tables and what to do on the day."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from moldgen.export.report import Table
from moldgen.finding import amount, counted
from moldgen.fixture.trim_line import is_straight
from moldgen.fixture.trim_tool import BASIS, Tooling, trim_tooling
from moldgen.job import Job
from moldgen.job.outline import JobText
from moldgen.job.spec import JobFeature, MoldRequest
from moldgen.mold.checks import Checked
from moldgen.mold.checks.draft import Draft
from moldgen.mold.checks.draw import Draw
from moldgen.mold.rules import Rule, WallRules
from moldgen.pipeline.forming import forming_numbers, forming_rows, forming_tables
from moldgen.pipeline.heat_rows import cooling_words
from moldgen.pipeline.layout import Drilling, drills_in_words
from moldgen.pipeline.mold import Mold, Setting, trim_flange_mm, trim_region
from moldgen.solid.mesh import Body
from moldgen.stock import Plastic

if TYPE_CHECKING:
    from moldgen.pipeline.working import Working

Rows = tuple[tuple[str, str], ...]


def summary_of(
    job: MoldRequest,
    mold: Mold,
    setting: Setting,
    drilling: Sequence[Drilling],
    working: Working | None = None,
) -> Rows:
    """Return the rows a teacher reads at a glance; with the day at the table if it is known."""
    draws = mold.checked.draws
    least = mold.checked.draft.least_deg
    printed = len(mold.vents.vents) - len(drilling)
    rows = [
        ("Mold", f"{_count(mold.bodies)}, {_size(mold.bodies)}"),
        ("Sheet", f"{setting.sheet.plastic.title}, {setting.sheet.gauge_mm:g} mm"),
        ("Forming table", setting.station.title),
        ("Printer", f"{setting.printer.title}, {setting.filament.title}"),
        ("Vents", f"{printed} printed, {drills_in_words(drilling)}"),
        ("Least draft", f"{least:.1f}°" if np.isfinite(least) else "no walls"),
    ]
    if draws:
        rows.append(("Draw", _draw_words(draws)))
    rows += forming_rows(mold.formed)
    if working is not None:
        from moldgen.pipeline.working_words import working_rows

        rows += working_rows(working)
    rows.append(("Trim", f"{trim_flange_mm(job, mold.height_mm):g} mm outside the mold"))
    return tuple(rows)


def _draw_words(draws: Sequence[Draw]) -> str:
    """Return how far the sheet is drawn: all of it, and where it is drawn farthest."""
    whole, *features = draws
    told = f"{whole.areal:.2f} times the area, mean thickness {_mean(whole)}"
    most = max(features, key=lambda draw: draw.areal, default=whole)
    if most.areal <= whole.areal:
        return told
    return (
        f"up to {most.areal:.2f} times the area ({most.name}), mean thickness there {_mean(most)}"
    )


def _mean(draw: Draw) -> str:
    return amount(draw.mean_thickness_mm, "mm")


def check_summary(
    bodies: Sequence[Body], checked: Checked, setting: Setting, low_places: int
) -> Rows:
    """Return the rows for a part that somebody else made."""
    least = checked.draft.least_deg
    rows = [
        ("Part", f"{_count(bodies)}, {_size(bodies)}"),
        ("Sheet", f"{setting.sheet.plastic.title}, {setting.sheet.gauge_mm:g} mm"),
        ("Forming table", setting.station.title),
        ("Least draft", f"{least:.1f}°" if np.isfinite(least) else "no walls"),
        ("Undercuts", str(len(checked.undercuts)) if checked.undercuts else "none"),
        ("Low places that want a vent", str(low_places)),
    ]
    if checked.draws:
        rows.append(("Draw", _draw_words(checked.draws)))
    return tuple(rows)


def numbers_of(
    mold: Mold, drilling: Sequence[Drilling], working: Working | None = None
) -> dict[str, Any]:
    """Return the measures for programs."""
    low, high = _bounds(mold.bodies)
    day: dict[str, Any] = {}
    if working is not None:
        from moldgen.pipeline.working_words import working_numbers

        day = working_numbers(working)
    return {
        "width_mm": float(high[0] - low[0]),
        "depth_mm": float(high[1] - low[1]),
        "height_mm": float(high[2] - low[2]),
        "volume_mm3": float(sum(body.mesh.volume_mm3 for body in mold.bodies)),
        "triangles": sum(len(body.mesh.triangles) for body in mold.bodies),
        "bodies": len(mold.bodies),
        "vents": len(mold.vents.vents),
        "vents_to_drill": len(drilling),
        **measured(mold.checked),
        **(forming_numbers(mold.formed) if mold.formed is not None else {}),
        **day,
    }


def measured(checked: Checked) -> dict[str, Any]:
    """Return what the checks measured, for programs."""
    whole = checked.draws[0] if checked.draws else None
    least = checked.draft.least_deg
    return {
        "least_draft_deg": float(least) if np.isfinite(least) else None,
        "undercuts": len(checked.undercuts),
        "areal_draw_ratio": whole.areal if whole else None,
        "mean_thickness_mm": whole.mean_thickness_mm if whole else None,
    }


def mold_tables(
    mold: Mold,
    rules: Mapping[str, WallRules],
    drilling: Sequence[Drilling],
    setting: Setting,
    *,
    wanted_mm: float | None = None,
    working: Working | None = None,
) -> tuple[Table, ...]:
    """Return the report's tables; ``wanted_mm`` is the thickness wanted everywhere."""
    tables = [
        _feature_table(mold),
        _rule_table(rules, mold.vent_rule),
        draw_table(mold.checked, setting),
    ]
    if mold.formed is not None:
        tables += forming_tables(mold.formed, setting.gauges, wanted_mm)
    if mold.vents.vents:
        tables.append(_vent_table(mold, drilling))
    if working is not None:
        from moldgen.pipeline.working_tables import working_tables

        tables += working_tables(working)
    return (*tables, draft_table(mold.checked.draft), stock_table(setting.sheet.plastic))


def on_the_day(
    job: MoldRequest,
    mold: Mold,
    setting: Setting,
    drilling: Sequence[Drilling],
    working: Working | None = None,
) -> Rows:
    """Return what to do at the table, step by step."""
    features = job.body if isinstance(job, Job) else ()
    told = _usual_day(setting)
    if working is not None:
        from moldgen.pipeline.working_words import day_words

        told = day_words(working)
    return (
        ("Print", f"{told['set']} {told['print']}"),
        ("Drill", _drill_words(drilling)),
        ("Place", "Stand the mold in the middle of the table over its holes, the arrow on its "
                  "underside to the far side." + _reading_words(features)),
        ("Clamp", f"Clamp a sheet of {setting.station.sheet_width_mm:g} x "
                  f"{setting.station.sheet_depth_mm:g} mm so that it covers the opening all round; "
                  "take its film off first."),
        ("Heat", told["heat"]),
        ("Form", "Raise the mold into the sheet, then the vacuum at once. Watch the low places."),
        ("Cool", told["cool"]),
        ("Release", f"{_release_words(job, mold)} {told['release']}".strip()),
        ("Trim", f"On the line of the plan, {trim_flange_mm(job, mold.height_mm):g} mm outside "
                 "the mold, never on the bend itself. "
                 f"{tooling_of(job, mold, setting).words} ({BASIS})"),
    )  # fmt: skip


def _reading_words(features: Sequence[JobFeature]) -> str:
    """Return how letters lie on the table, if there are any."""
    if any(isinstance(one.outline, JobText) or _reading_words((*one.raised, *one.sunk))
           for one in features):  # fmt: skip
        return " Letters read from left to right."
    return ""


def tooling_of(job: MoldRequest, mold: Mold, setting: Setting) -> Tooling:
    """Return what a mold's parts are trimmed with, along the line of its plan."""
    region = trim_region(job, mold.foot, mold.height_mm)
    straight = all(is_straight(part) for part in region.geoms)
    return trim_tooling(setting.sheet.plastic, setting.sheet.gauge_mm, straight=straight)


def draft_table(draft: Draft) -> Table:
    """Return how much wall leans how much, in steps of 2°."""
    borders, areas = draft.histogram(step_deg=2.0)
    rows = tuple(
        (f"{low:g} to {high:g}", f"{area / 100:.1f}")
        for low, high, area in zip(borders[:-1], borders[1:], areas, strict=True)
        if area >= 5.0
    )
    return Table(
        title="Draft of the walls",
        header=("Draft, °", "Area, cm²"),
        rows=rows or (("-", "0"),),
        note="Measured on the triangles that a sheet drawn over it can reach. Flats are left out, "
        "and steps of less than 0.05 cm².",
    )


def draw_table(checked: Checked, setting: Setting) -> Table:
    """Return the draw ratios against the plastic's limits."""
    plastic = setting.sheet.plastic
    rows = tuple(
        (
            draw.name or "whole sheet in the clamp",
            f"{draw.areal:.2f}",
            f"{draw.linear:.2f}",
            f"{draw.height_to_width:.2f}",
            f"{draw.mean_thickness_mm:.2f} mm",
        )
        for draw in checked.draws
    )
    return Table(
        title="How far the sheet is drawn",
        header=("Feature", "Area ratio", "Length ratio", "Height to width", "Mean thickness"),
        rows=rows or (("-", "-", "-", "-", "-"),),
        note=f"Limits for {plastic.name}: area {plastic.areal_draw_limit:g}, length "
        f"{plastic.linear_draw_limit:g}, height to width {plastic.height_to_width_limit:g} in a "
        "recess (rules, see the sources below). Mean thickness is gauge over area ratio; corners "
        "and edges come out thinner.",
    )


def stock_table(plastic: Plastic) -> Table:
    """Return the plastic's values with their sources."""
    shown = (
        ("forming_low_degC", "lowest forming temperature", "°C"),
        ("forming_degC", "usual forming temperature", "°C"),
        ("forming_high_degC", "highest forming temperature", "°C"),
        ("set_degC", "stiff below", "°C"),
        ("shrinkage_male", "shrinkage over a mold", "%"),
        ("areal_draw_limit", "limit of the area ratio", ""),
        ("height_to_width_limit", "limit of depth to width", ""),
        ("draft_male_deg", "least draft, raised", "°"),
        ("draft_female_deg", "least draft, sunk", "°"),
    )
    rows = []
    for field, words, unit in shown:
        value = getattr(plastic, field) * (100 if unit == "%" else 1)
        rows.append((words, amount(value, unit), plastic.sources.get(field, "")))
    return Table(
        title=f"What is taken for {plastic.title}",
        header=("Value", "", "Source"),
        rows=tuple(rows),
    )


def _feature_table(mold: Mold) -> Table:
    rows = tuple(
        (
            plan.name,
            f"{plan.direction.value} from {plan.parent}" if plan.parent else "on the table",
            f"{plan.wall.height_mm:g} mm",
            f"{plan.wall.draft_deg:g}°",
            f"{plan.wall.rim_mm:.3g} mm",
            f"{plan.wall.root_mm:.3g} mm",
        )
        for plan in mold.plans
    )
    header = ("Feature", "Stands", "Height", "Draft", "Upper radius", "Lower radius")
    return Table(title="Features as built", header=header, rows=rows)


def _rule_table(rules: Mapping[str, WallRules], vent: Rule) -> Table:
    names: dict[tuple[str, Rule], list[str]] = {}
    for name, wall in rules.items():
        names.setdefault(("draft", wall.draft), []).append(name)
        names.setdefault(("radius", wall.rim), []).append(name)
    named = [(f"{word}: {_listed(own)}", rule) for (word, rule), own in names.items()]
    rows = tuple(
        (word, amount(rule.value, rule.unit), rule.because, rule.basis)
        for word, rule in (*named, ("vents", vent))
    )
    header = ("For", "Rule", "Because", "Source")
    return Table(title="Rules and where they come from", header=header, rows=rows)


def _listed(names: Sequence[str]) -> str:
    if len(names) <= 4:
        return ", ".join(names)
    return f"{', '.join(names[:3])} and {len(names) - 3} more"


def _vent_table(mold: Mold, drilling: Sequence[Drilling]) -> Table:
    drills = {line.vent.name: line for line in drilling}
    rows = tuple(
        (
            vent.name,
            f"{vent.x_mm:.1f} mm",
            f"{vent.y_mm:.1f} mm",
            f"{vent.diameter_mm:g} mm",
            f"drill {drills[vent.name].metric} ({drills[vent.name].inch})"
            if vent.name in drills
            else "printed",
            vent.feature,
            vent.low.reason.value,
        )
        for vent in mold.vents.vents
    )
    return Table(
        title="Vents",
        header=("Vent", "x", "y", "Diameter", "How", "On", "Why there"),
        rows=rows,
        note="x and y count from the middle of the job, as on the plan. Holes to be drilled have a "
        "cone underneath that guides the drill; drill from below.",
    )


def _drill_words(drilling: Sequence[Drilling]) -> str:
    if not drilling:
        return "Nothing: every vent is printed. Clear the holes with a pin."
    return (
        f"{drills_in_words(drilling).capitalize()}, from below: each bore ends in a cone that "
        "guides the drill. Clamp the mold; wear glasses, no gloves at the drill."
    )


def _usual_day(setting: Setting) -> dict[str, str]:
    """Return what holds for every mold, where nobody has worked out the day."""
    plastic, filament = setting.sheet.plastic, setting.filament
    return {
        "set": f"Underside down, no supports, {setting.printer.layer_mm:g} mm layers, at least "
        "three outlines.",
        "print": f"{filament.title} softens at {filament.softens_degC:g} °C: let the mold cool "
        "between pulls.",
        "heat": f"Until the sheet has {plastic.forming_low_degC:g} to "
        f"{plastic.forming_high_degC:g} °C (usual {plastic.forming_degC:g} °C): it sags, "
        "draws level again, and a light dent springs back (common practice, no source). "
        + plastic.caution,
        "cool": f"{cooling_words(plastic)}; a fan helps.",
        "release": "",
    }


def _release_words(job: MoldRequest, mold: Mold) -> str:
    wanted = job.underside.insert_wanted
    if wanted is None or any(marking.pocket.is_empty for marking in mold.markings):
        return "Ease the part off all round; a little air between part and mold helps."
    kind, thread = wanted
    return (
        f"Turn an {thread} screw into the {kind} insert underneath and pull straight; ease the "
        "part off all round."
    )


def _count(bodies: Sequence[Body]) -> str:
    return "one piece" if len(bodies) == 1 else counted(len(bodies), "piece")


def _size(bodies: Sequence[Body]) -> str:
    low, high = _bounds(bodies)
    return " x ".join(f"{side:.1f}" for side in high - low) + " mm"


def _bounds(bodies: Sequence[Body]) -> tuple[Any, Any]:
    boxes = np.array([body.mesh.bounds_mm for body in bodies])
    return boxes[:, 0].min(axis=0), boxes[:, 1].max(axis=0)
