"""A plan on paper at 1:1, spread over as many sheets as it takes."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from moldgen.errors import SpecError
from moldgen.export.plan.items import Dimension, Hole, Line, Note, PlanRegion
from moldgen.export.plan.layers import HOLE_LAYERS, LINE_KINDS, Layer
from moldgen.export.plan.paper import MM_PER_INCH, PaperSize, Tile, Tiling, paper_named, place_tiles
from moldgen.export.plan.pdf_canvas import PdfCanvas, pdf_document, text_width_mm
from moldgen.export.plan.plan import Plan, has_holes, legend, plan_as_read
from moldgen.language import in_words
from moldgen.quantity import Quantity

MARGIN_MM = 8.0  # common practice: desk printers leave about 5 mm blank, no source
_OVERLAP = Quantity("mm", "width shown on both of two neighboring sheets", at_least=2, at_most=40)
_PAD_MM = 2.0
_ROW_MM = 4.0
_SAMPLE_MM = 14.0
_SMALL_MM = 2.6
_FULL_SIZE = "Print at 100 %, no scaling: with a ruler, this bar measures 100 mm and 4 in."


@dataclass(frozen=True, slots=True, kw_only=True)
class _Layout:
    """How one page is divided: the drawing on top, the foot with bar and legend below."""

    paper: PaperSize
    legend_columns: int
    foot_mm: float

    @property
    def width_mm(self) -> float:
        """Width of what a sheet shows [mm]."""
        return self.paper.width_mm - 2 * MARGIN_MM

    @property
    def height_mm(self) -> float:
        """Height of what a sheet shows [mm]."""
        return self.paper.height_mm - 2 * MARGIN_MM - self.foot_mm


def pdf_bytes(plan: Plan, *, paper: str = "A4", overlap_mm: float = 10.0) -> bytes:
    """Return the plan as a PDF file to print at 100 %.

    Each page carries a bar to check the print with, the legend, and its place among the
    others; more than one sheet is preceded by an overview. Lines differ by dashes, so a gray
    printer serves.

    Parameters
    ----------
    plan : Plan
        The drawing.
    paper : str
        A name in `moldgen.export.plan.paper.PAPERS`, any case.
    overlap_mm : float
        Width that neighboring sheets share, to glue them by. [mm]

    Raises
    ------
    SpecError
        If the paper is unknown, or too small for the drawing.

    Notes
    -----
    Pages lie whichever way round needs fewer sheets. The same plan gives the same bytes.
    """
    plan = plan_as_read(plan)
    _OVERLAP.check("overlap_mm", overlap_mm)
    layout, tiling = _fewest(plan, paper_named(paper), overlap_mm)
    pages = [_sheet(plan, layout, tiling, tile) for tile in tiling.tiles]
    if len(pages) > 1:
        pages.insert(0, _overview(plan, layout, tiling))
    drawing = PdfCanvas()
    trace_plan(plan, drawing)
    return pdf_document(title=plan.title, paper=layout.paper, drawing=drawing, pages=pages)


def _fewest(plan: Plan, paper: PaperSize, overlap_mm: float) -> tuple[_Layout, Tiling]:
    """Return the way round that needs fewer sheets, upright if both need as many."""
    x0, y0, x1, y1 = plan.bounds_mm
    padded = (x0 - _PAD_MM, y0 - _PAD_MM, x1 + _PAD_MM, y1 + _PAD_MM)
    layouts: list[tuple[_Layout, Tiling]] = []
    for turned in (paper, paper.turned):
        layout = _layout(plan, turned)
        try:
            tiling = place_tiles(
                padded,
                width_mm=layout.width_mm,
                height_mm=layout.height_mm,
                overlap_mm=overlap_mm,
            )
        except SpecError as error:
            refusal = error
        else:
            layouts.append((layout, tiling))
    if not layouts:
        raise refusal
    return min(layouts, key=lambda pair: len(pair[1].tiles))


def _layout(plan: Plan, paper: PaperSize) -> _Layout:
    rows = legend(plan)
    longest = max((text_width_mm(words, _SMALL_MM) for _, words in rows), default=0.0)
    columns = max(1, int((paper.width_mm - 2 * MARGIN_MM) // (longest + _SAMPLE_MM + 4.0)))
    foot_mm = 28.0 + ceil(len(rows) / columns) * _ROW_MM
    return _Layout(paper=paper, legend_columns=columns, foot_mm=foot_mm)


def _sheet(plan: Plan, layout: _Layout, tiling: Tiling, tile: Tile) -> PdfCanvas:
    """Draw one page: its part of the drawing at 1:1, marks to join it by, and the foot."""
    page = PdfCanvas()
    left, bottom = MARGIN_MM, MARGIN_MM + layout.foot_mm
    page.save()
    page.clip(left, bottom, left + layout.width_mm, bottom + layout.height_mm)
    page.place(left - tile.x0_mm, bottom - tile.y0_mm)
    page.stamp()
    _register(page, tiling, tile)
    page.restore()
    page.pen(0.1, gray=0.6)
    page.rectangle(left, bottom, left + layout.width_mm, bottom + layout.height_mm)
    number = tiling.tiles.index(tile) + 1
    many = len(tiling.tiles) > 1
    of = in_words(f"Page {tile.name}, {number} of {len(tiling.tiles)}") if many else ""
    _foot(page, plan, layout, of)
    return page


def _register(page: PdfCanvas, tiling: Tiling, tile: Tile) -> None:
    """Draw seams, crosses that meet their twins on the next sheet, and its name."""
    half = tiling.overlap_mm / 2
    across = [
        (tile.x0_mm + half, -1, tile.column > 0),
        (tile.x1_mm - half, 1, tile.column < tiling.columns - 1),
    ]
    down = [
        (tile.y1_mm - half, -1, tile.row > 0),
        (tile.y0_mm + half, 1, tile.row < tiling.rows - 1),
    ]
    middle_x, middle_y = (tile.x0_mm + tile.x1_mm) / 2, (tile.y0_mm + tile.y1_mm) / 2
    for x, step, shared in across:
        if shared:
            _seam(page, (x, tile.y0_mm), (x, tile.y1_mm))
            name = _neighbor(tiling, tile, 0, step)
            _join_name(page, x + step * half / 2, middle_y, name, angle_deg=90)
    for y, step, shared in down:
        if shared:
            _seam(page, (tile.x0_mm, y), (tile.x1_mm, y))
            name = _neighbor(tiling, tile, step, 0)
            _join_name(page, middle_x, y - step * half / 2, name, angle_deg=0)


def _neighbor(tiling: Tiling, tile: Tile, down: int, across: int) -> str:
    return tiling.tiles[(tile.row + down) * tiling.columns + tile.column + across].name


def _join_name(page: PdfCanvas, x_mm: float, y_mm: float, name: str, *, angle_deg: float) -> None:
    page.pen(0.15, gray=0.3)
    turn = _SMALL_MM * 0.35
    x, y = (x_mm + turn, y_mm) if angle_deg else (x_mm, y_mm - turn)
    page.text(x, y, in_words(f"joins {name}"), size_mm=_SMALL_MM, align=0.5, angle_deg=angle_deg)


def _seam(page: PdfCanvas, start: tuple[float, float], end: tuple[float, float]) -> None:
    page.pen(0.1, gray=0.5, dash_mm=(0.6, 1.8))
    page.line(start, end)
    page.pen(0.15)
    for share in (0.15, 0.85):
        x = start[0] + share * (end[0] - start[0])
        y = start[1] + share * (end[1] - start[1])
        page.circle(x, y, 1.5)
        page.line((x - 3, y), (x + 3, y))
        page.line((x, y - 3), (x, y + 3))


def _overview(plan: Plan, layout: _Layout, tiling: Tiling) -> PdfCanvas:
    """Draw the whole plan small, with the outline and name of every sheet on it."""
    page = PdfCanvas()
    first, last = tiling.tiles[0], tiling.tiles[-1]
    width, height = last.x1_mm - first.x0_mm, first.y1_mm - last.y0_mm
    scale = min(1.0, layout.width_mm / width, layout.height_mm / height)
    page.save()
    page.place(
        MARGIN_MM + (layout.width_mm - width * scale) / 2 - first.x0_mm * scale,
        MARGIN_MM + layout.foot_mm + (layout.height_mm - height * scale) / 2 - last.y0_mm * scale,
        scale=scale,
    )
    page.stamp()
    for tile in tiling.tiles:
        page.pen(0.15 / scale, gray=0.35)
        page.rectangle(tile.x0_mm, tile.y0_mm, tile.x1_mm, tile.y1_mm)
        size = 4.0 / scale
        corner = tiling.overlap_mm + 2.0 / scale
        for line, words in enumerate(in_words(tile.name).split(", ")):
            down = corner + size * (0.8 + 1.2 * line)
            page.text(tile.x0_mm + corner, tile.y1_mm - down, words, size_mm=size, bold=True)
    page.restore()
    _foot(page, plan, layout, in_words(f"Overview of {len(tiling.tiles)} sheets, not to scale"))
    return page


def _foot(page: PdfCanvas, plan: Plan, layout: _Layout, place: str) -> None:
    """Draw title, place among the sheets, the bar to check with, and the legend."""
    left, right = MARGIN_MM, MARGIN_MM + layout.width_mm
    top = MARGIN_MM + layout.foot_mm
    page.pen(0.2)
    free = layout.width_mm - text_width_mm(place, 3.2) - 4.0
    title_mm = min(4.2, 4.2 * free / max(1.1 * text_width_mm(plan.title, 4.2), 1e-6))
    page.text(left, top - 6.0, plan.title, size_mm=title_mm, bold=True)
    page.text(right, top - 6.0, place, size_mm=3.2, align=1.0)
    page.text(left, top - 10.5, in_words(_FULL_SIZE), size_mm=_SMALL_MM)
    _bar(page, left, top - 18.0)
    rows = legend(plan)
    per_column = ceil(len(rows) / layout.legend_columns)
    for i, (layer, words) in enumerate(rows):
        column, row = divmod(i, per_column)
        x = left + column * layout.width_mm / layout.legend_columns
        y = top - 28.0 - (row + 0.2) * _ROW_MM
        _sample(page, layer, x, y, hole=has_holes(plan, layer))
        page.pen(0.2)
        page.text(x + _SAMPLE_MM, y - 0.9, words, size_mm=_SMALL_MM)


def _bar(page: PdfCanvas, x_mm: float, y_mm: float) -> None:
    """Draw one bar with two scales: 100 mm above the line and 4 in below it."""
    page.pen(0.2)
    page.line((x_mm, y_mm), (x_mm + 100.0, y_mm))
    page.line((x_mm, y_mm - 0.8), (x_mm + 4 * MM_PER_INCH, y_mm - 0.8))
    for i in range(0, 101, 5):
        page.line((x_mm + i, y_mm), (x_mm + i, y_mm + (2.4 if i % 10 == 0 else 1.4)))
    for i in range(0, 33):
        x = x_mm + i * MM_PER_INCH / 8
        page.line((x, y_mm - 0.8), (x, y_mm - (3.2 if i % 8 == 0 else 2.0)))
    page.text(x_mm + 100.0, y_mm + 3.2, "100 mm", size_mm=_SMALL_MM, align=1.0)
    page.text(x_mm, y_mm + 3.2, "0", size_mm=_SMALL_MM)
    page.text(x_mm + 4 * MM_PER_INCH, y_mm - 5.8, "4 in", size_mm=_SMALL_MM, align=1.0)


def _sample(page: PdfCanvas, layer: Layer, x_mm: float, y_mm: float, *, hole: bool) -> None:
    _take_pen(page, layer)
    if layer not in HOLE_LAYERS or not hole:
        page.line((x_mm, y_mm), (x_mm + _SAMPLE_MM - 2.0, y_mm))
        return
    _trace_hole(Hole(x_mm=x_mm + 5.0, y_mm=y_mm, diameter_mm=1.6, layer=layer), page)


def _take_pen(page: PdfCanvas, layer: Layer, scale: float = 1.0) -> None:
    kind = LINE_KINDS[layer]
    dash_mm = [length_mm / scale for length_mm in kind.dash_mm]
    page.pen(kind.width_mm / scale, gray=kind.gray, dash_mm=dash_mm)


def trace_plan(plan: Plan, canvas: PdfCanvas, *, scale: float = 1.0) -> None:
    """Draw every item of the plan in its own coordinates.

    Parameters
    ----------
    plan : Plan
        The drawing.
    canvas : PdfCanvas
        Where it is drawn.
    scale : float
        By which the canvas makes it smaller or larger: lines keep their width on paper. [-]
    """
    for layer in plan.layers:
        _take_pen(canvas, layer, scale)
        for item in plan.on(layer):
            if isinstance(item, PlanRegion):
                canvas.region(item.rings)
            elif isinstance(item, Hole):
                _trace_hole(item, canvas)
            elif isinstance(item, Note):
                _trace_note(item, canvas)
            elif isinstance(item, Line):
                canvas.line(item.start_mm, item.end_mm)
            else:
                _trace_dimension(item, canvas)


def _trace_hole(hole: Hole, canvas: PdfCanvas) -> None:
    canvas.circle(hole.x_mm, hole.y_mm, hole.diameter_mm / 2)
    for start, end in hole.cross:
        canvas.line(start, end)


def _trace_note(note: Note, canvas: PdfCanvas) -> None:
    x, y = note.base_mm
    canvas.text(x, y, note.text, size_mm=note.size_mm, align=note.align, angle_deg=note.angle_deg)


def _trace_dimension(dimension: Dimension, canvas: PdfCanvas) -> None:
    for start, end in dimension.strokes:
        canvas.line(start, end)
    _trace_note(dimension.note, canvas)
