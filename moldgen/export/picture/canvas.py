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
        self.paste_fine(picture.repeat(FINE, axis=0).repeat(FINE, axis=1), (left_px, top_px))

    def paste_fine(self, picture: NDArray[np.uint8], corner_px: tuple[int, int]) -> None:
        """Put down a picture that already has `FINE` times the size."""
        from PIL import Image

        left, top = corner_px
        self._image.paste(Image.fromarray(picture), (left * FINE, top * FINE))

    def stencil(
        self, chosen: NDArray[np.bool_], corner_px: tuple[int, int], *, color: Color
    ) -> None:
        """Paint the chosen ones of `FINE` times the pixels, shape (h, w)."""
        from PIL import Image

        left, top = corner_px
        self._image.paste(color, (left * FINE, top * FINE), Image.fromarray(chosen))

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
        halo: Color | None = None,
    ) -> None:
        """Write one line; ``anchor`` says which of its points lies at the place.

        ``l m r`` is left, middle or right; ``s m`` the base line or the middle of the height.
        A line longer than its room is written smaller, down to 9 pixels, and then cut. A halo keeps
        it legible on a dark ground.

        Parameters
        ----------
        place : Place
            Where it stands. [px]
        words : str
            The line.
        size_px : float
            Height of the letters. [px]
        color : Color
            Color of the letters.
        anchor : str
            Which of its points lies at the place.
        bold : bool
            Whether the letters are bold.
        room_px : float, optional
            How long it may be; left out, as long as it is. [px]
        halo : Color, optional
            Color around the letters.
        """
        font = _font(round(size_px * FINE), bold)
        if room_px is not None and font.getlength(words) > room_px * FINE:
            size_px = max(size_px * room_px * FINE / font.getlength(words), 9.0)
            font = _font(int(size_px * FINE), bold)
            while font.getlength(words) > room_px * FINE:
                words = words[: len(words) * 9 // 10 - 1].rstrip() + "…"
        self._pen.text(
            _fine(place), words, font=font, fill=color, anchor=anchor,
            stroke_width=0 if halo is None else 3 * FINE, stroke_fill=halo,
        )  # fmt: skip

    def trail(self, places: Sequence[Place], *, width_px: float = 1.5, color: Color = NAVY) -> None:
        """Draw a line through the places."""
        width = max(1, round(width_px * FINE))
        self._pen.line([_fine(p) for p in places], fill=color, width=width, joint="curve")

    def area(self, places: Sequence[Place], *, color: Color) -> None:
        """Fill a polygon."""
        self._pen.polygon([_fine(place) for place in places], fill=color)

    def ring(self, place: Place, *, radius_px: float, color: Color, width_px: float = 2) -> None:
        """Draw a circle line round a place."""
        (x, y), r = _fine(place), radius_px * FINE
        self._pen.ellipse((x - r, y - r, x + r, y + r), outline=color, width=round(width_px * FINE))

    def dimension(self, start: Place, end: Place, words: str) -> None:
        """Draw a dimension line with arrows, level or upright, and its measure beside it."""
        (x0, y0), (x1, y1) = start, end
        self.trail([start, end], width_px=1.2)
        level = abs(x1 - x0) > abs(y1 - y0)
        for (x, y), way in ((start, 1), (end, -1)):
            sign = way * (1 if (x1 - x0 if level else y1 - y0) > 0 else -1)
            tips = ((9, 3), (9, -3)) if level else ((3, 9), (-3, 9))
            arrow = [(x + sign * a, y + b) if level else (x + a, y + sign * b) for a, b in tips]
            self.area([(x, y), *arrow], color=NAVY)
        if level:
            self.write(((x0 + x1) / 2, y0 + 20), words, size_px=16, anchor="ms")
        else:
            self.write((x0 + 10, (y0 + y1) / 2), words, size_px=16, anchor="lm")

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


def _fine(place: Place) -> Place:
    return place[0] * FINE, place[1] * FINE


@lru_cache(maxsize=32)
def _font(size_px: int, bold: bool) -> Any:
    from PIL import ImageFont

    return ImageFont.truetype(str(drawing_font(bold=bold)), size_px)
