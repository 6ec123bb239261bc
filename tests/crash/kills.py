"""A process that writes one set after another, killed at random moments."""

from __future__ import annotations

import random
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import count
from pathlib import Path

from crash.folders import FolderState, file_set, state_of, with_theirs
from moldgen.export.atomic import check_folder
from moldgen.export.run_folder import write_run

N_FILES, SIZE = 12, 60_000
"""Of a set: as many and about as large as a mold's."""


@dataclass(frozen=True, kw_only=True)
class Killed:
    """A folder after a kill, and after the next run."""

    struck: FolderState
    settled: FolderState


def killed_at_random(folder: Path, *, n: int, seed: int) -> Iterator[Killed]:
    """Yield what becomes of one folder whose writer is killed again and again."""
    with_theirs(folder)
    rng = random.Random(seed)
    for _ in range(n):
        _write_until_killed(folder, rng)
        struck = _state(folder)
        check_folder(folder)
        yield Killed(struck=struck, settled=_state(folder))


def write_for_ever(folder: Path) -> None:
    """Write one set after another, each a generation newer than what is there."""
    first = (_state(folder).generation or 0) + 1
    print("ready", flush=True)
    for generation in count(first):
        write_run(folder, file_set(generation, n_files=N_FILES, size=SIZE))


def _write_until_killed(folder: Path, rng: random.Random) -> None:
    words = [sys.executable, "-m", "tests.crash", "write", str(folder)]
    with subprocess.Popen(words, stdout=subprocess.PIPE) as writer:
        assert writer.stdout is not None
        writer.stdout.readline()
        time.sleep(rng.uniform(0.0, 0.2))
        writer.send_signal(signal.SIGKILL)


def _state(folder: Path) -> FolderState:
    return state_of(folder, n_files=N_FILES, size=SIZE)
