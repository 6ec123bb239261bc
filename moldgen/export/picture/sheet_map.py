"""A map of a formed sheet from above: contours of a value within the trim line, with a scale."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon

from moldgen.arrays import Floats
from moldgen.errors import SpecError
from moldgen.export.picture.canvas import NAVY, PAPER, SIGNAL_RED, SLATE
from moldgen.export.picture.figure import (
    SMALL_PT,
    WIDTH_PX,
    diagram_png,
    ink,
    label_axis,
    place_axes,
    write_title,
)
from moldgen.export.picture.mark import Mark, plot_mark
from moldgen.export.picture.value_scale import ValueScale
from moldgen.units_text import drawn_scale

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.path import Path
    from matplotlib.tri import Triangulation, TriContourSet


_MAP_PX = 960
_TALLEST_PX = 840
_LEAST_PX = 300
_TOP_PX = 112
_EVENED = 3
"""How often a border is evened out over the triangles beside it."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SheetMap:
    """A value at every point of a formed sheet, and what it is drawn with.

    Attributes
    ----------
    title, about : str
        Name of the job; what the map tells.
    points_mm : ndarray, shape (n, 2)
        The formed sheet's points from above. [mm]
    triangles : ndarray, shape (m, 3)
        Which points make its triangles.
    values : ndarray, shape (n,)
        One for each point, all finite.
    scale : ValueScale
        Levels and colors.
    areas_cm2 : ndarray, shape (k,)
        Area of the part in each class of the scale. [cm²]
    trim : MultiPolygon
        The map is shown within it, and not in its holes. [mm]
    outlines : tuple of MultiPolygon
        Outlines of the mold. [mm]
    vents_mm : ndarray, shape (v, 2)
        Where vents are. [mm]
    marks : tuple of Mark
        Places to be ringed.
    limit : float or None
        A value that is drawn as a red line, on the map and on the scale.
    """

    title: str
    about: str
    points_mm: Floats
    triangles: NDArray[np.int32]
    values: Floats
    scale: ValueScale
    areas_cm2: Floats
    trim: MultiPolygon
    outlines: tuple[MultiPolygon, ...] = ()
    vents_mm: Floats
    marks: tuple[Mark, ...] = ()
    limit: float | None = None

    def __post_init__(self) -> None:
        if len(self.values) != len(self.points_mm):
            rule = f"one for each of {len(self.points_mm)} points"
            raise SpecError("values", rule, str(len(self.values)))


def sheet_map_png(sheet: SheetMap) -> bytes:
    """Return the map with its scale as a PNG file, 1400 pixels wide."""
    x0, y0, x1, y1 = sheet.trim.bounds
    tall = float(np.clip(_MAP_PX * (y1 - y0) / (x1 - x0), _LEAST_PX, _TALLEST_PX))

    def plot(figure: Figure) -> None:
        write_title(figure, sheet.title, about=sheet.about)
        size_px = (_MAP_PX, tall)
        plot_sheet(place_axes(figure, left_px=96, top_px=_TOP_PX, size_px=size_px), sheet)
        left = 96 + _MAP_PX + (184 if sheet.scale.names else 110)
        size_px = (WIDTH_PX - left - 32, tall)
        plot_scale(place_axes(figure, left_px=left, top_px=_TOP_PX, size_px=size_px), sheet)

    return diagram_png(plot, height_px=round(_TOP_PX + tall + 84))


def plot_sheet(ax: Axes, sheet: SheetMap) -> None:
    """Plot the contours within the trim line, the mold's outlines, its vents and the marks."""
    from matplotlib.patches import PathPatch
    from matplotlib.tri import Triangulation

    mesh = Triangulation(sheet.points_mm[:, 0], sheet.points_mm[:, 1], sheet.triangles)
    shown = PathPatch(path_of(sheet.trim), facecolor="none", edgecolor=ink(SLATE), linewidth=1.2)
    ax.add_patch(shown)
    plot = _plot_kinds if sheet.scale.names else _plot_levels
    for classes in plot(ax, mesh, sheet):
        classes.set_clip_path(shown)
    if sheet.limit is not None and sheet.values.min() < sheet.limit < sheet.values.max():
        line = ax.tricontour(
            mesh, sheet.values, levels=[sheet.limit], colors=[ink(SIGNAL_RED)], linewidths=1.4
        )
        line.set_clip_path(shown)
    for outline in sheet.outlines:
        ax.add_patch(
            PathPatch(path_of(outline), facecolor="none", edgecolor=ink(NAVY), linewidth=0.7)
        )
    ax.plot(
        *sheet.vents_mm.T, linestyle="none", marker="o", markersize=4, markerfacecolor=ink(PAPER),
        markeredgecolor=ink(NAVY), markeredgewidth=0.9,
    )  # fmt: skip
    for mark in sheet.marks:
        plot_mark(ax, mark, middle_mm=sheet.trim.centroid.x)
    _frame(ax, sheet.trim)


