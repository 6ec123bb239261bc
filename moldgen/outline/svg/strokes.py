"""Whether the lines of a drawing are outlines, or bodies as wide as they are drawn."""

from __future__ import annotations

from collections.abc import Sequence

from moldgen.outline.drawing import Remarks
from moldgen.outline.svg.frame import Piece

_BROAD = 0.02
"""Share of the drawing's longer side from which on a line is meant as wide as it is drawn (common
practice, no source): lines of icons have 4 to 9 %, construction lines below 1 %."""

WITH_WIDTH = "count lines with their width: --strokes outline, or strokes in a job file"


def are_broad(pieces: Sequence[Piece], extent: tuple[float, float, float, float]) -> bool:
    """Tell whether there are lines without a fill, and each states a width that can be seen.

    Parameters
    ----------
    pieces : sequence of Piece
        What was met, lines without their width.
    extent : tuple of four floats
        Left, bottom, right and top of what is drawn. [mm]
    """
    left, bottom, right, top = extent
    least_mm = _BROAD * max(right - left, top - bottom)
    drawn = [piece for piece in pieces if piece.lines]
    return bool(drawn) and all(one.width_mm >= least_mm for one in drawn)


def tell_outlined(remarks: Remarks) -> None:
    """Note that lines count with their width."""
    remarks.add(
        "drawing-strokes-outlined",
        "the lines of the drawing are broad, so they count with the width they are drawn with",
        advice="If closed lines are borders of what is meant, ask for --strokes ignore.",
    )
