"""From a mesh, a height map or a drawing that somebody brings to a mold."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any

import shapely

from moldgen.errors import SpecError
from moldgen.export.report import Picture, Report, Table, cautions
from moldgen.finding import Finding, Severity
from moldgen.job import Job, JobBody, JobPoints, JobSvg
from moldgen.job.adapt_words import AdaptAs, AdaptPull, AdaptWords
from moldgen.job.spec import Format, Side
from moldgen.mold.features import Direction
from moldgen.mold.freeform import (
    Change,
    Formable,
    FreeformSpec,
    change_of,
    check_change,
    check_lean,
    make_formable,
    raw_mold_of,
)
from moldgen.mold.freeform_vents import place_freeform_vents
from moldgen.mold.rules import Rule, WallRules, vent_rule, wall_rules
from moldgen.mold.vents import VentPlan, VentSpec
from moldgen.outline.trace import TraceSpec, outline_from_grey, svg_of_traced
from moldgen.pipeline.adapt_shape import (
    Shape,
    cell_for_mm,
    field_of_shape,
    overhang_mm2,
    seen_mm3,
    shape_of_mesh,
    shape_of_relief,
)
from moldgen.pipeline.file_name import file_name
from moldgen.pipeline.file_set import OutputFile, plain_glb, with_documents
from moldgen.pipeline.files import mesh_files, mold_file_set
from moldgen.pipeline.first_use import telling_first_use
from moldgen.pipeline.layout import Drilling, drill_list
from moldgen.pipeline.made import Made
from moldgen.pipeline.mold import (
    Mold,
    Setting,
    finish_raw,
    relief_for_vents,
    setting_of,
)
from moldgen.pipeline.words import mold_tables, numbers_of, on_the_day, summary_of
from moldgen.pipeline.working import Working, told_too, working_of
from moldgen.solid.picture import is_picture, load_grey
from moldgen.solid.relief import Relief
from moldgen.stock import Shop

Progress = Callable[[str], None]

_NEAR_MM = 0.1
"""An edge no farther than this from a gate is the gate's own rim. [mm]."""

_OUTLINE_WIDTH_MM, _OUTLINE_HEIGHT_MM = 120.0, 12.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Adapted:
    """Everything about one adapted shape that its files are made of."""

    job: Job
    mold: Mold
    setting: Setting
    formable: Formable
    change: Change
    rules: WallRules
    working: Working


def adapt(path: Path, *, words: AdaptWords, shop: Shop, progress: Progress) -> Made:
    """Make what somebody brings formable, and the mold of it with everything that goes with it.

    Parameters
    ----------
    path : Path
        A mesh or a picture.
    words : AdaptWords
        What is asked of it.

    Raises
    ------
    MoldgenError
        If it cannot be read or made: one sentence that says what to change.
    """
    progress = telling_first_use(progress)
    progress("1/6 reading the shape")
    if is_picture(path) and words.as_ is not AdaptAs.RELIEF:
        return _raised_drawing(path, words, shop, progress)
    if words.as_ is AdaptAs.OUTLINE:
        raise SpecError("as", "relief or auto for a mesh", "outline", "Name a picture to trace.")
    return _made(_adapted(path, words, shop, progress), progress)


def _raised_drawing(path: Path, words: AdaptWords, shop: Shop, progress: Progress) -> Made:
    """Trace a drawing and let it go the way of every drawing."""
    from moldgen.pipeline import make

    words.refuse(
        "with a drawing, which is raised from its outlines",
        unit=None, pull=AdaptPull.Z, dark=False, side=Side.MALE, cell_mm=None, base_mm=None,
        margin_mm=0.0, smooth_mm=0.0,
    )  # fmt: skip
    traced = outline_from_grey(load_grey(path), TraceSpec(fill=words.fill))
    width = words.width_mm or _OUTLINE_WIDTH_MM
    drawing = svg_of_traced(traced.region, width_mm=width)
    name = f"{file_name(path.stem)}-outline.svg"
    outline = JobSvg(svg=name, width_mm=width)
    height = words.height_mm or _OUTLINE_HEIGHT_MM
    wall: Any = words.wall
    body = JobBody(name="drawing", outline=outline, height_mm=height, **wall)
    job = words.job(path.stem, side=Side.MALE, body=body)
    edge = (_runs_off(path),) if traced.at_edge else ()
    kept = OutputFile(
        name=name, purpose="the outline that was traced", content=lambda: drawing, format=Format.SVG
    )
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / name).write_bytes(drawing)
        return make(
            job, folder=Path(folder), shop=shop, progress=progress, besides=(kept,), doubts=edge
        )


