"""The few drawing operators of PDF that a plan needs, in millimeters and nothing else.

Written out by hand because a page of lines, circles and built-in Helvetica is exact this way,
opens at once, and needs no library to load.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache
from math import cos, radians, sin
from typing import Any

from moldgen.export.plan.glyphs import glyph_rings
from moldgen.export.plan.paper import PaperSize, points

_QUARTER = 0.5522847498  # 4/3 (sqrt 2 - 1): Bezier arm that draws a quarter circle

# Advance widths of Helvetica, code 32 to 126, in thousandths of the size, from the public
# metrics of the fourteen standard PDF fonts; checked in the tests against another copy.
_HELVETICA = (
    278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278, 556, 556, 556,
    556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556, 1015, 667, 667, 722, 722, 667,
    611, 778, 722, 278, 500, 667, 556, 833, 722, 778, 667, 778, 722, 667, 611, 722, 667, 944, 667,
    667, 611, 278, 278, 278, 469, 556, 333, 556, 556, 500, 556, 556, 278, 556, 556, 222, 222, 500,
    222, 833, 556, 556, 556, 556, 333, 500, 278, 556, 500, 722, 500, 500, 500, 334, 260, 334, 584,
)  # fmt: skip


def text_width_mm(text: str, size_mm: float) -> float:
    """Return the width of a line as `Canvas.text` writes it [mm].

    In Helvetica, letters beyond ASCII count as a digit; other alphabets are drawn, and measured,
    as shapes.
    """
    if not _built_in(text):
        return glyph_rings(text, size_mm)[1]
    return _advance(text) * size_mm / 1000.0


# Cards and labels of a class say the same in many places.
@lru_cache(maxsize=20_000)
def _advance(text: str) -> int:
    """Return the width of a line of Helvetica in thousandths of its size. [-]."""
    return sum(_HELVETICA[ord(c) - 32] if 32 <= ord(c) < 127 else 556 for c in text)


class PdfCanvas:
    """A list of PDF operators; every length that goes in is in millimeters."""

    def __init__(self) -> None:
        self._operators: list[str] = []

    @property
    def content(self) -> bytes:
        """The operators as the content of a PDF stream."""
        return ("\n".join(self._operators) + "\n").encode("ascii")

    def save(self) -> None:
        """Remember pen, clip and place."""
        self._operators.append("q")

    def restore(self) -> None:
        """Go back to the pen, clip and place last remembered."""
        self._operators.append("Q")

    def place(self, x_mm: float, y_mm: float, *, scale: float = 1.0) -> None:
        """Put the origin of what follows at a point, magnified."""
        self._operators.append(f"{scale:.9g} 0 0 {scale:.9g} {_numbers(x_mm, y_mm)} cm")

    def pen(self, width_mm: float, *, gray: float = 0.0, dash_mm: Sequence[float] = ()) -> None:
        """Choose line width, darkness (0 is black) and dashes."""
        dark = _numbers(gray)
        self._operators.append(
            f"{_numbers(width_mm)} w {dark} G {dark} g [{_numbers(*dash_mm)}] 0 d"
        )

    def clip(self, x0_mm: float, y0_mm: float, x1_mm: float, y1_mm: float) -> None:
        """Show nothing outside a rectangle until the next `restore`."""
        self._operators.append(f"{_numbers(x0_mm, y0_mm, x1_mm - x0_mm, y1_mm - y0_mm)} re W n")

    def rectangle(self, x0_mm: float, y0_mm: float, x1_mm: float, y1_mm: float) -> None:
        """Draw the edge of a rectangle."""
        self._operators.append(f"{_numbers(x0_mm, y0_mm, x1_mm - x0_mm, y1_mm - y0_mm)} re S")

    def line(self, *points_mm: tuple[float, float]) -> None:
        """Draw an open line through points."""
        self._operators.append(f"{_trail(points_mm)} S")

    def region(self, rings: Iterable[Any], *, fill: bool = False) -> None:
        """Draw closed rings of shape (n, 2), or fill them even-odd."""
        trails = [f"{_trail(ring)} h" for ring in rings]
        self._operators.append("\n".join([*trails, "f*" if fill else "S"]))

    def circle(self, x_mm: float, y_mm: float, radius_mm: float) -> None:
        """Draw a circle as four Bezier quarters."""
        x, y, r = x_mm, y_mm, radius_mm
        k = _QUARTER * r
        quarters = (
            (x + r, y + k, x + k, y + r, x, y + r),
            (x - k, y + r, x - r, y + k, x - r, y),
            (x - r, y - k, x - k, y - r, x, y - r),
            (x + k, y - r, x + r, y - k, x + r, y),
        )
        curves = " ".join(f"{_numbers(*quarter)} c" for quarter in quarters)
        self._operators.append(f"{_numbers(x + r, y)} m {curves} h S")

    def text(
        self,
        x_mm: float,
        y_mm: float,
        text: str,
        *,
        size_mm: float,
        align: float = 0.0,
        angle_deg: float = 0.0,
        bold: bool = False,
    ) -> None:
        """Write a line on a base line; ``align`` 0 starts, 0.5 centers and 1 ends it there.

        Parameters
        ----------
        x_mm, y_mm : float
            Where the line starts, or what `align` says. [mm]
        text : str
            The line.
        size_mm : float
            Height of the letters. [mm]
        align : float
            0 starts, 0.5 centers and 1 ends the line there.
        angle_deg : float
            Turn of the base line. [°]
        bold : bool
            Whether the letters are bold.
        """
        c, s = cos(radians(angle_deg)), sin(radians(angle_deg))
        if not _built_in(text):
            self._outlined(x_mm, y_mm, text, size_mm=size_mm, align=align, angle_deg=angle_deg)
            return
        back = align * text_width_mm(text, size_mm) * (1.06 if bold else 1.0)
        matrix = _numbers(c, s, -s, c, x_mm - back * c, y_mm - back * s)
        font = "B" if bold else "R"
        self._operators.append(
            f"BT /{font} {_numbers(size_mm)} Tf {matrix} Tm <{text.encode('cp1252').hex()}> Tj ET"
        )

    def _outlined(
        self, x_mm: float, y_mm: float, text: str, *, size_mm: float, align: float, angle_deg: float
    ) -> None:
        """Write letters that the built-in fonts lack as filled shapes."""
        c, s = cos(radians(angle_deg)), sin(radians(angle_deg))
        rings, width_mm = glyph_rings(text, size_mm)
        back = align * width_mm
        self.save()
        matrix = _numbers(c, s, -s, c, x_mm - back * c, y_mm - back * s)
        self._operators.append(f"{matrix} cm")
        if rings:
            self._operators.append("\n".join([*(f"{_trail(ring)} h" for ring in rings), "f"]))
        self.restore()

    def stamp(self) -> None:
        """Draw the shared drawing of the document."""
        self._operators.append("/Plan Do")


def pdf_document(
    *, title: str, paper: PaperSize, drawing: PdfCanvas, pages: Sequence[PdfCanvas]
) -> bytes:
    """Return a PDF file whose pages share one drawing.

    Parameters
    ----------
    title : str
        Title in the document's properties.
    paper : PaperSize
        Size of every page, as it is turned.
    drawing : PdfCanvas
        What `Canvas.stamp` draws.
    pages : sequence of PdfCanvas
        The pages in order.
    """
    unit = points(1.0)
    fonts = "/Font << /R 3 0 R /B 4 0 R >>"
    kids = " ".join(f"{7 + 2 * i} 0 R" for i in range(len(pages)))
    box = f"[0 0 {points(paper.width_mm):.4f} {points(paper.height_mm):.4f}]"
    objects: list[str | bytes] = [
        # PrintScaling asks the viewer not to shrink the page to fit, which would spoil 1:1.
        "<< /Type /Catalog /Pages 2 0 R /ViewerPreferences << /PrintScaling /None >> >>",
        f"<< /Type /Pages /Kids [{kids}] /Count {len(pages)} >>",
        _font("Helvetica"),
        _font("Helvetica-Bold"),
        f"<< /Title <{_utf16(title)}> >>",
        _stream(
            drawing.content,
            f"/Type /XObject /Subtype /Form /BBox [-20000 -20000 20000 20000] "
            f"/Resources << {fonts} >>",
        ),
    ]
    for i, page in enumerate(pages):
        objects.append(
            f"<< /Type /Page /Parent 2 0 R /MediaBox {box} /Contents {8 + 2 * i} 0 R "
            f"/Resources << {fonts} /XObject << /Plan 6 0 R >> >> >>"
        )
        objects.append(_stream(f"{unit:.9f} 0 0 {unit:.9f} 0 0 cm\n".encode() + page.content, ""))
    return _file([o if isinstance(o, bytes) else o.encode("ascii") for o in objects])


def _built_in(text: str) -> bool:
    """Whether the fonts that every viewer has can spell a text."""
    try:
        text.encode("cp1252")
    except UnicodeEncodeError:
        return False
    return True


def _font(name: str) -> str:
    return f"<< /Type /Font /Subtype /Type1 /BaseFont /{name} /Encoding /WinAnsiEncoding >>"


def _stream(content: bytes, entries: str) -> bytes:
    head = f"<< {entries} /Length {len(content)} >>".encode("ascii")
    return head + b"\nstream\n" + content + b"endstream"


def _file(objects: list[bytes]) -> bytes:
    out, places = bytearray(b"%PDF-1.6\n%\xe2\xe3\xcf\xd3\n"), []
    for number, body in enumerate(objects, start=1):
        places.append(len(out))
        out += b"%d 0 obj\n%b\nendobj\n" % (number, body)
    table = b"".join(b"%010d 00000 n \n" % place for place in places)
    count = len(objects) + 1
    tail = (
        b"xref\n0 %d\n0000000000 65535 f \n%b" % (count, table)
        + b"trailer\n<< /Size %d /Root 1 0 R /Info 5 0 R >>\n" % count
        + b"startxref\n%d\n%%%%EOF\n" % len(out)
    )
    return bytes(out) + tail


def _utf16(text: str) -> str:
    return (b"\xfe\xff" + text.encode("utf-16-be", "replace")).hex()


def _numbers(*values: float) -> str:
    """Write numbers to a tenth of a micrometre, without needless zeros."""
    return " ".join(f"{value:.4f}".rstrip("0").rstrip(".") for value in values)


def _trail(points_mm: Iterable[Any]) -> str:
    corners = [f"{x:.4f} {y:.4f}" for x, y in points_mm]
    return f"{corners[0]} m " + " ".join(f"{corner} l" for corner in corners[1:])
