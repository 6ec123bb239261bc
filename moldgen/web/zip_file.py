"""Several files in one, the same bytes each time."""

from __future__ import annotations

from collections.abc import Mapping
from io import BytesIO
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

_DATE = (1980, 1, 1, 0, 0, 0)


def zip_bytes(files: Mapping[str, bytes]) -> bytes:
    """Return a ZIP file of these files, by name."""
    stream = BytesIO()
    with ZipFile(stream, "w", ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(ZipInfo(name, _DATE), data, ZIP_DEFLATED)
    return stream.getvalue()
