"""Outlines from an SVG drawing."""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite
from pathlib import Path

import numpy as np
import shapely
from shapely import MultiPolygon

from moldgen.errors import OutlineError, SpecError
from moldgen.execution import run_with
from moldgen.finding import Finding, Severity
from moldgen.limits import Limits
from moldgen.named_file import told, visible
from moldgen.outline.chains import joined_lines
from moldgen.outline.choices import StrokeUse
from moldgen.outline.curves import Points
from moldgen.outline.drawing import (
    Drawing,
    DrawingPart,
    Remarks,
    Scale,
    check_extent,
    checked_bytes,
    finished_drawing,
    load_drawing_bytes,
    name_hint,
    specks_left_out,
)
from moldgen.outline.nesting import parts_from_lines
from moldgen.outline.open_lines import open_lines_left_out
from moldgen.outline.region import SMALLEST_MM, as_region, refuse_crossed, size_mm
from moldgen.outline.sizing import AS_DRAWN, UNCHANGED, Bounds, Growth, WantedSize
from moldgen.outline.svg.frame import Piece
from moldgen.outline.svg.page import Page, page_of
from moldgen.outline.svg.paint import as_seen
from moldgen.outline.svg.path import Trace
from moldgen.outline.svg.sprite import refuse_sprite, shown_of
from moldgen.outline.svg.strokes import WITH_WIDTH, are_broad, tell_outlined
from moldgen.outline.svg.style import sheet_of
from moldgen.outline.svg.tree import svg_tree
from moldgen.outline.svg.value import Ruler
from moldgen.outline.svg.walk import Walker
from moldgen.wording import shown

GAP_MM = 0.1
"""Ends of drawn lines closer than this are meant to meet (common practice, no source)."""


def outline_from_svg(
    path: str | Path,
    *,
    part: str | None = None,
    strokes: StrokeUse = StrokeUse.AUTO,
    size: WantedSize = AS_DRAWN,
    chord_mm: float = 0.01,
    dpi_px: float = 96.0,
    limits: Limits | None = None,
) -> Drawing:
    """Read the outlines of an SVG file, in millimeters and y up.

    Filled shapes count as they are painted. A drawing in which nothing is filled is read
    as line work: closed lines, those inside one another as holes.

    Parameters
    ----------
    path : path
        The file.
    part : str, optional
        Id or label of one shape, group or layer, or the number of a shape in drawing
        order, from 1; everything if left out.
    strokes : StrokeUse, default AUTO
        Whether painted lines count with their width.
    size : WantedSize, optional
        What it is scaled to, about its lower left corner; as drawn if left out.
    chord_mm : float, default 0.01
        Largest distance between a curve and its chords. [mm]
    dpi_px : float, default 96
        Pixels to the inch; old drawings were made with 72 or 90. [-]
    limits : Limits, optional
        How large it may be; as outside if left out.

    Returns
    -------
    Drawing
        ``y = 0`` is the foot of the page. [mm]

    Raises
    ------
    FileError
        If the file cannot be read or is not safe, plain SVG.
    OutlineError
        If it holds text, broken numbers, nothing closed, no such part, or has a size that
        can only be a mistake of unit.
    SpecError
        If ``chord_mm`` or ``dpi_px`` is not a positive number.

    References
    ----------
    .. [1] W3C, "Scalable Vector Graphics (SVG) 2".
    .. [2] W3C, "CSS Values and Units Module Level 3", section 6.2.

    Checked against ``tests/published/css_units.csv``.
    """
    _check_settings(chord_mm, dpi_px)
    with run_with(limits=limits):
        data = load_drawing_bytes(Path(path), kind="SVG", suffix=".svg")
        return outline_from_svg_bytes(
            data, name=path, part=part, strokes=strokes, size=size, chord_mm=chord_mm, dpi_px=dpi_px
        )


