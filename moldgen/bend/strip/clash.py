"""Clash: whether parts of a side view overlap, judged on convex four-sided pieces."""

from __future__ import annotations

import numpy as np

from moldgen.arrays import Flags, Floats

TOUCH_MM = 0.05
"""Pieces that overlap by no more than this only touch. [mm]."""


def boxes(quads_mm: Floats) -> Floats:
    """Return the bounding boxes of pieces, shape (..., 2, 2): least and greatest corners. [mm]."""
    return np.stack([quads_mm.min(axis=-2), quads_mm.max(axis=-2)], axis=-2)


def overlaps_mm(first_mm: Floats, second_mm: Floats) -> Floats:
    """Return how deep convex pieces overlap, pair by pair.

    Parameters
    ----------
    first_mm, second_mm : ndarray, shape (m, 4, 2)
        Corners in order, either way round; corners may coincide. [mm]

    Returns
    -------
    ndarray, shape (m,)
        Shortest way on which one leaves the other; negative if they are apart. [mm]

    Notes
    -----
    Separating axes: two convex shapes are apart if and only if they are apart along a normal of
    one of their sides.
    """
    both = np.concatenate([_normals(first_mm), _normals(second_mm)], axis=1)
    lengths = np.linalg.norm(both, axis=-1)
    axes = both / np.maximum(lengths, 1e-12)[..., None]
    a = first_mm @ axes.swapaxes(1, 2)
    b = second_mm @ axes.swapaxes(1, 2)
    depth = np.minimum(a.max(axis=1) - b.min(axis=1), b.max(axis=1) - a.min(axis=1))
    # A side without length has no normal and must not decide.
    least: Floats = np.where(lengths > 1e-9, depth, np.inf).min(axis=1)
    return least


def clashing(first_mm: Floats, second_mm: Floats) -> Flags:
    """Return which pieces of one set overlap which of another, for many positions at once.

    Parameters
    ----------
    first_mm, second_mm : ndarray, shapes (s, a, 4, 2) and (s, b, 4, 2)
        Pieces in each of s positions; where s is 1 they stay where they are. [mm]

    Returns
    -------
    ndarray, shape (s, a, b)
        True where they overlap by more than `TOUCH_MM`.
    """
    n = max(len(first_mm), len(second_mm))
    first_mm = np.broadcast_to(first_mm, (n, *first_mm.shape[1:]))
    second_mm = np.broadcast_to(second_mm, (n, *second_mm.shape[1:]))
    one, two = boxes(first_mm), boxes(second_mm)
    near: Flags = np.all(one[:, :, None, 0] < two[:, None, :, 1] - TOUCH_MM, axis=-1)
    near &= (two[:, None, :, 0] < one[:, :, None, 1] - TOUCH_MM).all(axis=-1)
    place, i, j = np.nonzero(near)
    if len(place):
        near[place, i, j] = overlaps_mm(first_mm[place, i], second_mm[place, j]) > TOUCH_MM
    return near


def _normals(quads_mm: Floats) -> Floats:
    sides = np.roll(quads_mm, -1, axis=1) - quads_mm
    return np.stack([-sides[..., 1], sides[..., 0]], axis=-1)
