"""What is to be trimmed: the parts of a job's mold, of a mesh, or of a drawn outline."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import MultiPolygon

from moldgen.errors import SpecError
from moldgen.finding import Finding
from moldgen.fixture.fixture import Bench
from moldgen.fixture.split import plan_of
from moldgen.fixture.trim.choices import TrimLineKind
from moldgen.fixture.trim.line import TrimPart, filled
from moldgen.job.command.fixture import TrimCommand
from moldgen.mold.features import roots_of
from moldgen.mold.trim_rule import TrimUse
from moldgen.named_file import path_in
from moldgen.outline.dxf.read import outline_from_dxf
from moldgen.outline.repair import repair_outline
from moldgen.outline.svg.read import outline_from_svg
from moldgen.pipeline.mesh_file import bodies_from_file, refuse_open
from moldgen.solid.mesh import Body, Mesh
from moldgen.solid.sound import solid_from_mesh

if TYPE_CHECKING:
    from moldgen.pipeline.mold.mold import CutMold

_DRAWINGS = {".svg", ".dxf"}
_SLIT_MM = 1.0
"""Slits in a foot up to twice this wide are shut: air notches for the air. [mm]."""
_SPECK_MM2 = 4.0
"""A smaller piece of an outline is no part. [mm²]."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Source:
    """What was read.

    Attributes
    ----------
    title : str
        What it is called.
    parts : tuple of TrimPart
        In the order of their names.
    line : TrimLineKind or None
        How the line of the job's plan runs; None where there is no job.
    flange_mm : float or None
        Flange of the job's plan. [mm]
    asked : bool
        Whether the job itself says that flange.
    use : TrimUse or None
        What stands in the sheet of the job.
    within : MultiPolygon or None
        What the line must not leave: the flat top of a block. [mm]
    plastic, gauge_mm
        Sheet of the job; None where the command says it. [mm]
    findings : tuple of Finding
        What was doubtful about it.
    """

    title: str
    parts: tuple[TrimPart, ...]
    line: TrimLineKind | None = None
    flange_mm: float | None = None
    asked: bool = False
    use: TrimUse | None = None
    within: MultiPolygon | None = None
    plastic: str | None = None
    gauge_mm: float | None = None
    findings: tuple[Finding, ...] = ()


def source_of(command: TrimCommand, bench: Bench) -> Source:
    """Read what is to be trimmed.

    Raises
    ------
    MoldgenError
        If the file cannot be read, or is no closed solid.
    """
    path = path_in(Path(), command.file, field="file")
    ending = path.suffix.lower()
    if ending == ".toml":
        return _from_job(path, bench)
    if ending in _DRAWINGS:
        region, findings = outline_of(path)
        parts = tuple(TrimPart(name=name, foot=foot) for name, foot in _named(path.stem, region))
        return Source(title=path.stem, parts=parts, findings=findings)
    bodies, doubts = bodies_from_file(path, command.unit)
    refuse_open(path, bodies)
    return Source(title=path.stem, parts=parts_of(bodies), findings=tuple(doubts))


def outline_of(path: Path) -> tuple[MultiPolygon, tuple[Finding, ...]]:
    """Read a drawing's outline, mended where it must be. [mm].

    Raises
    ------
    SpecError
        If it is neither SVG nor DXF.
    """
    ending = path.suffix.lower()
    if ending not in _DRAWINGS:
        raise SpecError("own", "a drawing that ends in .svg or .dxf", repr(path.name))
    drawing = outline_from_svg(path) if ending == ".svg" else outline_from_dxf(path)
    mended = repair_outline(drawing.region)
    return mended.region, (*drawing.findings, *mended.changes)


def parts_of(bodies: Sequence[Body]) -> tuple[TrimPart, ...]:
    """Return the parts that are drawn over molds, each standing on z = 0.

    Raises
    ------
    GeometryError
        If a mold is not closed.
    """
    low = min(float(body.mesh.points_mm[:, 2].min()) for body in bodies)
    parts = []
    for body in bodies:
        mesh = Mesh(body.mesh.points_mm - np.array([0.0, 0.0, low]), body.mesh.triangles.copy())
        for name, foot in _named(body.name, _silhouette(body.name, mesh)):
            parts.append(TrimPart(name=name, foot=foot, mesh=mesh))
    return tuple(parts)


def _silhouette(name: str, mesh: Mesh) -> MultiPolygon:
    """Return a mold seen from above, without the slits that let air out under its foot. [mm]."""
    seen = plan_of(solid_from_mesh(mesh, doing=f"reading {name}"))
    wide = shapely.buffer(seen, _SLIT_MM, join_style="mitre")
    # A mitre cuts off what is sharper than it allows, so the silhouette itself is added again.
    shut = shapely.union(seen, shapely.buffer(wide, -_SLIT_MM, join_style="mitre"))
    return MultiPolygon(list(shapely.get_parts(shut)))


def _named(name: str, region: MultiPolygon) -> list[tuple[str, shapely.Polygon]]:
    pieces = [piece for piece in filled(region).geoms if piece.area > _SPECK_MM2]
    if len(pieces) == 1:
        return [(name, pieces[0])]
    return [(f"{name} {k}", piece) for k, piece in enumerate(pieces, start=1)]


def _from_job(path: Path, bench: Bench) -> Source:
    # A mold takes a second to load what it needs, and a mesh or a drawing needs none of it.
    from moldgen.pipeline.mold.design import design_of_file
    from moldgen.pipeline.mold.trim_region import trim_plan_of

    design = design_of_file(path, bench.shop)
    request, mold = design.request, design.cut
    plan = trim_plan_of(request, mold, design.setting.sheet)
    return Source(
        title=request.title,
        parts=plan.parts if plan.use is TrimUse.RIM else _over_bodies(mold),
        line=plan.kind,
        flange_mm=plan.wanted_mm,
        asked=plan.asked,
        use=plan.use,
        within=plan.spec.within,
        plastic=request.sheet.plastic,
        gauge_mm=design.setting.sheet.gauge_mm,
    )


def _over_bodies(mold: CutMold) -> tuple[TrimPart, ...]:
    """Return the parts that are drawn over the bodies of a mold."""
    meshes = [body.mesh for body in mold.bodies]
    seen = [_silhouette(body.name, body.mesh) for body in mold.bodies]
    return tuple(
        TrimPart(
            name=name,
            foot=foot,
            mesh=meshes[_over(foot, seen)],
            base_radius_mm=plan.wall.base_radius_mm,
        )
        for plan in roots_of(mold.plans)
        for name, foot in _named(plan.name, plan.outer)
    )


def _over(foot: shapely.Polygon, seen: Sequence[MultiPolygon]) -> int:
    """Return the number of the body that stands on a foot."""
    shared = [shapely.intersection(foot, one).area for one in seen]
    return int(np.argmax(shared))