def outline_from_svg_bytes(
    drawing: bytes | str,
    *,
    name: str | Path = "drawing.svg",
    part: str | None = None,
    strokes: StrokeUse = StrokeUse.AUTO,
    size: WantedSize = AS_DRAWN,
    chord_mm: float = 0.01,
    dpi_px: float = 96.0,
    limits: Limits | None = None,
) -> Drawing:
    """Read the outlines of an SVG in hand, as `outline_from_svg` reads those of a file.

    Parameters
    ----------
    drawing : bytes or str
        Content of an SVG file.
    name : str, default "drawing.svg"
        What errors call it.
    part, strokes, size, chord_mm, dpi_px
        As `outline_from_svg` takes them.
    limits : Limits, optional
        How large it may be; as outside if left out.

    Returns
    -------
    Drawing
        ``y = 0`` is the foot of the page. [mm]

    Raises
    ------
    FileError
        If it is not safe, plain SVG, or larger than it may be.
    OutlineError
        As `outline_from_svg` raises it, or if it has more corners than it may.
    SpecError
        If ``chord_mm`` or ``dpi_px`` is not a positive number.
    """
    _check_settings(chord_mm, dpi_px)
    with run_with(limits=limits):
        return _drawing(
            drawing, Path(told(name)), part, strokes=strokes, size=size, chord_mm=chord_mm,
            ruler=Ruler(dpi_px),
        )  # fmt: skip


def _drawing(
    drawing: bytes | str,
    path: Path,
    part: str | None,
    *,
    strokes: StrokeUse,
    size: WantedSize,
    chord_mm: float,
    ruler: Ruler,
) -> Drawing:
    root = svg_tree(path, checked_bytes(path, drawing))
    top = shown_of(root, part)
    sheet, as_drawn = sheet_of(root), page_of(top, ruler)
    what = f"The drawing {visible(path.name)}"

    def met(page: Page, use: StrokeUse) -> tuple[list[Piece], Remarks]:
        walker = Walker(root, sheet=sheet, strokes=use, chord_mm=chord_mm, ruler=ruler, shown=top)
        pieces = walker.pieces(page.matrix, page.viewport)
        if not pieces:
            refuse_sprite(what, root)
        chosen = _chosen(pieces, None if top is not root else part, walker.hidden)
        _refuse_text(chosen)
        return chosen, walker.remarks

    def at(growth: Growth) -> Drawing:
        page = as_drawn.grown(growth) if size.is_given else as_drawn
        use = StrokeUse.IGNORE if strokes is StrokeUse.AUTO else strokes
        chosen, remarks = met(page, use)
        if strokes is StrokeUse.AUTO and are_broad(chosen, _whole_extent(chosen)):
            use = StrokeUse.OUTLINE
            chosen, remarks = met(page, use)
            tell_outlined(remarks)
        _check_reach(what, chosen, page.scale)
        if use is StrokeUse.OUTLINE or any(piece.area.area > 0 for piece in chosen):
            region, parts, notes = _painted(chosen)
        else:
            region, parts, notes = _line_work(what, chosen, chord_mm)
        notes = [*remarks.findings(), *notes, *page.findings(region)]
        return finished_drawing(path, parts, region=region, findings=notes, scale=page.scale)

    if not size.is_given:
        return at(UNCHANGED)
    return size.read(_extent(met(as_drawn, StrokeUse.OUTLINE)[0]), at)


def _check_settings(chord_mm: float, dpi_px: float) -> None:
    for name, value in (("chord_mm", chord_mm), ("dpi_px", dpi_px)):
        if not (isfinite(value) and value > 0):
            raise SpecError(name, "more than 0", f"{value:g}")


def _painted(pieces: Sequence[Piece]) -> tuple[MultiPolygon, list[DrawingPart], list[Finding]]:
    """Return the outlines of a drawing that has painted areas."""
    painted = [piece for piece in pieces if piece.area.area > 0]
    # Where white is cut out of several shapes, their borders run together and cross no more.
    refuse_crossed([piece.area for piece in painted], what="the drawing")
    painted, cover = as_seen(painted)
    solid = [piece for piece in painted if min(size_mm(piece.area)) >= SMALLEST_MM]
    parts = [_part(piece, as_region(piece.area, what=piece.says)) for piece in solid]
    region = shapely.union_all([part.region for part in parts])
    tangles = [finding for piece in solid for finding in piece.findings]
    notes = [*cover, *tangles, *_lines_ignored(pieces), *specks_left_out(len(painted) - len(solid))]
    return region, parts, notes


def _chosen(met: Sequence[Piece], part: str | None, hidden: set[str]) -> list[Piece]:
    if part is None:
        return list(met)
    named = [piece for piece in met if part in piece.names]
    if named:
        return named
    shapes = [piece for piece in met if not piece.text]
    if part.isdecimal() and 1 <= int(part) <= len(shapes):
        return [shapes[int(part) - 1]]
    if part.isdecimal():
        raise OutlineError(
            f"part {part} is not in the drawing, which has {len(shapes)} shapes; "
            "count from 1 in drawing order."
        )
    if part in hidden:
        raise OutlineError(
            f"part {shown(part)} is hidden in the drawing; show it, then save again."
        )
    names = [name for piece in met for name in (piece.id, piece.label, *sorted(piece.names))]
    raise OutlineError(f"part {shown(part)} is not in the drawing. {name_hint(part, names)}")


