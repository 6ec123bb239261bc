"""The recipe for trimming: lines, tools, and what is printed to trim by."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from math import tan
from pathlib import Path
from typing import Any

import numpy as np
import shapely
from shapely import MultiPolygon

from moldgen.errors import SpecError
from moldgen.export.plan import Plan, build_plan
from moldgen.export.report import Table
from moldgen.finding import Finding, Severity, ranked
from moldgen.fixture.cradle import CAP_USE, RIM_USE, CradleSpec, build_cradle
from moldgen.fixture.cradle import SAFETY as CRADLE_SAFETY
from moldgen.fixture.kinds import kind_named
from moldgen.fixture.made import GEOMETRY, Bench
from moldgen.fixture.roller import bevel_mm, build_roller
from moldgen.fixture.scribe import build_scribe
from moldgen.fixture.spec import RollerSpec, ScribeSpec
from moldgen.fixture.template import SAFETY as TEMPLATE_SAFETY
from moldgen.fixture.template import USE as TEMPLATE_USE
from moldgen.fixture.template import TemplateSpec, build_template
from moldgen.fixture.trim_line import (
    LineKind,
    LineSpec,
    Part,
    TrimLine,
    build_trim_lines,
    check_flange,
    check_trim_line,
    is_straight,
)
from moldgen.fixture.trim_tool import BASIS, Tooling, trim_s, trim_tooling
from moldgen.job.fixture_words import Fixing, TrimWords
from moldgen.mold.checks.spacing import flange_mm
from moldgen.pipeline.fixture import bench_of, numbers_of, print_words
from moldgen.pipeline.fixture_files import Used, fixture_files
from moldgen.pipeline.made import Made
from moldgen.pipeline.trim_parts import Source, outline_of, source_of
from moldgen.stock import Plastic, Shop

Progress = Callable[[str], None]
_FIXED_MM = {Fixing.GLUED: 9.0, Fixing.SCREWED: 16.0}
"""Flange by its use: 6 to 12 mm glued, 12 to 20 mm screwed; common practice, no source. [mm]."""
_COOL = (("Cool", "Trim cold parts only; mark the line before the part leaves its sheet."),)
MOST_LINES = 4
"""More lines than this get no template and cradle each. [-]."""
_WIDEST_ROLLER_MM = 60.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Trimming:
    """What is known about one trimming job.

    Attributes
    ----------
    source : Source
        What was read.
    lines : tuple of TrimLine
        One for each part, or for parts that stay together.
    spec : LineSpec
        How they run.
    plastic : Plastic
        Of the sheet.
    gauge_mm : float
        Of the sheet before forming: the skin is nowhere thicker. [mm]
    tooling : tuple of Tooling
        One for each line.
    """

    source: Source
    lines: tuple[TrimLine, ...]
    spec: LineSpec
    plastic: Plastic
    gauge_mm: float
    tooling: tuple[Tooling, ...]

    def parts_in(self, line: TrimLine) -> list[Part]:
        """Return the parts a line goes round."""
        return [part for part in self.source.parts if line.region.intersects(part.foot)]


def make_trim(words: TrimWords, *, shop: Shop, progress: Progress) -> Made:
    """Make the trim lines of a mold's parts, and what is printed to trim by.

    Parameters
    ----------
    words : TrimWords
        What is wanted.
    shop : Shop
        What there is to make it with.
    progress : callable
        Told the name of each stage as it begins.

    Raises
    ------
    MoldgenError
        If the part cannot be read, or no line can be drawn.
    """
    bench = bench_of(words, shop)
    progress("1/3 reading the part")
    trimming = trimming_of(words, source_of(words, bench, progress), shop)
    progress("2/3 building what is printed")
    used, left_out = fixtures_for(trimming, bench)
    findings = ranked((*_findings(trimming, bench), *left_out))
    title = f"Trim {trimming.source.title}"
    summary = _summary(trimming, used, bench, words)
    progress("3/3 writing files")
    files = fixture_files(
        used, words, bench,
        title=title, summary=summary, plan=plan_of_lines(title, trimming),
        tables=(_table(trimming),), first=_COOL, last=trimming.tooling[0].steps, findings=findings,
    )  # fmt: skip
    every = ranked((*findings, *(found for _, _, one in used for found in one.findings)))
    numbers = _numbers(trimming) | numbers_of([one for _, _, one in used], bench, words)
    return Made(title=title, summary=summary, findings=every, files=files, numbers=numbers)


def trimming_of(words: TrimWords, source: Source, shop: Shop) -> Trimming:
    """Return the lines and tools of what was read."""
    plastic = shop.plastic(source.plastic or words.plastic)
    gauge = source.gauge_mm or words.gauge_mm
    spec = _line_spec(words, source)
    lines = build_trim_lines(source.parts, spec)
    tooling = tuple(trim_tooling(plastic, gauge, straight=is_straight(line)) for line in lines)
    return Trimming(
        source=source, lines=lines, spec=spec, plastic=plastic, gauge_mm=gauge, tooling=tooling
    )


def _line_spec(words: TrimWords, source: Source) -> LineSpec:
    flange = words.flange_mm
    if flange is None and words.fixing is not None:
        flange = _FIXED_MM[words.fixing]
    if flange is None:
        tallest = max(part.height_mm for part in source.parts)
        flange = flange_mm(tallest) if source.flange_mm is None else source.flange_mm
    own = outline_of(Path(words.own))[0] if words.own else None
    return LineSpec(
        kind=LineKind(words.line.value),
        flange_mm=flange,
        height_mm=words.height_mm or 0.0,
        corner_mm=words.corner_mm,
        own=own,
    )


def fixtures_for(trimming: Trimming, bench: Bench) -> tuple[list[Used], list[Finding]]:
    """Return what is printed for a trimming job, and what could not be."""
    used: list[Used] = []
    left_out: dict[tuple[str, str], Finding] = {}
    for name, build in _wanted(trimming, bench):
        try:
            one = build()
            _refuse_too_large(one)
            used.append(one)
        except SpecError as problem:
            # Several lines lack the same: it is told once.
            left_out.setdefault((name, problem.rule), _left_out(name, problem))
    return used, list(left_out.values())


def _refuse_too_large(used: Used) -> None:
    for found in used[2].findings:
        if found.severity is Severity.STOP:
            raise SpecError(
                "size", f"at most {found.limit:.0f} {found.unit} to print", f"{found.measured:.0f} "
                f"{found.unit}", "Take a larger printer.",
            )  # fmt: skip


def _wanted(trimming: Trimming, bench: Bench) -> Iterator[tuple[str, Callable[[], Used]]]:
    at_height = trimming.spec.kind is LineKind.HEIGHT
    if at_height:
        yield "scribing block", lambda: _scribe(trimming, bench)
    if trimming.spec.kind is LineKind.OFFSET:
        yield "scribing roller", lambda: _roller(trimming, bench)
    if len(trimming.lines) > MOST_LINES:
        yield "trim templates and sanding cradles", _too_many
        return
    for number, line in enumerate(trimming.lines, start=1):
        word = f"-{number}" if len(trimming.lines) > 1 else ""
        if not at_height:
            yield (
                "trim template",
                lambda line=line, word=word: _template(trimming, line, bench, word),  # type: ignore[misc]
            )
        yield (
            "sanding cradle",
            lambda line=line, word=word: _cradle(trimming, line, bench, word),  # type: ignore[misc]
        )


def _too_many() -> Used:
    raise SpecError(
        "parts", f"{MOST_LINES} or fewer, to have one each", "more", "Trim a part at a time."
    )


def _scribe(trimming: Trimming, bench: Bench) -> Used:
    kind = kind_named("scribe")
    return kind.use, kind.safety, build_scribe(ScribeSpec(height_mm=trimming.spec.height_mm), bench)


def _roller(trimming: Trimming, bench: Bench) -> Used:
    kind = kind_named("roller")
    offset = trimming.spec.flange_mm
    if offset > _WIDEST_ROLLER_MM:
        raise SpecError(
            "flange_mm", f"at most {_WIDEST_ROLLER_MM:g} mm for a roller", f"{offset:g} mm",
            "Draw so wide a line with the template, or with a strip of card as wide.",
        )  # fmt: skip
    fillet = max(part.root_mm for part in trimming.source.parts) + trimming.gauge_mm
    radius = roller_offset_mm(trimming, fillet)
    spec = RollerSpec(offset_mm=radius, thickness_mm=max(6.0, fillet + 4.0))
    fixture = build_roller(spec, bench, fillet_mm=fillet)
    told = (("Trim line", f"{offset:g} mm outside the mold's foot"), *fixture.facts)
    return kind.use, kind.safety, replace(fixture, facts=told)


def roller_offset_mm(trimming: Trimming, fillet_mm: float) -> float:
    """Return the radius of the roller that draws the line from the part's own wall. [mm].

    The wall is the sheet's thickness outside the mold, and leans away up to where the roller
    touches it, above the fillet.
    """
    probe = RollerSpec(
        offset_mm=max(trimming.spec.flange_mm, 1.0), thickness_mm=max(6.0, fillet_mm + 4.0)
    )
    touch = max(bevel_mm(probe, fillet_mm), 0.0)
    leans = [_lean(part, touch) for part in trimming.source.parts if part.mesh is not None]
    away = float(np.mean(leans)) if leans else touch * tan(np.radians(5.0))
    return round(max(trimming.spec.flange_mm - trimming.gauge_mm + away, 1.0), 2)


def _lean(part: Part, height_mm: float) -> float:
    """Return how far inward of its foot a wall is at a height, on average. [mm]."""
    try:
        inner = part.at(max(height_mm, 0.05))
    except SpecError:
        return 0.0
    return float((part.foot.area - inner.area) / part.foot.length)


def _template(trimming: Trimming, line: TrimLine, bench: Bench, word: str) -> Used:
    parts = trimming.parts_in(line)
    fixture = build_template(
        line, parts, TemplateSpec(), bench, skin_mm=trimming.gauge_mm, name=f"template{word}"
    )
    return TEMPLATE_USE, TEMPLATE_SAFETY, fixture


def _cradle(trimming: Trimming, line: TrimLine, bench: Bench, word: str) -> Used:
    parts = trimming.parts_in(line)
    if len(parts) > 1:
        raise SpecError(
            "parts", "one to a trim line for a sanding cradle", f"{len(parts)}",
            "Sand it flat on the table, held by the flange.",
        )  # fmt: skip
    fixture = build_cradle(
        line, parts[0], CradleSpec(), bench, skin_mm=trimming.gauge_mm, name=f"cradle{word}"
    )
    use = RIM_USE if line.kind is LineKind.HEIGHT else CAP_USE
    return use, CRADLE_SAFETY, fixture


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
    if trimming.spec.kind is LineKind.HEIGHT:
        return
    if trimming.spec.kind is not LineKind.OWN:
        for part in trimming.source.parts[:1]:
            yield from check_flange(part, trimming.spec.flange_mm, trimming.gauge_mm)
    yield from _in_opening(trimming, bench)


def _in_opening(trimming: Trimming, bench: Bench) -> Iterator[Finding]:
    """Yield a caution if the lines reach under the clamp."""
    x0, y0, x1, y1 = shapely.total_bounds([line.region for line in trimming.lines])
    sides = sorted((x1 - x0, y1 - y0))
    opening = sorted((bench.station.opening_width_mm, bench.station.opening_depth_mm))
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
        basis=f"{bench.station.name}, clear opening",
        advice="Leave less flange, or use a larger opening.",
    )


def _left_out(name: str, problem: SpecError) -> Finding:
    return Finding(
        code="fixture-left-out",
        severity=Severity.NOTE,
        says=f"is not made: {problem.field} must be {problem.rule} (got {problem.got})",
        subject=name,
        basis=GEOMETRY,
        advice=problem.hint,
    )


def _summary(
    trimming: Trimming, used: list[Used], bench: Bench, words: TrimWords
) -> tuple[tuple[str, str], ...]:
    spec, tooling = trimming.spec, trimming.tooling[0]
    where = {
        LineKind.HEIGHT: f"round the wall, {spec.height_mm:g} mm above the table",
        LineKind.OWN: "as drawn",
    }.get(spec.kind, f"{spec.kind.value}, {spec.flange_mm:g} mm of flange")
    lengths = ", ".join(f"{line.perimeter_mm:.1f} mm" for line in trimming.lines[:6])
    total = sum(
        trim_s(tool, line.perimeter_mm, trimming.gauge_mm)
        for line, tool in zip(trimming.lines, trimming.tooling, strict=True)
    )
    sanded = f", {tooling.allowance_mm:g} mm outside the line, then the disc sander"
    return (
        ("Line", where),
        ("Sheet", f"{trimming.plastic.name}, {trimming.gauge_mm:g} mm"),
        ("Length", lengths + (" ..." if len(trimming.lines) > 6 else "")),
        ("Cut with", tooling.first.value + sanded * tooling.sanded),
        ("Time", f"about {max(total / 60, 1):.0f} min for all parts ({BASIS})"),
        ("To print", print_words([one for _, _, one in used], bench, words) if used else "nothing"),
    )


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


def _size(line: TrimLine) -> tuple[float, float]:
    x0, y0, x1, y1 = line.region.bounds
    return x1 - x0, y1 - y0


def _numbers(trimming: Trimming) -> dict[str, Any]:
    return {
        "n_lines": len(trimming.lines),
        "perimeters_mm": [line.perimeter_mm for line in trimming.lines],
        "tools": [tooling.first.value for tooling in trimming.tooling],
        "flange_mm": trimming.spec.flange_mm,
        "height_mm": trimming.spec.height_mm,
    }
