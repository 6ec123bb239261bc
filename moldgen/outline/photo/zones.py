"""Zones of even brightness in a picture without its lines: paper, shadow, table or filled ink."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from moldgen.outline.photo.raster import Gray, Labels, Mask, border_of, pieces_of

_STEP = 0.035
"""Least change from pixel to pixel at an edge, as a share of the brightness."""

_LEAST_SHARE = 2e-4
"""Share of the picture below which a zone is part of an edge."""

_BRIGHTER = 0.8
"""What is darker than this share of its neighbor is clearly darker."""

_AROUND = 0.4
"""What touches the border and is darker than this share of its neighbor is no paper."""

_MOSTLY, _HARDLY, _PARTLY = 0.4, 0.03, 0.15
"""Shares of the edge of a zone."""


@dataclass(frozen=True, slots=True, eq=False)
class Zones:
    """What each pixel of a coarse picture belongs to.

    Attributes
    ----------
    label : ndarray, shape (ny, nx)
        Number of the zone of each pixel.
    level : ndarray, shape (n,)
        Brightness of each zone. [-]
    edge : ndarray, shape (n, n)
        Sides of pixels that two zones share. [px]
    at_border : ndarray, shape (n,)
        Whether a zone reaches the border of the picture.
    """

    label: Labels
    level: Gray
    edge: Gray
    at_border: Mask


def zones_of(coarse: Gray) -> Zones:
    """Split a picture along its edges into zones of even brightness."""
    dark = np.log(np.maximum(coarse, 0.02))
    step = np.zeros_like(dark)
    for axis in (0, 1):
        change = np.abs(np.diff(dark, axis=axis))
        ends = ((1, 0), (0, 0)) if axis == 0 else ((0, 0), (1, 0))
        before, after = np.pad(change, ends), np.pad(change, [one[::-1] for one in ends])
        step = np.maximum(step, np.maximum(before, after))
    label = _grown(_without_slivers(pieces_of(step < _STEP)))
    n = int(label.max()) + 1
    level = np.array([np.median(coarse[label == k]) for k in range(n)])
    return Zones(label, level, _shared(label, n), np.isin(np.arange(n), border_of(label)))


def _without_slivers(label: Labels) -> Labels:
    """Return zones numbered from 1 without the small ones, 0 on edges."""
    count = np.bincount(label.ravel())
    count[0] = 0
    kept = count >= max(6, _LEAST_SHARE * label.size)
    if not kept.any():
        return np.ones_like(label)
    number: Labels = np.where(kept, np.cumsum(kept), 0)
    return number[label]


def _grown(label: Labels) -> Labels:
    """Return zones numbered from 0, grown over the edges between them."""
    while not label.all():
        frame = np.pad(label, 1, mode="edge")
        sides = (frame[:-2, 1:-1], frame[2:, 1:-1], frame[1:-1, :-2], frame[1:-1, 2:])
        label = np.where(label > 0, label, np.maximum.reduce(sides))
    return np.asarray(label - 1)


def _shared(label: Labels, n: int) -> Gray:
    one = np.concatenate([label[:, :-1].ravel(), label[:-1].ravel()])
    other = np.concatenate([label[:, 1:].ravel(), label[1:].ravel()])
    count = np.bincount(one * n + other, minlength=n * n).reshape(n, n).astype(np.float64)
    np.fill_diagonal(count, 0.0)
    return np.asarray(count + count.T)


def filled_zones(zones: Zones) -> Mask:
    """Return which zones are filled with ink.

    Paper, a shadow cast on it and the table beside it go on to the border of the picture or are
    brighter than what lies beyond them; ink ends on paper all round.
    """
    ink = np.zeros(len(zones.level), dtype=bool)
    order = [k for k in np.argsort(zones.level) if not zones.at_border[k]]
    while order:
        found = [k for k in order if _ends_on_paper(zones, ink, k)]
        # The darkest first: what it is part of may end on paper once it is known as ink.
        ink[found[:1]] = True
        order = [k for k in order if k != found[0]] if found else []
    return ink


def _ends_on_paper(zones: Zones, ink: Mask, k: int) -> bool:
    edge = np.where(ink, 0.0, zones.edge[k])
    if not edge.any():
        return False
    share = edge / edge.sum()
    brighter = share[zones.level * _BRIGHTER > zones.level[k]].sum()
    darker = share[zones.level < _BRIGHTER * zones.level[k]].sum()
    return bool(brighter > _MOSTLY and darker <= _HARDLY)


def dark_border_zones(zones: Zones, ink: Mask) -> Mask:
    """Return which zones at the border are much darker than a neighbor: a table, or ink."""
    beside = np.where((zones.edge > 0) & ~ink, zones.level, 0.0).max(axis=1)
    return np.asarray(zones.at_border & (zones.level < _AROUND * beside))


def paper_beside(zones: Zones, ink: Mask, ground: Mask) -> Gray:
    """Return the brightest paper that each zone of ink borders on; 0 elsewhere. [-]."""
    edge = np.where(ground, zones.edge, 0.0)
    long = edge > _PARTLY * edge.sum(axis=1, keepdims=True)
    return np.where(ink, np.where(long, zones.level, 0.0).max(axis=1), 0.0)
