"""A mesh seen from above, its triangles colored by classes of some value, with a legend."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

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
    show_pixels,
    write_title,
)
from moldgen.export.picture.mark import Mark, plot_mark
from moldgen.export.picture.render import View, ViewFrame, render
from moldgen.export.picture.value_scale import ValueScale
from moldgen.solid.mesh import Mesh

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_ABOVE = View(azimuth_deg=0, elevation_deg=90)
_TOP_PX = 112
_MAP_PX = WIDTH_PX - 96 - 32
_TALLEST_PX = 720.0
_LEAST_AREA_CM2 = 0.05


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ClassMap:
    """A view from above in the colors of classes.

    Attributes
    ----------
    title, about : str
        Name of the job; what the map tells.
    view : ndarray, shape (h, w, 3), uint8
        The mesh seen from above.
    window_mm : (x0, x1, y0, y1)
        What of the table the view shows. [mm]
    scale : ValueScale
        Classes with names and colors.
    areas_cm2 : ndarray, shape (k,)
        Area of the mesh in each class. [cm²]
    n_trouble : int
        How many of the first classes are trouble if any area is in them.
    marks : tuple of Mark
        Places to be ringed.
    """

    title: str
    about: str
    view: NDArray[np.uint8]
    window_mm: tuple[float, float, float, float]
    scale: ValueScale
    areas_cm2: Floats
    n_trouble: int = 0
    marks: tuple[Mark, ...] = ()


def class_map(
    mesh: Mesh,
    values: Floats,
    scale: ValueScale,
    *,
    title: str,
    about: str,
    n_trouble: int = 0,
    marks: tuple[Mark, ...] = (),
) -> ClassMap:
    """Look at a mesh from above, each triangle in the color of its value's class.

    Parameters
    ----------
    values : ndarray, shape (m,)
        One for each triangle; nan where there is none.

    Raises
    ------
    SpecError
        If the values are not one for each triangle.
    """
    if len(values) != len(mesh.triangles):
        rule = f"one for each of {len(mesh.triangles)} triangles"
        raise SpecError("values", rule, f"{len(values)}")
    (x0, y0, _), (x1, y1, _) = mesh.bounds_mm
    room = 0.015 * max(x1 - x0, y1 - y0, 1e-6)
    wide, deep = x1 - x0 + 2 * room, y1 - y0 + 2 * room
    px_per_mm = min(_MAP_PX / wide, _TALLEST_PX / deep)
    size_px = (max(round(wide * px_per_mm), 16), max(round(deep * px_per_mm), 16))
    x, y = (float(x0 + x1) / 2, float(y0 + y1) / 2)
    half_x, half_y = (px / px_per_mm / 2 for px in size_px)
    view = render(
        mesh, view=_ABOVE, size_px=size_px, colors=scale.colors_of(values), background=PAPER,
        frame=ViewFrame(right_mm=x, up_mm=y, px_per_mm=px_per_mm), even_light=True,
    )  # fmt: skip
    return ClassMap(
        title=title,
        about=about,
        view=view,
        window_mm=(x - half_x, x + half_x, y - half_y, y + half_y),
        scale=scale,
        areas_cm2=scale.areas_cm2(values, mesh.areas_mm2),
        n_trouble=n_trouble,
        marks=marks,
    )


def class_map_png(shown: ClassMap) -> bytes:
    """Return the map and its legend as a PNG file, 1400 pixels wide."""
    tall, wide, _ = shown.view.shape

    def plot(figure: Figure) -> None:
        write_title(figure, shown.title, about=shown.about)
        left = 96 + (_MAP_PX - wide) / 2
        size_px = (float(wide), float(tall))
        plot_classes(place_axes(figure, left_px=left, top_px=_TOP_PX, size_px=size_px), shown)
        foot = place_axes(
            figure, left_px=24, top_px=_TOP_PX + tall + 80, size_px=(WIDTH_PX - 48, 84), bare=True
        )
        plot_legend(foot, shown)

    return diagram_png(plot, height_px=_TOP_PX + tall + 80 + 100)


def plot_classes(ax: Axes, shown: ClassMap) -> None:
    """Plot the view at its place on the table, with its marks."""
    x0, x1, *_ = shown.window_mm
    show_pixels(ax, shown.view, window_mm=shown.window_mm)
    label_axis(ax.xaxis, "x [mm]")
    label_axis(ax.yaxis, "y [mm]")
    for mark in shown.marks:
        plot_mark(ax, mark, middle_mm=(x0 + x1) / 2)


def plot_legend(ax: Axes, shown: ClassMap) -> None:
    """Plot a box in the color of each class, with its name and the area that is in it."""
    from matplotlib.patches import Rectangle

    scale = shown.scale
    ax.set(xlim=(0, len(scale.colors)), ylim=(0, 1))
    rows = zip(scale.colors, scale.names, shown.areas_cm2, strict=True)
    for number, (color, name, area) in enumerate(rows):
        trouble = number < shown.n_trouble and area >= _LEAST_AREA_CM2
        weight = "bold" if trouble else "normal"
        box = Rectangle((number, 0.76), 0.94, 0.24, facecolor=ink(color), linewidth=0)
        ax.add_artist(box)
        ax.text(
            number, 0.68, name, va="top", weight=weight, color=ink(SIGNAL_RED if trouble else NAVY)
        )
        ax.text(
            number, 0.36, f"{area:.1f} cm²", va="top", size=SMALL_PT, weight=weight,
            color=ink(SIGNAL_RED if trouble else SLATE),
        )  # fmt: skip
