"""How much a process may take while it works."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True, kw_only=True)
class ProcessLimits:
    """What a process may take and touch; where the system has no means for one, it is left out.

    Attributes
    ----------
    wall_s : float
        Seconds of the clock that one piece of work may take. [s]
    processor_s : float
        Seconds of processor time that one piece of work may take. [s]
    memory_MB : float
        Address space of the process. [MB]
    file_MB : float
        Largest file that it may write. [MB]
    open_files : int
        Files that it may hold open at once.
    folder : path, optional
        The one folder that it may write to; none if left out.
    readable : tuple of path
        What it may read besides Python, this package, fonts and kept loops.
    """

    wall_s: float = 90.0
    processor_s: float = 60.0
    memory_MB: float = 2500.0
    file_MB: float = 100.0
    open_files: int = 64
    folder: Path | None = None
    readable: tuple[Path, ...] = ()

    def as_text(self) -> str:
        """Return the limits as one line, for the command line of a process."""
        return json.dumps(asdict(self), default=str)

    @classmethod
    def from_text(cls, text: str) -> ProcessLimits:
        """Return the limits that `as_text` wrote."""
        words = json.loads(text)
        folder = words.pop("folder")
        readable = tuple(Path(path) for path in words.pop("readable"))
        return cls(folder=folder and Path(folder), readable=readable, **words)
