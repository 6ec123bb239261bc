"""A mold cut open: the section drawn true to scale, the sheet above it, and a closer look."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from moldgen.errors import SpecError
from moldgen.export.picture.canvas import NAVY, SLATE, Color
from moldgen.export.picture.figure import (
    SMALL_PT,
    WIDTH_PX,
    diagram_png,
    ink,
    place_axes,
    plot_dimension,
    write_title,
)
from moldgen.solid.mesh import Body, Mesh, Points, joined
from moldgen.solid.section import section_rings, section_rise_mm
from moldgen.wording import gauge_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_CUT_FACE: Color = (205, 220, 229)
_HATCH: Color = (112, 140, 160)
_SHEET: Color = (214, 138, 52)
_SHEET_INK: Color = (150, 84, 16)
_SIDE_PX, _HEAD_PX = 144, 126
_TALLEST_PX = 420
_N_TRIALS = 15
# The sheet hangs at this share of the mold's height above it.
_SHEET_GAP = 0.35
_SEEN_FROM = ("the right", "the front")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Section:
    """A mold cut open.

    Attributes
    ----------
    title, about : str
        Name of the job; where it is cut.
    rings : tuple of ndarray, shape (k, 2) each
        The cut face: counter-clockwise around material, clockwise around hollows. [mm]
    low_mm, high_mm, floor_mm, top_mm : float
        Extent of the mold along the cut, and in height. [mm]
    sheet_mm : float, optional
        Gauge of the sheet above the mold. [mm]
    """

    title: str
    about: str
    rings: tuple[Points, ...]
    low_mm: float
    high_mm: float
    floor_mm: float
    top_mm: float
    sheet_mm: float | None = None

    @property
    def ceiling_mm(self) -> float:
        """Height of the sheet's upper face. [mm]."""
        return self.floor_mm + (self.top_mm - self.floor_mm) * (1 + _SHEET_GAP) + 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """Which part of a section is drawn, and how large.

    Attributes
    ----------
    low_mm, high_mm : float
        From where to where along the cut. [mm]
    px_per_mm : float
        Scale. [1/mm]
    """

    low_mm: float
    high_mm: float
    px_per_mm: float


def section_png(
    bodies: Sequence[Body],
    *,
    sheet_mm: float | None = None,
    at_mm: float | None = None,
    title: str = "",
) -> bytes:
    """Return a PNG of a mold cut open along its longer side, height and length to one scale.

    A flat mold gets a second drawing below: the part with most walls, larger.

    Parameters
    ----------
    bodies : sequence of Body
        The mold. [mm]
    sheet_mm : float, optional
        Gauge of the sheet, drawn above the mold. [mm]
    at_mm : float, optional
        Where to cut, on the mold's shorter side; left out, where the cut shows most walls. [mm]
    title : str, optional
        What stands above the drawing.

    Returns
    -------
    bytes
        1400 pixels wide.

    Raises
    ------
    SpecError
        If there is no body, or the cut misses the mold.
    """
    section = cut_open(bodies, sheet_mm=sheet_mm, at_mm=at_mm, title=title)
    whole, close = windows_of(section)
    tall_mm = section.ceiling_mm - section.floor_mm
    below_px = _HEAD_PX + tall_mm * whole.px_per_mm + 130

    def axes(figure: Figure, window: Window, top_px: float) -> Axes:
        wide_px = (window.high_mm - window.low_mm) * window.px_per_mm
        return place_axes(
            figure, left_px=(WIDTH_PX - wide_px) / 2, top_px=top_px,
            size_px=(wide_px, tall_mm * window.px_per_mm), bare=True,
        )  # fmt: skip

    def plot(figure: Figure) -> None:
        write_title(figure, section.title, about=section.about)
        above = axes(figure, whole, _HEAD_PX)
        plot_section(above, section, whole)
        plot_size(above, section, whole)
        if close is not None:
            below = axes(figure, close, below_px)
            plot_section(below, section, close)
            plot_closer(above, below, section, whole, close)

    last_px = below_px + tall_mm * close.px_per_mm if close else below_px - 60
    return diagram_png(plot, height_px=round(last_px + 40))


