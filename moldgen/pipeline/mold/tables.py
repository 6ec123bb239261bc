"""The tables in a mold's report."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from moldgen.execution import checkpoint
from moldgen.export.report.table import Table
from moldgen.finding import amount
from moldgen.mold.checks import CheckResults
from moldgen.mold.checks.draft import Draft
from moldgen.mold.rules import Rule, WallRules, hole_rule, slit_rule
from moldgen.mold.underside.cut import Opening
from moldgen.mold.vents.vent import Vent
from moldgen.pipeline.mold.day import TableDay
from moldgen.pipeline.mold.day_tables import day_tables
from moldgen.pipeline.mold.forming_tables import forming_tables
from moldgen.pipeline.mold.mold import CutMold, Mold
from moldgen.pipeline.mold.plan import Drilling
from moldgen.pipeline.mold.rows import ratio_text
from moldgen.pipeline.setting import Setting
from moldgen.stock import Plastic


def mold_tables(
    mold: Mold,
    rules: Mapping[str, WallRules],
    drilling: Sequence[Drilling],
    setting: Setting,
    *,
    day: TableDay,
    wanted_mm: float | None = None,
) -> tuple[Table, ...]:
    """Return the report's tables; ``wanted_mm`` is the thickness wanted everywhere.

    Parameters
    ----------
    mold : Mold
        The finished mold.
    rules : Mapping[str, WallRules]
        What the rules asked of each wall, by feature.
    drilling : Sequence[Drilling]
        Vents that are drilled after printing.
    setting : Setting
        Sheet, table, printer and filament.
    day : TableDay
        The day at the table.
    wanted_mm : float, optional
        Thickness that is wanted everywhere. [mm]
    """
    tables = [*shape_tables(mold, rules, setting, wanted_mm=wanted_mm)]
    if mold.vents.vents:
        tables.append(vent_table(mold, drilling))
    checkpoint()
    tables += day_tables(day)
    checkpoint()
    return (*tables, draft_table(mold.checked.draft), stock_table(setting.sheet.plastic))


def shape_tables(
    mold: Mold,
    rules: Mapping[str, WallRules],
    setting: Setting,
    *,
    wanted_mm: float | None,
) -> Iterator[Table]:
    """Yield what holds of a mold's walls and of the sheet on them, whatever it is made of."""
    yield _feature_table(mold)
    yield _rule_table(rules, _vent_rules(mold))
    yield draw_table(mold.checked, setting)
    checkpoint()
    if mold.followed is not None:
        yield from forming_tables(mold.followed, setting.gauges, wanted_mm)


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
        note="Measured on the triangles that a sheet drawn over it can reach. Level faces are left "
        "out, and steps of less than 0.05 cm².",
    )


def draw_table(checked: CheckResults, setting: Setting) -> Table:
    """Return the draw ratios against the plastic's limits."""
    plastic = setting.sheet.plastic
    rows = tuple(
        (
            draw.name or "whole sheet in the clamp",
            ratio_text(draw.areal),
            ratio_text(draw.linear),
            f"{draw.height_to_width:.2f}",
            f"{draw.mean_thickness_mm:.2f} mm",
        )
        for draw in checked.draws
    )
    return Table(
        title="How far the sheet is drawn",
        header=(
            "Feature",
            "Areal draw ratio",
            "Linear draw ratio",
            "Height to width",
            "Mean thickness",
        ),
        rows=rows or (("-", "-", "-", "-", "-"),),
        note=f"Limits for {plastic.name}: areal draw ratio {plastic.areal_draw_limit:g}, linear "
        f"{plastic.linear_draw_limit:g}, height to width {plastic.height_to_width_limit:g} in a "
        "recess (rules, see the sources below). Mean thickness is gauge over areal draw ratio; "
        "corners and edges come out thinner.",
    )


