"""Pictures that people bring, as plain arrays of brightness."""

from __future__ import annotations

import io
import warnings
from collections.abc import Callable
from math import sqrt
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import numpy as np
from numpy.typing import NDArray

from moldgen.errors import FileError
from moldgen.execution import limits_now, run_with
from moldgen.limits import Limits, spoken_size
from moldgen.named_file import bounded_bytes, told
from moldgen.wording import one_of

if TYPE_CHECKING:
    from PIL import Image

Gray = NDArray[np.float64]
T = TypeVar("T")

LEAST_PX = 24
"""Fewest pixels along a side that can hold a shape worth forming."""

ENDINGS = (".png", ".jpg", ".jpeg", ".tif", ".tiff", ".bmp", ".webp")
FORMATS = ("PNG", "JPEG", "TIFF", "BMP", "WEBP")
"""What is opened, told by the first bytes of a file whatever its name says."""

_PHOTO_QUALITY = 85
"""Of JPEG; no letters of a caliper are lost. [-]."""
_ORIENTATION = 0x0112
"""Tag of how the camera was held (Exif 2.3, section 4.6.4)."""
_AVERAGED = {"1": "L", "P": "RGBA", "PA": "RGBA", "I;16": "I", "I;16B": "I", "I;16L": "I"}
"""Kinds of pixels whose numbers cannot be averaged, and what they become first."""


def is_picture(path: Path | str) -> bool:
    """Return whether a file's name ends like a picture's."""
    return Path(path).suffix.lower() in ENDINGS


def load_gray(path: Path | str, *, limits: Limits | None = None) -> Gray:
    """Read a picture's brightness, 0 black to 1 white, first row at the bottom.

    Sixteen bits a pixel are kept. Colors become their brightness; what is transparent is white.
    Photographs are turned as the camera says. A picture of more pixels than are kept is reduced.

    Returns
    -------
    ndarray, shape (ny, nx)

    Raises
    ------
    FileError
        If the file is missing, no picture, damaged, too small or too large.
    """
    path = Path(path)
    with run_with(limits=limits):
        return gray_from_bytes(_content(path), name=told(path))


def gray_from_bytes(data: bytes, *, name: str | Path, limits: Limits | None = None) -> Gray:
    """Read the brightness of a picture's content; see `load_gray`.

    Parameters
    ----------
    data : bytes
        Content of a picture file.
    name : str
        What errors call it.
    limits : Limits, optional
        How large it may be; as outside if left out.

    Returns
    -------
    ndarray, shape (ny, nx)

    Raises
    ------
    FileError
        If it is no picture, damaged, too small or too large.
    """
    path = told(name)
    with run_with(limits=limits):
        _check_size(path, len(data))
        gray = _opened(path, data, _brightness)
    if min(gray.shape) < LEAST_PX:
        size = f"{gray.shape[1]} x {gray.shape[0]}"
        raise FileError(
            f"{path} is only {size} pixels; at least {LEAST_PX} are needed along each side. "
            "Scan or draw it larger."
        )
    return np.ascontiguousarray(gray[::-1])


def _content(path: Path) -> bytes:
    try:
        return bounded_bytes(path, limits_now().picture_bytes)
    except FileNotFoundError as error:
        raise FileError(f"{told(path)} does not exist. Check the name and the folder.") from error
    except IsADirectoryError as error:
        raise FileError(f"{told(path)} is a folder. Name a picture inside it.") from error
    except (OSError, ValueError) as error:
        reason = (getattr(error, "strerror", "") or "not a usable file name").lower()
        raise FileError(
            f"{told(path)} cannot be read: {reason}. Check its name and permissions."
        ) from error


def _check_size(path: str, n_bytes: int) -> None:
    if n_bytes > limits_now().picture_bytes:
        most = spoken_size(limits_now().picture_bytes)
        raise FileError(f"{path} is larger than {most}. Make it smaller and try again.")


def _check_pixels(path: str, n_pixels: int) -> None:
    if n_pixels > limits_now().pixels:
        raise FileError(
            f"{path} has {n_pixels:,} pixels, more than the {limits_now().pixels:,.0f} that can be "
            "handled. Make it smaller and try again."
        )


