"""The layers of a wooden mold pulled apart, seen from above at a slant."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from shapely import MultiPolygon

from moldgen.export.picture.canvas import NAVY, SLATE, Color
from moldgen.export.picture.figure import (
    SMALL_PT,
    WIDTH_PX,
    diagram_png,
    ink,
    place_axes,
    write_title,
)

if TYPE_CHECKING:
    from matplotlib.artist import Artist
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_TOP: Color = (228, 205, 163)
_SIDE: Color = (196, 164, 112)
_HEAD_PX, _SIDE_PX, _LABEL_PX, _FOOT_PX = 126, 60, 320, 40
_TALLEST_PX = 1400
_SLANT = np.array([[1.0, 0.0], [0.35, 0.5]])
"""Where one mm of x and one of y go in the picture."""
_N_SLICES = 16
"""A side is drawn as so many slices."""
_APART_SHARE = 0.22
"""Layers stand so far apart, as a share of the mold's depth."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StackLayer:
    """One layer as it is drawn.

    Attributes
    ----------
    words : str
        What is written beside it.
    lower, upper : MultiPolygon
        Its faces. [mm]
    z_mm, thickness_mm : float
        Height of its lower face, and its thickness. [mm]
    """

    words: str
    lower: MultiPolygon
    upper: MultiPolygon
    z_mm: float
    thickness_mm: float


def stack_png(layers: Sequence[StackLayer], *, title: str) -> bytes:
    """Return a PNG of layers pulled apart, the lowest at the bottom, each with its words.

    Parameters
    ----------
    layers : sequence of StackLayer
        From the bottom.
    title : str
        Name of the job.
    """
    lifts = _lifts_mm(layers)
    corners = np.concatenate(
        [_slanted(ring, lift) for layer, lift in zip(layers, lifts, strict=True)
         for ring in _rings(layer.lower)]
    )  # fmt: skip
    (x0, y0), (x1, y1) = corners.min(axis=0), corners.max(axis=0)
    y1 += layers[-1].thickness_mm
    room = WIDTH_PX - 2 * _SIDE_PX - _LABEL_PX
    scale = min(room / (x1 - x0), _TALLEST_PX / (y1 - y0))
    size = ((x1 - x0) * scale, (y1 - y0) * scale)

    def plot(figure: Figure) -> None:
        write_title(figure, title, about=f"{len(layers)} layers, pulled apart; the front is below")
        axes = place_axes(figure, left_px=_SIDE_PX, top_px=_HEAD_PX, size_px=size, bare=True)
        for layer, lift in zip(layers, lifts, strict=True):
            _plot_layer(axes, layer, lift, right_mm=x1 + 14 / scale)
        axes.set(xlim=(x0, x1), ylim=(y0, y1))

    return diagram_png(plot, height_px=round(_HEAD_PX + size[1] + _FOOT_PX))


def _lifts_mm(layers: Sequence[StackLayer]) -> list[float]:
    """Return how high each layer is drawn: layers at one height stay at one height. [mm]."""
    boxes = np.array([layer.lower.bounds for layer in layers])
    deep_mm = float(boxes[:, 3].max() - boxes[:, 1].min())
    heights = sorted({round(layer.z_mm, 3) for layer in layers})
    apart_mm = max(_APART_SHARE * deep_mm, 2 * min(layer.thickness_mm for layer in layers))
    return [layer.z_mm + apart_mm * heights.index(round(layer.z_mm, 3)) for layer in layers]


def _rings(region: MultiPolygon) -> list[NDArray[np.float64]]:
    return [
        np.asarray(ring.coords, dtype=np.float64)[:, :2]
        for part in region.geoms
        for ring in (part.exterior, *part.interiors)
    ]


def _slanted(ring: NDArray[np.float64], lift_mm: float) -> NDArray[np.float64]:
    slanted: NDArray[np.float64] = ring @ _SLANT + np.array([0.0, lift_mm])
    return slanted


def _plot_layer(ax: Axes, layer: StackLayer, lift_mm: float, *, right_mm: float) -> None:
    for step in range(_N_SLICES):
        share = step / _N_SLICES
        side = layer.lower if share < 0.5 or layer.upper.is_empty else layer.upper
        edge = NAVY if step == 0 else _SIDE
        ax.add_artist(_patch(side, lift_mm + share * layer.thickness_mm, _SIDE, edge))
    if not layer.upper.is_empty:
        ax.add_artist(_patch(layer.upper, lift_mm + layer.thickness_mm, _TOP, NAVY))
    _, y = _slanted(np.array([layer.lower.bounds[2:]]), lift_mm)[0]
    low = _slanted(np.array([layer.lower.bounds[:2]]), lift_mm)[0][1]
    ax.text(right_mm, (y + low) / 2, layer.words, va="center", size=SMALL_PT, color=ink(SLATE),
            clip_on=False)  # fmt: skip


def _patch(region: MultiPolygon, lift_mm: float, color: Color, edge: Color) -> Artist:
    from matplotlib.patches import PathPatch
    from matplotlib.path import Path

    rings = [Path(_slanted(ring, lift_mm), closed=True) for ring in _rings(region)]
    face = Path.make_compound_path(*rings)
    return PathPatch(face, facecolor=ink(color), edgecolor=ink(edge), linewidth=0.8)
