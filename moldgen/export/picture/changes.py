"""What making a shape formable changed: heights before and after, and the difference as a map."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from moldgen.arrays import Grid
from moldgen.export.picture.figure import (
    SMALL_PT,
    count_axis,
    diagram_png,
    ink,
    place_axes,
    write_title,
)
from moldgen.export.picture.value_scale import blend
from moldgen.units_text import drawn_scale

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_LEFT_PX, _PANEL_PX, _GAP_PX, _HEAD_PX, _TALLEST_PX = 66, 392, 64, 138, 640
# From deep water to sand, darker to lighter all the way, so that grays tell the same.
_HEIGHTS = ((24, 52, 92), (52, 112, 158), (120, 172, 196), (206, 204, 178), (248, 238, 206))
# Taken away in blue, added in rust, unchanged in the color of paper.
_CHANGES = ((24, 84, 150), (128, 172, 208), (246, 241, 229), (228, 150, 96), (164, 54, 20))
_N_SHADES = 255


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ChangeMap:
    """Heights above the table before and after, at the same nodes.

    Attributes
    ----------
    title : str
        Name of the job.
    before_mm, after_mm : ndarray, shape (ny, nx)
        First row in front; 0 where there is nothing. [mm]
    cell_mm : float
        Distance of neighboring nodes. [mm]
    """

    title: str
    before_mm: Grid
    after_mm: Grid
    cell_mm: float

    @property
    def top_mm(self) -> float:
        """Greatest height. [mm]."""
        return float(max(self.before_mm.max(), self.after_mm.max()))

    @property
    def most_mm(self) -> float:
        """Greatest change, either way. [mm]."""
        return float(max(np.abs(self.after_mm - self.before_mm).max(), 1e-3))

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and depth that is shown. [mm]."""
        ny, nx = self.after_mm.shape
        return nx * self.cell_mm, ny * self.cell_mm


def change_map_png(before_mm: Grid, after_mm: Grid, *, cell_mm: float, title: str) -> bytes:
    """Return a PNG of heights before, heights after, and what was added or taken away.

    Parameters
    ----------
    before_mm, after_mm : ndarray, shape (ny, nx)
        Heights above the table at the same nodes, first row in front. [mm]
    cell_mm : float
        Distance of neighboring nodes. [mm]
    title : str
        What stands over it.
    """
    shown = change_map(before_mm, after_mm, cell_mm=cell_mm, title=title)
    wide_mm, deep_mm = shown.size_mm
    scale = min(_PANEL_PX / wide_mm, _TALLEST_PX / deep_mm)
    tall = deep_mm * scale
    panels = (plot_before, plot_after, plot_change)

    def plot(figure: Figure) -> None:
        write_title(figure, title, about="made formable, from above; all in mm")
        size_px = (wide_mm * scale, tall)
        for number, panel in enumerate(panels):
            left_px = _LEFT_PX + number * (_PANEL_PX + _GAP_PX)
            ax = place_axes(figure, left_px=left_px, top_px=_HEAD_PX, size_px=size_px)
            panel(ax, shown)
            below = _HEAD_PX + tall + 64
            bar = place_axes(figure, left_px=left_px, top_px=below, size_px=(size_px[0], 12))
            plot_colors(bar, ax)

    return diagram_png(plot, height_px=round(_HEAD_PX + tall + 130))


def change_map(before_mm: Grid, after_mm: Grid, *, cell_mm: float, title: str) -> ChangeMap:
    """Return the map of `change_map_png`, to be plotted: only where there is something."""
    rows, columns = np.nonzero((before_mm > 0) | (after_mm > 0))
    window = (slice(rows.min(), rows.max() + 1), slice(columns.min(), columns.max() + 1))
    return ChangeMap(
        title=title, before_mm=before_mm[window], after_mm=after_mm[window], cell_mm=cell_mm
    )


def plot_before(ax: Axes, shown: ChangeMap) -> None:
    """Plot the heights as they were brought."""
    _plot_heights(ax, shown, shown.before_mm, "as brought")


def plot_after(ax: Axes, shown: ChangeMap) -> None:
    """Plot the heights as they are made."""
    _plot_heights(ax, shown, shown.after_mm, "as made")


def plot_change(ax: Axes, shown: ChangeMap) -> None:
    """Plot what was added and what was taken away."""
    most = shown.most_mm
    _plot_grid(ax, shown, shown.after_mm - shown.before_mm, "change of height [mm]",
               ramp=_CHANGES, ends_mm=(-most, most))  # fmt: skip


def _plot_heights(ax: Axes, shown: ChangeMap, heights_mm: Grid, words: str) -> None:
    """Plot heights in color, in a light from the upper left; bare where there is nothing."""
    there = np.where(heights_mm > 0, heights_mm, np.nan)
    _plot_grid(ax, shown, there, f"{words}: height [mm]", ramp=_HEIGHTS, ends_mm=(0, shown.top_mm))
    (picture,) = ax.images
    colors = np.array(picture.cmap(picture.norm(there)))
    colors[..., :3] *= _light(heights_mm, shown.cell_mm)[..., None]
    picture.set_data(np.where(np.isnan(there)[..., None], 0.0, colors))


def _plot_grid(ax: Axes, shown: ChangeMap, values: Grid, words: str, *, ramp: Any,
               ends_mm: tuple[float, float]) -> None:  # fmt: skip
    from matplotlib.colors import ListedColormap

    wide, deep = shown.size_mm
    colors = ListedColormap([ink(color) for color in blend(ramp, _N_SHADES)])
    ax.imshow(
        values, origin="lower", extent=(0, wide, 0, deep), cmap=colors, vmin=ends_mm[0],
        vmax=ends_mm[1], aspect="auto",
    )  # fmt: skip
    ax.set_title(words, loc="left", size=SMALL_PT)
    for axis in (ax.xaxis, ax.yaxis):
        count_axis(axis, "mm")
    ax.locator_params(nbins=4)


def plot_colors(ax: Axes, panel: Axes) -> None:
    """Plot what the colors of a panel stand for: its least, middle and greatest value."""
    picture = panel.images[0]
    low, high = picture.get_clim()
    ticks = [low, (low + high) / 2, high]
    bar = ax.figure.colorbar(picture, cax=ax, orientation="horizontal", ticks=ticks)
    told = drawn_scale("mm").told
    bar.ax.set_xticklabels([f"{told(tick):.3g}" for tick in ticks])


def _light(heights: Grid, cell_mm: float) -> Grid:
    """Return how light each node is, from 0.62 to 1, in a light from the upper left."""
    along, across = np.gradient(heights, cell_mm) if min(heights.shape) > 1 else (heights, heights)
    light = (1 + 0.6 * (across - along)) / np.sqrt(1 + across**2 + along**2) / 1.31
    return 0.62 + 0.38 * np.clip(light, 0, 1)
