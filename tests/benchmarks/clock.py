"""How time and memory are taken."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from statistics import median


def median_s(
    work: Callable[[], object],
    *,
    times: int = 5,
    warm: bool = True,
    clock: Callable[[], float] = time.perf_counter,
) -> float:
    """Return the median time of a piece of work. [s].

    Parameters
    ----------
    times : int
        Rounds that are counted.
    warm : bool
        Whether a round goes before that is not counted.
    clock : callable
        Wall clock, or ``time.process_time``, which other programs do not disturb.
    """
    if warm:
        work()
    return median(_once_s(work, clock) for _ in range(times))


def _once_s(work: Callable[[], object], clock: Callable[[], float]) -> float:
    start = clock()
    work()
    return clock() - start


@contextmanager
def one_core() -> Iterator[None]:
    """Keep this process to one core, where the system can."""
    if not hasattr(os, "sched_setaffinity"):
        yield
        return
    before = os.sched_getaffinity(0)
    os.sched_setaffinity(0, {min(before)})
    try:
        yield
    finally:
        os.sched_setaffinity(0, before)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ran:
    """One run of the command: wall time and, where the system tells them, the rest.

    Other programs stretch the wall time, but not the time on processors.
    """

    wall_s: float
    processor_s: float | None
    peak_MB: float | None


_SOURCE_ONLY = "PYTHONDONTWRITEBYTECODE"

# A process starts with the peak of the one that started it, so a small one goes between.
_BETWEEN = """
import json, subprocess, sys, time
start = time.perf_counter()
code = subprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL).returncode
wall_s = time.perf_counter() - start
try:
    import resource
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    processor_s, peak = used.ru_utime + used.ru_stime, used.ru_maxrss
except ImportError:
    processor_s = peak = None
print(json.dumps([code, wall_s, processor_s, peak]))
"""


def installed() -> dict[str, str]:
    """Return the environment, with leave to keep bytecode, as an installation has it."""
    return {word: value for word, value in os.environ.items() if word != _SOURCE_ONLY}


def run_command(words: Sequence[str], **environment: str) -> Ran:
    """Run ``moldgen`` in a process of its own, as one that has been installed runs.

    Its modules may keep their bytecode; read from source they cost another fifth of a second.

    Raises
    ------
    CalledProcessError
        If the command does not end with 0 or 1.
    """
    command = [sys.executable, "-m", "moldgen", *words]
    told = subprocess.run(
        [sys.executable, "-c", _BETWEEN, *command],
        stdout=subprocess.PIPE,
        check=True,
        env=installed() | environment,
    )
    code, wall_s, processor_s, peak = json.loads(told.stdout)
    if code not in (0, 1):
        raise subprocess.CalledProcessError(code, command)
    # Linux counts kilobytes, macOS bytes.
    unit = 1e6 if sys.platform == "darwin" else 1e3
    return Ran(
        wall_s=wall_s,
        processor_s=processor_s,
        peak_MB=None if peak is None else peak / unit,
    )
