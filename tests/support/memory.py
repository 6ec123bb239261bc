"""The memory of a process, as Linux tells it."""

from __future__ import annotations

import re
from pathlib import Path


def held_MB(pid: int) -> float:
    """Return what a process holds now. [MB]."""
    return _status_MB(pid, "VmRSS")


def peak_MB(pid: int) -> float:
    """Return the most that a process has held since its program began, or 0 if not told. [MB].

    ``ru_maxrss`` is not that: a process starts with the peak of the one that started it.
    """
    try:
        return _status_MB(pid, "VmHWM")
    except OSError:
        return 0.0


def _status_MB(pid: int, key: str) -> float:
    status = Path(f"/proc/{pid}/status").read_text()
    found = re.search(rf"{key}:\s+(\d+) kB", status)
    return int(found[1]) / 1000 if found else 0.0
