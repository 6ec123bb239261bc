"""Standard streams that may be closed, full, or no longer read by anybody."""

from __future__ import annotations

import errno
import io
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import Any, TextIO, cast

from moldgen.errors import MoldgenError

# Windows says EINVAL where other systems say EPIPE.
_READER_GONE = {errno.EPIPE} | ({errno.EINVAL} if sys.platform == "win32" else set())


class StreamError(MoldgenError):
    """What was made cannot be shown: a standard stream takes no more."""


@contextmanager
def lasting_streams() -> Iterator[None]:
    """Give a command standard streams that do not end its work.

    What is closed becomes a stream that drops all; so does a pipe once its reader has gone, which
    is no failure of the work. What takes no more, such as a file on a full disk, is told once by
    a `StreamError`. A terminal, and a stream that somebody has put in place, stays as it is.
    """
    for name, mode in (("stdin", "r"), ("stdout", "w"), ("stderr", "w")):
        if getattr(sys, name) is None:
            setattr(sys, name, _nowhere(mode))
    before = sys.stdout, sys.stderr
    sys.stdout = _lasting(sys.stdout, sys.__stdout__, "output")
    sys.stderr = _lasting(sys.stderr, sys.__stderr__, "error")
    try:
        for stream in (sys.stdout, sys.stderr, sys.stdin):
            _never_refuse_letters(stream)
        yield
    finally:
        sys.stdout, sys.stderr = before


def flush_streams() -> None:
    """Write what waits to be written; raise `StreamError` if a stream takes no more."""
    sys.stdout.flush()
    sys.stderr.flush()


class _Outlet(io.FileIO):
    """The file below a standard stream."""

    def __init__(self, number: int, says: str) -> None:
        super().__init__(number, "w", closefd=False)
        self._says = says

    def write(self, data: Any) -> int:
        """Write bytes; drop them, and all that follow, where nothing can be written any more."""
        try:
            return super().write(data)
        except OSError as error:
            self._drop()
            if error.errno not in _READER_GONE:
                reason = (error.strerror or "the system refused").lower()
                raise StreamError(
                    f"Standard {self._says} cannot be written: {reason}. Files that were made are "
                    "where they were to go."
                ) from error
        return memoryview(data).nbytes

    def _drop(self) -> None:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, self.fileno())
        os.close(nowhere)


def _lasting(stream: TextIO, own: TextIO | None, says: str) -> TextIO:
    if stream is not own or not isinstance(stream, io.TextIOWrapper) or stream.isatty():
        return stream
    outlet = _Outlet(stream.fileno(), says)
    return io.TextIOWrapper(
        # Where somebody wants no buffer, Python has none either.
        cast("io.BufferedWriter", outlet) if stream.write_through else io.BufferedWriter(outlet),
        encoding=stream.encoding,
        errors=stream.errors,
        line_buffering=stream.line_buffering,
        write_through=stream.write_through,
    )


def _nowhere(mode: str) -> TextIO:
    # The lowest number that is free is the one that was closed, so that no file gets it instead.
    flags = os.O_RDONLY if mode == "r" else os.O_WRONLY
    number = os.open(os.devnull, flags)
    return cast("TextIO", open(number, mode, encoding="utf-8", closefd=False))


def _never_refuse_letters(stream: TextIO) -> None:
    # A console that lacks a letter shows its number rather than ending the program.
    reconfigure = getattr(stream, "reconfigure", None)
    if reconfigure is not None:
        with suppress(OSError):  # one that was read from already stays as it is
            reconfigure(errors="backslashreplace")
