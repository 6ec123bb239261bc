"""Regions and noise as rasters of bytes and shares."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from PIL import Image, ImageDraw

Shares = NDArray[np.floating[Any]]


def covered(region: shapely.Geometry, *, size: tuple[int, int], px_mm: float) -> Shares:
    """Return the share of each pixel that a region covers, first row at y = 0.

    Parameters
    ----------
    region : shapely geometry
        In the positive quarter. [mm]
    size : tuple of two ints
        Width and height. [px]
    px_mm : float
        Pixels in a millimeter.
    """
    fine = 2
    image = Image.new("L", (size[0] * fine, size[1] * fine), 0)
    draw = ImageDraw.Draw(image)
    parts = [one for one in shapely.get_parts(region) if one.geom_type == "Polygon"]
    for part in sorted(parts, key=lambda one: -shapely.Polygon(one.exterior).area):
        draw.polygon(_corners(part.exterior, px_mm * fine), fill=255)
        for hole in part.interiors:
            draw.polygon(_corners(hole, px_mm * fine), fill=0)
    return np.asarray(image.reduce(fine), dtype=np.float32) / 255


def _corners(ring: shapely.LinearRing, scale: float) -> list[tuple[float, float]]:
    return [(float(x * scale - 0.5), float(y * scale - 0.5)) for x, y in ring.coords]


def smooth_noise(rng: np.random.Generator, size: tuple[int, int], cell_px: float) -> Shares:
    """Return noise of mean 0 and spread near 1 that changes over cells of a size. [px]."""
    width, height = size
    coarse = (max(2, round(height / cell_px) + 1), max(2, round(width / cell_px) + 1))
    grid = rng.standard_normal(coarse).astype(np.float32)
    image = Image.fromarray(grid).resize(size, Image.Resampling.BICUBIC)
    return np.asarray(image, dtype=np.float32)


def blurred(shares: Shares, spread_px: float) -> Shares:
    """Return a raster averaged over a bell, by way of a smaller one where it is broad."""
    from PIL import ImageFilter

    height, width = shares.shape
    step = max(1, int(spread_px / 4))
    small = Image.fromarray((np.clip(shares, 0, 1) * 255).astype(np.uint8)).reduce(step)
    even = small.filter(ImageFilter.GaussianBlur(spread_px / step))
    return np.asarray(even.resize((width, height), Image.Resampling.BICUBIC), np.float32) / 255
