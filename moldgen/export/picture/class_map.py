"""A mesh seen from above, its triangles colored by classes of some value, with a legend."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldgen.errors import SpecError
from moldgen.export.picture.canvas import NAVY, PAPER, SIGNAL_RED, SLATE, Canvas, Color
from moldgen.export.picture.caption import write_caption
from moldgen.export.picture.render import View, ViewFrame, frame_of, render
from moldgen.solid.mesh import Mesh

Floats = NDArray[np.float64]

ABOVE = View(azimuth_deg=0, elevation_deg=90)
UNKNOWN: Color = (176, 176, 172)
WIDTH_PX = 1400
LEGEND_PX = 140


@dataclass(frozen=True, slots=True, kw_only=True)
class Classes:
    """Classes of a value: borders between them, a color and a name for each.

    Attributes
    ----------
    borders : tuple of float
        Rising; a value on a border belongs to the class above it.
    colors : tuple of color
        One more than the borders.
    names : tuple of str
        What the legend calls each.
    n_trouble : int
        How many of the first classes are trouble if any area is in them.
    """

    borders: tuple[float, ...]
    colors: tuple[Color, ...]
    names: tuple[str, ...]
    n_trouble: int = 0

    def __post_init__(self) -> None:
        wanted = len(self.borders) + 1
        if len(self.colors) != wanted or len(self.names) != wanted:
            got = f"{len(self.colors)} colors, {len(self.names)} names"
            raise SpecError("classes", f"{wanted} colors and names", got)

    def colors_of(self, values: Floats) -> NDArray[np.uint8]:
        """Return the color of each value, gray for nan, shape (m, 3)."""
        paint = np.array([*self.colors, UNKNOWN], dtype=np.uint8)
        number = np.searchsorted(self.borders, np.nan_to_num(values), side="right")
        number[np.isnan(values)] = len(self.colors)
        return paint[number]


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A ring round a place, with words beside it."""

    x_mm: float
    y_mm: float
    words: str


def class_map_png(
    mesh: Mesh,
    values: Floats,
    classes: Classes,
    *,
    title: str = "",
    marks: tuple[Mark, ...] = (),
    lines_mm: tuple[Floats, ...] = (),
    counted: NDArray[np.bool_] | None = None,
) -> bytes:
    """Return a PNG of a mesh from above, colored by classes, with the area of each.

    Parameters
    ----------
    mesh : Mesh
        What is looked at; a surface need not be closed. [mm]
    values : ndarray, shape (m,)
        One for each triangle; nan where there is none.
    classes : Classes
        Borders, colors and names.
    title : str, optional
        What stands in the caption before the size.
    marks : tuple of Mark
        Places to be ringed.
    lines_mm : tuple of ndarray, shape (k, 2) each
        Rings within which it is shown, such as those of the trim line; all of it without. [mm]

    counted : ndarray of bool, shape (m,), optional
        Triangles whose area the legend tells; all of them without.

    Returns
    -------
    bytes
        1400 pixels wide.

    Raises
    ------
    SpecError
        If the values are not one for each triangle.
    """
    if len(values) != len(mesh.triangles):
        raise SpecError(
            "values", f"one for each of {len(mesh.triangles)} triangles", f"{len(values)}"
        )
    shown = _shown(mesh, lines_mm)
    size_px = (WIDTH_PX, _height_px(shown))
    frame = frame_of(shown, view=ABOVE, size_px=size_px, margin=0.05)
    canvas = Canvas(size_px[0], size_px[1] + LEGEND_PX)
    panel = render(
        mesh, view=ABOVE, size_px=size_px, colors=classes.colors_of(values),
        background=PAPER, frame=frame, even_light=True,
    )  # fmt: skip
    canvas.paste(panel, left_px=0, top_px=0)
    if lines_mm:
        _cut_out(canvas, [_in_picture(line, frame, size_px) for line in lines_mm], size_px)
    for mark in marks:
        _ring(canvas, mark, frame, size_px)
    counted_values = values if counted is None else np.where(counted, values, np.nan)
    _legend(canvas, mesh, counted_values, classes, top_px=size_px[1])
    write_caption(canvas, shown, title, px_per_mm=frame.px_per_mm)
    return canvas.png()


