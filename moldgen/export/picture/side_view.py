"""A bent strip from the side, with its dimensions, where it stands and what leans on it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from moldgen.export.picture.canvas import NAVY, SIGNAL_RED, SLATE, Color
from moldgen.export.picture.figure import (
    PX_PER_INCH,
    SMALL_PT,
    USUAL_PT,
    WIDTH_PX,
    diagram_png,
    ink,
    place_axes,
    plot_dimension,
    write_title,
)
from moldgen.export.picture.free_place import Box, Label, free_place

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_PLASTIC: Color = (150, 182, 199)
_THING: Color = (226, 214, 186)
_TABLE: Color = (168, 150, 116)
_BEND: Color = (178, 66, 20)
_TOP_PX = 84.0
_ROOM_PX = (230.0, 70.0, 230.0, 110.0)
"""Left free for lettering: left, above, right, below."""
_TALLEST_PX = 640.0
_LINE_PX = USUAL_PT * PX_PER_INCH / 72


@dataclass(frozen=True, slots=True, kw_only=True)
class Balance:
    """How a strip stands.

    Attributes
    ----------
    middle_mm : (x, height)
        Center of mass. [mm]
    contact_mm : pair of float
        Outermost x at which it touches the table. [mm]
    words : str
        How far it may lean.
    """

    middle_mm: tuple[float, float]
    contact_mm: tuple[float, float]
    words: str

    @property
    def lines(self) -> BaseGeometry:
        """From the center of mass to the edges it tips over. [mm]."""
        return shapely.MultiLineString([[self.middle_mm, (x, 0.0)] for x in self.contact_mm])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SideView:
    """A bent strip from the side, and all that is told of it.

    Attributes
    ----------
    title : str
        What it is.
    strip : geometry
        Its outline. [mm]
    start_mm : (x, height)
        A spot on the face with the marks, where the strip begins. [mm]
    things : tuple of (name, Polygon)
        What leans on it. [mm]
    labels : tuple of Label
        What is told of legs and bends.
    balance : Balance, optional
        How it stands on a table at height 0.
    """

    title: str
    strip: BaseGeometry
    start_mm: tuple[float, float]
    things: tuple[tuple[str, Polygon], ...]
    labels: tuple[Label, ...]
    balance: Balance | None = None

    @property
    def drawn(self) -> BaseGeometry:
        """Strip and things together. [mm]."""
        return shapely.union_all([self.strip, *(thing for _, thing in self.things)])

    @property
    def px_per_mm(self) -> float:
        """Scale at which it is drawn. [1/mm]."""
        x0, y0, x1, y1 = self.drawn.bounds
        left, _, right, _ = _ROOM_PX
        wide = (WIDTH_PX - left - right) / max(x1 - x0, 1.0)
        return float(min(wide, _TALLEST_PX / max(y1 - y0, 1.0)))

    @property
    def window_mm(self) -> Box:
        """What is seen: strip and things, and room for lettering. [mm]."""
        x0, y0, x1, y1 = self.drawn.bounds
        scale = self.px_per_mm
        _, above, _, below = _ROOM_PX
        half = WIDTH_PX / scale / 2
        middle = (x0 + x1) / 2
        return middle - half, y0 - below / scale, middle + half, max(y1, y0 + 1) + above / scale


def side_view_png(view: SideView) -> bytes:
    """Return the view as a PNG file, 1400 pixels wide."""
    _, y0, _, y1 = view.window_mm
    tall = (y1 - y0) * view.px_per_mm

    def plot(figure: Figure) -> None:
        words = "" if view.balance is None else view.balance.words
        write_title(figure, view.title, about=words, color=SIGNAL_RED)
        ax = place_axes(figure, left_px=0, top_px=_TOP_PX, size_px=(WIDTH_PX, tall), bare=True)
        plot_side(ax, view)

    return diagram_png(plot, height_px=round(_TOP_PX + tall))


def plot_side(ax: Axes, view: SideView) -> None:
    """Plot the strip, what leans on it, its labels and size, and how it stands."""
    from matplotlib.patches import Polygon as Patch

    x0, y0, x1, y1 = view.window_mm
    ax.set(xlim=(x0, x1), ylim=(y0, y1))
    px = 1 / view.px_per_mm
    if view.balance is not None:
        low, _, high, _ = view.drawn.bounds
        ax.plot([low - 60 * px, high + 60 * px], [-px, -px], color=ink(_TABLE), linewidth=2)
    for name, thing in view.things:
        corners = np.asarray(thing.exterior.coords)
        ax.add_patch(Patch(corners, facecolor=ink(_THING), edgecolor=ink(SLATE), linewidth=0.9))
        x, y = corners[corners[:, 1].argmax()]
        ax.text(x, y + 6 * px, name, ha="center", size=SMALL_PT, color=ink(SLATE))
    for part in shapely.get_parts(view.strip):
        corners = np.asarray(part.exterior.coords)
        ax.add_patch(Patch(corners, facecolor=ink(_PLASTIC), edgecolor=ink(NAVY), linewidth=1.2))
    ax.plot(
        *[[value] for value in view.start_mm], marker="o", markersize=6, markerfacecolor="none",
        markeredgecolor=ink(_BEND), markeredgewidth=1.8,
    )  # fmt: skip
    _plot_labels(ax, view)
    if view.balance is not None:
        _plot_balance(ax, view.balance)
    _plot_size(ax, view)


def _plot_labels(ax: Axes, view: SideView) -> None:
    """Write each label where it is clear of everything, with a line to a spot far from it."""
    px = 1 / view.px_per_mm
    for label, box in placed_labels(view):
        x0, y0, x1, y1 = box
        middle = ((x0 + x1) / 2, (y0 + y1) / 2)
        near = (np.clip(label.spot_mm[0], x0, x1), np.clip(label.spot_mm[1], y0, y1))
        if np.hypot(*np.subtract(near, label.spot_mm)) > 34 * px:
            ax.plot(*np.transpose([label.spot_mm, near]), color=ink(SLATE), linewidth=0.6)
        color = ink(_BEND if label.is_bend else NAVY)
        ax.text(*middle, label.words, ha="center", va="center", color=color)


def placed_labels(view: SideView) -> Iterator[tuple[Label, Box]]:
    """Yield each label with the box it is written in. [mm]."""
    px = 1 / view.px_per_mm
    left, _, _, top = view.window_mm
    foot = view.drawn.bounds[1] - (0 if view.balance is not None else 46) * px
    room = (left + 6 * px, foot, _aside_mm(view) - 12 * px, top)
    ink_mm = view.drawn if view.balance is None else view.drawn.union(view.balance.lines)
    taken: list[Box] = []
    for label in view.labels:
        box = free_place(label, ink_mm, taken, room=room, line_mm=_LINE_PX * px)
        taken.append(box)
        yield label, box


def _plot_balance(ax: Axes, balance: Balance) -> None:
    """Plot the center of mass, and the edges over which it tips."""
    x, y = balance.middle_mm
    red = ink(SIGNAL_RED)
    ax.plot([x], [y], marker="o", markersize=10, markerfacecolor="none", markeredgecolor=red,
            markeredgewidth=1.8)  # fmt: skip
    ax.plot([x], [y], marker="+", markersize=16, markeredgecolor=red, markeredgewidth=0.9)
    for contact in balance.contact_mm:
        ax.plot([x, contact], [y, 0.0], color=red, linewidth=0.6)
        ax.plot([contact], [0.0], marker=6, markersize=9, color=red)


def _plot_size(ax: Axes, view: SideView) -> None:
    """Plot the overall width and height of the strip."""
    px = 1 / view.px_per_mm
    x0, y0, x1, y1 = view.strip.bounds
    below = view.drawn.bounds[1] - 60 * px
    aside = _aside_mm(view)
    plot_dimension(ax, (x0, below), (x1, below), f"{x1 - x0:.1f} mm")
    plot_dimension(ax, (aside, y0), (aside, y1), f"{y1 - y0:.1f} mm")


def _aside_mm(view: SideView) -> float:
    """Return where the height is written: right of the strip, within the picture. [mm]."""
    px = 1 / view.px_per_mm
    return float(min(view.strip.bounds[2] + 130 * px, view.window_mm[2] - 116 * px))
