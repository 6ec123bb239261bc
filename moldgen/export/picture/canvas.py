"""The sheet that pictures are put together on: harbour colors, lettering, lines, PNG."""

from __future__ import annotations

import struct
import zlib
from collections.abc import Sequence
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from moldgen.typeface.face import drawing_font

Color = tuple[int, int, int]
Place = tuple[float, float]

# Paper like dry sand, lines like deep water, and red kept for trouble.
PAPER: Color = (246, 241, 229)
NAVY: Color = (18, 40, 63)
SLATE: Color = (98, 114, 130)
SIGNAL_RED: Color = (200, 16, 46)

FINE = 2
"""Everything is put down at twice the size and reduced at the end, for smooth lines."""


class Canvas:
    """A picture under way; places are pixels of the finished picture.

    Parameters
    ----------
    width_px, height_px : int
        Size of the finished picture.
    """

    def __init__(self, width_px: int, height_px: int) -> None:
        from PIL import Image, ImageDraw

        self.width_px, self.height_px = width_px, height_px
        self._image = Image.new("RGB", (width_px * FINE, height_px * FINE), PAPER)
        self._pen: Any = ImageDraw.Draw(self._image)

    def paste(self, picture: NDArray[np.uint8], *, left_px: int, top_px: int) -> None:
        """Put down a picture as it is, shape (h, w, 3)."""
        from PIL import Image

        height, width, _ = picture.shape
        fine = Image.fromarray(picture).resize(
            (width * FINE, height * FINE), Image.Resampling.NEAREST
        )
        self._image.paste(fine, (left_px * FINE, top_px * FINE))

    def write(
        self,
        place: Place,
        words: str,
        *,
        size_px: float = 18,
        color: Color = NAVY,
        anchor: str = "ls",
        bold: bool = False,
        room_px: float | None = None,
    ) -> None:
        """Write one line; ``anchor`` says which of its points lies at the place.

        ``l m r`` is left, middle or right; ``s m`` the base line or the middle of the height.
        A line longer than its room is written smaller, down to 9 pixels, and then cut.
        """
        font = _font(round(size_px * FINE), bold)
        if room_px is not None and font.getlength(words) > room_px * FINE:
            size_px = max(size_px * room_px * FINE / font.getlength(words), 9.0)
            font = _font(int(size_px * FINE), bold)
            while font.getlength(words) > room_px * FINE:
                words = words[: len(words) * 9 // 10 - 1].rstrip() + "…"
        self._pen.text(_fine(place), words, font=font, fill=color, anchor=anchor)

    def trail(self, places: Sequence[Place], *, width_px: float = 1.5, color: Color = NAVY) -> None:
        """Draw a line through the places."""
        width = max(1, round(width_px * FINE))
        self._pen.line([_fine(p) for p in places], fill=color, width=width, joint="curve")

    def area(self, places: Sequence[Place], *, color: Color) -> None:
        """Fill a polygon."""
        self._pen.polygon([_fine(place) for place in places], fill=color)

    def pixels(self) -> NDArray[np.uint8]:
        """Return the finished picture, shape (h, w, 3)."""
        return np.asarray(self._image.reduce(FINE))

    def png(self) -> bytes:
        """Return the finished picture as a PNG file."""
        return png_bytes(self.pixels())


def png_bytes(picture: NDArray[np.uint8]) -> bytes:
    """Return a picture as a PNG file that holds nothing but the picture.

    No date, program or resolution goes in, so the same picture gives the same bytes.

    Parameters
    ----------
    picture : ndarray, shape (h, w, 3), uint8
        Screen colors.

    References
    ----------
    Portable Network Graphics Specification (ISO/IEC 15948): sections 5, 9.2 and 11.2.
    """
    height, width, _ = picture.shape
    # Filter 2 stores the difference to the row above, which is mostly nought in such pictures.
    rows = np.empty((height, 1 + 3 * width), np.uint8)
    rows[:, 0] = 2
    flat = picture.reshape(height, -1)
    rows[0, 1:] = flat[0]
    np.subtract(flat[1:], flat[:-1], out=rows[1:, 1:])
    head = struct.pack(">2I5B", width, height, 8, 2, 0, 0, 0)
    packed = zlib.compress(rows.tobytes(), 5)
    parts = ((b"IHDR", head), (b"IDAT", packed), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(_png_part(name, data) for name, data in parts)


def _png_part(name: bytes, data: bytes) -> bytes:
    check = zlib.crc32(name + data)
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", check)


def text_width_px(words: str, *, size_px: float, bold: bool = False) -> float:
    """Return how wide a line of words is in the font of pictures. [px]."""
    return float(_font(round(size_px * FINE), bold).getlength(words)) / FINE


def _fine(place: Place) -> Place:
    return place[0] * FINE, place[1] * FINE


@lru_cache(maxsize=32)
def _font(size_px: int, bold: bool) -> Any:
    from PIL import ImageFont

    return ImageFont.truetype(str(drawing_font(bold=bold)), size_px)