def _height_px(mesh: Mesh) -> int:
    width, depth, _ = np.ptp(mesh.points_mm, axis=0)
    return int(np.clip(0.9 * WIDTH_PX * depth / max(width, 1e-9) + 120, 360, 1000))


def _shown(mesh: Mesh, lines_mm: tuple[Floats, ...]) -> Mesh:
    """Return the points that must be in the picture: those within the lines, or all."""
    if not lines_mm:
        return mesh
    along = np.concatenate(lines_mm)
    low, high = along.min(axis=0), along.max(axis=0)
    within = ((mesh.points_mm[:, :2] >= low) & (mesh.points_mm[:, :2] <= high)).all(axis=1)
    heights = mesh.points_mm[within, 2] if within.any() else np.zeros(1)
    corners = [[*low, heights.min()], [*high, heights.max()]]
    return Mesh(np.array(corners), np.zeros((0, 3), np.int32))


def _in_picture(
    places_mm: Floats, frame: ViewFrame, size_px: tuple[int, int]
) -> list[tuple[float, float]]:
    x = size_px[0] / 2 + (places_mm[:, 0] - frame.right_mm) * frame.px_per_mm
    y = size_px[1] / 2 - (places_mm[:, 1] - frame.up_mm) * frame.px_per_mm
    return [(float(a), float(b)) for a, b in zip(x, y, strict=True)]


def _cut_out(
    canvas: Canvas, rings: list[list[tuple[float, float]]], size_px: tuple[int, int]
) -> None:
    """Lay paper over all that lies outside of the rings, and draw the rings."""
    width, height = size_px
    start = (0.0, 0.0)
    # One line round the picture and round every ring, back to its start between them, leaves the
    # rings open: it runs along each way between them there and back.
    cover = [start, (width, 0.0), (width, height), (0.0, height), start]
    for ring in rings:
        cover += [*ring, ring[0], start]
    canvas.area(cover, color=PAPER)
    for ring in rings:
        canvas.trail([*ring, ring[0]], width_px=1.5, color=SLATE)


def _ring(canvas: Canvas, mark: Mark, frame: ViewFrame, size_px: tuple[int, int]) -> None:
    ((x, y),) = _in_picture(np.array([[mark.x_mm, mark.y_mm]]), frame, size_px)
    canvas.ring((x, y), radius_px=17, color=SIGNAL_RED, width_px=2.5)
    side, anchor = (26, "lm") if x < 0.8 * size_px[0] else (-26, "rm")
    place = (x + side, y)
    canvas.write(
        place, mark.words, size_px=18, color=SIGNAL_RED, anchor=anchor, bold=True, halo=PAPER
    )


def _legend(canvas: Canvas, mesh: Mesh, values: Floats, classes: Classes, *, top_px: int) -> None:
    """Explain the colors, with the area of each."""
    known = np.isfinite(values)
    number = np.searchsorted(classes.borders, values[known], side="right")
    areas_cm2 = np.bincount(number, mesh.areas_mm2[known], minlength=len(classes.names)) / 100.0
    step = (canvas.width_px - 48) / len(classes.names)
    rows = zip(classes.colors, classes.names, areas_cm2, strict=True)
    for i, (color, name, area) in enumerate(rows):
        x, y = 24 + i * step, top_px + 12
        box = [(x, y), (x + step - 12, y), (x + step - 12, y + 18), (x, y + 18)]
        canvas.area(box, color=color)
        trouble = i < classes.n_trouble and area >= 0.05
        ink = SIGNAL_RED if trouble else NAVY
        canvas.write((x, y + 38), name, size_px=15, color=ink, bold=trouble)
        canvas.write((x, y + 57), f"{area:.1f} cm²", size_px=14, color=ink if trouble else SLATE)
