"""Pictures of a formed sheet: how thick it came out, and in which order it arrived."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from moldgen.export.canvas import Colour
from moldgen.export.class_map import Classes, Mark, class_map_png
from moldgen.finding import amount
from moldgen.solid.mesh import Mesh

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

# Thin is the red of trouble; then from shallow to deep water as more of the sheet is left.
_THICKNESS: tuple[Colour, ...] = (
    (232, 64, 52), (240, 156, 92), (214, 226, 214), (150, 196, 214), (84, 146, 186), (24, 66, 110),
)  # fmt: skip
_SHARES = (0.25, 0.4, 0.55, 0.7, 0.85)
# From pale dry sand to dark wet sand, and red for what was never reached.
_ARRIVAL: tuple[Colour, ...] = (
    (244, 232, 200), (222, 198, 148), (186, 152, 100), (136, 104, 66), (84, 60, 40),
    (232, 64, 52),
)  # fmt: skip
_LEVELS = (0.25, 0.5, 0.75)


def thickness_classes(gauge_mm: float) -> Classes:
    """Return the classes of thickness of a sheet that began at a gauge."""
    borders = tuple(share * gauge_mm for share in _SHARES)
    ends = [amount(border, "") for border in borders]
    between = [f"{low} to {high}" for low, high in pairwise(ends)]
    return Classes(
        borders=borders,
        colours=_THICKNESS,
        names=(f"under {ends[0]} mm", *(f"{words} mm" for words in between), f"over {ends[-1]} mm"),
        n_trouble=1,
    )


def thickness_map_png(
    surface: Mesh,
    thickness_mm: Floats,
    *,
    gauge_mm: float,
    thinnest: Mark,
    trim_mm: tuple[Floats, ...] = (),
    part: Mask | None = None,
    title: str = "",
) -> bytes:
    """Return a PNG of a formed sheet from above, coloured by its thickness.

    Parameters
    ----------
    surface : Mesh
        The formed sheet. [mm]
    thickness_mm : ndarray, shape (m,)
        Thickness of every triangle. [mm]
    gauge_mm : float
        Thickness before forming. [mm]
    thinnest : Mark
        Where the part is thinnest.
    trim_mm : tuple of ndarray, shape (k, 2) each
        Rings of the trim line. [mm]
    part : ndarray of bool, shape (m,), optional
        Triangles within the trim line, whose areas are told.
    title : str, optional
        What stands in the caption.
    """
    classes = thickness_classes(gauge_mm)
    return class_map_png(
        surface, thickness_mm, classes,
        title=title, marks=(thinnest,), lines_mm=trim_mm, counted=part,
    )  # fmt: skip


def arrival_map_png(
    surface: Mesh,
    vacuum: Floats,
    *,
    trim_mm: tuple[Floats, ...] = (),
    part: Mask | None = None,
    title: str = "",
) -> bytes:
    """Return a PNG of a formed sheet from above, coloured by when it came to rest.

    Parameters
    ----------
    surface : Mesh
        The formed sheet. [mm]
    vacuum : ndarray, shape (m,)
        Share of the greatest vacuum at which each triangle came to rest: 0 or less while the
        mold rose, inf where it touches nothing.
    trim_mm : tuple of ndarray, shape (k, 2) each
        Rings of the trim line. [mm]
    part : ndarray of bool, shape (m,), optional
        Triangles within the trim line, whose areas are told.
    title : str, optional
        What stands in the caption.
    """
    ends = [f"{100 * level:.0f}" for level in (*_LEVELS, 1.0)]
    classes = Classes(
        borders=(1e-9, *_LEVELS, 2.0),
        colours=_ARRIVAL,
        names=(
            "as the mold rose",
            f"up to {ends[0]} % of the vacuum",
            *(f"{low} to {high} %" for low, high in pairwise(ends)),
            "never",
        ),
    )
    shown = np.where(np.isfinite(vacuum), np.minimum(vacuum, 1.0), 3.0)
    return class_map_png(surface, shown, classes, title=title, lines_mm=trim_mm, counted=part)
