"""Shapes of the library drawn by hand: by marker, pencil, crayon or ballpoint."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
import shapely.ops
from shapely import affinity

from moldgen.outline.library.shapes import list_shapes, outline_from_shape

from .raster import Shares, covered, smooth_noise

PAPER_MM = (210.0, 297.0)
PX_MM = 8.0
"""Pixels in a millimeter of the paper."""

PENS = ("filled-marker", "outline-marker", "pencil", "crayon", "ballpoint")
FILLED = {"filled-marker", "crayon"}

_TONES = {
    "filled-marker": ((0.03, 0.03, 0.04), (0.45, 0.04, 0.05), (0.03, 0.08, 0.4), (0.03, 0.3, 0.1)),
    "outline-marker": ((0.03, 0.03, 0.04), (0.5, 0.04, 0.05), (0.03, 0.08, 0.45)),
    "pencil": ((0.2, 0.2, 0.21),),
    "crayon": ((0.55, 0.06, 0.06), (0.06, 0.12, 0.5), (0.05, 0.3, 0.1), (0.04, 0.04, 0.04)),
    "ballpoint": ((0.04, 0.07, 0.4), (0.05, 0.05, 0.06)),
}
"""Linear reflectance of full cover, red, green and blue."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Ink:
    """One drawing on a sheet of A4, y down the sheet.

    Attributes
    ----------
    pen : str
        One of `PENS`.
    shape : str
        Of the library.
    cover : ndarray, shape (ny, nx)
        Share of ink, 8 pixels in a millimeter. [-]
    tone : tuple of three floats
        What full cover reflects. [-]
    truth_mm : shapely MultiPolygon
        What the ink encloses, or with a filled drawing what it covers. [mm]
    """

    pen: str
    shape: str
    cover: Shares
    tone: tuple[float, float, float]
    truth_mm: shapely.Geometry


def drawn(rng: np.random.Generator, *, pen: str, shape: str = "") -> Ink:
    """Draw a shape somewhere on the sheet, any way round."""
    name = shape or str(rng.choice(sorted(info.name for info in list_shapes())))
    region = _by_hand(rng, _placed(rng, name))
    tones = _TONES[pen]
    ink, truth = _DRAW[pen](rng, region)
    tone = tones[rng.integers(len(tones))]
    return Ink(pen=pen, shape=name, cover=np.clip(ink, 0, 1), tone=tone, truth_mm=truth)


def _placed(rng: np.random.Generator, name: str) -> shapely.Geometry:
    region = outline_from_shape(name, width_mm=100.0)
    x0, y0, x1, y1 = region.bounds
    size = rng.uniform(90, 150) / max(x1 - x0, y1 - y0)
    # Upside down, because y of a sheet goes down.
    sized = affinity.scale(region, size, -size, origin=(0, 0))
    turned = affinity.rotate(sized, rng.uniform(-20, 20) + 90 * rng.integers(0, 4))
    x0, y0, x1, y1 = turned.bounds
    free_x, free_y = PAPER_MM[0] - (x1 - x0), PAPER_MM[1] - (y1 - y0)
    return affinity.translate(
        turned, free_x * rng.uniform(0.35, 0.65) - x0, free_y * rng.uniform(0.25, 0.75) - y0
    )


def _by_hand(rng: np.random.Generator, region: shapely.Geometry) -> shapely.Geometry:
    """Return a region bent a little, as no hand draws straight."""
    size = (int(PAPER_MM[0]) + 1, int(PAPER_MM[1]) + 1)
    bends = [0.5 * smooth_noise(rng, size, 30.0) for _ in range(2)]

    def bent(xy: np.ndarray) -> np.ndarray:
        i, j = np.clip(xy[:, 1], 0, 297).astype(int), np.clip(xy[:, 0], 0, 210).astype(int)
        return xy + np.column_stack([bend[i, j] for bend in bends])

    fine = shapely.segmentize(shapely.simplify(region, 0.02), 1.5)
    return shapely.make_valid(shapely.transform(fine, bent))


