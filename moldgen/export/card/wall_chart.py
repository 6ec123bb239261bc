"""The wall chart of heating times: one page lying on its side, read from two meters."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from moldgen.export.card.text_block import LINE_SPACING, broken_lines, fitting_size_mm
from moldgen.export.plan.paper import PaperSize
from moldgen.export.plan.pdf_canvas import PdfCanvas, pdf_document, text_width_mm
from moldgen.language import in_words
from moldgen.units_text import as_read

MARGIN_MM = 9.0
FIGURE_HEIGHT = 0.70
"""Height of a figure of Helvetica over the size of the letters. [-]."""
LEAST_FIGURE_MM = 7.0
"""Figures of heating times are at least so high: a 285th of 2 m, 12 minutes of arc, where 5 are
the limit of normal sight (ISO 8596) and 16 the least for reading at ease (ISO 9241-303). [mm]."""
_HEAT_MM = 13.0
_COOL_MM = 7.5
_POWER_MM = 4.6
_NAME_MM = 7.5
_WORDS_MM = (5.6, 5.2, 4.8, 4.4, 4.0, 3.6, 3.3, 3.0, 2.7)
"""Sizes of letters in which a person reads what to watch, or why there is no time. [mm]."""
_ROW_MM = 26.0
"""A row of this height has figures of the usual size; a higher one has larger ones. [mm]."""
_LARGEST = 1.7
_SMALL_MM = 3.2
_HEAD_MM = 8.0
_TITLE_MM = 9.0
_LABEL_COLUMN_MM = 46.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartCell:
    """One sheet on the chart.

    Attributes
    ----------
    heat, cool : str
        Seconds, from and to; empty if they cannot be told.
    power : str
        What the heater is turned down to; empty for all of it.
    reason : str
        Why it is left blank.
    """

    heat: str = ""
    cool: str = ""
    power: str = ""
    reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartRow:
    """One plastic on the chart.

    Attributes
    ----------
    name : str
        Of the plastic.
    watch : str
        By what a person sees that it is ready.
    cells : tuple of ChartCell
        One for each thickness.
    """

    name: str
    watch: str
    cells: tuple[ChartCell, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WallChart:
    """What stands on the wall.

    Attributes
    ----------
    title : str
        In the largest letters.
    heads : tuple of str
        Thicknesses.
    rows : tuple of ChartRow
        Plastics, five at most.
    foot : tuple of tuple of str
        How to read it, how far to trust it, what can hurt: paragraphs of sentences.
    """

    title: str
    heads: tuple[str, ...]
    rows: tuple[ChartRow, ...]
    foot: tuple[tuple[str, ...], ...]


def wall_chart_pdf_bytes(chart: WallChart, *, paper: PaperSize) -> bytes:
    """Return a chart as a PDF file of one page.

    Parameters
    ----------
    chart : WallChart
        What stands on it.
    paper : PaperSize
        As it hangs: lying on its side.

    Notes
    -----
    The same chart gives the same bytes.
    """
    page = PdfCanvas()
    width_mm = paper.width_mm - 2 * MARGIN_MM
    bottom_mm = _below(page, chart, width_mm)
    top_mm = _head(page, chart, width_mm, paper.height_mm - MARGIN_MM)
    height_mm = (top_mm - bottom_mm) / max(1, len(chart.rows))
    for number, row in enumerate(chart.rows):
        _plastic_row(page, row, width_mm, top_mm - number * height_mm, height_mm=height_mm)
    title = as_read(chart.title)
    return pdf_document(title=title, paper=paper, drawing=PdfCanvas(), pages=[page])


def _below(page: PdfCanvas, chart: WallChart, width_mm: float) -> float:
    """Write what there is to know from the bottom up; return where it ends. [mm]."""
    lines = [
        line
        for words in chart.foot
        for line in broken_lines(
            " ".join(map(as_read, words)), size_mm=_SMALL_MM, width_mm=width_mm
        )
    ]
    y_mm = MARGIN_MM
    page.pen(0.2)
    for line in reversed(lines):
        page.text(MARGIN_MM, y_mm, line, size_mm=_SMALL_MM)
        y_mm += LINE_SPACING * _SMALL_MM
    return y_mm + 0.5


def _head(page: PdfCanvas, chart: WallChart, width_mm: float, top_mm: float) -> float:
    """Write title and thicknesses; return where the rows begin. [mm]."""
    title = as_read(chart.title)
    size_mm = fitting_size_mm(title, most_mm=_TITLE_MM, width_mm=width_mm)
    page.pen(0.3)
    page.text(MARGIN_MM, top_mm - 0.75 * _TITLE_MM, title, size_mm=size_mm, bold=True)
    y_mm = top_mm - _TITLE_MM - _HEAD_MM
    heads = (in_words("heat / cool (s)"), *map(as_read, chart.heads))
    for place, (words, (x_mm, column_mm)) in enumerate(
        zip(heads, _columns(width_mm, len(chart.heads)), strict=True)
    ):
        size_mm = fitting_size_mm(words, most_mm=_HEAD_MM * 0.9, width_mm=column_mm - 4.0)
        middle_mm = x_mm + column_mm / 2
        at_mm, align = (x_mm, 0.0) if place == 0 else (middle_mm, 0.5)
        page.text(at_mm, y_mm + 1.8, words, size_mm=size_mm, align=align, bold=place > 0)
    return y_mm


def _columns(width_mm: float, n_gauges: int) -> Iterator[tuple[float, float]]:
    """Yield where each column begins, and how wide it is. [mm]."""
    yield MARGIN_MM, _LABEL_COLUMN_MM
    column_mm = (width_mm - _LABEL_COLUMN_MM) / n_gauges
    for number in range(n_gauges):
        yield MARGIN_MM + _LABEL_COLUMN_MM + number * column_mm, column_mm


def _plastic_row(
    page: PdfCanvas, row: ChartRow, width_mm: float, top_mm: float, *, height_mm: float
) -> None:
    page.pen(0.4)
    for y_mm in (top_mm, top_mm - height_mm):
        page.line((MARGIN_MM, y_mm), (MARGIN_MM + width_mm, y_mm))
    label_mm = _LABEL_COLUMN_MM - 3.0
    size_mm = fitting_size_mm(row.name, most_mm=_NAME_MM, width_mm=label_mm)
    y_mm = top_mm - 1.2 - 0.8 * _NAME_MM
    page.text(MARGIN_MM, y_mm, row.name, size_mm=size_mm, bold=True)
    room_mm = height_mm - (top_mm - y_mm) - 1.5
    size_mm, lines = _words(as_read(row.watch), label_mm, room_mm)
    for line in lines:
        y_mm -= LINE_SPACING * size_mm
        page.text(MARGIN_MM, y_mm, line, size_mm=size_mm)
    _, *columns = _columns(width_mm, len(row.cells))
    for cell, (x_mm, column_mm) in zip(row.cells, columns, strict=True):
        page.pen(0.25)
        page.line((x_mm, top_mm), (x_mm, top_mm - height_mm))
        middle_mm = x_mm + column_mm / 2
        draw = _reason if cell.reason else _times
        draw(page, cell, middle_mm, top_mm, room_mm=(column_mm - 1.6, height_mm))


def _words(text: str, width_mm: float, height_mm: float) -> tuple[float, list[str]]:
    """Return a text in the largest letters in which it fits, and its lines."""
    for size_mm in _WORDS_MM:
        lines = broken_lines(text, size_mm=size_mm, width_mm=width_mm)
        wide = any(text_width_mm(line, size_mm) > width_mm for line in lines)
        if not wide and len(lines) * LINE_SPACING * size_mm <= height_mm:
            break
    return size_mm, lines


def _reason(
    page: PdfCanvas, cell: ChartCell, x_mm: float, top_mm: float, *, room_mm: tuple[float, float]
) -> None:
    """Write why there is no time, in the middle of the cell."""
    width_mm, height_mm = room_mm
    size_mm, lines = _words(as_read(cell.reason), width_mm - 4.0, height_mm - 4.0)
    y_mm = top_mm - height_mm / 2 + LINE_SPACING * size_mm * (len(lines) / 2 - 0.75)
    for line in lines:
        page.text(x_mm, y_mm, line, size_mm=size_mm, align=0.5)
        y_mm -= LINE_SPACING * size_mm


def _times(
    page: PdfCanvas, cell: ChartCell, x_mm: float, top_mm: float, *, room_mm: tuple[float, float]
) -> None:
    """Write how long to heat, how long to cool, and what the heater is turned down to."""
    width_mm, height_mm = room_mm
    scale = min(_LARGEST, height_mm / _ROW_MM)
    size_mm = fitting_size_mm(cell.heat, most_mm=_HEAT_MM * scale, width_mm=width_mm)
    assert size_mm * FIGURE_HEIGHT > LEAST_FIGURE_MM - 0.05, "too small to be read from afar"
    y_mm = top_mm - 0.06 * height_mm - 0.72 * _HEAT_MM * scale
    page.text(x_mm, y_mm, cell.heat, size_mm=size_mm, align=0.5, bold=True)
    y_mm -= 1.0 * _COOL_MM * scale
    page.text(x_mm, y_mm, cell.cool, size_mm=_COOL_MM * scale, align=0.5)
    if cell.power:
        power = as_read(cell.power)
        size_mm = fitting_size_mm(power, most_mm=_POWER_MM * scale, width_mm=width_mm)
        page.text(x_mm, y_mm - 1.15 * size_mm, power, size_mm=size_mm, align=0.5)
