"""Ways to damage a file: by bytes, by words, and inside its packages, the same for each seed."""

from __future__ import annotations

import io
import re
import struct
import zipfile
import zlib
from collections.abc import Callable
from random import Random

_NUMBERS = (
    "0", "-1", "1e-300", "1e300", "1e999", "nan", "inf", "-0", "1.5.5", "99999999999", "65536",
    "2147483648", "-2147483649", "0x10", "1e9", "0.000001", "", "--1", "1979-05-27", "é",
    "\x1b[2J",
)  # fmt: skip
_PIECES = (
    b"\0", b"\xff" * 4, b"\x7f\xff\xff\xff", b"<", b">", b'"', b"&#27;", b"\n", b"]]>", b"{}",
    b"\xef\xbb\xbf", b"\xf0\x9f\x90\x9f", b"\\", b"[[", b"url(#c)", b'href="#g1" ',
)  # fmt: skip
_NUMBER = re.compile(rb"-?\d+(?:\.\d+)?(?:e-?\d+)?")
_WORD = re.compile(rb"[A-Za-z_]{2,}")
_PACKED_MOST = 400_000


def damaged(kind: str, data: bytes, seed: int, *, other: bytes) -> bytes:
    """Return a file with one to four things wrong.

    Parameters
    ----------
    kind : str
        What it is a file of.
    data, other : bytes
        A sound file, and another of its kind that pieces are taken from.
    seed : int
        What is damaged; the same seed, the same bytes.
    """
    random = Random(seed)
    for _ in range(random.choice((1, 1, 2, 4))):
        inside = _INSIDE.get(kind)
        if inside and random.random() < 0.7:
            data = inside(random, data, other)
        else:
            data = _any(random, data, other)
    return data


def _any(random: Random, data: bytes, other: bytes) -> bytes:
    ways = _WORDS if data[:400].isascii() and random.random() < 0.75 else _WAYS
    return random.choice(ways)(random, data, other)


def _span(random: Random, data: bytes) -> tuple[int, int]:
    start = random.randint(0, len(data))
    return start, min(len(data), start + int(2 ** random.uniform(0, 9)))


def _flip(random: Random, data: bytes, other: bytes) -> bytes:
    changed = bytearray(data)
    for _ in range(random.randint(1, 6) if data else 0):
        changed[random.randrange(len(data))] = random.choice((0, 1, 0x7F, 0x80, 0xFF))
    return bytes(changed)


def _truncate(random: Random, data: bytes, other: bytes) -> bytes:
    return data[: random.randint(0, len(data))]


def _cut(random: Random, data: bytes, other: bytes) -> bytes:
    start, end = _span(random, data)
    return data[:start] + data[end:]


def _repeat(random: Random, data: bytes, other: bytes) -> bytes:
    start, end = _span(random, data)
    times = random.choice((2, 3, 40, 1000))
    return data[:start] + data[start:end] * times + data[end:]


def _put(random: Random, data: bytes, other: bytes) -> bytes:
    start, _ = _span(random, data)
    return data[:start] + random.choice(_PIECES) * random.choice((1, 1, 1, 5000)) + data[start:]


def _splice(random: Random, data: bytes, other: bytes) -> bytes:
    (start, end), (first, last) = _span(random, data), _span(random, other)
    return data[:start] + other[first:last] + data[end:]


def _number(random: Random, data: bytes, other: bytes) -> bytes:
    return _replaced(random, _NUMBER, data, random.choice(_NUMBERS).encode())


def _word(random: Random, data: bytes, other: bytes) -> bytes:
    words = _WORD.findall(other[:20_000]) or [b"a"]
    return _replaced(random, _WORD, data, random.choice(words))


def _line(random: Random, data: bytes, other: bytes) -> bytes:
    lines = data.splitlines(keepends=True) or [b""]
    start = random.randrange(len(lines))
    some = lines[start : start + random.randint(1, 12)]
    at = random.randint(0, len(lines))
    return b"".join([*lines[:at], *some * random.choice((1, 2, 200)), *lines[at:]])


def _replaced(random: Random, what: re.Pattern[bytes], data: bytes, by: bytes) -> bytes:
    found = list(what.finditer(data[:200_000]))
    for match in sorted(random.sample(found, min(len(found), random.choice((1, 1, 3)))),
                        key=lambda one: -one.start()):  # fmt: skip
        data = data[: match.start()] + by + data[match.end() :]
    return data


Way = Callable[[Random, bytes, bytes], bytes]
_WAYS: tuple[Way, ...] = (
    _flip, _truncate, _cut, _repeat, _put, _splice, _number, _number, _word, _line,
)  # fmt: skip


_WORDS: tuple[Way, ...] = (_number, _number, _number, _word)
"""Ways that leave the grammar of a text whole."""


def _in_zip(random: Random, data: bytes, other: bytes) -> bytes:
    """Damage one part of a package, which is sound as a package."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            parts = {name: archive.read(name)[:_PACKED_MOST] for name in archive.namelist()}
    except Exception:  # what was damaged before is no package any more
        return _any(random, data, other)
    if not parts:
        return data
    name = random.choice(sorted(parts))
    parts[name] = _any(random, parts[name], parts[random.choice(sorted(parts))])
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for part, content in parts.items():
            archive.writestr(zipfile.ZipInfo(part), content, zipfile.ZIP_DEFLATED)
    return packed.getvalue()


def _in_glb(random: Random, data: bytes, other: bytes) -> bytes:
    """Damage the description of a GLB, whose lengths are right."""
    n_bytes = int.from_bytes(data[12:16], "little")
    if len(data) < 20 or not 0 < n_bytes <= len(data) - 20:
        return _any(random, data, other)
    scene, rest = data[20 : 20 + n_bytes], data[20 + n_bytes :]
    scene = random.choice((_number, _number, _word, _cut))(random, scene, scene)
    scene += b" " * (-len(scene) % 4)
    size = 20 + len(scene) + len(rest)
    return struct.pack("<4sIII4s", b"glTF", 2, size, len(scene), b"JSON") + scene + rest


def _in_png(random: Random, data: bytes, other: bytes) -> bytes:
    """Damage one chunk of a PNG, whose sums are right."""
    chunks, at = [], 8
    while at + 12 <= len(data):
        n_bytes = int.from_bytes(data[at : at + 4], "big")
        chunks.append((data[at + 4 : at + 8], data[at + 8 : at + 8 + n_bytes]))
        at += 12 + n_bytes
    if not chunks:
        return _any(random, data, other)
    which = random.randrange(len(chunks))
    kind, content = chunks[which]
    chunks[which] = kind, random.choice((_flip, _cut, _repeat))(random, content, content)
    return data[:8] + b"".join(
        struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))
        for name, body in chunks
    )


_INSIDE: dict[str, Way] = {"3mf": _in_zip, "npz": _in_zip, "glb": _in_glb, "png": _in_png}
