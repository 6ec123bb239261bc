"""The lines of text on the pages of a PDF file that `PdfCanvas` wrote."""

import re
from dataclasses import dataclass

from shapely import Polygon, box

from moldgen.export.card.text_block import BOLD
from moldgen.export.plan.pdf_canvas import text_width_mm

_LINE = re.compile(
    r"/(?P<font>[RB]) (?P<size>\S+) Tf 1 0 -?0 1 (?P<x>\S+) (?P<y>\S+) Tm <(?P<text>[0-9a-f]*)> Tj"
)


@dataclass(frozen=True)
class PdfLine:
    """One line: where it begins, how high its letters are, what it says. [mm]."""

    text: str
    x_mm: float
    y_mm: float
    size_mm: float
    bold: bool

    @property
    def box_mm(self) -> Polygon:
        """What it covers."""
        width_mm = text_width_mm(self.text, self.size_mm) * (BOLD if self.bold else 1.0)
        top_mm = self.y_mm + 0.7 * self.size_mm
        return box(self.x_mm, self.y_mm, self.x_mm + width_mm, top_mm)


def pdf_pages(pdf: bytes) -> list[list[PdfLine]]:
    """Return the lines of each page, and fail where there is no page or a page says nothing."""
    streams = pdf.decode("latin1").split("stream\n")[1::2]
    pages = [[_line(found) for found in _LINE.finditer(one)] for one in streams[1:]]
    assert pages
    assert all(pages)
    return pages


def _line(found: re.Match[str]) -> PdfLine:
    return PdfLine(
        text=bytes.fromhex(found["text"]).decode("cp1252"),
        x_mm=float(found["x"]),
        y_mm=float(found["y"]),
        size_mm=float(found["size"]),
        bold=found["font"] == "B",
    )


def overlapping(lines: list[PdfLine]) -> list[tuple[str, str]]:
    """Return pairs of lines that lie on each other."""
    boxes = [line.box_mm for line in lines]
    return [
        (lines[i].text, lines[j].text)
        for i in range(len(lines))
        for j in range(i)
        if boxes[i].intersection(boxes[j]).area > 1e-6
    ]
