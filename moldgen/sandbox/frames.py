"""Messages between two processes: words as JSON and blocks of bytes, never code.

A message is read without being believed: a process that reads hostile files may be made to write
anything, so nothing in it is run, and its size is limited.
"""

from __future__ import annotations

import json
import struct
from collections.abc import Sequence
from typing import IO, Any, NamedTuple

_HEAD = struct.Struct("<II")
_SIZE = struct.Struct("<Q")
MOST_BYTES = 2**29
"""A message larger than this is refused. [bytes]."""
_MOST_BLOCKS = 4096


class FrameError(Exception):
    """What arrived is no message."""


class Frame(NamedTuple):
    """A message: what it says, and bytes that go with it."""

    words: dict[str, Any]
    blocks: Sequence[bytes] = ()


def write_frame(stream: IO[bytes], frame: Frame) -> None:
    """Write a message and send it off.

    Raises
    ------
    OSError
        If nobody is there to read it.
    """
    words = json.dumps(frame.words, allow_nan=False).encode()
    stream.write(_HEAD.pack(len(words), len(frame.blocks)))
    stream.write(words)
    for block in frame.blocks:
        stream.write(_SIZE.pack(len(block)))
        stream.write(block)
    stream.flush()


def read_frame(stream: IO[bytes], *, most_bytes: int = MOST_BYTES) -> Frame | None:
    """Read a message; None if the other side has ended.

    Raises
    ------
    FrameError
        If it is larger than it may be, cut short, or no message.
    """
    head = stream.read(_HEAD.size)
    if not head:
        return None
    if len(head) < _HEAD.size:
        raise FrameError("cut short")
    n_words, n_blocks = _HEAD.unpack(head)
    if n_words > most_bytes or n_blocks > _MOST_BLOCKS:
        raise FrameError("too large")
    words = _words(_exactly(stream, n_words))
    left, blocks = most_bytes - n_words, []
    for _ in range(n_blocks):
        (size,) = _SIZE.unpack(_exactly(stream, _SIZE.size))
        left -= size
        if left < 0:
            raise FrameError("too large")
        blocks.append(_exactly(stream, size))
    return Frame(words, blocks)


def _exactly(stream: IO[bytes], n_bytes: int) -> bytes:
    data = stream.read(n_bytes)
    if len(data) < n_bytes:
        raise FrameError("cut short")
    return data


def _words(data: bytes) -> dict[str, Any]:
    try:
        words = json.loads(data)
    except (ValueError, RecursionError) as problem:
        raise FrameError("no words") from problem
    if not isinstance(words, dict):
        raise FrameError("no words")
    return words
