"""A plan drawn onto the axes of somebody's own diagram."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from moldgen.export.plan.items import Dimension, Hole, Item, Line, PlanRegion
from moldgen.export.plan.layers import LINE_KINDS, LayerStyle
from moldgen.export.plan.plan import Plan

if TYPE_CHECKING:
    from matplotlib.axes import Axes as Axes

_POINTS_PER_MM = 72.0 / 25.4


def draw_plan(axes: Axes, plan: Plan) -> None:
    """Draw a plan onto axes in millimeters, to scale, each kind of line in its own style.

    Parameters
    ----------
    axes : matplotlib.axes.Axes
        Where it is drawn; its scale becomes the same in x and y.
    plan : Plan
        What is drawn; its notes and dimensions are left to the axes' own numbers.
    """
    for layer in plan.layers:
        label = LINE_KINDS[layer].title
        for item in plan.on(layer):
            for points in _lines_of(item):
                axes.plot(*points.T, label=label, **_style(LINE_KINDS[layer]))
                label = ""  # each kind once in the legend
    axes.set_aspect("equal")
    axes.set_xlabel("x [mm]")
    axes.set_ylabel("y [mm]")
    axes.set_title(plan.title)


def _lines_of(item: Item) -> list[np.ndarray[Any, Any]]:
    """Return the lines of an item, shape (n, 2) each. [mm]."""
    if isinstance(item, PlanRegion):
        return [np.concatenate([ring, ring[:1]]) for ring in item.rings]
    if isinstance(item, Hole):
        around = np.linspace(0.0, 2 * np.pi, 33)
        middle, radius = np.array([item.x_mm, item.y_mm]), item.diameter_mm / 2
        return [middle + radius * np.column_stack([np.cos(around), np.sin(around)])]
    if isinstance(item, Line) and not isinstance(item, Dimension):
        return [np.array([item.start_mm, item.end_mm])]
    return []


def _style(style: LayerStyle) -> dict[str, Any]:
    """Return a line kind as the axes take it."""
    width = style.width_mm * _POINTS_PER_MM
    # Dashes are told in line widths.
    dashes = tuple(length * _POINTS_PER_MM / width for length in style.dash_mm)
    return {
        "color": style.color,
        "linewidth": width,
        "linestyle": (0, dashes[: len(dashes) // 2 * 2]) if dashes else "-",
    }