def _plot_levels(ax: Axes, mesh: Triangulation, sheet: SheetMap) -> list[TriContourSet]:
    """Plot the contours of a value that runs on from point to point."""
    scale = sheet.scale
    # Sheet that is pushed together comes out a little thicker than it was: it counts to the top.
    inside = np.clip(sheet.values, scale.edges[0], np.nextafter(scale.edges[-1], scale.edges[0]))
    colors = [ink(color) for color in scale.colors]
    return [ax.tricontourf(mesh, inside, levels=list(scale.edges), colors=colors, zorder=0)]


def _plot_kinds(ax: Axes, mesh: Triangulation, sheet: SheetMap) -> list[TriContourSet]:
    """Plot classes that follow each other at a jump, each over those below it.

    Nothing lies between them at such a border, and no other class is shown there.
    """
    low, *edges = sheet.scale.edges[:-1]
    levels = [(low, -1.0), *((edge, 0.5) for edge in edges)]
    return [
        ax.tricontourf(
            mesh, share_beyond(sheet, edge), levels=[level, 1.5], colors=[ink(color)], zorder=0
        )
        for (edge, level), color in zip(levels, sheet.scale.colors, strict=True)
    ]


def share_beyond(sheet: SheetMap, edge: float) -> Floats:
    """Return how much of the sheet round each point is beyond an edge, shape (n,). [-].

    The triangles' own zigzag is evened out: a half is reached along an even line.
    """
    share = (sheet.values >= edge).astype(float)
    n_near = np.bincount(sheet.triangles.ravel(), minlength=len(share))
    for _ in range(_EVENED):
        means = np.repeat(share[sheet.triangles].mean(axis=1), 3)
        sums = np.bincount(sheet.triangles.ravel(), means, minlength=len(share))
        share = np.divide(sums, n_near, out=share, where=n_near > 0)
    return share


def _frame(ax: Axes, trim: MultiPolygon) -> None:
    x0, y0, x1, y1 = trim.bounds
    room = 0.015 * max(x1 - x0, y1 - y0)
    ax.set(xlim=(x0 - room, x1 + room), ylim=(y0 - room, y1 + room), aspect="equal", anchor="NE")
    label_axis(ax.xaxis, "x [mm]")
    label_axis(ax.yaxis, "y [mm]")


def plot_scale(ax: Axes, sheet: SheetMap) -> None:
    """Plot how much of the part lies in each class: the color scale and a histogram in one."""
    scale, areas = sheet.scale, sheet.areas_cm2
    edges = np.arange(len(scale.colors) + 1.0) if scale.names else np.asarray(scale.edges)
    ax.barh(
        edges[:-1], areas, np.diff(edges), align="edge", color=[ink(c) for c in scale.colors],
        edgecolor=ink(SLATE), linewidth=0.6,
    )  # fmt: skip
    # A narrow strip of every color on the scale itself, for classes that have no area.
    strip = 0.06 * max(float(areas.max()), 1e-9)
    ax.barh(
        edges[:-1], strip, np.diff(edges), align="edge", left=-strip,
        color=[ink(c) for c in scale.colors],
    )  # fmt: skip
    if scale.names:
        ax.set_yticks(edges[:-1] + 0.5, scale.names)
    if sheet.limit is not None:
        limit = drawn_scale(scale.unit).told(sheet.limit)
        ax.axhline(sheet.limit, color=ink(SIGNAL_RED), linewidth=1.4)
        ax.text(
            1, sheet.limit, f"{limit:.3g} ", transform=ax.get_yaxis_transform(),
            ha="right", va="bottom", color=ink(SIGNAL_RED), size=SMALL_PT,
        )  # fmt: skip
    ax.set(ylim=(edges[0], edges[-1]), xlim=(-strip, 1.15 * max(float(areas.max()), 1e-9)))
    label_axis(ax.yaxis, scale.label)
    label_axis(ax.xaxis, "area [cm²]")
    ax.locator_params(axis="x", nbins=3)


def path_of(region: MultiPolygon) -> Path:
    """Return a region as one path whose holes stay open."""
    from matplotlib.path import Path

    rings = [ring for part in region.geoms for ring in _oriented(part)]
    paths = [Path(np.asarray(ring.coords)[:, :2], closed=True) for ring in rings]
    return Path.make_compound_path(*paths)


def _oriented(part: shapely.Polygon) -> Sequence[shapely.LinearRing]:
    turned = shapely.geometry.polygon.orient(part)
    return (turned.exterior, *turned.interiors)
