"""One letter of a set: its mold, on a foot with the groove for the rail."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from pathlib import Path

import shapely
from manifold3d import Manifold
from shapely import MultiPolygon

from moldgen.errors import SpecError
from moldgen.finding import Finding, Severity
from moldgen.fixture.letters.foot import (
    BLANK,
    FOOT_DRAFT_DEG,
    FOOT_MM,
    FOOT_RIM_MM,
    GROOVE_DEPTH_MM,
    RAIL_MM,
    RELIEF_SHARE,
    FootRule,
    rule_for,
)
from moldgen.fixture.letters.marks import least_gap_between_pieces_mm, place_marks
from moldgen.job import Job
from moldgen.job.command.letters import LettersCommand
from moldgen.job.feature_names import with_names
from moldgen.job.outline import JobPoints, JobText, Placement
from moldgen.job.spec import JobBody, JobFeature, JobSheet, JobUnderside, ReadAt
from moldgen.mold.features import Feature
from moldgen.mold.width_rule import least_gap_mm
from moldgen.outline.choices import Align
from moldgen.outline.lettering.text import TextSpec, outline_from_text
from moldgen.pipeline.mold.design import design_features
from moldgen.pipeline.mold.features import ResolvedFeatures, resolve_features
from moldgen.pipeline.mold.mold import Mold
from moldgen.pipeline.setting import setting_of
from moldgen.pipeline.stage import quiet
from moldgen.solid.mesh import Body
from moldgen.solid.sound import mesh_from_solid, solid_from_mesh, sound
from moldgen.stock import Shop

PLAY_MM = 0.2
"""Between rail and groove, on every side. [mm]."""
_WEB = (
    "common practice, no source: gap at least 2 gauges, and the relief, else webs; opened to no "
    f"more than {100 * RELIEF_SHARE:g} % of the height of the H"
)


def rule_of_set(letters: Iterable[str], command: LettersCommand) -> FootRule:
    """Return the feet of a set: as deep as its highest mark and its longest tail need.

    Raises
    ------
    SpecError
        If the font lacks a letter.
    """
    plain = FootRule(letter_height_mm=command.letter_height_mm, font=command.font)
    asked = least_gap_mm(command.gauge_mm, plain.relief_mm)
    # A mark that floats further off is no longer read as a part of its letter.
    gap = min(asked, RELIEF_SHARE * command.letter_height_mm)
    try:
        return rule_for(letters, replace(plain, gap_mm=gap))
    except SpecError as problem:
        raise problem.at("characters" if problem.field == "text" else problem.field) from None


def letter_mold(
    letter: str, rule: FootRule, command: LettersCommand, shop: Shop
) -> tuple[str, Mold]:
    """Return a letter's name for files and its mold, without the groove.

    The day at the table is that of a whole word, so a letter's mold knows nothing of it.

    Raises
    ------
    SpecError
        If the letter has no room on its foot, or the font lacks it.
    """
    name = _name(letter)
    job = with_names(_job(letter, name, rule, command))
    setting = setting_of(job, shop)
    try:
        resolved = resolve_features(job, folder=Path(), setting=setting)
        apart = with_marks_apart(resolved, rule)
        design = design_features(job, apart, setting=setting, shop=shop, progress=quiet)
        return name, design.checked
    except SpecError as problem:
        hint = problem.hint
        if problem.field.startswith("outline of"):
            hint = "The common foot has no room for it: leave it out, or choose another font."
        raise SpecError(
            f"letter {letter}: {problem.field}", problem.rule, problem.got, hint
        ) from None


def with_marks_apart(resolved: ResolvedFeatures, rule: FootRule) -> ResolvedFeatures:
    """Return a letter on its foot with dots and accents apart enough for the sheet."""
    bodies = [
        replace(foot, children=tuple(_marks_apart(one, rule) for one in foot.children))
        for foot in resolved.bodies
    ]
    return replace(resolved, bodies=bodies)


def _marks_apart(letter: Feature, rule: FootRule) -> Feature:
    return replace(
        letter,
        region=place_marks(letter.region, gap_mm=rule.gap_mm, baseline_mm=rule.baseline_mm),
    )


def foot_findings(letters: Iterable[str], rule: FootRule) -> Iterator[tuple[str, Finding]]:
    """Yield what the foot does for letters of several pieces: letter and finding."""
    for letter in letters:
        if letter == BLANK:
            continue
        drawn = rule.drawn(letter)
        if len(drawn.geoms) > 1:
            yield letter, _joined(drawn)
        if not shapely.equals(drawn, place_marks(drawn, gap_mm=rule.gap_mm)):
            yield letter, _moved_apart(least_gap_between_pieces_mm(drawn), rule)
        if max(lacking := rule.lacking_mm(letter)) > 0:
            yield letter, _deeper(sum(lacking), rule)


def _joined(drawn: MultiPolygon) -> Finding:
    return Finding(
        code="foot-joins",
        severity=Severity.NOTE,
        says="a letter of several pieces; its foot reaches under all of them and joins them",
        measured=float(len(drawn.geoms)),
        unit="pieces",
        basis="outline of the letter in its font",
        advice="Nothing to do: they are printed as one, and their formed sheet is one.",
    )


def _moved_apart(gap_mm: float, rule: FootRule) -> Finding:
    return Finding(
        code="marks-apart",
        severity=Severity.NOTE,
        says="dots and accents were moved off, so that the sheet goes down between them and the "
        "letter; gap as drawn",
        measured=gap_mm,
        limit=rule.gap_mm,
        unit="mm",
        basis=_WEB,
        advice="Nothing to do; a thinner sheet asks for less where the gauge decides.",
    )


def _deeper(lacking_mm: float, rule: FootRule) -> Finding:
    return Finding(
        code="foot-deeper",
        severity=Severity.NOTE,
        says="marks above the capitals or long tails ask for more than the usual foot; all feet "
        f"of this set are {rule.depth_mm:.1f} mm deep, the usual {rule.usual_depth_mm:.1f} mm; "
        "this letter lacks",
        measured=lacking_mm,
        unit="mm",
        basis="outline of the letter in its font, with the room for its wall and fillet",
        advice="A set with other marks has the same baseline and groove, but not the same edge: "
        "make the letters of one word in one set.",
    )


def _name(letter: str) -> str:
    if letter == BLANK:
        return "blank"
    spec = TextSpec(text=letter, height_mm=10.0)
    named = outline_from_text(spec).letters[0].name
    return f"letter {named}-small" if letter.islower() else f"letter {named}"


def _job(letter: str, name: str, rule: FootRule, command: LettersCommand) -> Job:
    width, depth = rule.width_mm(letter), rule.depth_mm
    corners = ((-1, -1), (1, -1), (1, 1), (-1, 1))
    rectangle = tuple((x * width / 2, y * depth / 2) for x, y in corners)
    raised: tuple[JobFeature, ...] = ()
    if letter != BLANK:
        text = JobText(
            text=letter, height_mm=rule.letter_height_mm, font=rule.font, align=Align.CENTER,
            place=Placement.AS_DRAWN, y_mm=rule.baseline_mm, mirror=command.mirrored,
        )  # fmt: skip
        raised = (JobFeature(name=letter, outline=text, height_mm=rule.relief_mm),)
    foot = JobBody(
        name=name, outline=JobPoints(points=rectangle, place=Placement.AS_DRAWN), height_mm=FOOT_MM,
        draft_deg=FOOT_DRAFT_DEG, top_radius_mm=FOOT_RIM_MM, base_radius_mm=0.0, plan_radius_mm=0.0,
        read_at=ReadAt.FOOT, raised=raised,
    )  # fmt: skip
    return Job(
        title=name, machine=command.machine, printer=command.printer, filament=command.filament,
        sheet=JobSheet(plastic=command.plastic, gauge_mm=command.gauge_mm),
        underside=JobUnderside(label=False, arrow=False, insert="none"),
        body=(foot,),
    )  # fmt: skip


def cut_groove(body: Body, rule: FootRule) -> Body:
    """Return a letter with the groove for the rail along its underside.

    Raises
    ------
    GeometryError
        If nothing, or more than one piece, would be left.
    """
    low, high = body.mesh.bounds_mm
    width = RAIL_MM[0] + 2 * PLAY_MM
    groove = Manifold.cube((high[0] - low[0] + 2.0, width, GROOVE_DEPTH_MM + 1.0))
    groove = groove.translate((low[0] - 1.0, rule.groove_mm - width / 2, -1.0))
    solid = solid_from_mesh(body.mesh, doing=f"reading {body.name}") - groove
    return Body(body.name, mesh_from_solid(sound(solid, doing=f"grooving {body.name}")))
