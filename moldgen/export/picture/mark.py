"""A ring round a place of a map, with words beside it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import hypot
from typing import TYPE_CHECKING

from moldgen.export.picture.canvas import PAPER, SIGNAL_RED
from moldgen.export.picture.figure import ink

if TYPE_CHECKING:
    from matplotlib.axes import Axes


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A place to be ringed, and what is said of it."""

    x_mm: float
    y_mm: float
    words: str


def with_ring_number(mark: Mark, rings: Mapping[str, tuple[float, float]]) -> Mark:
    """Return a mark whose words begin with the number of the finding's ring in the same place.

    Parameters
    ----------
    rings : mapping of str to (x, y)
        Places of findings by number; see `moldgen.export.report.report.problem_places`. [mm]
    """
    for number, (x_mm, y_mm) in rings.items():
        if hypot(mark.x_mm - x_mm, mark.y_mm - y_mm) < _SAME_MM:
            return replace(mark, words=f"{number}: {mark.words}")
    return mark


_SAME_MM = 0.5
"""Two places nearer to each other than this are one. [mm]."""


def plot_mark(ax: Axes, mark: Mark, *, middle_mm: float) -> None:
    """Plot a red ring, with its words toward the middle of the map."""
    from matplotlib.patheffects import withStroke

    side = -1 if mark.x_mm > middle_mm else 1
    ax.plot(
        [mark.x_mm], [mark.y_mm], marker="o", markersize=13, markerfacecolor="none",
        markeredgecolor=ink(SIGNAL_RED), markeredgewidth=2,
        path_effects=[withStroke(linewidth=4, foreground=ink(PAPER))],
    )  # fmt: skip
    ax.annotate(
        mark.words, (mark.x_mm, mark.y_mm), xytext=(10 * side, 0), textcoords="offset points",
        ha="left" if side > 0 else "right", va="center", color=ink(SIGNAL_RED), weight="bold",
        path_effects=[withStroke(linewidth=3.5, foreground=ink(PAPER))], zorder=5,
    )  # fmt: skip
