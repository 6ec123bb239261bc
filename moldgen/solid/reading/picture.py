"""Pictures that people bring, as plain arrays of brightness."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from moldgen.errors import FileError
from moldgen.limits import USUAL, Limits, spoken_size

Gray = NDArray[np.float64]

LEAST_PX = 24
"""Fewest pixels along a side that can hold a shape worth forming."""

ENDINGS = (".png", ".jpg", ".jpeg", ".tif", ".tiff", ".bmp", ".webp", ".pgm")


def is_picture(path: Path | str) -> bool:
    """Return whether a file's name ends like a picture's."""
    return Path(path).suffix.lower() in ENDINGS


def load_gray(path: Path | str, *, limits: Limits = USUAL) -> Gray:
    """Read a picture's brightness, 0 black to 1 white, first row at the bottom.

    Sixteen bits a pixel are kept. Colors become their brightness; what is transparent is white.
    Photographs are turned as the camera says.

    Returns
    -------
    ndarray, shape (ny, nx)

    Raises
    ------
    FileError
        If the file is missing, no picture, damaged, too small or too large.
    """
    path = Path(path)
    try:
        size = path.stat().st_size
        _check_size(path, size, limits)
        data = path.read_bytes()
    except FileError:
        raise
    except FileNotFoundError as error:
        raise FileError(f"{path} does not exist. Check the name and the folder.") from error
    except IsADirectoryError as error:
        raise FileError(f"{path} is a folder. Name a picture inside it.") from error
    except OSError as error:
        raise FileError(
            f"{path} cannot be read as a picture: it is damaged. Save it again as PNG."
        ) from error
    return gray_from_bytes(data, name=path, limits=limits)


def gray_from_bytes(data: bytes, *, name: str | Path, limits: Limits = USUAL) -> Gray:
    """Read the brightness of a picture's content; see `load_gray`.

    Parameters
    ----------
    data : bytes
        Content of a picture file.
    name : str
        What errors call it.
    limits : Limits, optional
        How large it may be.

    Returns
    -------
    ndarray, shape (ny, nx)

    Raises
    ------
    FileError
        If it is no picture, damaged, too small or too large.
    """
    path = Path(name)
    _check_size(path, len(data), limits)
    gray = _opened(path, data, limits)
    if min(gray.shape) < LEAST_PX:
        size = f"{gray.shape[1]} x {gray.shape[0]}"
        raise FileError(
            f"{path} is only {size} pixels; at least {LEAST_PX} are needed along each side. "
            "Scan or draw it larger."
        )
    return np.ascontiguousarray(gray[::-1])


def _check_size(path: Path, n_bytes: int, limits: Limits) -> None:
    if n_bytes > limits.picture_bytes:
        most = spoken_size(limits.picture_bytes)
        raise FileError(f"{path} is larger than {most}. Make it smaller and try again.")


def _opened(path: Path, data: bytes, limits: Limits) -> Gray:
    from PIL import Image, ImageOps, UnidentifiedImageError

    try:
        with Image.open(io.BytesIO(data)) as image:
            if image.width * image.height > limits.pixels:
                raise FileError(
                    f"{path} has {image.width * image.height:,} pixels, more than the "
                    f"{limits.pixels:,.0f} that can be handled. Make it smaller and try again."
                )
            return _brightness(ImageOps.exif_transpose(image))
    except FileError:
        raise
    except UnidentifiedImageError as error:
        raise FileError(
            f"{path} is not a picture, whatever its name says. Save it again as PNG."
        ) from error
    # Whatever the reader stumbles over in a foreign file, the person can do the same about it.
    except Exception as error:
        raise FileError(
            f"{path} cannot be read as a picture: it is damaged. Save it again as PNG."
        ) from error


def _brightness(image: object) -> Gray:
    from PIL import Image

    assert isinstance(image, Image.Image)
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
