"""Turn the job of a bent strip into the strip, and the names in it into what the shop has."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from shapely import MultiPolygon
from shapely.affinity import translate

from moldgen.bend.heat.calibrate import (
    BentTestStrip,
    heater_from_timed_strip,
    neutral_from_test_strip,
    overbend_from_test_strip,
)
from moldgen.bend.strip.part import Bend, StripSpec, strip_from_marks
from moldgen.errors import SpecError
from moldgen.finding import Finding, Severity
from moldgen.job.strip_spec import JobBend, JobStrip, StripJob
from moldgen.named_file import path_in
from moldgen.stock import Filament, Plastic, Printer, Shop, StripHeater
from moldgen.stock.line_bending import plastic_to_bend
from moldgen.wording import spot

USUAL_NEUTRAL = 0.5
"""Neutral line over thickness of a hot strip; common practice, a test strip settles it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StripSetting:
    """What the shop has for a job.

    Attributes
    ----------
    plastic : Plastic
        What is bent.
    heater : StripHeater
        What it is heated on, as hot as a timed test strip found it.
    timed : bool
        Whether one was timed.
    printer : Printer
        What jigs are printed with.
    filament : Filament
        What they are printed of.
    filaments : tuple of Filament
        All that are in stock, to choose from.
    """

    plastic: Plastic
    heater: StripHeater
    printer: Printer
    filament: Filament
    filaments: tuple[Filament, ...] = ()
    timed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class StripPart:
    """The strip of a job.

    Attributes
    ----------
    strip : StripSpec
        As the job asks for it, with what a test strip says.
    neutral_basis, overbend_basis : str
        Where its neutral line and its overbend come from.
    findings : tuple of Finding
        What reading its drawing found.
    """

    strip: StripSpec
    neutral_basis: str
    overbend_basis: str
    findings: tuple[Finding, ...] = ()


def bench_of(job: StripJob, shop: Shop) -> StripSetting:
    """Return what the job names, from the shop.

    Raises
    ------
    SpecError
        If a name is not in stock.
    """
    return StripSetting(
        plastic=plastic_to_bend(shop, job.strip.plastic),
        heater=shop.strip_heater(job.strip_heater),
        printer=shop.printer(job.printer),
        filament=shop.filament(job.filament),
        filaments=tuple(shop.filaments.entries),
    )


def timed_bench(job: StripJob, part: StripPart, bench: StripSetting) -> StripSetting:
    """Return the bench with its strip heater as hot as the test strip found it.

    Raises
    ------
    SpecError
        If no heater takes that time.
    """
    side_s = job.test_strip.side_s
    if side_s is None:
        return bench
    tested = Bend(angle_deg=job.test_strip.angle_deg)
    try:
        heater = heater_from_timed_strip(
            bench.heater, part.strip, tested, bench.plastic, side_s=side_s
        )
    except SpecError as problem:
        raise _placed("test_strip", problem, {"side_s": "side"}) from None
    return replace(bench, heater=heater, timed=True)


def build_part(job: StripJob, folder: Path, plastic: Plastic) -> StripPart:
    """Return the strip of a job.

    Parameters
    ----------
    folder : Path
        Where the path of its drawing starts.
    plastic : Plastic
        The plastic the job names.

    Raises
    ------
    MoldgenError
        If numbers contradict each other, or the drawing cannot be read.
    """
    neutral, neutral_basis = _neutral(job)
    overbend_deg, overbend_basis = _overbend(job)
    region, findings = _outline(job.strip, folder)
    rest: dict[str, Any] = {
        "name": job.title,
        "thickness_mm": job.strip.thickness_mm,
        "width_mm": job.strip.width_mm,
        "plastic": plastic.name,
        "neutral": neutral,
        "overbend_deg": overbend_deg,
        "holes": tuple((h.along_mm, h.across_mm, h.diameter_mm) for h in job.strip.hole),
        "outline": region,
    }
    bends = [_bend(bend, number) for number, bend in enumerate(job.strip.bend, start=1)]
    try:
        strip = _strip(job.strip, bends, rest)
    except SpecError as problem:
        raise _placed("strip", problem, _WORDS) from None
    return StripPart(
        strip=strip,
        neutral_basis=neutral_basis,
        overbend_basis=overbend_basis,
        findings=findings,
    )


_WORDS = {
    "marks_mm": "marks", "legs_mm": "legs", "gap_mm": "gap", "inside_radius_mm": "radius",
    "angle_deg": "angle", "thickness_mm": "thickness", "width_mm": "width",
}  # fmt: skip


def in_words_of_job(problem: SpecError) -> SpecError:
    """Return what a floor below refuses with the words of the job file."""
    return _placed("strip", problem, _WORDS)


def _strip(job: JobStrip, bends: list[Bend], rest: dict[str, Any]) -> StripSpec:
    if job.marks_mm:
        assert job.length_mm is not None
        return strip_from_marks(job.marks_mm, bends, job.length_mm, **rest)
    legs_by = job.legs_by
    return StripSpec(legs_mm=job.legs_mm, legs_by=legs_by, bends=tuple(bends), **rest)


def _bend(bend: JobBend, number: int) -> Bend:
    try:
        return Bend(
            angle_deg=bend.angle_deg,
            turn=bend.turn,
            inside_radius_mm=bend.radius_mm,
            gap_mm=bend.gap_mm,
        )
    except SpecError as problem:
        raise _placed(f"strip, bend {number}", problem, _WORDS) from None


def _neutral(job: StripJob) -> tuple[float, str]:
    test = job.test_strip
    if job.strip.neutral is not None:
        return job.strip.neutral, "given for this strip"
    if test.flat_mm is None or test.radius_mm is None:
        return USUAL_NEUTRAL, "common practice, no source; a test strip settles it"
    try:
        measured = neutral_from_test_strip(
            BentTestStrip(
                flat_mm=test.flat_mm,
                legs_mm=(test.legs_mm[0], test.legs_mm[1]),
                angle_deg=test.angle_deg,
                inside_radius_mm=test.radius_mm,
                thickness_mm=job.strip.thickness_mm,
            )
        )
    except SpecError as problem:
        raise _placed("", problem, {"test strip": "test_strip"}) from None
    return measured.ratio, f"test strip, ± {measured.within:.2f}"


def _overbend(job: StripJob) -> tuple[float | None, str]:
    test = job.test_strip
    if job.strip.overbend_deg is not None:
        return job.strip.overbend_deg, "given for this strip"
    if test.pressed_deg is None or test.came_out_deg is None:
        return None, "usual for the plastic, from memory of common practice"
    try:
        measured = overbend_from_test_strip((test.pressed_deg, test.came_out_deg))
    except SpecError as problem:
        raise _placed("", problem, {"test strip": "test_strip"}) from None
    return measured.deg, f"test strip, {measured.low_deg:g} to {measured.high_deg:g}°"


def _outline(job: JobStrip, folder: Path) -> tuple[MultiPolygon | None, tuple[Finding, ...]]:
    """Return the strip's own outline with its lower left corner at the origin."""
    if not job.svg:
        return None, ()
    from moldgen.outline.svg.read import outline_from_svg

    drawing = outline_from_svg(path_in(folder, job.svg, field="svg"))
    left, low, _, _ = drawing.region.bounds
    region = translate(drawing.region, -left, -low)
    notes = tuple(f for f in drawing.findings if f.severity is not Severity.NOTE)
    return region, notes


def _placed(place: str, problem: SpecError, words: dict[str, str]) -> SpecError:
    return problem.at(spot(place, words.get(problem.field, problem.field)))
