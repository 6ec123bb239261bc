"""Processes of this machine to work in."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import Executor, Future
from contextlib import contextmanager
from functools import partial
from threading import Lock
from typing import TYPE_CHECKING, Any, TypeVar

from moldgen.execution import SameContextThread

if TYPE_CHECKING:
    from concurrent.futures import ProcessPoolExecutor

T = TypeVar("T")

RETRIES = 3
"""So many workers may end in the midst of one piece of work before it is given up. [-]."""


@contextmanager
def local_processes(n: int) -> Iterator[Executor]:
    """Yield so many processes on this machine, each on one thread; one is this process itself.

    A process that ends in the midst of its work loses nothing: new ones do it again.
    """
    if n <= 1:
        with SameContextThread() as thread:
            yield thread
        return
    pool = LastingProcesses(n)
    try:
        yield pool
    finally:
        pool.shutdown()


class LastingProcesses(Executor):
    """Processes that are started anew when one of them is killed; what they did is done again.

    Work is a piece that may be done twice. Work in which processes have ended `RETRIES` times
    and once more ends in `BrokenProcessPool`.
    """

    def __init__(self, n: int) -> None:
        self._n = n
        self._lock = Lock()
        self._pool = _started(n)

    def submit(self, work: Callable[..., T], /, *values: Any, **named: Any) -> Future[T]:
        """Have work done in one of the processes."""
        asked: Future[T] = Future()
        self._begin(asked, partial(work, *values, **named), RETRIES)
        return asked

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:
        """End the processes."""
        with self._lock:
            pool = self._pool
        pool.shutdown(wait, cancel_futures=cancel_futures)

    def _begin(self, asked: Future[T], work: Callable[[], T], left: int) -> None:
        pool, doing = self._submitted(work)
        asked.add_done_callback(lambda one: doing.cancel() if one.cancelled() else None)

        def done(future: Future[T]) -> None:
            from concurrent.futures.process import BrokenProcessPool

            if asked.cancelled() or future.cancelled():
                return
            problem = future.exception()
            if isinstance(problem, BrokenProcessPool) and left > 0:
                self._renew(pool)
                self._begin(asked, work, left - 1)
            elif asked.set_running_or_notify_cancel():
                if problem is None:
                    asked.set_result(future.result())
                else:
                    asked.set_exception(problem)

        doing.add_done_callback(done)

    def _submitted(self, work: Callable[[], T]) -> tuple[ProcessPoolExecutor, Future[T]]:
        from concurrent.futures.process import BrokenProcessPool

        with self._lock:
            pool = self._pool
        try:
            return pool, pool.submit(work)
        except BrokenProcessPool:
            self._renew(pool)
            return self._submitted(work)

    def _renew(self, broken: ProcessPoolExecutor) -> None:
        """Start processes anew, unless that was done since."""
        with self._lock:
            if self._pool is broken:
                self._pool = _started(self._n)


def _started(n: int) -> ProcessPoolExecutor:
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    return ProcessPoolExecutor(n, mp_context=get_context("spawn"), initializer=_make_ready)


def _make_ready() -> None:
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