def _adapted(path: Path, words: AdaptWords, shop: Shop, progress: Progress) -> _Adapted:
    read = shape_of_relief if is_picture(path) else shape_of_mesh
    job = _job(words, path.stem)
    setting = setting_of(job, shop)
    scale, shrunk = _shrinkage(words, setting)
    shape = read(path, words, scale=scale)
    spec, rules = _spec(words, shape, setting)
    progress("2/6 building the walls")
    formable = make_formable(field_of_shape(shape, spec, cell_mm=cell_for_mm(shape, words)), spec)
    change = change_of(
        formable,
        volume_mm3=shape.volume_mm3,
        seen_mm3=seen_mm3(shape),
        filled_mm2=overhang_mm2(shape),
    )
    name = job.body[0].name
    told = [
        *shrunk,
        *shape.findings,
        *check_change(change, spec, name=name),
        *check_lean(formable, name=name),
    ]
    raw = raw_mold_of(formable, name)
    progress("3/6 placing vents")
    vented = _vents(job, formable, setting, name)
    job = replace(job, body=(_standing_for(job.body[0], formable),))
    mold = finish_raw(job, raw, vented, setting, shop, progress, told=told)
    mold = replace(mold, findings=tuple(f for f in mold.findings if not _at_gate(f, mold)))
    working = working_of(job, mold, setting, shop)
    return _Adapted(
        working=working,
        job=job,
        mold=told_too(mold, working),
        setting=setting,
        formable=formable,
        change=change,
        rules=rules,
    )


def _at_gate(finding: Finding, mold: Mold) -> bool:
    """Tell whether a finding is of the rim of a gate, which the sheet does not follow."""
    if finding.code != "edge-convex" or finding.where_mm is None:
        return False
    x, y, z = finding.where_mm
    return any(
        z <= under.spec.gate_mm + _NEAR_MM
        and not under.gates.is_empty
        and under.gates.distance(shapely.Point(x, y)) <= _NEAR_MM
        for under in mold.undersides
    )


def _job(words: AdaptWords, stem: str) -> Job:
    """Return the job that the other stages read; its outline is found out later."""
    square = JobPoints(points=((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)))
    body = JobBody(name="shape", outline=square, height_mm=1.0)
    return words.job(stem, side=words.side, body=body)


def _standing_for(body: JobBody, formable: Formable) -> JobBody:
    """Return the body with the outline of the foot and the height that came out."""
    largest = max(formable.solid.foot.geoms, key=lambda part: part.area)
    ring = shapely.simplify(largest.exterior, 0.05).coords[:-1]
    points = tuple((float(x), float(y)) for x, y in ring)[:20000]
    height = float(formable.after.heights_mm.max())
    return replace(body, outline=JobPoints(points=points), height_mm=height)


def _shrinkage(words: AdaptWords, setting: Setting) -> tuple[float, tuple[Finding, ...]]:
    if not words.shrinkage:
        return 1.0, ()
    plastic = setting.sheet.plastic
    field = "shrinkage_female" if words.side is Side.FEMALE else "shrinkage_male"
    share = float(getattr(plastic, field))
    found = Finding(
        code="shrinkage-added",
        severity=Severity.NOTE,
        says=f"the mold is larger than the part by the shrinkage of {plastic.name}",
        measured=100 * share,
        unit="%",
        basis=f"mold = part / (1 - shrinkage); {plastic.sources.get(field, '')}",
        advice="Measure a first part and correct the plastic's entry.",
    )
    return 1 / (1 - share), (found,)


def _spec(words: AdaptWords, shape: Shape, setting: Setting) -> tuple[FreeformSpec, WallRules]:
    """Settle draft and radii: as asked, else by the rules."""
    base = shape.base_mm if words.base_mm is None else words.base_mm
    sunk = words.side is Side.FEMALE
    rules = wall_rules(
        Direction.SUNK if sunk else Direction.RAISED,
        shape.size_mm[2] + base,
        sheet=setting.sheet,
        printer=setting.printer,
    )

    def chosen(value: float | None, rule: Rule) -> float:
        return rule.value if value is None else value

    spec = FreeformSpec(
        draft_deg=chosen(words.draft_deg, rules.draft),
        rim_mm=chosen(words.rim_mm, rules.rim),
        root_mm=chosen(words.root_mm, rules.root),
        deviation_mm=words.deviation_mm,
        smooth_mm=words.smooth_mm,
        base_mm=base,
        margin_mm=words.margin_mm,
        most_added=words.most_added,
        sunk=sunk,
    )
    return spec, rules


