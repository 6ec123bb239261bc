"""The files of what is measured, changed, split or tried: meshes, pictures, report, findings."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Any

import numpy as np

from moldgen.export.report.report import Picture, Report, cautions
from moldgen.export.report.table import Table
from moldgen.finding import Finding
from moldgen.job.formats import PRINT_FORMATS, Format
from moldgen.pipeline.file_name import file_name
from moldgen.pipeline.file_set import (
    OutputFile,
    glb_file,
    plain_glb,
    stl_files,
    threemf_file,
)
from moldgen.pipeline.output import Output
from moldgen.pipeline.print_rows import size_text
from moldgen.pipeline.result import Result
from moldgen.pipeline.stage import Stage
from moldgen.pipeline.types import Rows
from moldgen.printing.overhang import measure_overhangs
from moldgen.solid.mesh import Body, Mesh, joined
from moldgen.trust import PRINTED
from moldgen.units_text import Units

APART = 0.3
"""How far pieces stand apart in their picture, as a share of their distance from the middle."""
_HANGS = (214, 76, 52)
_BRIDGED = (232, 200, 104)
_SOLID = (150, 182, 199)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PrintResult:
    """What is said about something printed, and what of it is written.

    Attributes
    ----------
    title, subtitle : str
        What it is.
    summary, steps : tuple of (str, str)
        Rows read first; what to do.
    findings : tuple of Finding
        Gravest first.
    tables : tuple of Table
        For the report.
    numbers : dict
        For programs.
    bodies : tuple of Body
        As they lie on the bed, each in a file of its own.
    shown : tuple of Body
        As they are shown together; the bodies if empty.
    """

    title: str
    subtitle: str
    summary: Rows
    findings: tuple[Finding, ...]
    tables: tuple[Table, ...] = ()
    steps: Rows = ()
    numbers: dict[str, Any] = field(default_factory=dict)
    bodies: tuple[Body, ...] = ()
    shown: tuple[Body, ...] = ()


def print_output(
    printed: PrintResult,
    formats: Sequence[Format],
    *,
    pictures: Callable[[], tuple[Picture, ...]],
    usual: Sequence[Format] = PRINT_FORMATS,
    units: Units = Units.MM,
    stage: Stage,
) -> Output:
    """Return what a run hands over, with what its files are made of.

    Parameters
    ----------
    pictures : callable
        Takes the pictures, if a file asks for them.
    usual : sequence of Format
        Formats of a run that names none.
    stage : Stage
        What writing is called while it is done.
    """
    name = file_name(printed.title)
    return Output(
        told=Result(
            title=printed.title,
            summary=printed.summary,
            findings=printed.findings,
            numbers=printed.numbers,
        ),
        bodies=printed.bodies or printed.shown,
        files=lambda paper: _mesh_files(printed, name),
        pictures=pictures,
        picture_stem=f"{name}-",
        formats=tuple(formats),
        usual=tuple(usual),
        units=units,
        stages=(stage,),
        report=lambda: Report(
            title=printed.title,
            subtitle=printed.subtitle,
            tables=printed.tables,
            trust=PRINTED,
            steps=printed.steps,
            cautions=cautions(),
        ),
    )


def views(
    result: PrintResult, bridge_mm: float, *, whole: Mesh | None = None
) -> tuple[Picture, ...]:
    """Return the pictures of bodies: from two sides, and from below with what hangs colored.

    Pieces that are shown pulled apart are told with the size of the whole they were.
    """
    from moldgen.export.picture.views import lit_views_png

    shown = result.shown or result.bodies
    if whole is None:
        caption, png = "From two sides.", lit_views_png(shown)
    else:
        caption = "From two sides, pulled apart at the cuts; the size is that of the whole, "
        caption += f"{size_text(whole)}."
        png = lit_views_png(shown, title="pulled apart; size of the whole:", sized=whole)
    return (
        Picture(name="views", caption=caption, png=png),
        overhang_picture(result.bodies, bridge_mm),
    )


def overhang_picture(bodies: Sequence[Body], bridge_mm: float) -> Picture:
    """Return a picture from below: what needs support is red, what is bridged yellow."""
    from moldgen.export.picture.canvas import png_bytes
    from moldgen.export.picture.render import View, render
    from moldgen.printing.bed import laid_out

    mesh = joined([body.mesh for body in laid_out(bodies)])
    overhangs = [measure_overhangs(body.mesh) for body in bodies]
    hangs = np.concatenate([one.hanging for one in overhangs])
    bad = np.concatenate([one.to_support(bridge_mm) for one in overhangs])
    colors = np.where(hangs[:, None], _BRIDGED, _SOLID).astype(np.uint8)
    colors[bad] = _HANGS
    # Turned over rather than seen through the bench.
    over = Mesh(mesh.points_mm * [1.0, -1.0, -1.0], mesh.triangles.copy())
    picture = render(
        over, view=View(azimuth_deg=-25, elevation_deg=42), size_px=(1000, 640), colors=colors
    )
    return Picture(
        name="below",
        caption="Turned over: red needs support while it is printed, yellow is bridged.",
        png=png_bytes(picture),
    )


def pulled_apart(bodies: Sequence[Body]) -> tuple[Body, ...]:
    """Return pieces moved away from their common middle, so that their joints are seen."""
    corners = np.concatenate([body.mesh.bounds_mm for body in bodies])
    middle = (corners.min(axis=0) + corners.max(axis=0)) / 2
    moved = []
    for body in bodies:
        way = (body.mesh.bounds_mm.mean(axis=0) - middle) * [1.0, 1.0, 3.0]
        moved.append(
            Body(body.name, Mesh(body.mesh.points_mm + APART * way, body.mesh.triangles.copy()))
        )
    return tuple(moved)


def _mesh_files(result: PrintResult, name: str) -> Iterator[OutputFile]:
    if not result.bodies:
        return
    purpose = "for the slicer, in millimeters, as it lies on the bed"
    yield from stl_files(name, result.bodies, title=result.title, purpose=purpose)
    yield threemf_file(
        name, lambda: _laid_out(result.bodies),
        title=result.title, metadata={"Description": result.subtitle},
        purpose="all of it for the slicer, side by side",
    )  # fmt: skip
    glb = partial(plain_glb, result.shown or result.bodies)
    yield glb_file(name, glb, purpose="to look at")


def _laid_out(bodies: Sequence[Body]) -> Sequence[Body]:
    from moldgen.printing.bed import laid_out

    return laid_out(bodies)
