"""Several files in one, the same bytes each time and on every system."""

from __future__ import annotations

from collections.abc import Iterable
from io import BytesIO
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

_FIRST_DATE = (1980, 1, 1, 0, 0, 0)
"""The format cannot go further back, and every file needs a date."""
_UNIX = 3
_READABLE = 0o644 << 16
"""What a system of that kind lets everybody do with the file."""


def zip_bytes(files: Iterable[tuple[str, bytes]], *, level: int = 6) -> bytes:
    """Return files as one ZIP file without any times.

    Parameters
    ----------
    files : iterable of (str, bytes)
        Name, with folders if there are any, and content; taken one by one.
    level : int, default 6
        How hard they are packed, from 1, the fastest, to 9.
    """
    return _written(BytesIO(), files, level)


def zip_with(packed: bytes, files: Iterable[tuple[str, bytes]], *, level: int = 6) -> bytes:
    """Return a ZIP file with more files in it; what it has stays packed as it is."""
    return _written(BytesIO(packed), files, level)


def _written(stream: BytesIO, files: Iterable[tuple[str, bytes]], level: int) -> bytes:
    with ZipFile(stream, "a") as archive:
        for name, content in files:
            entry = ZipInfo(name, _FIRST_DATE)
            entry.create_system = _UNIX
            entry.external_attr = _READABLE
            archive.writestr(entry, content, ZIP_DEFLATED, compresslevel=level)
    return stream.getvalue()
