"""How time and memory are taken."""

from __future__ import annotations

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
    """One run of the command: wall time and, where the system tells it, peak memory."""

    wall_s: float
    peak_MB: float | None


def run_command(words: Sequence[str]) -> Ran:
    """Run ``moldgen`` in a process of its own.

    Raises
    ------
    CalledProcessError
        If the command does not end with 0 or 1.
    """
    command = [sys.executable, "-m", "moldgen", *words]
    start = time.perf_counter()
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL)
    if not hasattr(os, "wait4"):
        code, peak_MB = process.wait(), None
    else:
        _, status, usage = os.wait4(process.pid, 0)
        code = process.returncode = os.waitstatus_to_exitcode(status)
        # Linux counts kilobytes, macOS bytes.
        peak_MB = usage.ru_maxrss / (1e6 if sys.platform == "darwin" else 1e3)
    wall_s = time.perf_counter() - start
    if code not in (0, 1):
        raise subprocess.CalledProcessError(code, command)
    return Ran(wall_s=wall_s, peak_MB=peak_MB)