def _sheet(region: shapely.Geometry) -> Shares:
    size = (round(PAPER_MM[0] * PX_MM), round(PAPER_MM[1] * PX_MM))
    return covered(region, size=size, px_mm=PX_MM)


def _grain(rng: np.random.Generator, cell_mm: float) -> Shares:
    size = (round(PAPER_MM[0] * PX_MM), round(PAPER_MM[1] * PX_MM))
    return smooth_noise(rng, size, cell_mm * PX_MM)


def _filled_marker(rng: np.random.Generator, region: shapely.Geometry) -> tuple[Shares, object]:
    streaks = 0.93 + 0.04 * _grain(rng, 4.0)
    return _sheet(region) * streaks, region


def _enclosed(line: shapely.Geometry) -> shapely.Geometry:
    return shapely.union_all([shapely.Polygon(p.exterior) for p in shapely.get_parts(line)])


def _outline(rng: np.random.Generator, region: shapely.Geometry, width_mm: float) -> tuple:
    line = shapely.buffer(region.boundary, width_mm / 2)
    return _sheet(line) * (0.95 + 0.03 * _grain(rng, 3.0)), _enclosed(line)


def _outline_marker(rng: np.random.Generator, region: shapely.Geometry) -> tuple:
    return _outline(rng, region, rng.uniform(1.5, 4.0))


def _ballpoint(rng: np.random.Generator, region: shapely.Geometry) -> tuple:
    cover, truth = _outline(rng, region, rng.uniform(0.4, 0.6))
    return cover * np.clip(0.85 + 0.15 * _grain(rng, 1.0), 0.4, 1.0), truth


def _pencil(rng: np.random.Generator, region: shapely.Geometry) -> tuple:
    width = rng.uniform(0.6, 1.0)
    line = shapely.buffer(_with_gaps(rng, region.boundary), width / 2, cap_style="round")
    pressure = rng.uniform(0.55, 0.85) + 0.08 * _grain(rng, 8.0) + 0.12 * _grain(rng, 0.3)
    whole = _enclosed(shapely.buffer(region.boundary, width / 2))
    return _sheet(line) * np.clip(pressure, 0.2, 1.0), whole


def _with_gaps(rng: np.random.Generator, lines: shapely.Geometry) -> shapely.Geometry:
    """Return lines with a few gaps of half a millimeter to one of bare paper."""
    pieces = []
    for line in shapely.get_parts(lines):
        n = max(1, round(line.length / 70))
        starts = np.sort(rng.uniform(0, line.length, n))
        # The round ends of the strokes reach into what is left out.
        gaps = [(s, s + rng.uniform(1.3, 1.8)) for s in starts]
        at = 0.0
        for start, end in gaps:
            if start > at:
                pieces.append(shapely.ops.substring(line, at, start))
            at = max(at, end)
        if at < line.length:
            pieces.append(shapely.ops.substring(line, at, line.length))
    return shapely.union_all(pieces)


def _crayon(rng: np.random.Generator, region: shapely.Geometry) -> tuple:
    width = rng.uniform(3.0, 5.0)
    pitch = width * rng.uniform(0.85, 1.1)
    x, y = region.centroid.coords[0]
    hatch = shapely.union_all(
        [shapely.LineString([(x - 150, y + k * pitch), (x + 150, y + k * pitch + width / 3)])
         for k in range(-60, 61)]
    )  # fmt: skip
    strokes = affinity.rotate(shapely.buffer(hatch, width / 2), rng.uniform(0, 180), origin=(x, y))
    rim = shapely.buffer(region.boundary, min(2.0, width / 2))
    inked = shapely.intersection(region, shapely.union(strokes, rim))
    tooth = _grain(rng, 0.4) + 0.5 * _grain(rng, 1.0) + 0.4 * _grain(rng, 6.0)
    bare = rng.uniform(0.6, 1.1)
    return _sheet(inked) * np.clip(0.5 + 1.2 * (tooth + bare), 0.0, 0.95), region


_DRAW = {
    "filled-marker": _filled_marker,
    "outline-marker": _outline_marker,
    "pencil": _pencil,
    "crayon": _crayon,
    "ballpoint": _ballpoint,
}
