"""From a mesh, a height map or a drawing that somebody brings to a mold."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any

import shapely
from shapely import MultiPolygon

from moldgen.errors import SpecError
from moldgen.export.report.report import Picture, Report, cautions
from moldgen.export.report.table import Table
from moldgen.finding import Finding, ranked
from moldgen.job import Job, JobBody, JobSvg
from moldgen.job.command.adapt import AdaptAs, AdaptCommand, AdaptDirection
from moldgen.job.spec import Format, Side
from moldgen.mold.features import Direction
from moldgen.mold.freeform.freeform import (
    Change,
    Formable,
    FreeformSpec,
    change_of,
    check_change,
    check_lean,
    make_formable,
    raw_mold_of,
)
from moldgen.mold.freeform.lost import check_lost_parts
from moldgen.mold.rules import Rule, WallRules, vent_rule, wall_rules
from moldgen.mold.shrinkage import shrinkage_growth
from moldgen.mold.vents.freeform import place_freeform_vents
from moldgen.outline.trace import TraceSpec, drawing_of_traced, outline_from_gray, svg_of_traced
from moldgen.physics.membrane.run import FormingRun
from moldgen.pipeline.brought.shape import (
    Shape,
    cell_for_mm,
    field_of_shape,
    overhang_mm2,
    seen_mm3,
    shape_of_mesh,
    shape_of_relief,
)
from moldgen.pipeline.brought.traced import traced_findings
from moldgen.pipeline.file_name import file_name
from moldgen.pipeline.file_set import OutputFile, plain_glb
from moldgen.pipeline.first_use import telling_first_use
from moldgen.pipeline.mold.day import TableDay
from moldgen.pipeline.mold.design import MoldDesign, design_mold, design_walls
from moldgen.pipeline.mold.files import mesh_files, mold_output, shape_output
from moldgen.pipeline.mold.make import MoldWork
from moldgen.pipeline.mold.mold import Mold
from moldgen.pipeline.mold.plan import Drilling, drill_list
from moldgen.pipeline.mold.rows import numbers_of, summary_of
from moldgen.pipeline.mold.steps import on_the_day
from moldgen.pipeline.mold.tables import mold_tables
from moldgen.pipeline.mold.vent_spacing import VentPlacer
from moldgen.pipeline.output import Output
from moldgen.pipeline.result import Result
from moldgen.pipeline.setting import Setting, setting_of
from moldgen.pipeline.stage import Progress, Stage
from moldgen.solid.reading.picture import is_picture, load_gray
from moldgen.stock import Shop
from moldgen.trust import trust_in_mold

_NEAR_MM = 0.1
"""An edge no farther than this from an air notch is the air notch's own rim. [mm]."""

_OUTLINE_WIDTH_MM, _OUTLINE_HEIGHT_MM = 120.0, 12.0

