"""Compile what a command needs ahead of it, on all processors, in processes of their own."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import IO

from moldgen.pipeline.loops.queue import LoopQueue
from moldgen.pipeline.loops.table import missing_loops
from moldgen.pipeline.loops.worker import compile_loop

Tell = Callable[[float, float], None]
"""Hears which share is done, from 0 to 1, and how many seconds are left. [-], [s]."""

_MOST_WORKERS = 4
_WORTH_S = 2.5
"""Less than this is compiled sooner than processes for it have started. [s]."""
_TOLD_EVERY_S = 0.25
_STALLED_S = 120.0
"""Workers that finish nothing for so long are given up. [s]."""
_WORKER = (
    "import sys; sys.path.insert(0, sys.argv[1]); "
    "from moldgen.pipeline.loops.worker import work; work()"
)


def prepare(uses: Iterable[str], tell: Tell, *, n_workers: int | None = None) -> int:
    """Compile and keep, here and beside, the loops that are needed and missing on this machine.

    What does not compile, or is left when a worker ends early, is compiled where it is called
    first, as if this had never run.

    Parameters
    ----------
    uses : iterable of str
        What is needed: ``mold``, ``forming`` or the name of a command;
        its pictures with ``-pictures`` behind.
    tell : callable
        Told the share that is done, and how long the rest will take. [-], [s]
    n_workers : int, optional
        Processes, this one among them; left out, one for each processor, up to four.

    Returns
    -------
    int
        How many loops were missing; 0 if that was too few to be worth a process, and -1 if none
        can be kept here, so that other processes can hand none over.
    """
    # Loops may run as plain Python, and where Python is part of a program there is none to start.
    if os.environ.get("NUMBA_DISABLE_JIT", "0") != "0" or not sys.executable:
        return 0
    missing = missing_loops(uses)
    if sum(loop.compiling_s for loop in missing) < _WORTH_S:
        return 0
    if not missing[0].can_be_kept:
        return -1
    n_workers = n_workers or min(_MOST_WORKERS, _n_processors())
    queue = LoopQueue(missing, n_workers=n_workers)
    workers = _started(n_workers - 1)  # this process is the first
    try:
        _run(queue, workers, tell)
    finally:
        _ended(workers)
    return len(missing)


def _n_processors() -> int:
    allowed = getattr(os, "sched_getaffinity", None)
    return len(allowed(0)) if allowed else os.cpu_count() or 1


def _started(n: int) -> list[subprocess.Popen[str]]:
    """Start workers that import this very package, whatever folder we are in."""
    home = str(Path(__file__).parents[3])
    workers = []
    for _ in range(n):
        try:
            worker = subprocess.Popen(
                [sys.executable, "-P", "-c", _WORKER, home],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                encoding="utf-8",
                creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
            )
        except OSError:  # no more processes: the others, or none, will do
            break
        workers.append(worker)
    return workers


def _run(queue: LoopQueue, workers: Sequence[subprocess.Popen[str]], tell: Tell) -> None:
    drivers = [
        threading.Thread(target=_drive, args=(queue, worker.stdin, worker.stdout), daemon=True)
        for worker in workers
    ]
    tell(0.0, queue.left_s())
    for driver in drivers:
        driver.start()
    while (loop := queue.take()) is not None:
        queue.put_back(loop, compile_loop(loop.module, loop.name, loop.signature))
        tell(queue.share(), queue.left_s())
    heard = time.monotonic()
    while any(driver.is_alive() for driver in drivers):
        if queue.wait(_TOLD_EVERY_S):
            heard = time.monotonic()
        elif time.monotonic() - heard > _STALLED_S:
            return
        tell(queue.share(), queue.left_s())
    tell(1.0, 0.0)


def _drive(queue: LoopQueue, orders: IO[str], answers: IO[str]) -> None:
    """Give one worker loop after loop, until none is left or the worker has ended."""
    while (loop := queue.take()) is not None:
        try:
            orders.write(json.dumps([loop.module, loop.name, loop.signature]) + "\n")
            orders.flush()
            answer = answers.readline().strip()
        except (OSError, ValueError):
            answer = ""
        queue.put_back(loop, None if answer in ("", "failed") else float(answer))
        if not answer:
            return


def _ended(workers: Iterable[subprocess.Popen[str]]) -> None:
    """End the workers: those with nothing to do by the end of their input, others at once."""
    for worker in workers:
        worker.kill()
        worker.wait()
        for pipe in (worker.stdin, worker.stdout):
            if pipe:
                try:
                    pipe.close()
                except OSError:
                    continue
