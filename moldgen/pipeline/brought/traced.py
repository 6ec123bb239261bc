"""What is told of a drawing that was traced in a photograph."""

from __future__ import annotations

from collections.abc import Sequence

from moldgen.finding import Finding, Severity
from moldgen.outline.trace import TracedOutline

_MOST_AROUND = 0.01
"""Share of the picture up to which what was left out around the paper is not worth a word."""

_MOST_OPEN = 0.25
"""Share of the ink in open lines from which on something drawn is likely missing."""


def traced_findings(name: str, traced: TracedOutline) -> Sequence[Finding]:
    """Return what somebody should know about a traced drawing.

    Parameters
    ----------
    name : str
        What the findings call the picture.
    """
    seen = []
    if traced.at_edge:
        seen.append(_caution(
            "drawing-at-edge", name, "the drawing runs off the picture and was cut there",
            "Take the photograph with some paper all round.",
        ))  # fmt: skip
    if traced.around_share > _MOST_AROUND:
        seen.append(_caution(
            "drawing-surroundings", name,
            "what is dark along the border of the picture is left out as what lies around the "
            "paper; share of the picture",
            "Take the photograph with paper all round if it belongs to the drawing.",
            share=traced.around_share,
        ))  # fmt: skip
    if traced.open_share > _MOST_OPEN:
        seen.append(_caution(
            "drawing-open-lines", name,
            "lines that enclose nothing are raised as thin as they were drawn; share of the ink",
            "Close their gaps with a dark pen, or leave filling out.",
            share=traced.open_share,
        ))  # fmt: skip
    if traced.is_grainy:
        seen.append(_caution(
            "drawing-grainy", name,
            "the ink is grainy, as of a crayon, so its edge is told less surely than that of a pen",
            "Look at the outline before it is printed; where it is not as drawn, go along its edge "
            "with a pen and take the photograph again.",
        ))  # fmt: skip
    return seen


def _caution(
    code: str, name: str, says: str, advice: str, *, share: float | None = None
) -> Finding:
    return Finding(
        code=code,
        severity=Severity.CAUTION,
        says=says,
        measured=None if share is None else 100 * share,
        unit="" if share is None else "%",
        subject=name,
        basis="the picture itself",
        advice=advice,
    )
