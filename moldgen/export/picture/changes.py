"""What making a shape formable changed: heights before and after, and the difference as a map."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from moldgen.arrays import Grid
from moldgen.export.picture.canvas import NAVY, SLATE, Canvas, Color

_PANEL_PX = 440
_GAP_PX = 24
_HEAD_PX = 54
_FOOT_PX = 60
_BARE: Color = (232, 226, 210)
# From deep water to sand, darker to lighter all the way, so that grays tell the same.
_HEIGHTS = np.array(
    [(24, 52, 92), (52, 112, 158), (120, 172, 196), (206, 204, 178), (248, 238, 206)]
)
# Taken away in blue, added in red, unchanged in the color of paper.
_CHANGES = np.array(
    [(24, 84, 150), (128, 172, 208), (246, 241, 229), (232, 150, 110), (176, 34, 34)]
)


def change_map_png(before_mm: Grid, after_mm: Grid, *, cell_mm: float, title: str) -> bytes:
    """Return a PNG of heights before, heights after, and what was added or taken away.

    Parameters
    ----------
    before_mm, after_mm : ndarray, shape (ny, nx)
        Heights above the table at the same nodes, first row in front. [mm]
    cell_mm : float
        Distance of neighboring nodes. [mm]
    title : str
        What stands over it.
    """
    rows, columns = np.nonzero((before_mm > 0) | (after_mm > 0))
    window = (
        slice(rows.min(), rows.max() + 1), slice(columns.min(), columns.max() + 1)
    )  # fmt: skip
    before, after = before_mm[window], after_mm[window]
    top = float(max(before.max(), after.max()))
    change = after - before
    most = float(max(np.abs(change).max(), 1e-3))
    panels = (
        ("as brought", _lit(before, cell_mm, before / top, _HEIGHTS, before > 0)),
        ("as made", _lit(after, cell_mm, after / top, _HEIGHTS, after > 0)),
        ("change", _painted((change / most + 1) / 2, _CHANGES)),
    )
    width = 3 * _PANEL_PX + 4 * _GAP_PX
    shown = [_fitted(picture) for _, picture in panels]
    high = shown[0].shape[0]
    canvas = Canvas(width, high + _HEAD_PX + _FOOT_PX + 20)
    for number, ((words, _), picture) in enumerate(zip(panels, shown, strict=True)):
        left = _GAP_PX + number * (_PANEL_PX + _GAP_PX)
        canvas.write((left, 34), words, size_px=17, color=SLATE)
        canvas.paste(picture, left_px=left, top_px=_HEAD_PX)
        scale, ends = (
            (_HEIGHTS, ("0", f"{top:.3g} mm high"))
            if number < 2
            else (_CHANGES, (f"-{most:.3g} mm", f"+{most:.3g} mm"))
        )
        bar = _painted(np.linspace(0, 1, 240)[None].repeat(10, axis=0), scale)
        canvas.paste(bar, left_px=left, top_px=_HEAD_PX + high + 14)
        canvas.write((left, _HEAD_PX + high + 44), ends[0], size_px=14, color=NAVY)
        canvas.write((left + 150, _HEAD_PX + high + 44), ends[1], size_px=14, color=NAVY)
    canvas.write((width - 3 * _PANEL_PX // 2, _HEAD_PX + high + 70), title, size_px=14, color=SLATE)
    return canvas.png()


def _lit(
    heights: Grid, cell_mm: float, share: Grid, scale: Grid, there: NDArray[np.bool_]
) -> NDArray[np.uint8]:
    """Return heights in color, with light from the upper left."""
    along, across = np.gradient(heights, cell_mm) if min(heights.shape) > 1 else (heights, heights)
    light = (1 + 0.6 * (across - along)) / np.sqrt(1 + across**2 + along**2) / 1.31
    shade = 0.62 + 0.38 * np.clip(light, 0, 1)
    painted = _painted(share, scale)[::-1] * shade[..., None]
    painted[~there] = _BARE
    return np.asarray(np.clip(painted, 0, 255), np.uint8)[::-1]


def _painted(share: Grid, scale: Grid) -> NDArray[np.uint8]:
    """Return shares from 0 to 1 in the colors of a scale, the first row at the bottom."""
    place = np.clip(share, 0, 1) * (len(scale) - 1)
    low = np.minimum(place.astype(np.int64), len(scale) - 2)
    part = (place - low)[..., None]
    return np.asarray(scale[low] * (1 - part) + scale[low + 1] * part, np.uint8)[::-1]


def _fitted(picture: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Return a picture as wide as a panel, at most as high as one and a half."""
    from PIL import Image

    ny, nx = picture.shape[:2]
    factor = min(_PANEL_PX / nx, 1.5 * _PANEL_PX / ny)
    size = (max(1, round(nx * factor)), max(1, round(ny * factor)))
    return np.asarray(Image.fromarray(picture).resize(size, Image.Resampling.BOX))