def _vents(
    job: Job, formable: Formable, setting: Setting, name: str
) -> tuple[Relief, VentPlan, Rule]:
    mesh = formable.solid.mesh
    relief = relief_for_vents(mesh, job.vents.ball_mm)
    drawn = mesh.areas_mm2[: formable.solid.n_top].sum() / formable.solid.foot.area
    rule = vent_rule(setting.sheet.plastic, setting.sheet.gauge_mm / max(1.0, float(drawn)))
    spec = VentSpec(
        diameter_mm=job.vents.diameter_mm or rule.value,
        spacing_mm=job.vents.spacing_mm,
        ball_mm=job.vents.ball_mm,
        least_air_mm3=job.vents.least_air_mm3,
    )
    return relief, place_freeform_vents(relief, formable.solid.foot, spec, feature=name), rule


def _made(adapted: _Adapted, progress: Progress) -> Made:
    """Return what becomes of the mold: its rows and figures, and every file asked for."""
    job, mold, setting, working = adapted.job, adapted.mold, adapted.setting, adapted.working
    drilling = drill_list(mold)
    progress("5/6 drawing plans and pictures")
    written = mold_file_set(
        job, mold, setting, drilling=drilling,
        meshes=mesh_files(job, mold.bodies, glb=partial(plain_glb, mold.bodies)),
        before=lambda: (_change_picture(adapted),),
    )  # fmt: skip
    progress("6/6 writing the report")
    rows = summary_of(job, mold, setting, drilling, working)
    made = Made(
        title=job.title,
        summary=(*rows, *_change_rows(adapted.change)),
        findings=mold.findings,
        numbers=numbers_of(mold, drilling, working) | _change_numbers(adapted),
    )
    return with_documents(made, written, lambda: _report(adapted, drilling))


def _change_picture(adapted: _Adapted) -> Picture:
    from moldgen.export.change_picture import change_map_png

    before, after = adapted.formable.before, adapted.formable.after
    return Picture(
        name="changes",
        caption="Heights as brought and as made, and what was added (red) or taken away (blue).",
        png=change_map_png(
            before.on_table_mm, after.on_table_mm, cell_mm=after.cell_mm, title=adapted.job.title
        ),
    )


def _report(adapted: _Adapted, drilling: Sequence[Drilling]) -> Report:
    job, mold, setting = adapted.job, adapted.mold, adapted.setting
    rules = {job.body[0].name: adapted.rules}
    return Report(
        title=job.title,
        subtitle=f"{job.side.value.capitalize()} vacuum-forming mold, adapted from a shape "
        "that was brought",
        tables=(
            _change_table(adapted),
            *mold_tables(mold, rules, drilling, setting, working=adapted.working),
        ),
        steps=on_the_day(job, mold, setting, drilling, adapted.working),
        cautions=cautions(),
    )


def _change_rows(change: Change) -> tuple[tuple[str, str], ...]:
    x, y, z = change.where_mm
    return (
        ("Added", f"{100 * change.added:.3g} % of its volume"),
        ("Largest move", f"{change.moved_mm:.3g} mm at x {x:.1f}, y {y:.1f}, z {z:.1f} mm"),
    )


def _change_table(adapted: _Adapted) -> Table:
    change, spec = adapted.change, adapted.formable.spec
    rows = (
        ("volume as brought", f"{change.volume_mm3 / 1000:.4g} cm³"),
        ("undercuts filled", f"{change.filled_mm3 / 1000:.4g} cm³ "
                             f"under {change.filled_mm2 / 100:.3g} cm²"),
        ("added for draft and hollow radii", f"{change.added_mm3 / 1000:.4g} cm³"),
        ("taken away at edges", f"{change.removed_mm3 / 1000:.4g} cm³"),
        ("largest move", f"{change.moved_mm:.3g} mm"),
        ("least draft of the triangles", f"{adapted.formable.least_deg:.2f}°"),
        ("read every", f"{adapted.formable.after.cell_mm:g} mm"),
        ("triangles within", f"{spec.deviation_mm:g} mm"),
    )  # fmt: skip
    return Table(
        title="What was changed",
        header=("What", "How much"),
        rows=rows,
        note="A wall steeper than its draft is known to about a cell sideways; the plate does not "
        "count.",
    )


def _change_numbers(adapted: _Adapted) -> dict[str, float]:
    change = adapted.change
    return {
        "added_share": change.added,
        "filled_mm3": change.filled_mm3,
        "filled_mm2": change.filled_mm2,
        "added_mm3": change.added_mm3,
        "removed_mm3": change.removed_mm3,
        "largest_move_mm": change.moved_mm,
        "cell_mm": adapted.formable.after.cell_mm,
    }


def _runs_off(path: Path) -> Finding:
    return Finding(
        code="drawing-at-edge",
        severity=Severity.CAUTION,
        says="the drawing runs off the picture and was cut there",
        subject=path.name,
        basis="the picture itself",
        advice="Take the photograph with some paper all round.",
    )
