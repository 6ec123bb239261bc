"""A photograph over the brightness of its paper, and what lies around the paper."""

from __future__ import annotations

import numpy as np

from moldgen.outline.photo.raster import (
    Gray,
    Mask,
    border_of,
    filled_in,
    largest_near,
    least_near,
    pieces_of,
    reduced,
    resized,
    widened,
)
from moldgen.outline.photo.zones import (
    Zones,
    dark_border_zones,
    filled_zones,
    paper_beside,
    zones_of,
)

_FINE_PX, _COARSE_PX = 1000, 400
"""Longer side of the pictures in which paper is read, and in which zones are told apart. [px]."""

_LINE_SHARE = 0.02
"""Half the width of what is no line any more, as a share of the longer side."""

_NEARLY = 0.9
_DARK = 0.8
"""Below this share of the paper what is broad and touches the border lies around it."""

_TEXTURE = 1.35
"""A ground that varies so many times as much as the paper is a table."""

_EVEN = 0.008
"""How much bare paper varies at least, shadows and noise included."""

_LEAST = 0.03


def over_paper(gray: Gray) -> tuple[Gray, Mask]:
    """Return brightness over that of the paper around it, and what lies around the paper.

    Lines are closed to see the paper behind them. What is left is split along its edges; filled
    ink is told from shadows by where it ends, and takes the brightness of the paper beside it.

    Parameters
    ----------
    gray : ndarray, shape (ny, nx)
        Brightness, 0 black to 1 white.

    Returns
    -------
    share : ndarray, shape (ny, nx)
        1 paper, less ink. [-]
    around : ndarray of bool, shape (ny, nx)
        Broad dark things that touch the border, and tables.

    References
    ----------
    .. [1] J. Serra, "Image Analysis and Mathematical Morphology," Academic Press, 1982: closing.
    """
    fine = reduced(gray, max(1, round(max(gray.shape) / _FINE_PX)))
    reach = max(2, round(_LINE_SHARE * max(fine.shape)))
    closed = least_near(largest_near(fine, reach), reach)
    coarse = reduced(closed, max(1, round(max(closed.shape) / _COARSE_PX)))
    zones = zones_of(coarse)
    ink = filled_zones(zones)
    covered = ink | dark_border_zones(zones, ink)
    paper = _paper(closed, zones, ink, covered)
    # Beside the edge of a shadow the darker side counts, so that the edge is no line.
    bright = resized(least_near(paper, 1), gray.shape)
    share = gray / np.maximum(bright, _LEAST)
    return share, _around(share, zones, covered)


def cleared(share: Gray, around: Mask) -> Gray:
    """Return a picture with bare paper in place of what lies around it, and of its rim."""
    rim = max(2, round(2 * max(share.shape) / _COARSE_PX))
    return np.where(widened(around, rim), 1.0, share)


def _paper(closed: Gray, zones: Zones, ink: Mask, covered: Mask) -> Gray:
    """Return the brightness of the paper everywhere, behind ink as well."""
    hidden = resized(widened(covered[zones.label], 2), closed.shape) > 0.25
    if hidden.all():
        return closed
    paper = filled_in(closed, ~hidden)
    beside = _NEARLY * paper_beside(zones, ink, ~covered)[zones.label]
    inner = resized(least_near(beside, 1), closed.shape)
    return np.maximum(paper, inner)


def _around(share: Gray, zones: Zones, covered: Mask) -> Mask:
    coarse = resized(share, zones.label.shape)
    dark = pieces_of((coarse < _DARK) | _tables(coarse, zones, covered)[zones.label])
    touching = np.unique(border_of(dark))
    around = np.isin(dark, touching[touching > 0])
    return np.asarray(resized(around, share.shape) > 0.5)


def _tables(share: Gray, zones: Zones, covered: Mask) -> Mask:
    """Return which zones at the border have more grain than the paper, and are darker."""
    ground = np.flatnonzero(~covered)
    if not len(ground):
        return covered & False
    area = np.bincount(zones.label.ravel(), minlength=len(zones.level))
    paper = ground[np.argmax(zones.level[ground] ** 2 * area[ground])]
    spread = np.array([_spread(share[zones.label == k]) for k in range(len(area))])
    rough = spread > _TEXTURE * max(spread[paper], _EVEN)
    return np.asarray(
        zones.at_border & ~covered & rough & (zones.level < _NEARLY * zones.level[paper])
    )


def _spread(share: Gray) -> float:
    """Return how much paper or a table varies, the ink on it left out. [-]."""
    bare = share[share > _DARK]
    return float(np.subtract(*np.percentile(bare, (75, 25)))) if len(bare) else 0.0
