"""Work out a bent strip: layout, heat, order, shape, how it stands, and its jigs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from moldgen.bend.heat.dwell import Dwell, from_one_face
from moldgen.bend.heat.overbend import pressed_deg
from moldgen.bend.jig.facing import check_filament
from moldgen.bend.order.order import BendOrder, best_order
from moldgen.bend.stand.load import BOOK, CARD, PHONE, StripLoad, Thing, load_on_leg
from moldgen.bend.stand.rest import faces_up, rest_text
from moldgen.bend.stand.stand import Eye, StripBalance, build_standing, check_standing, check_view
from moldgen.bend.strip.layout import Layout, build_layout
from moldgen.bend.strip.layout_rules import heater_findings
from moldgen.bend.strip.shape import StripShape, formed
from moldgen.bend.strip.shape_checks import check_gaps
from moldgen.bend.strip.sheet import build_sheet
from moldgen.errors import SpecError
from moldgen.finding import Finding, Severity, ranked
from moldgen.job.strip_spec import JobLoad, JobStand, StripJob
from moldgen.pipeline.chosen_value import ChosenValue
from moldgen.pipeline.stage import Progress, Stage
from moldgen.pipeline.strip.choose import choose_strip
from moldgen.pipeline.strip.jigs import Jigs, build_jigs
from moldgen.pipeline.strip.part import StripPart, StripSetting, in_words_of_job
from moldgen.solid.mesh import Body
from moldgen.stock import Shop
from moldgen.wording import one_of, shown, spot

_THINGS = {thing.name: thing for thing in (PHONE, CARD, BOOK)}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BentStrip:
    """A bent strip with everything that is known about it.

    Attributes
    ----------
    job : StripJob
        As asked for, with what was chosen where it says nothing.
    part : StripPart
        The strip, and where its neutral line and overbend come from.
    bench : StripSetting
        What the shop has for it.
    layout : Layout
        The strip laid flat.
    dwells : tuple of Dwell
        How each bend is heated and held, left to right.
    order : BendOrder
        In which order the bends are made, or why there is none.
    shape : StripShape
        The strip as bent, as it stands if it stands.
    standing : Standing or None
        How it stands, if the job says that it does.
    body : Body or None
        The bent strip as a solid; None if it would cross itself.
    jigs : Jigs
        What is printed.
    findings : tuple of Finding
        Gravest first.
    choices : tuple of ChosenValue
        What was chosen where the job says nothing.
    """

    job: StripJob
    part: StripPart
    bench: StripSetting
    layout: Layout
    dwells: tuple[Dwell, ...]
    order: BendOrder
    shape: StripShape
    standing: StripBalance | None
    body: Body | None
    jigs: Jigs
    findings: tuple[Finding, ...]
    choices: tuple[ChosenValue, ...] = ()

    def pressed_deg(self, number: int) -> float:
        """Return the angle a bend is pressed to. [°]."""
        return pressed_deg(self.part.strip, number)


def build_work(
    job: StripJob, *, folder: Path, shop: Shop, progress: Progress = lambda _: None
) -> BentStrip:
    """Work out everything about a bent strip.

    Raises
    ------
    MoldgenError
        If it cannot be laid out or heated: one sentence that says what to change.
    """
    progress(Stage(1, 6, "laying the strip flat"))
    chosen = choose_strip(job, folder=folder, shop=shop)
    job, part, bench, dwells = chosen.job, chosen.part, chosen.bench, chosen.dwells
    try:
        layout = build_layout(part.strip)
    except SpecError as problem:
        raise in_words_of_job(problem) from None
    progress(Stage(2, 6, "searching the order of bends"))
    both_faces = any(one.n_sides > 1 for one in dwells)
    order = best_order(part.strip, layout, bench.heater, both_faces=both_faces)
    dwells = tuple(_lying(part, dwells, order))
    flying = formed(part.strip, layout)
    sound = not flying.clashes()
    standing = _standing(job.stand, flying, bench) if sound else None
    shape = standing.shape if standing else flying
    progress(Stage(3, 6, "building jigs"))
    jigs = build_jigs(job, part.strip, layout, order, bench.printer)
    findings = (
        *part.findings,
        *layout.findings,
        *heater_findings(layout, bench.heater),
        *_dwell_findings(dwells),
        *order.findings,
        *check_gaps(flying),
        *_standing_findings(job.stand, standing),
        *jigs.findings,
        *_filament_findings(job, bench, dwells, jigs),
    )
    return BentStrip(
        job=job,
        part=part,
        bench=bench,
        layout=layout,
        dwells=dwells,
        order=order,
        shape=shape,
        standing=standing,
        body=build_sheet(shape) if sound else None,
        jigs=jigs,
        findings=ranked(_without_twins(findings)),
        choices=chosen.choices,
    )


def bent_shape(job: StripJob, *, folder: Path, shop: Shop) -> StripShape:
    """Return a strip as bent, as it stands if it stands: quicker than all of `build_work`.

    Raises
    ------
    MoldgenError
        If it cannot be laid out or heated.
    """
    chosen = choose_strip(job, folder=folder, shop=shop)
    shape = formed(chosen.part.strip, build_layout(chosen.part.strip))
    standing = _standing(chosen.job.stand, shape, chosen.bench)
    return standing.shape if standing else shape


def _lying(part: StripPart, dwells: Sequence[Dwell], order: BendOrder) -> Iterator[Dwell]:
    """Yield each dwell as its line can lie over the element when its turn comes."""
    places = {step.number: step for step in order.steps}
    for number, (one, bend) in enumerate(zip(dwells, part.strip.bends, strict=True), start=1):
        place = places.get(number)
        if place is None or (place.marks_up and place.marks_down):
            yield one
        else:
            yield from_one_face(one, bend, marks_up=place.marks_up)


def _standing(
    stand: JobStand | None, shape: StripShape, bench: StripSetting
) -> StripBalance | None:
    if stand is None:
        return None
    lying = None if stand.lying is None else int(stand.lying)
    faces = [(load.leg, load.marks) for load in stand.load]
    if stand.read is not None:
        faces.append((stand.read, stand.read_marks))
    ways: list[str] = []

    def suits(put: StripShape) -> bool:
        ways.append(rest_text(put))
        return stand.stands_on in ("", ways[-1]) and faces_up(put, faces)

    def put(*loads: StripLoad) -> StripBalance:
        return build_standing(
            shape,
            density_kg_m3=bench.plastic.density_kg_m3,
            loads=loads,
            lying=lying,
            marks_down=stand.marks_down,
            suits=suits if faces or stand.stands_on else None,
        )

    try:
        bare = put()
    except SpecError as problem:
        if stand.stands_on and lying is None and stand.stands_on not in ways:
            rule, hint = "a way in which this strip rests", f"It can rest on {one_of(ways)}."
            raise SpecError("stand: stands_on", rule, shown(stand.stands_on), hint) from None
        raise problem.at(spot("stand", problem.field)) from None
    return put(*(_load(number, load, bare) for number, load in enumerate(stand.load, start=1)))


def _load(number: int, load: JobLoad, standing: StripBalance) -> StripLoad:
    place = f"stand, load {number}"
    try:
        thing = thing_of(load)
        return load_on_leg(standing.shape, int(load.leg), thing, marks=load.marks)
    except SpecError as problem:
        raise problem.at(spot(place, problem.field)) from None


def thing_of(load: JobLoad) -> Thing:
    """Return the thing a load names, its sizes as given or, for usual things, as usual.

    Raises
    ------
    SpecError
        If it is no usual thing and a size is missing.
    """
    usual = _THINGS.get(load.name.strip().casefold())
    measures = {
        "mass_g": load.mass_g,
        "height_mm": load.height_mm,
        "thickness_mm": load.thickness_mm,
    }
    if usual is None:
        for field, value in measures.items():
            if value is None:
                word = field.rpartition("_")[0]
                hint = f"Only {', '.join(_THINGS)} need no sizes."
                raise SpecError(word, f"given for {load.name!r}", "nothing", hint)
    usual = usual or Thing(name=load.name, mass_kg=1, tall_mm=1, thick_mm=1)
    return Thing(
        name=load.name,
        mass_kg=usual.mass_kg if load.mass_g is None else load.mass_g / 1000,
        tall_mm=usual.tall_mm if load.height_mm is None else load.height_mm,
        thick_mm=usual.thick_mm if load.thickness_mm is None else load.thickness_mm,
    )


def _standing_findings(stand: JobStand | None, standing: StripBalance | None) -> Iterator[Finding]:
    if stand is None or standing is None:
        return
    yield from check_standing(standing)
    if stand.read is not None:
        eye = Eye(height_mm=stand.eye_height_mm, distance_mm=stand.eye_distance_mm)
        try:
            yield from check_view(standing, int(stand.read), eye, marks=stand.read_marks)
        except SpecError as problem:
            raise problem.at(problem.field.replace("leg", "stand: read")) from None


def _dwell_findings(dwells: Iterable[Dwell]) -> Iterator[Finding]:
    for number, one in enumerate(dwells, start=1):
        for finding in one.findings:
            subject = f"bend {number}" if finding.severity is not Severity.STOP else finding.subject
            yield replace(finding, subject=subject)


def _filament_findings(
    job: StripJob, bench: StripSetting, dwells: Iterable[Dwell], jigs: Jigs
) -> tuple[Finding, ...]:
    if not any(one.bend for one in jigs.printed):
        return ()
    hottest = max(one.mean_degC for one in dwells)
    return check_filament(
        bench.plastic,
        bench.filament,
        facing_mm=job.jigs.facing_mm or 0.0,
        bend_degC=hottest,
    )


def _without_twins(findings: Iterable[Finding]) -> Iterator[Finding]:
    """Yield each finding once, whoever else found it too."""
    seen = set()
    for finding in findings:
        key = (finding.code, finding.subject, finding.says, finding.measured)
        if key not in seen:
            seen.add(key)
            yield finding
