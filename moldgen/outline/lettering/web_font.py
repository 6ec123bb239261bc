"""Fonts of web pages: the tables of an OpenType font, each compressed on its own."""

from __future__ import annotations

import zlib
from struct import Struct, error

WEB_FONT = b"wOFF"
"""First four bytes of a web font of the first kind."""

WEB_FONT_2 = b"wOF2"
"""First four bytes of a web font of the second kind, whose tables are packed all together."""

_HEADER = Struct(">4s4sIHHI24x")
_ROW = Struct(">4sIIII")
_OUT_ROW = Struct(">4sIII")


def opentype_from_woff(data: bytes, *, most_bytes: float) -> bytes | None:
    """Return the OpenType font in a web font; None if it is damaged or unpacks to too much.

    Parameters
    ----------
    data : bytes
        Content of the file.
    most_bytes : float
        Largest font. [bytes]

    References
    ----------
    .. [1] W3C, "WOFF File Format 1.0", sections 3 to 5.
    """
    try:
        _, flavor, _, n_tables, *_ = _HEADER.unpack_from(data)
        rows = [_ROW.unpack_from(data, _HEADER.size + k * _ROW.size) for k in range(n_tables)]
        if sum(length for _, _, _, length, _ in rows) > most_bytes:
            return None
        tables = [_table(data[at : at + packed], length) for _, at, packed, length, _ in rows]
    except (error, zlib.error, ValueError):
        return None
    at, directory, body = 12 + _OUT_ROW.size * n_tables, b"", b""
    for (tag, _, _, length, checksum), table in zip(rows, tables, strict=True):
        directory += _OUT_ROW.pack(tag, checksum, at + len(body), length)
        body += table + bytes(-length % 4)
    return _start(flavor, n_tables) + directory + body


def _table(packed: bytes, length: int) -> bytes:
    """Return a table as it was before it was packed; it is not unpacked any further."""
    table = packed if len(packed) == length else zlib.decompressobj().decompress(packed, length + 1)
    if len(table) != length:
        raise ValueError
    return table


def _start(flavor: bytes, n_tables: int) -> bytes:
    """Return the head of an OpenType font; the search numbers go by the count of its tables."""
    power = max(n_tables, 1).bit_length() - 1
    search = 16 << power
    return flavor + Struct(">4H").pack(n_tables, search, power, n_tables * 16 - search)
