"""Processes of this machine to work in."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import Executor
from contextlib import contextmanager

from moldgen.execution import SameContextThread


@contextmanager
def local_processes(n: int) -> Iterator[Executor]:
    """Yield so many processes on this machine, each on one thread; one is this process itself."""
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    if n <= 1:
        with SameContextThread() as thread:
            yield thread
        return

    with ProcessPoolExecutor(n, mp_context=get_context("spawn"), initializer=_begin) as pool:
        yield pool


def _begin() -> None:
    """Make a process ready: one kernel thread, and Ctrl-C is the business of who started it.

    When that process is gone, however it ended, this one goes too.
    """
    import os
    import signal
    from threading import Thread

    os.environ["NUMBA_NUM_THREADS"] = "1"
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    import os
    from multiprocessing import parent_process

    if (parent := parent_process()) is not None:
        parent.join()
        os._exit(1)