def cut_open(
    bodies: Sequence[Body], *, sheet_mm: float | None, at_mm: float | None, title: str = ""
) -> Section:
    """Return the section of `section_png`, to be plotted."""
    if not bodies:
        raise SpecError("bodies", "at least one body", "none")
    mesh = joined([body.mesh for body in bodies])
    axis = cut_axis(mesh)
    at_mm = best_cut_mm(mesh, axis=axis) if at_mm is None else at_mm
    rings = section_rings(mesh, axis=axis, at_mm=at_mm)
    if not rings:
        low, high = mesh.bounds_mm[:, axis]
        if cut_place_mm(bodies) is None:
            raise SpecError("bodies", "closed where they are cut", "a surface with open edges")
        raise SpecError("at_mm", f"within the mold, {low:g} to {high:g} mm", f"{at_mm:g} mm")
    (low, high), (floor, top) = mesh.bounds_mm[:, 1 - axis].tolist(), mesh.bounds_mm[:, 2].tolist()
    cut = f"cut along {'yx'[axis]} at {'xy'[axis]} = {at_mm:.1f} mm, seen from {_SEEN_FROM[axis]}"
    return Section(
        title=title or "Section", about=cut, rings=tuple(rings), low_mm=low, high_mm=high,
        floor_mm=floor, top_mm=top, sheet_mm=sheet_mm,
    )  # fmt: skip


def cut_place_mm(bodies: Sequence[Body]) -> float | None:
    """Return where `section_png` cuts if nothing is said; None where no cut face closes. [mm]."""
    mesh = joined([body.mesh for body in bodies])
    axis = cut_axis(mesh)
    at_mm = best_cut_mm(mesh, axis=axis)
    return at_mm if section_rings(mesh, axis=axis, at_mm=at_mm) else None


def cut_axis(mesh: Mesh) -> int:
    """Return the axis to cut across, so that the cut runs along the longer side: 0 or 1."""
    width, depth, _ = np.ptp(mesh.points_mm, axis=0)
    return 1 if width >= depth else 0


def best_cut_mm(mesh: Mesh, *, axis: int) -> float:
    """Return the place on an axis where a cut shows most walls and vents. [mm]."""
    low, high = mesh.bounds_mm[:, axis]
    places = low + (high - low) * (np.arange(_N_TRIALS) + 1) / (_N_TRIALS + 1)
    along = [mesh.points_mm[mesh.triangles[:, k], axis] for k in range(3)]
    least, most = np.minimum.reduce(along), np.maximum.reduce(along)
    rises = []
    for place in places.tolist():
        parted = Mesh(mesh.points_mm, mesh.triangles[(least < place) & (most >= place)])
        rises.append(section_rise_mm(parted, axis=axis, at_mm=place))
    # Of equals the one nearest the middle.
    off_middle = np.abs(places - (low + high) / 2)
    return float(places[np.lexsort((off_middle, -np.round(rises, 6)))[0]])


def windows_of(section: Section) -> tuple[Window, Window | None]:
    """Return the window on the whole section, and a closer one on a flat mold."""
    low, high = section.low_mm, section.high_mm
    room = WIDTH_PX - 2 * _SIDE_PX
    tallest = _TALLEST_PX / (section.ceiling_mm - section.floor_mm)
    scale = min(room / (high - low), tallest)
    whole = Window(low_mm=low, high_mm=high, px_per_mm=scale)
    larger = min(5 * scale, tallest)
    if larger < 1.5 * scale:
        return whole, None
    wide = room / larger
    start = _busiest_mm(section.rings, wide, low, high)
    return whole, Window(low_mm=start, high_mm=start + wide, px_per_mm=larger)


