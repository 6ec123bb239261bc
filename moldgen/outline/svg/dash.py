"""Dashed lines: the pieces of a line that its dash pattern leaves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, isfinite

import numpy as np

from moldgen.errors import OutlineError
from moldgen.outline.curves import Points
from moldgen.outline.svg.path import Trace
from moldgen.outline.svg.shape import ElementMeasures
from moldgen.outline.svg.style import Style
from moldgen.outline.svg.value import finite

_DOT = 1e-4
"""Length of a dash of no length, over the width of the line: its caps alone are seen."""

_ENDLESS = 1e12
"""Turns of a pattern along one line beyond which nobody counts."""


@dataclass(frozen=True, slots=True)
class DashPattern:
    """Lengths of dashes and gaps in turn, and how far into them a line begins, in user units.

    No lengths stand for a whole line. A dash of no length is seen where lines have caps.
    """

    lengths: tuple[float, ...] = ()
    offset: float = 0.0
    capped: bool = False

    @property
    def period(self) -> float:
        """Length after which it comes again."""
        return sum(self.lengths)

    def count(self, traces: Sequence[Trace]) -> int:
        """Return how many dashes lines are cut into, at most."""
        if not self.lengths:
            return 0
        turns = (min(_length(trace) / self.period, _ENDLESS) for trace in traces)
        return sum(ceil(one) + 1 for one in turns) * len(self.lengths) // 2


def dash_pattern(style: Style, sizes: ElementMeasures, traces: Sequence[Trace]) -> DashPattern:
    """Return the dash pattern of a shape; that of a whole line where it cannot be read.

    References
    ----------
    .. [1] W3C, "Scalable Vector Graphics (SVG) 2", sections 9.6.1 and 13.5.6.
    """
    words = style["stroke-dasharray"].replace(",", " ").split()
    if not words or words == ["none"]:
        return DashPattern()
    try:
        lengths = [_measure(word, sizes) for word in words]
        offset = _measure(style["stroke-dashoffset"].strip() or "0", sizes)
        stated = sizes.element.get("pathLength", "").strip()
        own = finite(stated, f"pathLength of {sizes.what}") if stated else 0.0
    except (OutlineError, ValueError):
        return DashPattern()
    if min(lengths) < 0 or sum(lengths) <= 0:
        return DashPattern()
    stretch = sum(map(_length, traces)) / own if own > 0 else 1.0
    if not isfinite(stretch * sum(lengths)):
        return DashPattern()
    turns = lengths if len(lengths) % 2 == 0 else 2 * lengths
    capped = style["stroke-linecap"] in {"round", "square"}
    return DashPattern(tuple(stretch * one for one in turns), stretch * offset, capped)


def _measure(word: str, sizes: ElementMeasures) -> float:
    return sizes.ruler.length(
        word, what=f"dashes of {sizes.what}", along="r", viewport=sizes.viewport
    )


def dashed(traces: Sequence[Trace], pattern: DashPattern, *, width: float) -> list[Trace]:
    """Return the dashes of lines, each line begun anew.

    Parameters
    ----------
    traces : sequence of Trace
        The lines, in user units.
    pattern : DashPattern
        Dashes and gaps; of no period, the lines stay as they are.
    width : float
        Width of the pen, in user units.
    """
    if pattern.period <= 0:
        return list(traces)
    return [Trace(dash, False) for trace in traces for dash in _dashes(trace, pattern, width)]


def _dashes(trace: Trace, pattern: DashPattern, width: float) -> list[Points]:
    points = _whole(trace)
    if len(points) < 2:
        return [points]
    at = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    n_turns = ceil(at[-1] / pattern.period) + 1
    edges = np.concatenate([[0.0], np.cumsum(np.tile(pattern.lengths, n_turns))])
    ends = edges[:-1].reshape(-1, 2) - pattern.offset % pattern.period
    dots = pattern.capped & (ends[:, 1] <= ends[:, 0])
    ends[dots] += np.array([-0.5, 0.5]) * _DOT * width
    ends = ends.clip(0.0, at[-1])
    return [_cut(points, at, first, last) for first, last in ends[ends[:, 1] > ends[:, 0]]]


def _cut(points: Points, at: Points, first: float, last: float) -> Points:
    inside = points[(at > first) & (at < last)]
    ends = np.column_stack([np.interp([first, last], at, points[:, axis]) for axis in (0, 1)])
    return np.concatenate([ends[:1], inside, ends[1:]])


def _whole(trace: Trace) -> Points:
    """Return the points of a line, none twice in a row, back at the first if it is closed."""
    points = np.concatenate([trace.points, trace.points[:1]]) if trace.closed else trace.points
    fresh = np.r_[True, (np.diff(points, axis=0) != 0).any(axis=1)]
    return np.asarray(points[fresh])


def _length(trace: Trace) -> float:
    return float(np.hypot(*np.diff(_whole(trace), axis=0).T).sum())
