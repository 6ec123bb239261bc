"""The library that reads and writes DXF, loaded without the settings that lie in folders."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from configparser import RawConfigParser
from contextlib import contextmanager
from importlib import import_module
from pathlib import Path
from typing import Any

SETTINGS = "ezdxf.ini"
"""The library obeys a file of this name in the working folder, where anybody may put one."""


def dxf_library(module: str = "ezdxf") -> Any:
    """Return a module of the library.

    Parameters
    ----------
    module : str
        Its name.
    """
    if "ezdxf" in sys.modules:
        return import_module(module)
    with _settings_unread():
        return import_module(module)


@contextmanager
def _settings_unread() -> Iterator[None]:
    """Let nobody read files of that name meanwhile; the library does so while it loads."""
    read = RawConfigParser.read

    def read_others(parser: RawConfigParser, filenames: Any, encoding: str | None = None) -> Any:
        paths = [filenames] if isinstance(filenames, str | bytes | Path) else filenames
        return read(parser, [p for p in paths if Path(str(p)).name != SETTINGS], encoding)

    RawConfigParser.read = read_others  # type: ignore[method-assign, assignment]
    try:
        yield
    finally:
        RawConfigParser.read = read  # type: ignore[method-assign]
