"""The tables of the report about the day at the forming table."""

from __future__ import annotations

from collections.abc import Iterator

from moldgen.export.report.table import Table
from moldgen.finding import amount
from moldgen.mold.air.air_findings import FORMING_SHARE
from moldgen.mold.release.release import force_text
from moldgen.pipeline.heat.life_rows import life_note, life_text
from moldgen.pipeline.heat.tables import cooling_doubt_table, doubt_table
from moldgen.pipeline.mold.day import WANTED_CYCLES, TableDay
from moldgen.pipeline.mold.day_rows import SHARES, holds_text, short_time
from moldgen.pipeline.mold.print_readiness_rows import ready_tables

_MOST_POCKETS = 12


def day_tables(day: TableDay) -> Iterator[Table]:
    """Yield the report's tables."""
    yield from ready_tables(day.ready)
    yield from heat_tables(day)
    if day.ranked:
        yield _filament_table(day)
    yield from air_tables(day)
    yield _load_table(day)
    if day.release:
        yield _release_table(day)


def heat_tables(day: TableDay) -> Iterator[Table]:
    """Yield what heating and cooling times depend on."""
    if day.heated is not None:
        yield doubt_table(day.heated)
    if day.thickest is not None:
        yield cooling_doubt_table(day.thickest)


def air_tables(day: TableDay) -> Iterator[Table]:
    """Yield how the vacuum comes."""
    yield _vacuum_table(day)
    if day.evacuation.pockets:
        yield _pocket_table(day)


def _filament_table(day: TableDay) -> Table:
    rows = tuple(
        (
            life.mold.filament.name,
            f"{life.softens_degC:g} °C",
            f"{life.hottest_degC:.0f} °C",
            f"{life.hottest_edge_degC:.0f} °C",
            life_text(life, WANTED_CYCLES),
        )
        for life in day.ranked
    )
    mold = day.printed
    return Table(
        title="What to print the mold from",
        header=("Filament", "Softens", "Face, hottest", "Edge, hottest", "What it stands"),
        rows=rows,
        note=f"The best first. Under the middle of a broad top, {mold.height_mm:.3g} mm of mold, a "
        f"skin of {mold.skin_mm:g} mm, {mold.infill:.0%} filling; "
        f"{WANTED_CYCLES} cycles wanted. {life_note(day.run, mold)}",
    )


def _vacuum_table(day: TableDay) -> Table:
    air = day.evacuation
    rows = [("sheet in contact", "0 kPa", short_time(air.down_s))]
    rows += [
        (
            f"{100 * share:g} % of the vacuum",
            f"{share * air.vacuum_kPa:.0f} kPa",
            short_time(air.vacuum_s(share)),
        )
        for share in SHARES
    ]
    stiff = "" if air.stiff_s is None else f" The thinnest sheet is stiff {air.stiff_s:.1f} s on."
    return Table(
        title="How the vacuum comes",
        header=("When", "Vacuum", "After"),
        rows=tuple(rows),
        note=f"{FORMING_SHARE:.0%} of the vacuum forms a part (common practice, no source). "
        f"The sheet pushes out at most {air.swept_L:.2g} L, {air.left_L:.2g} L stay in box, "
        f"channels and bores. What holds it up is {air.bottleneck}; with holes and pipe as wide as "
        f"can be it takes {short_time(air.best_s)}.{stiff} Box, pipe and hose are common practice, "
        "no source: yours may differ.",
    )


def _pocket_table(day: TableDay) -> Table:
    slowest = sorted(day.evacuation.pockets, key=lambda one: -one.seconds)
    rows = tuple(
        (
            one.pocket.name,
            f"{one.pocket.air_mm3 / 1000:.3g} cm³",
            str(len(one.pocket.vents)),
            short_time(one.seconds),
            "-" if one.vents_needed is None else str(one.vents_needed),
        )
        for one in slowest[:_MOST_POCKETS]
    )
    rest = len(slowest) - len(rows)
    more = f" {rest} more are emptied sooner." if rest else ""
    return Table(
        title="Recesses and pockets, the slowest first",
        header=("Where", "Air", "Vents", "Empty after", "Vents that would do"),
        rows=rows,
        note="From when the sheet seals it until it lies on its ground, through its vents and the "
        f"table's holes.{more}",
    )


def _load_table(day: TableDay) -> Table:
    load = day.load
    rows = tuple(
        (
            f"{one.part}{f', {one.subject}' if one.subject else ''}",
            f"{one.thickness_mm:.1f} mm",
            f"{one.stress_MPa:.2g} MPa",
            f"{one.allowed_MPa:.2g} MPa",
            "less than 0.01 mm" if one.bend_mm < 0.005 else f"{one.bend_mm:.2f} mm",
            f"{one.most_bend_mm:.2f} mm",
        )
        for one in load.borne
    )
    return Table(
        title="What the print bears under the vacuum",
        header=("What", "Thickness", "Bears", "May bear", "Gives", "May give"),
        rows=rows,
        note=f"{load.vacuum_kPa:.0f} kPa press it onto the table with {amount(load.force_N, 'N')}. "
        "The worst place of each kind, as plates under even pressure (Roark), the mold at "
        f"{load.allowed.mold_degC:g} °C.",
    )


def _release_table(day: TableDay) -> Table:
    rows = tuple(
        (
            grip.name,
            f"{grip.draft_deg:g}°",
            f"{grip.thickness_mm:.2f} mm",
            force_text(grip.force_N),
            f"about {grip.loose_mm:.1g} mm",
        )
        for body in day.release
        for grip in body.grips
    )
    holds = dict.fromkeys(holds_text(body) for body in day.release)
    return Table(
        title="Release force",
        header=("Feature", "Draft", "Sheet", "Release force", "Loose after"),
        rows=rows or (("-", "-", "-", "-", "-"),),
        note="The cold sheet shrinks onto every raised wall and rubs there. To peel it off from "
        "one edge, to a factor of two either way; straight up it takes about ten times as much. "
        f"To lift by: {'; '.join(holds)}.",
    )
