"""Rasters of brightness: reduced, widened, filled, and split into connected pieces."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

Gray = NDArray[np.float64]
Mask = NDArray[np.bool_]
Labels = NDArray[np.int64]


def reduced(gray: Gray | Mask, step: int) -> Gray:
    """Return a raster of one pixel for each square of so many, averaged."""
    from PIL import Image

    image = Image.fromarray(np.asarray(gray, dtype=np.float32))
    return np.asarray(image.reduce(step), dtype=np.float64)


def resized(gray: Gray | Mask, shape: tuple[int, int]) -> Gray:
    """Return a raster at another shape, (ny, nx), interpolated between its pixels."""
    from PIL import Image

    image = Image.fromarray(np.asarray(gray, dtype=np.float32))
    sized = image.resize((shape[1], shape[0]), Image.Resampling.BILINEAR)
    return np.asarray(sized, dtype=np.float64)


def largest_near(gray: Gray, reach_px: int) -> Gray:
    """Return the largest value in the square around each pixel."""
    return _near(gray, reach_px, np.maximum)


def least_near(gray: Gray, reach_px: int) -> Gray:
    """Return the least value in the square around each pixel."""
    return _near(gray, reach_px, np.minimum)


def widened(mask: Mask, reach_px: int) -> Mask:
    """Return a mask grown by so many pixels in every direction."""
    return _near(mask, reach_px, np.logical_or)


def _near(grid: NDArray[Any], reach: int, larger: Callable[..., Any]) -> NDArray[Any]:
    width = 2 * reach + 1
    for _ in range(2):
        # Windows of two, four, eight rows, and two that overlap for the rest.
        rows = np.pad(grid, ((reach, reach), (0, 0)), mode="edge")
        have = 1
        while 2 * have <= width:
            rows = larger(rows[:-have], rows[have:])
            have *= 2
        rest = width - have
        grid = np.ascontiguousarray((larger(rows[:-rest], rows[rest:]) if rest else rows).T)
    return grid


def filled_in(gray: Gray, known: Mask) -> Gray:
    """Return a raster whose unknown pixels are filled smoothly from the known ones around.

    References
    ----------
    .. [1] S. J. Gortler, R. Grzeszczuk, R. Szeliski, M. F. Cohen, "The lumigraph," SIGGRAPH 1996,
       section 3.4: pull and push.
    """
    if known.all() or max(gray.shape) < 2:
        return gray
    ny, nx = (size + size % 2 for size in gray.shape)
    pad = ((0, ny - gray.shape[0]), (0, nx - gray.shape[1]))
    count = np.pad(known.astype(np.float64), pad).reshape(ny // 2, 2, nx // 2, 2).sum((1, 3))
    total = np.pad(np.where(known, gray, 0.0), pad).reshape(ny // 2, 2, nx // 2, 2).sum((1, 3))
    coarse = filled_in(total / np.maximum(count, 1.0), count > 0)
    between = resized(coarse, (ny, nx))[: gray.shape[0], : gray.shape[1]]
    return np.where(known, gray, between)


def pieces_of(mask: Mask) -> Labels:
    """Return the number of the connected piece of each pixel, from 1; 0 outside of the mask."""
    number = np.arange(mask.size).reshape(mask.shape)
    across, down = mask[:, :-1] & mask[:, 1:], mask[:-1] & mask[1:]
    one = np.concatenate([number[:, :-1][across], number[:-1][down]])
    other = np.concatenate([number[:, 1:][across], number[1:][down]])
    root = number.ravel().copy()
    while len(one):
        low, high = np.minimum(root[one], root[other]), np.maximum(root[one], root[other])
        np.minimum.at(root, high, low)
        while not np.array_equal(root, root[root]):
            root = root[root]
        apart = root[one] != root[other]
        one, other = one[apart], other[apart]
    _, piece = np.unique(root[mask.ravel()], return_inverse=True)
    out = np.zeros(mask.size, np.int64)
    out[mask.ravel()] = piece + 1
    return out.reshape(mask.shape)


def border_of(grid: NDArray[Any]) -> NDArray[Any]:
    """Return the values along the border of a raster."""
    return np.concatenate([grid[0], grid[-1], grid[:, 0], grid[:, -1]])
