"""What is printed to trim by: gauges for the line, templates and cradles for each part."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from math import tan

import numpy as np

from moldgen.errors import SpecError
from moldgen.finding import Finding, Severity
from moldgen.fixture.fixture import GEOMETRY, Bench, Fixture
from moldgen.fixture.kinds import kind_named
from moldgen.fixture.spec import RollerSpec, ScribeSpec
from moldgen.fixture.trim.choices import TrimLineKind
from moldgen.fixture.trim.cradle import CAP_USE, RIM_USE, CradleSpec, build_cradle
from moldgen.fixture.trim.cradle import SAFETY as CRADLE_SAFETY
from moldgen.fixture.trim.line import (
    LineSpec,
    TrimLine,
    TrimPart,
    kept_mm,
)
from moldgen.fixture.trim.roller import bevel_mm, build_roller
from moldgen.fixture.trim.scribe import build_scribe
from moldgen.fixture.trim.template import SAFETY as TEMPLATE_SAFETY
from moldgen.fixture.trim.template import USES as TEMPLATE_USES
from moldgen.fixture.trim.template import TemplateSpec, build_template
from moldgen.fixture.trim.tool import Tooling
from moldgen.pipeline.fixture.files import LEFT_OUT, Used
from moldgen.pipeline.print_estimate import estimate_plates, print_spec
from moldgen.pipeline.trim.parts import Source
from moldgen.printing.estimate import Estimate
from moldgen.stock import Plastic

MOST_LINES = 4
"""More lines than this get no template and cradle each. [-]."""
WORTH_G = 120.0
"""A heavier template or cradle is not worth its filament, and its night on the printer, for one
line; judgment, no source. [g]."""
_SQUARE = (TrimLineKind.STRAIGHT, TrimLineKind.ROUNDED)
"""Lines that a straight-edge and a coin in the corners do for. [-]."""
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
    asked : bool
        Whether the flange was asked for; otherwise it is a rule's.
    """

    source: Source
    lines: tuple[TrimLine, ...]
    spec: LineSpec
    plastic: Plastic
    gauge_mm: float
    tooling: tuple[Tooling, ...]
    asked: bool = False

    @property
    def kept_mm(self) -> float:
        """Sheet that stays round the parts, as far as there is room for it. [mm]."""
        return kept_mm(self.spec, self.source.parts, self.lines)

    def parts_in(self, line: TrimLine) -> list[TrimPart]:
        """Return the parts a line goes round."""
        return [part for part in self.source.parts if line.region.intersects(part.foot)]

    def tooling_of(self, line: TrimLine) -> Tooling:
        """Return what a line is cut with."""
        return self.tooling[self.lines.index(line)]


def fixtures_for(
    trimming: Trimming, bench: Bench, *, filament: str = "PETG", every: bool = False
) -> tuple[list[Used], list[Finding]]:
    """Return what is printed for a trimming job, and what could not be, or is not worth it.

    Parameters
    ----------
    filament : str
        What it is printed of.
    every : bool
        Whether it is made though it is not worth its filament.
    """
    used: list[Used] = []
    left_out: dict[tuple[str, str], Finding] = {}
    for name, build in _wanted(trimming, bench, every=every):
        try:
            one = build()
            _refuse_too_large(one)
            if not every:
                _refuse_too_dear(taken_by(one[2], bench, filament))
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


def taken_by(fixture: Fixture, bench: Bench, filament: str) -> Estimate:
    """Return what printing a fixture takes, walls and infill as they are printed."""
    return estimate_plates(
        fixture.plates,
        filament=bench.shop.filament(filament),
        printer=bench.printer,
        spec=print_spec(bench.printer),
    )


def _refuse_too_dear(taken: Estimate) -> None:
    if taken.mass_g > WORTH_G:
        raise SpecError(
            "filament", f"at most {WORTH_G:g} g to be worth it", f"{taken.mass_g:.0f} g, "
            f"{taken.time_s / 3600:.1f} h",
            "Mark the line from the plan at 1:1; --every makes it all the same.",
        )  # fmt: skip


def _wanted(
    trimming: Trimming, bench: Bench, *, every: bool
) -> Iterator[tuple[str, Callable[[], Used]]]:
    at_height = trimming.spec.kind is TrimLineKind.HEIGHT
    if at_height:
        yield "scribing block", lambda: _scribe(trimming, bench)
    if trimming.spec.kind is TrimLineKind.OFFSET:
        yield "scribing roller", lambda: _roller(trimming, bench)
    if len(trimming.lines) > MOST_LINES:
        yield "trim templates and sanding cradles", _too_many
        return
    for number, line in enumerate(trimming.lines, start=1):
        word = f"-{number}" if len(trimming.lines) > 1 else ""
        if trimming.spec.kind in _SQUARE and not every:
            yield "trim template", _needless
        elif not at_height:
            yield (
                "trim template",
                lambda line=line, word=word: _template(trimming, line, bench, word),  # type: ignore[misc]
            )
        if not trimming.tooling_of(line).sanded and not every:
            yield "sanding cradle", _unsanded
            continue
        yield (
            "sanding cradle",
            lambda line=line, word=word: _cradle(trimming, line, bench, word),  # type: ignore[misc]
        )


def _needless() -> Used:
    raise SpecError(
        "line", "a curve, to be worth a template", "straight sides",
        "Cut it along a straight-edge, round corners along a coin; --every makes the template "
        "all the same.",
    )  # fmt: skip


def _unsanded() -> Used:
    raise SpecError(
        "edge", "sanded, to be worth a cradle", "cut to the line",
        "Scrape the edge; --every makes the cradle all the same.",
    )  # fmt: skip


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
    fillet = max(part.base_radius_mm for part in trimming.source.parts) + trimming.gauge_mm
    radius = roller_offset_mm(trimming, fillet)
    spec = RollerSpec(offset_mm=radius, thickness_mm=max(6.0, fillet + 4.0))
    fixture = build_roller(spec, bench, fillet_mm=fillet)
    facts = (("Trim line", f"{offset:g} mm outside the mold's foot"), *fixture.facts)
    return kind.use, kind.safety, replace(fixture, facts=facts)


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


def _lean(part: TrimPart, height_mm: float) -> float:
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
    return TEMPLATE_USES[trimming.tooling_of(line).first], TEMPLATE_SAFETY, fixture


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
    use = RIM_USE if line.kind is TrimLineKind.HEIGHT else CAP_USE
    return use, CRADLE_SAFETY, fixture


def _left_out(name: str, problem: SpecError) -> Finding:
    return Finding(
        code=LEFT_OUT,
        severity=Severity.NOTE,
        says=f"is not made: {problem.field} must be {problem.rule} (got {problem.got})",
        subject=name,
        basis=GEOMETRY,
        advice=problem.hint,
    )