def _refuse_text(pieces: Sequence[Piece]) -> None:
    for piece in pieces:
        if piece.text:
            raise OutlineError(
                f'The drawing holds text, "{piece.text[:40]}", whose shape depends on the fonts '
                "of each computer; convert text to paths in the drawing program, then save."
            )


def _check_reach(what: str, pieces: Sequence[Piece], scale: Scale) -> None:
    left, bottom, right, top = _extent(pieces)
    longest = max(right - left, top - bottom)
    if longest > 0:
        check_extent(what, longest, scale=scale)


def _extent(pieces: Sequence[Piece]) -> Bounds:
    """Return the box round what is painted, or round the lines where nothing is. [mm]."""
    return _round(_boxes_of_areas(pieces) or _boxes_of_lines(pieces))


def _whole_extent(pieces: Sequence[Piece]) -> Bounds:
    """Return the box round what is painted and round the lines. [mm]."""
    return _round([*_boxes_of_areas(pieces), *_boxes_of_lines(pieces)])


def _boxes_of_areas(pieces: Sequence[Piece]) -> list[Points]:
    return [shapely.bounds(piece.area) for piece in pieces if not piece.area.is_empty]


def _boxes_of_lines(pieces: Sequence[Piece]) -> list[Points]:
    lines = (trace.points for piece in pieces for trace in piece.lines)
    return [np.r_[points.min(axis=0), points.max(axis=0)] for points in lines]


def _round(boxes: Sequence[Points]) -> Bounds:
    if not boxes:
        return 0.0, 0.0, 0.0, 0.0
    corners = np.array(boxes)
    left, bottom = corners[:, :2].min(axis=0).tolist()
    right, top = corners[:, 2:].max(axis=0).tolist()
    return left, bottom, right, top


def _part(piece: Piece, region: MultiPolygon) -> DrawingPart:
    return DrawingPart(id=piece.id, label=piece.label, group=piece.group, region=region)


def _lines_ignored(pieces: Sequence[Piece]) -> list[Finding]:
    ignored = [piece for piece in pieces if piece.lines and piece.area.is_empty]
    if not ignored:
        return []
    return [
        Finding(
            code="drawing-strokes-ignored",
            severity=Severity.CAUTION,
            says="lines without a fill are left out, because other shapes are filled",
            measured=float(len(ignored)),
            subject=ignored[0].id,
            advice="Fill them, or count lines with their width: --strokes outline, or strokes in "
            "a job file.",
        )
    ]


def _line_work(
    what: str, pieces: Sequence[Piece], chord_mm: float
) -> tuple[MultiPolygon, list[DrawingPart], list[Finding]]:
    """Return the outlines of a drawing in which nothing is filled."""
    traces = [(piece, trace) for piece in pieces for trace in piece.lines]
    rings = [(piece, trace.points) for piece, trace in traces if _closes(trace)]
    loose = [(piece, trace.points) for piece, trace in traces if not _closes(trace)]
    notes = []
    if loose:
        closed, found = _closed_up(what, [points for _, points in loose], strict=not rings)
        rings += [(loose[0][0], ring) for ring in closed]
        notes += found
    if not rings:
        raise OutlineError(f"{what} has no closed shape; draw one and fill it.")
    names = [_part(piece, MultiPolygon()) for piece, _ in rings]
    region, parts, tangles = parts_from_lines(
        [points for _, points in rings], names, what=what, same_mm=2 * chord_mm
    )
    return region, parts, [_LINES_USED, *notes, *tangles]


_LINES_USED = Finding(
    code="drawing-lines-used",
    severity=Severity.NOTE,
    says="nothing in the drawing is filled, so its closed lines are the outlines, "
    "and those inside others are holes",
)


def _closes(trace: Trace) -> bool:
    apart = float(np.hypot(*(trace.points[0] - trace.points[-1])))
    return len(trace.points) > 2 and (trace.closed or apart <= 1e-6)


def _closed_up(
    what: str, lines: Sequence[Points], *, strict: bool
) -> tuple[list[Points], list[Finding]]:
    chains = joined_lines(lines, GAP_MM, what=what)
    if strict and chains.open and not chains.rings:
        raise OutlineError(chains.why_open(what, or_else=WITH_WIDTH))
    return list(chains.rings), [*chains.findings, *open_lines_left_out(chains.open)]