_NAME = "shape"
"""What findings call the one feature of an adapted shape."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _AdaptedMold:
    """Everything about one adapted shape that its files are made of."""

    design: MoldDesign
    mold: Mold
    day: TableDay
    formable: Formable
    change: Change


def adapt(path: Path, *, command: AdaptCommand, shop: Shop, progress: Progress) -> Result:
    """Make what somebody brings formable, and write what is asked for."""
    work = design_adapted(path, command=command, shop=shop, progress=progress)
    return work.output.render(progress=progress)


def design_adapted(
    path: Path, *, command: AdaptCommand, shop: Shop, progress: Progress
) -> MoldWork:
    """Make what somebody brings formable, and work out the mold of it.

    Parameters
    ----------
    path : Path
        A mesh or a picture.
    command : AdaptCommand
        What is asked of it.

    Raises
    ------
    MoldgenError
        If it cannot be read or made: one sentence that says what to change.
    """
    progress = telling_first_use(progress)
    progress(Stage(1, 6, "reading the shape"))
    if is_picture(path) and command.as_ is not AdaptAs.RELIEF:
        return _raised_drawing(path, command, shop, progress)
    if command.as_ is AdaptAs.OUTLINE:
        raise SpecError("as", "relief or auto for a mesh", "outline", "Name a picture to trace.")
    adapted = _adapted(path, command, shop, progress)
    return MoldWork(
        design=adapted.design, mold=adapted.mold, day=adapted.day, output=_output(adapted)
    )


def _raised_drawing(path: Path, command: AdaptCommand, shop: Shop, progress: Progress) -> MoldWork:
    """Trace a drawing and let it go the way of every drawing."""
    command.refuse(
        "with a drawing, which is raised from its outlines",
        unit=None, draw_direction=AdaptDirection.Z, dark=False, side=Side.MALE, cell_mm=None,
        base_mm=None, margin_mm=0.0, smooth_mm=0.0,
    )  # fmt: skip
    traced = outline_from_gray(load_gray(path), TraceSpec(fill=command.fill))
    width = command.width_mm or _OUTLINE_WIDTH_MM
    drawing = drawing_of_traced(traced.region, width_mm=width)
    name = f"{file_name(path.stem)}-outline.svg"
    job = _drawing_job(command, path.stem, JobSvg(svg=name, width_mm=width))
    design = design_mold(
        job, folder=path.parent, shop=shop, progress=progress, drawings={name: drawing}
    )
    mold, day = design.mold, design.day
    seen = traced_findings(path.name, traced)
    mold = replace(mold, findings=ranked((*mold.findings, *seen)))
    kept = OutputFile(
        name=name,
        purpose="the outline that was traced",
        content=lambda: svg_of_traced(traced.region, width_mm=width),
        format=Format.SVG,
    )
    output = mold_output(job, mold, design.setting, design.rules, day=day, besides=(kept,))
    return MoldWork(design=design, mold=mold, day=day, output=output)


def _drawing_job(command: AdaptCommand, title: str, outline: JobSvg) -> Job:
    """Return the job that raises a drawing."""
    wall: Any = command.wall
    body = JobBody(
        name="drawing",
        outline=outline,
        height_mm=command.height_mm or _OUTLINE_HEIGHT_MM,
        **wall,
    )
    return command.job(title, side=Side.MALE, body=body)


def _adapted(path: Path, command: AdaptCommand, shop: Shop, progress: Progress) -> _AdaptedMold:
    read = shape_of_relief if is_picture(path) else shape_of_mesh
    request = command.request(path.stem, side=command.side)
    setting = setting_of(request, shop)
    scale, shrunk = _shrinkage(command, setting)
    shape = read(path, command, scale=scale)
    spec, rules = _spec(command, shape, setting)
    progress(Stage(2, 6, "building the walls"))
    formable = make_formable(field_of_shape(shape, spec, cell_mm=cell_for_mm(shape, command)), spec)
    change = change_of(
        formable,
        volume_mm3=shape.volume_mm3,
        seen_mm3=seen_mm3(shape),
        filled_mm2=overhang_mm2(shape),
    )
    findings = (
        *shrunk,
        *shape.findings,
        *check_change(change, spec, name=_NAME),
        *check_lost_parts(formable, name=_NAME),
        *check_lean(formable, name=_NAME),
    )
    sheet = setting.sheet
    design = design_walls(
        request,
        raw_mold_of(formable, _NAME),
        setting=setting,
        shop=shop,
        placer=partial(_vent_placer, formable.solid.foot),
        vent_rule=vent_rule(sheet.plastic, sheet.gauge_mm / max(1.0, _drawn(formable))),
        rules={_NAME: rules},
        findings=findings,
        progress=progress,
    )
    mold, day = design.mold, design.day
    mold = replace(mold, findings=tuple(f for f in mold.findings if not _at_air_notch(f, mold)))
    return _AdaptedMold(design=design, mold=mold, day=day, formable=formable, change=change)


def _drawn(formable: Formable) -> float:
    """Return by how much the sheet is larger over a shape than flat. [-]."""
    solid = formable.solid
    return float(solid.mesh.areas_mm2[: solid.n_top].sum() / solid.foot.area)


def _vent_placer(foot: MultiPolygon, run: FormingRun | None) -> VentPlacer:
    return lambda relief, spec: place_freeform_vents(relief, foot, spec, feature=_NAME, run=run)


def _at_air_notch(finding: Finding, mold: Mold) -> bool:
    """Tell whether a finding is of the rim of an air notch, which the sheet does not follow."""
    if finding.code != "edge-convex" or finding.where_mm is None:
        return False
    x, y, z = finding.where_mm
    return any(
        z <= under.spec.air_notch_mm + _NEAR_MM
        and not under.air_notches.is_empty
        and under.air_notches.distance(shapely.Point(x, y)) <= _NEAR_MM
        for under in mold.undersides
    )


def _shrinkage(command: AdaptCommand, setting: Setting) -> tuple[float, tuple[Finding, ...]]:
    if not command.shrinkage:
        return 1.0, ()
    female = command.side is Side.FEMALE
    scale, findings = shrinkage_growth(setting.sheet.plastic, female=female)
    return scale, (findings,)


def _spec(command: AdaptCommand, shape: Shape, setting: Setting) -> tuple[FreeformSpec, WallRules]:
    """Settle draft and radii: as asked, else by the rules."""
    base = shape.base_mm if command.base_mm is None else command.base_mm
    sunk = command.side is Side.FEMALE
    rules = wall_rules(
        Direction.SUNK if sunk else Direction.RAISED,
        shape.size_mm[2] + base,
        sheet=setting.sheet,
        printer=setting.printer,
    )

    def chosen(value: float | None, rule: Rule) -> float:
        return rule.value if value is None else value

    spec = FreeformSpec(
        draft_deg=chosen(command.draft_deg, rules.draft),
        top_radius_mm=chosen(command.top_radius_mm, rules.top_radius),
        base_radius_mm=chosen(command.base_radius_mm, rules.base_radius),
        deviation_mm=command.deviation_mm,
        smooth_mm=command.smooth_mm,
        base_mm=base,
        margin_mm=command.margin_mm,
        most_added=command.most_added,
        sunk=sunk,
    )
    return spec, rules


def _output(adapted: _AdaptedMold) -> Output:
    """Return what becomes of the mold: its rows and figures, and what its files are made of."""
    request, setting = adapted.design.request, adapted.design.setting
    mold, day = adapted.mold, adapted.day
    drilling = drill_list(mold)
    rows = summary_of(request, mold, setting, drilling, day)
    told = Result(
        title=request.title,
        summary=(*rows, *_change_rows(adapted.change)),
        findings=mold.findings,
        numbers=numbers_of(mold, drilling, day) | _change_numbers(adapted),
    )
    return shape_output(
        request, mold, setting,
        told=told, drilling=drilling,
        meshes=mesh_files(request, mold.bodies, glb=partial(plain_glb, mold.bodies)),
        before=lambda: (_change_picture(adapted),),
        report=lambda: _report(adapted, drilling),
    )  # fmt: skip


def _change_picture(adapted: _AdaptedMold) -> Picture:
    from moldgen.export.picture.changes import change_map_png

    before, after = adapted.formable.before, adapted.formable.after
    return Picture(
        name="changes",
        caption="Heights as brought and as made, and what was added (red) or taken away (blue).",
        png=change_map_png(
            before.on_table_mm,
            after.on_table_mm,
            cell_mm=after.cell_mm,
            title=adapted.design.request.title,
        ),
    )


def _report(adapted: _AdaptedMold, drilling: Sequence[Drilling]) -> Report:
    design, mold = adapted.design, adapted.mold
    request, setting = design.request, design.setting
    return Report(
        title=request.title,
        subtitle=f"{request.side.value.capitalize()} vacuum-forming mold, adapted from a shape "
        "that was brought",
        tables=(
            _change_table(adapted),
            *mold_tables(
                mold,
                design.rules,
                drilling,
                setting,
                wanted_mm=request.forming.least_mm,
                day=adapted.day,
            ),
        ),
        steps=on_the_day(request, mold, setting, drilling, adapted.day),
        trust=trust_in_mold(is_formed=mold.followed is not None),
        cautions=cautions(),
    )


def _change_rows(change: Change) -> tuple[tuple[str, str], ...]:
    x, y, z = change.where_mm
    return (
        ("Added", f"{100 * change.added:.3g} % of its volume"),
        ("Largest move", f"{change.moved_mm:.3g} mm at x {x:.1f}, y {y:.1f}, z {z:.1f} mm"),
    )


def _change_table(adapted: _AdaptedMold) -> Table:
    change, spec = adapted.change, adapted.formable.spec
    rows = (
        ("volume as brought", f"{change.volume_mm3 / 1000:.4g} cm³"),
        ("undercuts filled", f"{change.filled_mm3 / 1000:.4g} cm³ "
                             f"under {change.filled_mm2 / 100:.3g} cm²"),
        ("added for draft and inside corners", f"{change.added_mm3 / 1000:.4g} cm³"),
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


def _change_numbers(adapted: _AdaptedMold) -> dict[str, float]:
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
