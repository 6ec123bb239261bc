"""Several files in one, the same bytes each time and on every system."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from io import SEEK_CUR, BytesIO
from pathlib import Path
from struct import pack, unpack
from typing import BinaryIO
from zipfile import ZIP_DEFLATED, ZIP_STORED, ZipFile, ZipInfo
from zlib import DEFLATED, MAX_WBITS, compressobj, crc32

_FIRST_DATE = (1980, 1, 1, 0, 0, 0)
"""The format cannot go further back, and every file needs a date."""
_FIRST_DAY = 0x21
_VERSION = 20
_UTF8 = 0x800
_N_NAME_AT = 26
_MOST_MEMBERS, _MOST_BYTES = 65_000, 2**31
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


@dataclass(frozen=True, slots=True, kw_only=True)
class ZipMember:
    """A file as it stands in a ZIP file.

    Attributes
    ----------
    name : str
        With its folders.
    data : bytes
        Its content, deflated or as it is.
    deflated : bool
        Which of the two.
    crc : int
        Check sum of the content.
    n_bytes : int
        Length of the content. [bytes]
    """

    name: str
    data: bytes
    deflated: bool
    crc: int
    n_bytes: int


def zip_member(name: str, content: bytes, *, level: int) -> ZipMember:
    """Return a file deflated, or as it is if the level is 0 or it would be no shorter."""
    packed = _deflated(content, level) if level else content
    deflated = len(packed) < len(content)
    return ZipMember(
        name=name, data=packed if deflated else content, deflated=deflated,
        crc=crc32(content), n_bytes=len(content),
    )  # fmt: skip


def _deflated(content: bytes, level: int) -> bytes:
    packer = compressobj(level, DEFLATED, -MAX_WBITS)
    return packer.compress(content) + packer.flush()


def zip_of_members(members: Iterable[ZipMember]) -> bytes:
    """Return files that are packed already as one ZIP file without any times.

    Raises
    ------
    ValueError
        If there are more files, or larger ones, than the plain format holds.

    References
    ----------
    APPNOTE.TXT, .ZIP File Format Specification, sections 4.3.7, 4.3.12 and 4.3.16.
    """
    stream, directory, count = BytesIO(), BytesIO(), 0
    for member in members:
        count += 1
        name = member.name.encode()
        head = _head(member, len(name))
        at = stream.tell()
        stream.write(b"PK\3\4" + head + name)
        stream.write(member.data)
        directory.write(b"PK\1\2" + bytes((_VERSION, _UNIX)) + head)
        directory.write(pack("<HHHII", 0, 0, 0, _READABLE, at) + name)
    if count > _MOST_MEMBERS or stream.tell() > _MOST_BYTES:
        raise ValueError(f"{count} files of {stream.tell()} bytes for one ZIP file")
    at, listed = stream.tell(), directory.getvalue()
    stream.write(listed + b"PK\5\6" + pack("<HHHHIIH", 0, 0, count, count, len(listed), at, 0))
    return stream.getvalue()


def _head(member: ZipMember, n_name: int) -> bytes:
    """Return what stands of a file both in front of it and in the directory."""
    flags = 0 if member.name.isascii() else _UTF8
    method = ZIP_DEFLATED if member.deflated else ZIP_STORED
    sizes = member.crc, len(member.data), member.n_bytes
    return pack("<HHHHHIIIHH", _VERSION, flags, method, 0, _FIRST_DAY, *sizes, n_name, 0)


@contextmanager
def open_members(path: Path) -> Iterator[Callable[[str], ZipMember | None]]:
    """Yield what returns a file of a ZIP file by its name, as it is packed there.

    Raises
    ------
    OSError, BadZipFile
        If it cannot be read.
    """
    with ZipFile(path) as archive, path.open("rb") as file:
        entries = {entry.filename: entry for entry in archive.infolist()}
        yield lambda name: _member(entries[name], file) if name in entries else None


def _member(entry: ZipInfo, file: BinaryIO) -> ZipMember:
    file.seek(entry.header_offset + _N_NAME_AT)
    n_name, n_extra = unpack("<HH", file.read(4))
    file.seek(n_name + n_extra, SEEK_CUR)
    return ZipMember(
        name=entry.filename, data=file.read(entry.compress_size),
        deflated=entry.compress_type == ZIP_DEFLATED, crc=entry.CRC, n_bytes=entry.file_size,
    )  # fmt: skip
