"""Drawings of icon packages, raised at 120 mm."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import shapely
from shapely import affinity

from moldgen.errors import MoldgenError
from moldgen.outline.drawing import Drawing
from moldgen.outline.repair import SPECK_MM2, repair_outline
from moldgen.outline.sizing import WantedSize
from moldgen.outline.svg.read import outline_from_svg
from moldgen.solid.polygons import polygons_of, rings_of

from .run import Outcome, outcome_of

WIDTH_MM = 120.0
FINE_MM = 2e-4
"""Chords of the outline that another one is held against. [mm]."""

_HAIR_MM = 0.02
"""Slits of less are none over chords of a hundredth on both sides. [mm]."""

_OF_CHORDS = 4e-4
"""Share of the width by which chords on both sides make a drawing narrower. [-]."""


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
        How far its outline, as read, strays from its curves; nan where none was read. [mm]
    mended_mm : float
        How wide what mending cut off or filled in is at most; nan where none was read. [mm]
    """

    name: str
    raised: Outcome
    stray_mm: float
    mended_mm: float


def icon_of(path: Path, out: Path) -> Icon:
    """Raise one drawing, and measure its outline."""
    raised = outcome_of("raise", path, out, ["--width", f"{WIDTH_MM:g}"])
    stray = mended = float("nan")
    if raised.is_made:
        try:
            stray, mended = stray_mm(path), mended_mm(path)
        except MoldgenError:
            pass
    return Icon(name=path.name, raised=raised, stray_mm=stray, mended_mm=mended)


def stray_mm(path: Path) -> float:
    """Return how far an outline is from the same curves cut fifty times as fine, either way.

    Both as they are read, in boxes of one size: a box is as wide as asked for over chords, a
    few hundredths more or less over the curves, and a drawing five times as tall as wide shows
    five times as much of that. Mending ends a needle where it is too thin for a wall and a slit
    where it is too narrow for the sheet; a hundredth of a millimeter of width moves that end by
    tenths along the needle, which says nothing of the curves: `mended_mm` holds it to its limits.
    """
    one = _without_hairs(_read(path)).boundary
    other = _sized_as(one, _without_hairs(_read(path, chord_mm=FINE_MM)).boundary)
    return max(_farthest_mm(one, other), _farthest_mm(other, one))


def _without_hairs(drawing: Drawing) -> shapely.Geometry:
    """Return an outline without the slits that are narrower than its chords are close."""
    wide = shapely.buffer(drawing.region, _HAIR_MM / 2, join_style="mitre")
    return shapely.buffer(wide, -_HAIR_MM / 2, join_style="mitre")


def _sized_as(line: shapely.Geometry, other: shapely.Geometry) -> shapely.Geometry:
    """Return a line stretched to the height of another, if chords alone tell them apart."""
    heights = [box[3] - box[1] for box in (line.bounds, other.bounds)]
    factor = heights[0] / heights[1]
    if abs(factor - 1) > _OF_CHORDS:
        return other
    x0, y0, *_ = other.bounds
    return affinity.scale(other, factor, factor, origin=(x0, y0))


def mended_mm(path: Path) -> float:
    """Return how wide what mending changed is at its widest, whole specks left out. [mm]."""
    region = _read(path).region
    changed = shapely.symmetric_difference(region, repair_outline(region).region)
    areas = [shapely.Polygon(ring) for ring in rings_of(region)]
    specks = [shapely.buffer(area, 1e-6) for area in areas if area.area < SPECK_MM2]
    pieces = polygons_of(shapely.difference(changed, shapely.union_all(specks))).geoms
    circles = [shapely.maximum_inscribed_circle(piece, tolerance=1e-3) for piece in pieces]
    return 2 * max((circle.length for circle in circles), default=0.0)


def _read(path: Path, *, chord_mm: float = 0.01) -> Drawing:
    return outline_from_svg(path, size=WantedSize(width_mm=WIDTH_MM), chord_mm=chord_mm)


def _farthest_mm(line: shapely.Geometry, other: shapely.Geometry) -> float:
    points = shapely.points(shapely.get_coordinates(shapely.segmentize(line, 1.0)))
    pieces = np.concatenate([_sides(part) for part in shapely.get_parts(other)])
    tree = shapely.STRtree(pieces)
    _, away = tree.query_nearest(points, return_distance=True, all_matches=False)
    return float(away.max())


def _sides(line: shapely.Geometry) -> np.ndarray:
    corners = shapely.get_coordinates(line)
    return np.asarray(shapely.linestrings(np.stack([corners[:-1], corners[1:]], axis=1)))
