"""How a piece of work is carried out: who may stop it, on how many threads, within which limits.

It holds for all that a thread does within a ``with`` statement, so that no function in between
has to hand it on; what comes out does not depend on it.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager
from contextvars import ContextVar, copy_context
from dataclasses import dataclass
from functools import cache
from threading import Event
from typing import Any, TypeVar

from moldgen.errors import CancelError, SpecError
from moldgen.limits import OWN_MACHINE, Limits
from moldgen.wording import shown


class Cancel:
    """A wish to stop that another thread, a signal or a page may utter at any time."""

    def __init__(self) -> None:
        self._event = Event()

    def request(self) -> None:
        """Ask the work to stop; it does at its next checkpoint."""
        self._event.set()

    @property
    def requested(self) -> bool:
        """Whether the work was asked to stop."""
        return self._event.is_set()

    def check(self) -> None:
        """Stop here if that was asked for.

        Raises
        ------
        CancelError
            If it was.
        """
        if self.requested:
            raise CancelError("Stopped, as asked: nothing was written.")


T = TypeVar("T")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Execution:
    """How work is carried out.

    Attributes
    ----------
    cancel : Cancel
        Stops it.
    threads : int
        How many threads it may run on.
    limits : Limits
        How much of what is brought is read.
    """

    cancel: Cancel
    threads: int
    limits: Limits


def checkpoint() -> None:
    """Stop here if the work that this thread does was asked to stop.

    Raises
    ------
    CancelError
        If it was.
    """
    execution = _now.get()
    if execution is not None:
        execution.cancel.check()


def cancel_now() -> Cancel | None:
    """Return what may stop the work of this thread, for work that is done in other threads."""
    execution = _now.get()
    return None if execution is None else execution.cancel


def threads_now() -> int:
    """Return how many threads the work of this thread may run on."""
    execution = _now.get()
    return n_processors() if execution is None else execution.threads


def limits_now() -> Limits:
    """Return how much the work of this thread may read of what is brought."""
    execution = _now.get()
    return OWN_MACHINE if execution is None else execution.limits


def n_processors() -> int:
    """Return how many processors this process may use."""
    try:
        return len(os.sched_getaffinity(0))
    except AttributeError:
        # Only Linux tells what a process may use.
        return os.cpu_count() or 1


@contextmanager
def run_with(
    cancel: Cancel | None = None, threads: int | None = None, limits: Limits | None = None
) -> Iterator[Execution]:
    """Let all that this thread does meanwhile be stopped, and run on so many threads.

    Parameters
    ----------
    cancel : Cancel, optional
        Stops it; as outside if left out.
    threads : int, optional
        As outside if left out: all processors, if nothing is said there.
    limits : Limits, optional
        How much of what is brought is read; as outside if left out: what a person at a computer
        of their own may bring.

    Returns
    -------
    Execution
        What holds within the ``with`` statement.

    Raises
    ------
    SpecError
        If it shall run on no thread at all.
    """
    if threads is not None and threads < 1:
        raise SpecError("threads", "1 or more", shown(threads))
    execution = Execution(
        cancel=cancel or cancel_now() or Cancel(),
        threads=threads_now() if threads is None else threads,
        limits=limits_now() if limits is None else limits,
    )
    outside = _now.set(execution)
    try:
        yield execution
    finally:
        _now.reset(outside)


@contextmanager
def beside(work: Callable[[], T]) -> Iterator[Callable[[], T]]:
    """Do work on another thread meanwhile, if there may be one; else when it is asked for.

    What is yielded waits for it and returns what came out.
    """
    if threads_now() == 1:
        yield cache(work)
        return
    context = copy_context()
    with ThreadPoolExecutor(1) as pool:
        yield pool.submit(context.run, work).result


class SameContextThread(ThreadPoolExecutor):
    """One thread, whose work may be stopped and is limited as that of who asks for it."""

    def __init__(self) -> None:
        super().__init__(1)

    def submit(self, work: Callable[..., T], /, *values: Any, **named: Any) -> Future[T]:
        """Have work done, in the context of now."""
        return super().submit(copy_context().run, work, *values, **named)


_now: ContextVar[Execution | None] = ContextVar("moldgen execution", default=None)