def _busiest_mm(rings: Sequence[Points], wide_mm: float, low_mm: float, high_mm: float) -> float:
    """Return where a window of that width begins to hold most walls."""
    middles = np.concatenate([(ring + np.roll(ring, -1, axis=0))[:, 0] / 2 for ring in rings])
    rises = np.concatenate([np.abs(np.diff(ring[:, 1], append=ring[0, 1])) for ring in rings])
    starts = np.linspace(low_mm, high_mm - wide_mm, 41)
    inside = (middles >= starts[:, None]) & (middles <= starts[:, None] + wide_mm)
    return float(starts[(inside * rises).sum(axis=1).argmax()])


def plot_section(ax: Axes, section: Section, window: Window) -> None:
    """Plot the cut face with its hatching and outline, the table under it, the sheet above it."""
    # As artists, because `add_patch` would look for limits in every piece, and they are known.
    from matplotlib.patches import PathPatch, Rectangle
    from matplotlib.path import Path

    px = 1 / window.px_per_mm
    rings = [Path(np.concatenate([ring, ring[:1]]), closed=True) for ring in section.rings]
    face = Path.make_compound_path(*rings)
    ax.add_artist(PathPatch(face, facecolor=ink(_CUT_FACE), edgecolor=ink(_HATCH), hatch="//",
                           linewidth=0))  # fmt: skip
    ax.add_artist(PathPatch(face, facecolor="none", edgecolor=ink(NAVY), linewidth=1.2))
    left, wide = window.low_mm - 40 * px, window.high_mm - window.low_mm + 80 * px
    ground = Rectangle(
        (left, section.floor_mm - 9 * px), wide, 9 * px, clip_on=False, facecolor="none",
        edgecolor=ink(SLATE), hatch="///", linewidth=0,
    )  # fmt: skip
    ax.add_artist(ground)
    ax.plot(
        [left, left + wide], [section.floor_mm] * 2, color=ink(NAVY), linewidth=1, clip_on=False
    )
    if section.sheet_mm is not None:
        thick = max(section.sheet_mm, 1.5 * px)
        ceiling = section.ceiling_mm
        ax.add_artist(Rectangle((left, ceiling - thick), wide, thick, facecolor=ink(_SHEET),
                               linewidth=0, clip_on=False))  # fmt: skip
        ax.text(left + wide, ceiling + 5 * px, f"sheet {gauge_text(section.sheet_mm)}", ha="right",
                va="bottom", size=SMALL_PT, color=ink(_SHEET_INK))  # fmt: skip
    ax.set(xlim=(window.low_mm, window.high_mm), ylim=(section.floor_mm, section.ceiling_mm))


def plot_size(ax: Axes, section: Section, window: Window) -> None:
    """Plot the dimensions of the cut: its height and its length."""
    px = 1 / window.px_per_mm
    every = np.concatenate(section.rings)
    (low, floor), (high, top) = every.min(axis=0).tolist(), every.max(axis=0).tolist()
    aside, below = high + 26 * px, floor - 30 * px
    ax.plot([high + 4 * px, aside + 6 * px], [top] * 2, color=ink(SLATE), linewidth=0.8,
            clip_on=False)  # fmt: skip
    plot_dimension(ax, (aside, floor), (aside, top), f"{top - floor:.1f} mm")
    plot_dimension(ax, (low, below), (high, below), f"{high - low:.1f} mm")


def plot_closer(above: Axes, below: Axes, section: Section, whole: Window, close: Window) -> None:
    """Mark on the whole section which part is drawn larger below it."""
    from matplotlib.patches import Rectangle

    px = 1 / whole.px_per_mm
    size = (close.high_mm - close.low_mm, section.top_mm - section.floor_mm + 12 * px)
    above.add_artist(Rectangle((close.low_mm, section.floor_mm - 6 * px), *size, facecolor="none",
                              edgecolor=ink(SLATE), linewidth=0.9, clip_on=False))  # fmt: skip
    times = close.px_per_mm / whole.px_per_mm
    below.text(close.low_mm - 40 / close.px_per_mm, section.ceiling_mm + 5 / close.px_per_mm,
               f"the same, {times:.1f} times larger", va="bottom", size=SMALL_PT,
               color=ink(SLATE))  # fmt: skip
