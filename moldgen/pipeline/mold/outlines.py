"""Turn what a job says about an outline into the outline itself."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import singledispatch
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import shapely
from shapely import MultiPolygon, Point
from shapely.affinity import rotate, scale, translate

from moldgen.errors import OutlineError, SpecError
from moldgen.execution import limits_now
from moldgen.finding import Finding
from moldgen.job.outline import (
    JobAround,
    JobBorder,
    JobDrawn,
    JobDxf,
    JobGrid,
    JobHanging,
    JobInset,
    JobOutline,
    JobPicture,
    JobPoints,
    JobShape,
    JobSvg,
    JobText,
    Placement,
)
from moldgen.named_file import path_in
from moldgen.outline.lettering.fonts import is_font_file
from moldgen.outline.lettering.text import TextSpec, outline_from_text
from moldgen.outline.nest import nest_outline
from moldgen.outline.region import as_region, centerd, region_from_points, scaled_to
from moldgen.pipeline.mold.fitted import Lay, is_fitted, lay_fitted
from moldgen.pipeline.mold.ground import Ground, Place, PlacedOutline

if TYPE_CHECKING:
    from moldgen.outline.drawing import Drawing
    from moldgen.outline.sizing import WantedSize

_Geometry = TypeVar("_Geometry", MultiPolygon, Point)


def lay_outline(outline: JobOutline, ground: Ground, *, name: str) -> PlacedOutline:
    """Return an outline where the job puts it.

    Raises
    ------
    SpecError, OutlineError, FileError
        If it cannot be read, or needs a parent it does not have.
    """
    if isinstance(outline, JobDrawn):
        lay = laying(ground, name)
        if is_fitted(outline):
            return lay_fitted(outline, ground, lay, name=name)
        return lay(outline, ground.middle_mm)
    region = _from_flat(outline, _flat_of(outline, ground, name), name)
    placed = as_region(_moved(region, outline, (0.0, 0.0), about=ground.middle_mm))
    pieces = shapely.get_parts(placed)
    named = [(f"{name} {k}", MultiPolygon([part])) for k, part in enumerate(pieces, start=1)]
    return PlacedOutline(placed, tuple(named))


def laying(ground: Ground, name: str) -> Lay:
    """Return what lays drawn outlines of a name about a place of the ground."""

    def lay(outline: JobDrawn, middle_mm: Place) -> PlacedOutline:
        return _lay_drawn(outline, replace(ground, middle_mm=middle_mm), name)

    return lay


def is_drawn(outline: JobOutline) -> bool:
    """Tell whether an outline has a shape of its own, whatever it stands on."""
    return isinstance(outline, JobDrawn)


def around(outline: JobAround, children: Sequence[MultiPolygon], ground: Ground) -> PlacedOutline:
    """Return the rounded rectangle round what stands on it. [mm]."""
    x0, y0, x1, y1 = shapely.total_bounds(list(children))
    margin, corner = outline.around_mm * ground.scale, outline.corner_mm * ground.scale
    above = margin + outline.above_mm * ground.scale
    wide = shapely.box(x0 - margin, y0 - margin, x1 + margin, y1 + above)
    most = min(wide.bounds[2] - wide.bounds[0], wide.bounds[3] - wide.bounds[1]) / 2
    if corner >= most:
        raise SpecError(
            "corner", f"less than half the smaller side, {most:.4g} mm", f"{corner:.4g} mm",
            "Use a smaller corner.",
        )  # fmt: skip
    core = shapely.buffer(wide, -corner, join_style="mitre") if corner else wide
    rounded = shapely.buffer(core, corner, quad_segs=48) if corner else wide
    region = as_region(rounded)
    return PlacedOutline(region, (("", region),))


def _lay_drawn(outline: JobDrawn, ground: Ground, name: str) -> PlacedOutline:
    region, parts, findings = _drawn(outline, ground, name)
    sized = _sized(outline, region)
    factor = _growth(region, sized)
    anchor = (0.0, 0.0) if outline.place is Placement.AS_DRAWN else _middle(sized)

    x0, y0 = region.bounds[0], region.bounds[1]

    def put(part: _Geometry) -> _Geometry:
        grown = scale(part, factor[0], factor[1], origin=(x0, y0))
        moved = translate(grown, -anchor[0], -anchor[1])
        grown = scale(moved, ground.scale, ground.scale, origin=(0, 0))
        return _moved(grown, outline, ground.middle_mm, factor=ground.scale)

    if outline.play_mm or outline.grip_mm:
        nest = nest_outline(sized, play_mm=outline.play_mm, grip_mm=outline.grip_mm)
        back = (1 / factor[0], 1 / factor[1])
        region = as_region(scale(nest, *back, origin=sized.bounds[:2]))
        parts = ((name, region),)
    moved_findings = tuple(_told_at(finding, put) for finding in findings)
    laid = tuple((word, as_region(put(part))) for word, part in parts)
    return PlacedOutline(as_region(put(region)), laid, moved_findings)


def _told_at(finding: Finding, put: Callable[[_Geometry], _Geometry]) -> Finding:
    """Return a finding about a drawing with its place where the drawing is laid."""
    if finding.where_mm is None:
        return finding
    x, y, z = finding.where_mm
    at = put(Point(x, y))
    return replace(finding, where_mm=(at.x, at.y, z))


def _growth(before: MultiPolygon, after: MultiPolygon) -> tuple[float, float]:
    """Return by how much an outline was scaled along x and along y."""
    (a0, b0, a1, b1), (c0, d0, c1, d1) = before.bounds, after.bounds
    return (c1 - c0) / (a1 - a0), (d1 - d0) / (b1 - b0)


def _middle(region: MultiPolygon) -> Place:
    x0, y0, x1, y1 = region.bounds
    return (x0 + x1) / 2, (y0 + y1) / 2


def _moved(
    drawn: _Geometry,
    outline: JobOutline,
    to_mm: Place,
    *,
    about: Place = (0.0, 0.0),
    factor: float = 1.0,
) -> _Geometry:
    """Mirror, turn and move what is drawn about its own origin, then to where it belongs."""
    if outline.mirror:
        drawn = scale(drawn, -1.0, 1.0, origin=about)
    if outline.turn_deg:
        drawn = rotate(drawn, outline.turn_deg, origin=about)
    x, y = to_mm[0] + factor * outline.x_mm, to_mm[1] + factor * outline.y_mm
    return translate(drawn, x, y) if (x or y) else drawn


def _sized(outline: JobDrawn, region: MultiPolygon) -> MultiPolygon:
    if isinstance(outline, JobShape):
        return region
    height = None if isinstance(outline, JobText) else outline.height_mm
    if outline.width_mm is None and height is None:
        return region
    return scaled_to(region, width_mm=outline.width_mm, height_mm=height)


_Read = tuple[MultiPolygon, tuple[tuple[str, MultiPolygon], ...], tuple[Finding, ...]]


@singledispatch
def _drawn(outline: JobDrawn, ground: Ground, name: str) -> _Read:
    raise NotImplementedError(type(outline).__name__)


@_drawn.register
def _(outline: JobText, ground: Ground, name: str) -> _Read:
    font = _font(ground.folder, outline.font)
    lettering = outline_from_text(
        TextSpec(
            text=outline.text,
            height_mm=outline.height_mm or 100.0,
            font=font or None,
            align=outline.align,
            letter_spacing_mm=spacing_mm(outline),
            line_spacing=outline.line_spacing,
        )
    )
    parts = tuple((letter.name, letter.region) for letter in lettering.letters)
    return lettering.region, parts, ()


def spacing_mm(outline: JobText) -> float:
    """Return what is added between letters, all in all. [mm]."""
    return outline.letter_spacing_mm + outline.tracking * (outline.height_mm or 100.0)


@_drawn.register
def _(outline: JobSvg, ground: Ground, name: str) -> _Read:
    from moldgen.outline.sizing import drawing_at_size
    from moldgen.outline.svg.read import outline_from_svg

    size, drawing = _size(outline), ground.drawings.get(outline.svg)
    if drawing is not None:
        return _from_drawing(drawing_at_size(drawing, size), name)
    strokes, path = outline.strokes, path_in(ground.folder, outline.svg, field="svg")
    read = outline_from_svg(path, part=outline.part or None, strokes=strokes, size=size)
    return _from_drawing(read, name)


@_drawn.register
def _(outline: JobDxf, ground: Ground, name: str) -> _Read:
    from moldgen.outline.dxf.read import outline_from_dxf

    return _from_drawing(
        outline_from_dxf(
            path_in(ground.folder, outline.dxf, field="dxf"),
            layers=outline.layers or None,
            unit=outline.unit or None,
            size=_size(outline),
        ),
        name,
    )


@_drawn.register
def _(outline: JobPicture, ground: Ground, name: str) -> _Read:
    from moldgen.outline.trace import drawing_of_traced, silhouette_from_gray
    from moldgen.solid.reading.picture import load_gray

    traced = silhouette_from_gray(
        load_gray(path_in(ground.folder, outline.picture, field="picture"))
    )
    drawing = drawing_of_traced(traced.region, width_mm=outline.width_mm or 100.0)
    return _from_drawing(drawing, name)


@_drawn.register
def _(outline: JobShape, ground: Ground, name: str) -> _Read:
    from moldgen.outline.library.shapes import outline_from_shape

    width, height = outline.width_mm, outline.height_mm
    if width is None:
        region = outline_from_shape(
            outline.shape, width_mm=100.0, height_mm=None, **dict(outline.proportions)
        )
        region = centerd(scaled_to(region, height_mm=height))
    else:
        region = outline_from_shape(
            outline.shape, width_mm=width, height_mm=height, **dict(outline.proportions)
        )
    return region, _pieces(region, name), ()


@_drawn.register
def _(outline: JobPoints, ground: Ground, name: str) -> _Read:
    region = region_from_points(outline.points, what=f"the outline of {name}")
    return region, _pieces(region, name), ()


def _size(outline: JobSvg | JobDxf) -> WantedSize:
    from moldgen.outline.sizing import WantedSize

    return WantedSize(width_mm=outline.width_mm, height_mm=outline.height_mm)


def _from_drawing(drawing: Drawing, name: str) -> _Read:
    from moldgen.outline.repair import repair_outline

    mended = repair_outline(drawing.region, what=f"the outline of {name}")
    parts = tuple(
        (part.label or part.id or f"{name} {number}", part.region)
        for number, part in enumerate(drawing.parts, start=1)
    )
    return mended.region, parts, (*drawing.findings, *mended.changes)


def _pieces(region: MultiPolygon, name: str) -> tuple[tuple[str, MultiPolygon], ...]:
    parts = shapely.get_parts(region)
    if len(parts) == 1:
        return ((name, region),)
    return tuple((f"{name} {k}", MultiPolygon([part])) for k, part in enumerate(parts, start=1))


def _font(folder: Path, font: str) -> str:
    """Return a font's file beside the job if there is one of that name, else its name."""
    if not font:
        return font
    path = path_in(folder, font, field="font")
    # A stranger's file is looked for beside the job, and nowhere else.
    own = limits_now().own_folder and is_font_file(font)
    return str(path) if own or path.is_file() else font


