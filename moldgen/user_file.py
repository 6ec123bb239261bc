"""Where a person's own files are: the one place that reads the environment for them."""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping
from pathlib import Path

HOME = "MOLDGEN_HOME"
"""The variable of the environment that names another folder for a person's own files."""


def user_stock_file(
    platform: str = sys.platform, environment: Mapping[str, str] = os.environ
) -> Path:
    """Return where a person keeps the shop's own entries: ``moldgen/stock.toml``.

    In the platform's configuration folder: ``%APPDATA%`` on Windows, ``~/Library/Application
    Support`` on macOS, else ``$XDG_CONFIG_HOME`` or ``~/.config``; or in the folder that
    ``MOLDGEN_HOME`` names. The file need not be there.
    """
    if environment.get(HOME):
        return Path(environment[HOME]).expanduser() / "stock.toml"
    home = Path(environment.get("USERPROFILE" if platform == "win32" else "HOME") or "~")
    configured = Path(
        environment.get("APPDATA" if platform == "win32" else "XDG_CONFIG_HOME") or "."
    )
    usual = {"win32": home / "AppData" / "Roaming", "darwin": home / "Library/Application Support"}
    folder = usual.get(platform, home / ".config")
    if platform != "darwin" and configured.is_absolute():
        folder = configured
    return folder / "moldgen" / "stock.toml"


def user_data_folder(environment: Mapping[str, str] = os.environ) -> Path:
    """Return where the page keeps classes and designs, and the log its notes.

    The platform's folder for data, or the folder that ``MOLDGEN_HOME`` names. It need not be
    there.
    """
    if environment.get(HOME):
        return Path(environment[HOME]).expanduser()
    from platformdirs import user_data_path

    return user_data_path("moldgen", appauthor=False)


def database_file(folder: Path) -> Path:
    """Return the one file of a data folder that page and log keep everything in."""
    return folder / "page.sqlite"


def photo_folder(folder: Path) -> Path:
    """Return where a data folder has the pictures that notes of the log name."""
    return folder / "log-photos"


def room_file(stock_file: Path) -> Path:
    """Return where ``moldgen setup`` keeps the room: beside the person's own stock file."""
    return stock_file.with_name("room.toml")


ROOM = "room"
"""The section of the room's file that is no kind of stock: what commands use by default."""