def photo_from_bytes(data: bytes, *, name: str | Path, side_px: int) -> bytes:
    """Return a photograph as a JPEG without what else a file may carry: places, owners, programs.

    It is turned as the camera says. The same picture gives the same bytes.

    Parameters
    ----------
    data : bytes
        Content of a picture file.
    name : str
        What errors call it.
    side_px : int
        Longest side; larger ones are reduced.

    Raises
    ------
    FileError
        If it is no picture, damaged or too large.
    """

    def packed(image: Image.Image) -> bytes:
        seen = image.convert("RGBA")
        plain = Image.new("RGB", seen.size, "white")
        plain.paste(seen, mask=seen.getchannel("A"))
        plain.thumbnail((side_px, side_px))
        stream = io.BytesIO()
        plain.save(stream, "JPEG", quality=_PHOTO_QUALITY)
        return stream.getvalue()

    from PIL import Image

    path = told(name)
    _check_size(path, len(data))
    return _opened(path, data, packed)


def photo_from_file(path: Path, *, side_px: int) -> bytes:
    """Return a photograph as `photo_from_bytes` does.

    Raises
    ------
    FileError
        If the file is missing, no picture, damaged or too large.
    """
    return photo_from_bytes(_content(path), name=path, side_px=side_px)


def _opened(path: str, data: bytes, take: Callable[[Image.Image], T]) -> T:
    """Return what is taken of a picture that is turned and reduced."""
    from PIL import Image, UnidentifiedImageError

    try:
        with warnings.catch_warnings():
            # The pixels are counted below, and doubts about notes in a file help nobody.
            warnings.simplefilter("ignore")
            # Of other kinds some are programs, which a program of this computer would carry out.
            image: Image.Image = Image.open(io.BytesIO(data), formats=FORMATS)
            with image:
                _check_pixels(path, image.width * image.height)
                return take(_reduced(image))
    except FileError:
        raise
    except UnidentifiedImageError as error:
        raise FileError(
            f"{path} is not a picture, whatever its name says, or none of {one_of(FORMATS)}. "
            "Save it again as PNG."
        ) from error
    except Image.DecompressionBombError as error:
        raise FileError(
            f"{path} has more pixels than the {limits_now().pixels:,.0f} that can be handled. "
            "Make it smaller and try again."
        ) from error
    # Whatever the reader stumbles over in a foreign file, the person can do the same about it.
    except Exception as error:
        raise FileError(
            f"{path} cannot be read as a picture: it is damaged. Save it again as PNG."
        ) from error


def _reduced(image: Image.Image) -> Image.Image:
    """Return a picture turned as the camera says, with no more pixels than are kept."""
    from PIL import Image, ImageOps

    if _share(image) < 1:
        # A JPEG is read at a half, a quarter or an eighth, so that it is never whole in memory.
        image.draft(image.mode, _size(image))
    # A TIFF is turned when it is loaded, and its note of how the camera was held is gone then.
    image.load()
    orientation = image.getexif().get(_ORIENTATION)
    if _share(image) < 1:
        size, smooth = _size(image), _AVERAGED.get(image.mode, image.mode)
        image = (image if image.mode == smooth else image.convert(smooth)).resize(
            size, Image.Resampling.BOX
        )
        if orientation is not None:
            image.getexif()[_ORIENTATION] = orientation
    return ImageOps.exif_transpose(image)


def _share(image: Image.Image) -> float:
    """Return by how much the sides of a picture are reduced. [-]."""
    return sqrt(min(1.0, limits_now().kept_pixels / (image.width * image.height)))


def _size(image: Image.Image) -> tuple[int, int]:
    share = _share(image)
    return max(1, round(image.width * share)), max(1, round(image.height * share))


def _brightness(image: Image.Image) -> Gray:
    from PIL import Image

    if image.mode.startswith("I") or image.mode == "F":
        deep = np.asarray(image, dtype=np.float64)
        whole = 65535.0 if image.mode.startswith("I;16") or deep.max(initial=0.0) > 255 else 255.0
        return np.asarray(np.clip(deep / whole, 0.0, 1.0))
    seen = image.convert("RGBA")
    white = Image.new("RGBA", seen.size, "white")
    white.alpha_composite(seen)
    return np.asarray(white.convert("L"), dtype=np.float64) / 255.0


def resampled(gray: Gray, *, width: int, height: int) -> Gray:
    """Return a picture at another size, its brightness averaged or interpolated, shape (ny, nx)."""
    from PIL import Image

    image = Image.fromarray(np.asarray(gray, dtype=np.float32))
    shrinks = width < gray.shape[1]
    how = Image.Resampling.BOX if shrinks else Image.Resampling.BICUBIC
    sized = np.asarray(image.resize((width, height), how), dtype=np.float64)
    return np.asarray(np.clip(sized, gray.min(), gray.max()))