def _flat_of(outline: JobOutline, ground: Ground, name: str) -> MultiPolygon:
    if ground.flat is not None:
        return ground.flat
    raise SpecError(
        f"outline of {name}",
        "one with a shape of its own, since it stands on the table",
        _KIND[type(outline)],
        "Use text, svg, dxf, picture, shape, points, or around with children.",
    )


def _from_flat(outline: JobOutline, flat: MultiPolygon, name: str) -> MultiPolygon:
    region = _cut_flat(outline, flat)
    if region.is_empty or region.area < 1e-3:
        raise SpecError(
            f"outline of {name}", "smaller than the flat it is cut from",
            "nothing left of it", "Use a smaller inset, border, gap or count.",
        )  # fmt: skip
    return as_region(region, what=f"the outline of {name}")


def _cut_flat(outline: JobOutline, flat: MultiPolygon) -> shapely.Geometry:
    if isinstance(outline, JobInset):
        return _inset(flat, outline.inset_mm)
    if isinstance(outline, JobBorder):
        outside = _inset(flat, outline.inset_mm)
        return shapely.difference(outside, _inset(outside, outline.border_mm))
    if isinstance(outline, JobGrid):
        return _compartments(outline, _inset(flat, outline.inset_mm))
    if isinstance(outline, JobHanging):
        return _marks(outline, flat)
    raise OutlineError("The outline around its children needs children that have a shape.")


