"""A QR code drawn on a page (ISO/IEC 18004)."""

from __future__ import annotations

from itertools import groupby

from moldgen.export.plan.pdf_canvas import PdfCanvas

_QUIET = 4
"""Modules left white around it, as the standard asks. [-]."""


def draw_qr_code(
    page: PdfCanvas, link: str, *, left_mm: float, top_mm: float, size_mm: float
) -> None:
    """Draw the code of a link into a square.

    Parameters
    ----------
    page : PdfCanvas
        Where it is drawn.
    link : str
        What a phone reads.
    left_mm, top_mm : float
        The square's upper left corner, its quiet zone included. [mm]
    size_mm : float
        Side of the square. [mm]
    """
    # Only pages with a link need it.
    import segno

    rows = segno.make(link, micro=False).matrix
    module_mm = size_mm / (len(rows) + 2 * _QUIET)
    page.pen(0.0)
    dark = []
    for i, row in enumerate(rows):
        y1 = top_mm - (i + _QUIET) * module_mm
        column = 0
        for is_dark, run in groupby(row):
            length = len(list(run))
            if is_dark:
                x0 = left_mm + (column + _QUIET) * module_mm
                x1, y0 = x0 + length * module_mm, y1 - module_mm
                dark.append([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])
            column += length
    page.region(dark, fill=True)
