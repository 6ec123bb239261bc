"""Labels on pages of a grid: a name to be read from across a bench, and what belongs to it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from moldgen.export.card.label_grid import LabelGrid
from moldgen.export.card.text_block import fitting_size_mm
from moldgen.export.plan.paper import PaperSize
from moldgen.export.plan.pdf_canvas import PdfCanvas, pdf_document
from moldgen.units_text import as_read

PAD_MM = 5.0
"""Left white inside each label: printers miss the edge of the paper, and sheets lie askew. [mm]."""
_NAME_SHARE = 0.34
"""Size of a name over the height of what is written. [-]."""
_LARGEST_MM = 9.0
_LINE_MM = 4.2


@dataclass(frozen=True, slots=True, kw_only=True)
class NameLabel:
    """What stands on one label.

    Attributes
    ----------
    name : str
        In the largest letters.
    lines : tuple of str
        Below it, as many as there is room for.
    """

    name: str
    lines: tuple[str, ...]


def labels_pdf_bytes(
    labels: Sequence[NameLabel], *, grid: LabelGrid, paper: PaperSize, title: str
) -> bytes:
    """Return labels as a PDF file, as many pages as they need, row by row.

    Parameters
    ----------
    labels : sequence of NameLabel
        In order.
    grid : LabelGrid
        Where they lie.
    paper : PaperSize
        Upright.
    title : str
        Title in the document's properties.

    Notes
    -----
    The same labels give the same bytes.
    """
    pages = []
    for first in range(0, len(labels), grid.count):
        page = PdfCanvas()
        page.pen(0.2)
        for number, label in enumerate(labels[first : first + grid.count]):
            _label(page, label, grid, grid.corner_mm(number, paper))
        pages.append(page)
    return pdf_document(title=title, paper=paper, drawing=PdfCanvas(), pages=pages)


def _label(
    page: PdfCanvas, label: NameLabel, grid: LabelGrid, corner_mm: tuple[float, float]
) -> None:
    x_mm, top_mm = corner_mm
    pad_mm = min(PAD_MM, 0.14 * grid.height_mm)
    side_mm = min(PAD_MM, 0.14 * grid.width_mm)
    width_mm, height_mm = grid.width_mm - 2 * side_mm, grid.height_mm - 2 * pad_mm
    most_mm = min(_LARGEST_MM, _NAME_SHARE * height_mm)
    size_mm = fitting_size_mm(label.name, most_mm=most_mm, width_mm=width_mm)
    y_mm = top_mm - pad_mm - 0.75 * most_mm
    page.text(x_mm + side_mm, y_mm, label.name, size_mm=size_mm, bold=True)
    lines = [as_read(line) for line in label.lines if line]
    y_mm -= 0.15 * most_mm
    room_mm = y_mm - (top_mm - grid.height_mm + pad_mm)
    step_mm = min(1.3 * _LINE_MM, room_mm / max(1, len(lines)))
    for line in lines:
        y_mm -= step_mm
        size_mm = fitting_size_mm(line, most_mm=step_mm / 1.3, width_mm=width_mm)
        page.text(x_mm + side_mm, y_mm + 0.2 * step_mm, line, size_mm=size_mm)
