"""STL that people bring, in its binary and its text form."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np

from moldgen.errors import FileError
from moldgen.solid.mesh import Points
from moldgen.solid.reading.counts import refuse_triangles

_RECORD = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
_VERTEX = re.compile(rb"(?i)\bvertex\s+(\S+)\s+(\S+)\s+(\S+)")


def corners_from_stl(path: Path, data: bytes) -> Points:
    """Return the corners of all triangles in file order, shape (3 m, 3), in the file's unit.

    The size decides between the two forms, because some programs begin a binary file with
    ``solid`` too.

    Raises
    ------
    FileError
        If the data is neither form, or cut short.
    """
    promised = int.from_bytes(data[80:84], "little")
    size = 84 + 50 * promised
    is_text = data.lstrip()[:5].lower() == b"solid"
    if len(data) >= 84 and (len(data) == size or (len(data) > size > 84 and not is_text)):
        refuse_triangles(path, promised)
        corners = np.empty((promised, 3, 3))
        corners[:] = np.frombuffer(data, _RECORD, promised, 84)["corners"]
        return corners.reshape(-1, 3)
    if is_text:
        return _text(path, data)
    if 84 < len(data) < size <= 84 + 50 * 1_000_000_000 and b"\0" in data[84:]:
        raise FileError(
            f"{path} is cut short: it promises {promised:,} triangles and holds "
            f"{(len(data) - 84) // 50:,}. Copy or save it again."
        )
    raise FileError(f"{path} is not an STL, neither the text nor the binary form. Save it again.")


def _text(path: Path, data: bytes) -> Points:
    refuse_triangles(path, (data.count(b"vertex") + data.count(b"VERTEX")) // 3)
    corners = np.array(_VERTEX.findall(data), dtype=np.bytes_).reshape(-1, 3)
    finished = len(re.findall(rb"(?i)\bendfacet\b", data))
    if len(corners) != 3 * finished or not re.search(rb"(?i)\bendsolid\b", data):
        raise FileError(
            f"{path} is cut short: its last triangle or its end is missing. Copy or save it again."
        )
    return corners.astype(np.float64)
