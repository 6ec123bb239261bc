"""A diagram of a sheet while it is heated: temperatures over time, and the forming window."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from moldgen.arrays import Floats
from moldgen.export.picture.canvas import NAVY, SIGNAL_RED, SLATE, Color
from moldgen.export.picture.figure import (
    SMALL_PT,
    WIDTH_PX,
    diagram_png,
    ink,
    label_axis,
    place_axes,
    write_title,
)
from moldgen.units_text import as_read
from moldgen.wording import clock_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


_WINDOW: Color = (232, 214, 160)
# From the hottest to the coldest: rust, deep water, shallows; with a stroke of its own each.
_CURVES: tuple[tuple[Color, Any], ...] = (
    ((178, 66, 20), "-"), (NAVY, (0, (6, 2))), ((52, 112, 158), (0, (2, 1.5))),
)  # fmt: skip
_NAME_ROOM = 0.052


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatingCurves:
    """Temperatures of a sheet over time.

    Attributes
    ----------
    title : str
        Sheet and machine.
    times_s : ndarray, shape (n,)
        Rising. [s]
    curves_degC : tuple of (name, ndarray of shape (n,))
        At most three, the hottest first. [°C]
    window_degC : pair of float
        Between these the plastic forms. [°C]
    last_s, high_degC : float
        Where the axes end; they begin at zero. [s], [°C]
    opens_s, closes_s : float or None
        When the window opens, and when a face is too hot. [s]
    forming_s : float or None
        When the sheet is formed; None if no time is right. [s]
    """

    title: str
    times_s: Floats
    curves_degC: tuple[tuple[str, Floats], ...]
    window_degC: tuple[float, float]
    last_s: float
    high_degC: float
    opens_s: float | None
    closes_s: float | None
    forming_s: float | None


def heating_png(curves: HeatingCurves) -> bytes:
    """Return the diagram as a PNG file."""

    def plot(figure: Figure) -> None:
        write_title(figure, as_read(curves.title))
        axes = place_axes(figure, left_px=110, top_px=140, size_px=(WIDTH_PX - 370, 520))
        plot_heating(axes, curves)

    return diagram_png(plot, height_px=760)


def plot_heating(ax: Axes, curves: HeatingCurves) -> None:
    """Plot temperatures over time, the window, and the moments of the pull."""
    low, high = curves.window_degC
    ax.axhspan(low, high, color=ink(_WINDOW), linewidth=0)
    ax.text(
        0.01 * curves.last_s, high - 0.012 * curves.high_degC,
        f"forms: {low:g} to {high:g} °C", va="top", size=SMALL_PT,
    )  # fmt: skip
    ends = []
    for (name, values), (color, dashes) in zip(curves.curves_degC, _CURVES, strict=False):
        ax.plot(curves.times_s, values, color=ink(color), linestyle=dashes, linewidth=2.4)
        ends.append((min(float(values[-1]), curves.high_degC), name, color))
    _name_curves(ax, curves, ends)
    _mark_moments(ax, curves)
    ax.set(xlim=(0, curves.last_s), ylim=(0, curves.high_degC))
    ax.set_xlabel("time under the heater [s]")
    label_axis(ax.yaxis, "temperature of the sheet [°C]")
    ax.grid(axis="y")


def _name_curves(ax: Axes, curves: HeatingCurves, ends: list[tuple[float, str, Color]]) -> None:
    """Write each name beside the end of its curve, none over another."""
    above = np.inf
    for end_degC, name, color in sorted(ends, reverse=True):
        above = min(end_degC, above - _NAME_ROOM * curves.high_degC)
        ax.annotate(
            name, (curves.times_s[-1], above), xytext=(6, 0), textcoords="offset points",
            va="center", color=ink(color), annotation_clip=False,
        )  # fmt: skip


def _mark_moments(ax: Axes, curves: HeatingCurves) -> None:
    """Draw an upright line at each moment, named above the axes, one row each."""
    moments = (
        (curves.opens_s, "window opens", SLATE, 1.01),
        (curves.forming_s, "pull", SIGNAL_RED, 1.06),
        (curves.closes_s, "too hot", SLATE, 1.01),
    )
    for time_s, words, color, height in moments:
        if time_s is None:
            continue
        ax.axvline(time_s, ymax=height, color=ink(color), linewidth=1.4, clip_on=False)
        side = "right" if words == "window opens" else "left"
        ax.text(
            time_s, height, f" {words} {clock_text(time_s)} ", transform=ax.get_xaxis_transform(),
            ha=side, va="bottom", color=ink(color),
            weight="bold" if color == SIGNAL_RED else "normal",
        )  # fmt: skip
