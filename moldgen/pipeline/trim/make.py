"""The recipe for trimming: lines, tools, and what is printed to trim by."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import shapely
from shapely import MultiPolygon

from moldgen.export.plan.plan import Plan, build_plan
from moldgen.export.report.table import Table
from moldgen.finding import Finding, Severity, ranked
from moldgen.fixture.fixture import Bench
from moldgen.fixture.trim.choices import TrimLineKind
from moldgen.fixture.trim.line import (
    LineSpec,
    TrimLine,
    build_trim_lines,
    is_straight,
    line_kind,
)
from moldgen.fixture.trim.line_checks import check_flange, check_rim, check_trim_line
from moldgen.fixture.trim.tool import BASIS, steps_of, trim_s, trim_tooling
from moldgen.job.command.fixture import Fixing, TrimCommand
from moldgen.mold.trim_rule import FLANGES, TrimUse, flange_mm
from moldgen.named_file import path_in
from moldgen.pipeline.fixture.files import Used, fixture_output, left_out_text
from moldgen.pipeline.fixture.make import bench_of, numbers_of, print_text
from moldgen.pipeline.output import Output
from moldgen.pipeline.result import Result
from moldgen.pipeline.stage import Progress, Stage
from moldgen.pipeline.trim.fixtures import WORTH_G, Trimming, fixtures_for, taken_by
from moldgen.pipeline.trim.parts import Source, outline_of, source_of
from moldgen.stock import Plastic, Shop
from moldgen.wording import gauge_text

_FIXED_MM = {Fixing.GLUED: 9.0, Fixing.SCREWED: 16.0}
"""Flange by its use: 6 to 12 mm glued, 12 to 20 mm screwed; common practice, no source. [mm]."""
_COOL = (("Cool", "Trim cold parts only; mark the line before the part leaves its sheet."),)


def make_trim(command: TrimCommand, *, shop: Shop, progress: Progress) -> Result:
    """Make the trim lines of a mold's parts; see `design_trim`."""
    return design_trim(command, shop=shop, progress=progress).render(progress=progress)


def design_trim(command: TrimCommand, *, shop: Shop, progress: Progress) -> Output:
    """Work out the trim lines of a mold's parts, and what is printed to trim by.

    Parameters
    ----------
    command : TrimCommand
        What is wanted.
    shop : Shop
        What there is to make it with.
    progress : callable
        Told of each stage as it begins.

    Raises
    ------
    MoldgenError
        If the part cannot be read, or no line can be drawn.
    """
    bench = bench_of(command, shop)
    progress(Stage(1, 3, "reading the part"))
    trimming = trimming_of(command, source_of(command, bench), shop)
    progress(Stage(2, 3, "building what is printed"))
    used, left_out = fixtures_for(trimming, bench, filament=command.filament, every=command.every)
    findings = ranked((*_findings(trimming, bench), *left_out))
    title = f"Trim {trimming.source.title}"
    summary = (*_summary(trimming, used, bench, command), *_not_made(left_out))
    numbers = _numbers(trimming) | numbers_of([one for _, _, one in used], bench, command)
    return fixture_output(
        Result(title=title, summary=summary, findings=findings, numbers=numbers),
        used, bench, formats=command.formats, paper=command.paper, units=command.units,
        plan=plan_of_lines(title, trimming),
        tables=(_table(trimming), *_print_table(used, bench, command)), first=_COOL,
        last=steps_of(trimming.tooling), stage=Stage(3, 3, "writing files"),
    )  # fmt: skip


def trimming_of(command: TrimCommand, source: Source, shop: Shop) -> Trimming:
    """Return the lines and tools of what was read."""
    plastic = shop.plastic(source.plastic or command.plastic)
    gauge = source.gauge_mm or command.gauge_mm
    spec = _line_spec(command, source, plastic, gauge)
    lines = build_trim_lines(source.parts, spec)
    tooling = tuple(
        trim_tooling(plastic, gauge, straight=is_straight(line.region)) for line in lines
    )
    return Trimming(
        source=source, lines=lines, spec=spec, plastic=plastic, gauge_mm=gauge, tooling=tooling,
        asked=source.asked or command.flange_mm is not None or command.fixing is not None,
    )  # fmt: skip


def _line_spec(command: TrimCommand, source: Source, plastic: Plastic, gauge_mm: float) -> LineSpec:
    spec = LineSpec(
        kind=TrimLineKind.OFFSET,
        flange_mm=_flange_of(command, source),
        height_mm=command.height_mm or 0.0,
        corner_mm=command.corner_mm,
        own=outline_of(path_in(Path(), command.own, field="own"))[0] if command.own else None,
        within=source.within,
        together=source.use is TrimUse.LETTERS,
    )
    kind = command.line or source.line or line_kind(source.parts, spec, plastic, gauge_mm)
    return spec.of_kind(kind)


def _flange_of(command: TrimCommand, source: Source) -> float:
    """Return the flange: as said, by its fixing, of the job, else by the part's height. [mm]."""
    if command.flange_mm is not None:
        return command.flange_mm
    if command.fixing is not None:
        return _FIXED_MM[command.fixing]
    if source.flange_mm is not None:
        return source.flange_mm
    return flange_mm(max(part.height_mm for part in source.parts))


def plan_of_lines(title: str, trimming: Trimming) -> Plan:
    """Return the trim lines at 1:1 round the feet of the parts."""
    foot = MultiPolygon(
        [p for part in trimming.source.parts for p in shapely.get_parts(_lean_ring(part.foot))]
    )
    lines = MultiPolygon([_lean_ring(line.region) for line in trimming.lines])
    return build_plan(title=title, foot=foot, trim=lines)


