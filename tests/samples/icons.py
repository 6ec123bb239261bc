"""Drawings of icon packages, raised at 120 mm."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import shapely

from moldgen.errors import MoldgenError
from moldgen.outline.repair import repair_outline
from moldgen.outline.sizing import WantedSize
from moldgen.outline.svg.read import outline_from_svg

from .run import Outcome, outcome_of

WIDTH_MM = 120.0
FINE_MM = 2e-4
"""Chords of the outline that another one is held against. [mm]."""


@dataclass(frozen=True, kw_only=True)
class Icon:
    """What became of one drawing.

    Attributes
    ----------
    name : str
        Of its file.
    raised : Outcome
        What the command did.
    stray_mm : float
        How far its outline strays from its curves; nan where none was read. [mm]
    """

    name: str
    raised: Outcome
    stray_mm: float


def icon_of(path: Path, out: Path) -> Icon:
    """Raise one drawing, and measure its outline."""
    raised = outcome_of("raise", path, out, ["--width", f"{WIDTH_MM:g}"])
    stray = stray_mm(path) if raised.is_made else float("nan")
    return Icon(name=path.name, raised=raised, stray_mm=stray)


def stray_mm(path: Path) -> float:
    """Return how far an outline is from the same curves cut fifty times as fine, either way."""
    size = WantedSize(width_mm=WIDTH_MM)
    try:
        drawn = repair_outline(outline_from_svg(path, size=size).region).region
        fine = repair_outline(outline_from_svg(path, size=size, chord_mm=FINE_MM).region).region
    except MoldgenError:
        return float("nan")
    one, other = drawn.boundary, fine.boundary
    return max(_farthest_mm(one, other), _farthest_mm(other, one))


def _farthest_mm(line: shapely.Geometry, other: shapely.Geometry) -> float:
    points = shapely.points(shapely.get_coordinates(shapely.segmentize(line, 1.0)))
    pieces = np.concatenate([_sides(part) for part in shapely.get_parts(other)])
    tree = shapely.STRtree(pieces)
    _, away = tree.query_nearest(points, return_distance=True, all_matches=False)
    return float(away.max())


def _sides(line: shapely.Geometry) -> np.ndarray:
    corners = shapely.get_coordinates(line)
    return np.asarray(shapely.linestrings(np.stack([corners[:-1], corners[1:]], axis=1)))
