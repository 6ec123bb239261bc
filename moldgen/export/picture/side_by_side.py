"""Molds side by side: formed sheets in one row of maps, or times at the heater as bars."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil
from typing import TYPE_CHECKING

import numpy as np

from moldgen.errors import SpecError
from moldgen.export.picture.canvas import NAVY, SLATE, Color
from moldgen.export.picture.figure import (
    SMALL_PT,
    WIDTH_PX,
    diagram_png,
    ink,
    label_axis,
    place_axes,
    write_title,
)
from moldgen.export.picture.sheet_map import SheetMap, plot_sheet
from moldgen.export.picture.value_scale import ValueScale
from moldgen.units_text import as_read

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

MOST_IN_ROW = 4
_LEFT_PX, _TOP_PX, _GAP_PX, _SCALE_PX = 64, 130, 56, 150
_TALLEST_PX, _LEAST_PX = 620, 160
_BAR_PX = 56
_WINDOW: Color = (232, 214, 160)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SheetRow:
    """Formed sheets of several molds, drawn with one scale.

    Attributes
    ----------
    title, about : str
        Name of the job; what the maps tell.
    labels : tuple of str
        What each mold is called.
    maps : tuple of SheetMap
        One for each; all have the same scale.
    """

    title: str
    about: str
    labels: tuple[str, ...]
    maps: tuple[SheetMap, ...]

    def __post_init__(self) -> None:
        if len(self.labels) != len(self.maps) or not self.maps:
            raise SpecError("labels", "one for each map", f"{len(self.labels)}")
        if any(one.scale.edges != self.maps[0].scale.edges for one in self.maps):
            raise SpecError("maps", "drawn with one scale", "several")


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatingWindow:
    """When a sheet can be formed.

    Attributes
    ----------
    label : str
        What it is called.
    opens_s, forms_s, closes_s : float or None
        When it is soft enough, when it is formed, when it is too hot; None if it never is. [s]
    """

    label: str
    opens_s: float | None
    forms_s: float | None
    closes_s: float | None


def sheet_row_png(row: SheetRow) -> bytes:
    """Return the maps with one scale as a PNG file, four in a row at the most."""
    columns = min(MOST_IN_ROW, len(row.maps))
    wide = (WIDTH_PX - _LEFT_PX - _SCALE_PX - columns * _GAP_PX) / columns
    shapes = [np.subtract(one.trim.bounds[2:], one.trim.bounds[:2]) for one in row.maps]
    tall = float(np.clip(wide * max(y / x for x, y in shapes), _LEAST_PX, _TALLEST_PX))
    rows = ceil(len(row.maps) / columns)

    def plot(figure: Figure) -> None:
        write_title(figure, row.title, about=row.about)
        for number, (label, one) in enumerate(zip(row.labels, row.maps, strict=True)):
            down, across = divmod(number, columns)
            left, top = _LEFT_PX + across * (wide + _GAP_PX), _TOP_PX + down * (tall + 2 * _GAP_PX)
            axes = place_axes(figure, left_px=left, top_px=top, size_px=(wide, tall))
            plot_sheet(axes, replace(one, marks=()))
            axes.locator_params(nbins=4)
            axes.set(xlabel="", ylabel="", anchor="C")
            axes.set_title(label, size=SMALL_PT, color=ink(NAVY))
        left = WIDTH_PX - _SCALE_PX + 60
        plot_colors(
            place_axes(figure, left_px=left, top_px=_TOP_PX, size_px=(24, tall)), row.maps[0].scale
        )

    return diagram_png(plot, height_px=round(_TOP_PX + rows * (tall + 2 * _GAP_PX)))


def plot_colors(ax: Axes, scale: ValueScale) -> None:
    """Plot a scale's colors, one above the other."""
    edges = np.asarray(scale.edges)
    ax.barh(
        edges[:-1], np.ones(len(scale.colors)), np.diff(edges), align="edge",
        color=[ink(color) for color in scale.colors], edgecolor=ink(SLATE), linewidth=0.4,
    )  # fmt: skip
    ax.set(xlim=(0, 1), ylim=(edges[0], edges[-1]), xticks=[])
    label_axis(ax.yaxis, scale.label)


def heating_windows_png(title: str, windows: tuple[HeatingWindow, ...]) -> bytes:
    """Return as a PNG file when each sheet can be formed: bars, with a line where it is."""
    tall = float(_BAR_PX * len(windows))

    def plot(figure: Figure) -> None:
        write_title(figure, title, about="when each sheet can be formed, and when it is")
        size_px = (WIDTH_PX - 400 - 60, tall)
        axes = place_axes(figure, left_px=400, top_px=_TOP_PX, size_px=size_px)
        plot_windows(axes, windows)

    return diagram_png(plot, height_px=round(_TOP_PX + tall + 90))


def plot_windows(ax: Axes, windows: tuple[HeatingWindow, ...]) -> None:
    """Plot a bar from opening to closing for each sheet, first at the top."""
    last_s = max((w.closes_s or w.forms_s or w.opens_s or 0.0 for w in windows), default=0.0)
    end_s = 1.1 * last_s or 1.0
    for place, window in enumerate(windows):
        if window.opens_s is not None:
            width_s = (window.closes_s or end_s) - window.opens_s
            ax.barh(place, width_s, 0.6, left=window.opens_s, color=ink(_WINDOW),
                    edgecolor=ink(SLATE), linewidth=0.6)  # fmt: skip
        if window.forms_s is not None:
            ax.plot([window.forms_s] * 2, [place - 0.4, place + 0.4], color=ink(NAVY))
    ax.set_yticks(range(len(windows)), [as_read(window.label) for window in windows])
    ax.set(xlim=(0, end_s), ylim=(len(windows) - 0.5, -0.5), xlabel="time under the heater [s]")
    ax.grid(axis="x")
