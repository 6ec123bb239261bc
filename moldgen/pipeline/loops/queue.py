"""Loops that wait to be compiled: which comes next, and how long all of them will take."""

from __future__ import annotations

import threading
from collections.abc import Sequence

from moldgen.pipeline.loops.table import CompiledLoop, called_loops

_PRIOR_S = 2.0
"""The table's pace is believed like so many seconds of this machine's own. [s]."""


class LoopQueue:
    """Loops to compile, handed out so that none is compiled twice.

    A loop comes after those that it calls, or else both processes would compile these; loops of
    one name come one after another, because their index is one file. Of those that may come, the
    one comes first that the longest chain of others waits for.
    """

    def __init__(self, loops: Sequence[CompiledLoop], *, n_workers: int) -> None:
        self._n_workers = n_workers
        self._waiting = list(loops)
        self._busy: list[CompiledLoop] = []
        self._left_s = self._whole_s = sum(loop.compiling_s for loop in loops)
        self._known_s = self._took_s = _PRIOR_S
        self._changed = threading.Condition()
        self._called = {_place(loop): called_loops(loop.dispatcher) for loop in loops}
        self._chain_s = self._chains()

    def take(self) -> CompiledLoop | None:
        """Return the next loop, waiting until there is one that may come; None if all are out."""
        with self._changed:
            while self._waiting:
                ready = self._ready()
                if ready:
                    loop = max(ready, key=lambda each: self._chain_s[_place(each)])
                    self._waiting.remove(loop)
                    self._busy.append(loop)
                    return loop
                self._changed.wait()
            return None

    def put_back(self, loop: CompiledLoop, took_s: float | None) -> None:
        """Take note that a loop is done, after so many seconds, or will not be."""
        with self._changed:
            self._busy.remove(loop)
            self._left_s -= loop.compiling_s
            if took_s is not None:
                self._took_s += took_s
                self._known_s += loop.compiling_s
            self._changed.notify_all()

    def wait(self, timeout_s: float) -> bool:
        """Wait until a loop is done, but no longer than this; tell whether one was."""
        with self._changed:
            return self._changed.wait(timeout_s)

    def share(self) -> float:
        """Return the share of the work that is done, from 0 to 1."""
        return 1.0 - self._left_s / self._whole_s if self._whole_s else 1.0

    def left_s(self) -> float:
        """Return how long the rest will take, at the pace of this machine so far. [s]."""
        return self._left_s * self._took_s / self._known_s / self._n_workers

    def _ready(self) -> list[CompiledLoop]:
        busy = {_place(loop) for loop in self._busy}
        unfinished = busy | {_place(loop) for loop in self._waiting}
        ready = [
            loop
            for loop in self._waiting
            if _place(loop) not in busy and not self._called[_place(loop)] & unfinished
        ]
        # Loops that call each other would wait for ever.
        return ready or ([] if busy else self._waiting[:1])

    def _chains(self) -> dict[tuple[str, str], float]:
        """Return for each loop the seconds of the longest chain that begins with it. [s]."""
        own_s: dict[tuple[str, str], float] = {}
        for loop in self._waiting:
            own_s[_place(loop)] = own_s.get(_place(loop), 0.0) + loop.compiling_s
        chain_s: dict[tuple[str, str], float] = {}
        # The table lists a loop before those that call it.
        for place in reversed(own_s):
            callers = [chain_s.get(other, 0.0) for other in own_s if place in self._called[other]]
            chain_s[place] = own_s[place] + max(callers, default=0.0)
        return chain_s


def _place(loop: CompiledLoop) -> tuple[str, str]:
    return loop.module, loop.name
