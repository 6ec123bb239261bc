"""Text in lines no wider than a column, for pages written with `PdfCanvas`."""

from __future__ import annotations

from moldgen.export.plan.pdf_canvas import text_width_mm

LINE_SPACING = 1.28
"""From base line to base line, in heights of the letters. [-]."""
BOLD = 1.06
"""Bold letters are so much wider. [-]."""


def broken_lines(text: str, *, size_mm: float, width_mm: float) -> list[str]:
    """Return a text broken between words into lines that are no wider than a column.

    A word that is too wide by itself stands on a line of its own.

    Parameters
    ----------
    text : str
        What is written.
    size_mm : float
        Height of the letters. [mm]
    width_mm : float
        Width of the column. [mm]
    """
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width_mm(longer, size_mm) <= width_mm:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


def fitting_size_mm(text: str, *, most_mm: float, width_mm: float) -> float:
    """Return the height of bold letters with which one line fits a width, `most_mm` at most."""
    wide_mm = BOLD * text_width_mm(text, most_mm)
    return most_mm * min(1.0, width_mm / wide_mm) if wide_mm > 0 else most_mm
