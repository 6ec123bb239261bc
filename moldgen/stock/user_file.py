"""Where a person keeps the shop's own entries: the one place that reads the environment."""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping
from pathlib import Path


def user_stock_file(
    platform: str = sys.platform, environment: Mapping[str, str] = os.environ
) -> Path:
    """Return where a person keeps the shop's own entries: ``moldgen/stock.toml``.

    In the platform's configuration folder: ``%APPDATA%`` on Windows, ``~/Library/Application
    Support`` on macOS, else ``$XDG_CONFIG_HOME`` or ``~/.config``. The file need not be there.
    """
    home = Path(environment.get("USERPROFILE" if platform == "win32" else "HOME") or "~")
    configured = Path(
        environment.get("APPDATA" if platform == "win32" else "XDG_CONFIG_HOME") or "."
    )
    usual = {"win32": home / "AppData" / "Roaming", "darwin": home / "Library/Application Support"}
    folder = usual.get(platform, home / ".config")
    if platform != "darwin" and configured.is_absolute():
        folder = configured
    return folder / "moldgen" / "stock.toml"