def _lean_ring(region: shapely.Polygon) -> shapely.Polygon:
    """Return a region without the corners that a drawing can spare. [mm]."""
    return shapely.simplify(region, 0.005)


def _findings(trimming: Trimming, bench: Bench) -> Iterator[Finding]:
    yield from trimming.source.findings
    for line, tooling in zip(trimming.lines, trimming.tooling, strict=True):
        yield from check_trim_line(line, tooling.first)
    if trimming.spec.kind is TrimLineKind.HEIGHT:
        return
    yield from check_rim(
        trimming.source.parts[0].name, trimming.kept_mm, trimming.spec.flange_mm,
        asked=trimming.asked,
    )  # fmt: skip
    if trimming.spec.kind is not TrimLineKind.OWN:
        for part in trimming.source.parts[:1]:
            yield from check_flange(part, trimming.spec.flange_mm, trimming.gauge_mm)
    yield from _in_opening(trimming, bench)


def _in_opening(trimming: Trimming, bench: Bench) -> Iterator[Finding]:
    """Yield a caution if the lines reach under the clamp."""
    x0, y0, x1, y1 = shapely.total_bounds([line.region for line in trimming.lines])
    sides = sorted((x1 - x0, y1 - y0))
    opening = sorted((bench.machine.opening_width_mm, bench.machine.opening_depth_mm))
    over = [side - free for side, free in zip(sides, opening, strict=True)]
    worst = int(np.argmax(over))
    if over[worst] <= 0:
        return
    yield Finding(
        code="trim-under-clamp",
        severity=Severity.CAUTION,
        says="the trim lines reach under the clamp frame, whose print stays on the flange",
        measured=float(sides[worst]),
        limit=float(opening[worst]),
        unit="mm",
        subject=trimming.source.title,
        basis=f"{bench.machine.name}, clear opening",
        advice="Leave less flange, or use a larger opening.",
    )


def _summary(
    trimming: Trimming, used: list[Used], bench: Bench, command: TrimCommand
) -> tuple[tuple[str, str], ...]:
    spec, tooling = trimming.spec, trimming.tooling[0]
    where = {
        TrimLineKind.HEIGHT: f"round the wall, {spec.height_mm:g} mm above the table",
        TrimLineKind.OWN: "as drawn",
    }.get(spec.kind, f"{spec.kind.value}, {round(trimming.kept_mm, 1):g} mm {_place(trimming)}")
    lengths = ", ".join(f"{line.perimeter_mm:.1f} mm" for line in trimming.lines[:6])
    total = sum(
        trim_s(tool, line.perimeter_mm, trimming.gauge_mm)
        for line, tool in zip(trimming.lines, trimming.tooling, strict=True)
    )
    sanded = f", {tooling.allowance_mm:g} mm outside the line, then the disc sander"
    return (
        ("Line", where),
        ("Sheet", f"{trimming.plastic.name}, {gauge_text(trimming.gauge_mm)}"),
        ("Length", lengths + (" ..." if len(trimming.lines) > 6 else "")),
        ("Cut with", tooling.first.value + sanded * tooling.sanded),
        ("Time", f"about {max(total / 60, 1):.0f} min for all parts ({BASIS})"),
        (
            "To print",
            print_text([one for _, _, one in used], bench, command) if used else "nothing",
        ),
    )


def _place(trimming: Trimming) -> str:
    use = trimming.source.use
    return FLANGES[use].place if use is not None else "outside the foot"


def _not_made(left_out: list[Finding]) -> tuple[tuple[str, str], ...]:
    missing = left_out_text(left_out)
    return (("Not made", f"{missing}: the findings say why"),) if missing else ()


def _table(trimming: Trimming) -> Table:
    rows = tuple(
        (
            line.name,
            f"{line.perimeter_mm:.1f} mm",
            "{:.1f} x {:.1f} mm".format(*_size(line)),
            tooling.first.value,
            f"{tooling.allowance_mm:g} mm",
            f"{trim_s(tooling, line.perimeter_mm, trimming.gauge_mm) / 60:.0f} min",
        )
        for line, tooling in zip(trimming.lines, trimming.tooling, strict=True)
    )
    return Table(
        title="Trim lines",
        header=("Part", "Length", "Size", "Cut with", "Outside the line", "Time"),
        rows=rows,
        note=f"Tools, allowances and times: {BASIS}. Knife below 1.6 mm, snips to 2 mm, a saw "
        "above; brittle sheet is scored and snapped along straight lines.",
    )


def _print_table(used: Sequence[Used], bench: Bench, command: TrimCommand) -> tuple[Table, ...]:
    taken = [(one, taken_by(one, bench, command.filament)) for _, _, one in used]
    rows = tuple(
        (one.title, f"{each.mass_g:.0f} g", f"{each.time_s / 3600:.1f} h") for one, each in taken
    )
    note = (
        "With walls and infill as they are printed. A template or cradle over "
        f"{WORTH_G:g} g, a template for straight sides and a sanding cradle for an edge that is "
        "not sanded are not worth their filament (judgment, no source); --every makes them."
    )
    header = ("Piece", "Filament", "Time")
    return (Table(title="To print", header=header, rows=rows, note=note),) if rows else ()


def _size(line: TrimLine) -> tuple[float, float]:
    x0, y0, x1, y1 = line.region.bounds
    return x1 - x0, y1 - y0


def _numbers(trimming: Trimming) -> dict[str, Any]:
    return {
        "n_lines": len(trimming.lines),
        "perimeters_mm": [line.perimeter_mm for line in trimming.lines],
        "tools": [tooling.first.value for tooling in trimming.tooling],
        "flange_mm": trimming.kept_mm,
        "height_mm": trimming.spec.height_mm,
    }