def _marks(outline: JobHanging, flat: MultiPolygon) -> shapely.Geometry:
    """Return the discs of hanging holes below the upper edge of a flat."""
    x0, _, x1, y1 = flat.bounds
    far = (x1 - x0) / 2 - outline.inset_mm
    sides = (-far, far) if outline.two else (0.0,)
    centers = [Point((x0 + x1) / 2 + side, y1 - outline.inset_mm) for side in sides]
    return shapely.union_all(
        [shapely.buffer(center, outline.hanging_mm / 2, quad_segs=24) for center in centers]
    )


def _inset(region: shapely.Geometry, by_mm: float) -> shapely.Geometry:
    return shapely.buffer(region, -by_mm, quad_segs=32)


def _compartments(outline: JobGrid, room: shapely.Geometry) -> shapely.Geometry:
    if room.is_empty:
        return room
    x0, y0, x1, y1 = room.bounds
    wide = (x1 - x0 - (outline.grid.columns - 1) * outline.gap_mm) / outline.grid.columns
    deep = (y1 - y0 - (outline.grid.rows - 1) * outline.gap_mm) / outline.grid.rows
    if min(wide, deep) <= 0:
        return MultiPolygon()
    cells = [
        shapely.box(x, y, x + wide, y + deep)
        for x in (x0 + k * (wide + outline.gap_mm) for k in range(outline.grid.columns))
        for y in (y0 + k * (deep + outline.gap_mm) for k in range(outline.grid.rows))
    ]
    return shapely.intersection(room, shapely.union_all(cells))


_KIND: dict[type[JobOutline], str] = {
    JobInset: "inset",
    JobBorder: "border",
    JobGrid: "grid",
    JobAround: "around without children",
    JobHanging: "hanging",
}