def stock_table(plastic: Plastic) -> Table:
    """Return the plastic's values with their sources."""
    shown = (
        ("forming_low_degC", "lowest forming temperature", "°C"),
        ("forming_degC", "usual forming temperature", "°C"),
        ("forming_high_degC", "highest forming temperature", "°C"),
        ("set_degC", "stiff below", "°C"),
        ("shrinkage_male", "shrinkage over a mold", "%"),
        ("areal_draw_limit", "limit of the areal draw ratio", ""),
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
            f"{plan.wall.top_radius_mm:.3g} mm",
            f"{plan.wall.base_radius_mm:.3g} mm",
        )
        for plan in mold.plans
    )
    header = ("Feature", "Stands", "Height", "Draft", "Top radius", "Base radius")
    return Table(title="Features as built", header=header, rows=rows)


def _vent_rules(mold: Mold) -> tuple[tuple[str, Rule], ...]:
    """Return what decided the width of slits, if there are any, and of round holes."""
    slits = slit_rule(mold.vent_rule, mold.bore.slit_mm)
    some = any(vent.slit is not None for vent in mold.vents.vents)
    holes = hole_rule(mold.vent_rule)
    if slits is None or not some:
        return (("vents", holes),)
    return (("slits", slits), ("round vents", holes))


def _rule_table(rules: Mapping[str, WallRules], vents: Sequence[tuple[str, Rule]]) -> Table:
    names: dict[tuple[str, Rule], list[str]] = {}
    for name, wall in rules.items():
        names.setdefault(("draft", wall.draft), []).append(name)
        names.setdefault(("radius", wall.top_radius), []).append(name)
    named = [(f"{word}: {_listed(own)}", rule) for (word, rule), own in names.items()]
    rows = tuple(
        (word, amount(rule.value, rule.unit), rule.because, rule.basis)
        for word, rule in (*named, *vents)
    )
    header = ("For", "Rule", "Because", "Source")
    return Table(title="Rules and where they come from", header=header, rows=rows)


def _listed(names: Sequence[str]) -> str:
    if len(names) <= 4:
        return ", ".join(names)
    return f"{', '.join(names[:3])} and {len(names) - 3} more"


def vent_table(mold: CutMold, drilling: Sequence[Drilling]) -> Table:
    """Return every vent of a mold: where it is, how it is opened and why."""
    drills = {line.vent.name: line for line in drilling}
    rows = tuple(
        (
            vent.name,
            f"{vent.x_mm:.1f} mm",
            f"{vent.y_mm:.1f} mm",
            opening_text(vent, drills.get(vent.name)),
            vent.feature,
            vent.low.reason.value,
        )
        for vent in mold.vents.vents
    )
    return Table(
        title="Vents",
        header=("Vent", "x", "y", "How", "On", "Why there"),
        rows=rows,
        note="x and y count from the middle of the job, as on the plan." + "".join(_how(mold)),
    )


def opening_text(vent: Vent, drilling: Drilling | None) -> str:
    """Return how a vent is opened, such as ``printed slit 0.4 x 8 mm``."""
    if vent.slit is not None:
        return f"printed slit {vent.slit.width_mm:g} x {vent.slit.length_mm:g} mm"
    if drilling is None:
        where = ", outside the trim line" if vent.in_waste else ""
        return f"printed hole {vent.diameter_mm:g} mm{where}"
    return f"drill {drilling.metric} ({drilling.inch})"


def _how(mold: CutMold) -> Iterator[str]:
    """Yield what to know about each way in which vents are opened."""
    ways = {mold.bore.opening(vent) for vent in mold.vents.vents}
    if Opening.SLIT in ways:
        yield (
            " A slit is as wide as the printer just leaves open; the pocket under it leads to the "
            "channels."
        )
    if Opening.DRILLED in ways:
        yield (
            " Holes to be drilled have a cone underneath that guides the drill; drill from below."
        )
    marking = [vent.name for vent in mold.vents.vents if _marks(vent, mold.vent_rule)]
    if marking:
        yield (
            f" What is wider than {mold.vent_rule.value:g} mm may leave a mark, to be sanded off "
            f"the part: {_listed(marking)}."
        )


def _marks(vent: Vent, rule: Rule) -> bool:
    """Tell whether a vent is so wide that it may leave a mark on the part."""
    return not vent.in_waste and vent.across_mm > rule.value + 1e-6
