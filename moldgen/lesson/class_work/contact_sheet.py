"""Small pictures of molds, and all of a class on one sheet."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from PIL.Image import Image

SMALL_PX = 560
"""Longer side of a small picture."""
_GAP_PX, _MOST_COLUMNS = 8, 16
_MOST_COLORS = 128
_MOST_ON_TWO = 60
"""So many pictures stand on two columns; of more each is shown smaller."""


def small_png(png: bytes) -> bytes:
    """Return a picture reduced for the sheet of a class."""
    with _opened(png) as picture:
        reduced = picture.convert("RGB")
    reduced.thumbnail((SMALL_PX, SMALL_PX))
    return _png(reduced)


def contact_sheet_png(pictures: Sequence[bytes]) -> bytes:
    """Return small pictures side by side, in rows.

    Parameters
    ----------
    pictures : sequence of bytes
        PNG, at least one, each as `small_png` gives it.
    """
    from PIL import Image

    columns, most_px = _columns(len(pictures))
    small = []
    for png in pictures:
        with _opened(png) as picture:
            picture.thumbnail((most_px, most_px))
            small.append(picture.convert("RGB"))
    width, height = (max(getattr(one, side) for one in small) for side in ("width", "height"))
    step_x, step_y = width + _GAP_PX, height + _GAP_PX
    across = min(columns, len(small))
    sheet = Image.new("RGB", (across * step_x, -(-len(small) // columns) * step_y), "white")
    for i, one in enumerate(small):
        sheet.paste(one, ((i % columns) * step_x, i // columns * step_y))
    # Views have few colors: a palette is a quarter as long, in half the time.
    colors = sheet.quantize(_MOST_COLORS, Image.Quantize.FASTOCTREE, dither=Image.Dither.NONE)
    return _png(colors)


def _columns(n_pictures: int) -> tuple[int, int]:
    """Return how many pictures stand side by side, and how large each is. [px]."""
    columns, most_px, room = 2, SMALL_PX, _MOST_ON_TWO
    while n_pictures > room and columns < _MOST_COLUMNS:
        columns, most_px, room = 2 * columns, most_px // 2, 4 * room
    return columns, most_px


def _opened(png: bytes) -> Image:
    from PIL import Image

    return Image.open(io.BytesIO(png), formats=("PNG",))


def _png(picture: Image) -> bytes:
    stream = io.BytesIO()
    # Packing it harder takes four times as long and saves three in a hundred.
    picture.save(stream, "PNG", compress_level=6)
    return stream.getvalue()
