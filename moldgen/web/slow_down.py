"""Patience for those who guess: each wrong code costs the next try more time."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable

_FREE_TRIES = 5
_FIRST_WAIT_S = 1.0
_LONGEST_WAIT_S = 300.0
_MOST_KNOWN = 4096


class SlowDown:
    """How long an address has to wait after wrong codes.

    A few slips are free; then the wait doubles with each, up to five minutes. All addresses
    together have their own count, so that many of them guess no faster than one by much.

    Parameters
    ----------
    clock : callable
        Tells the time. [s]
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._lock = threading.Lock()
        self._tries: dict[str, tuple[int, float]] = {}

    def wait_s(self, address: str) -> float:
        """Return how long it has to wait before it may try. [s]."""
        with self._lock:
            return max(self._left_s(address, 1), self._left_s("", 20))

    def wrong(self, address: str) -> None:
        """Take note of a wrong code."""
        now = self._clock()
        with self._lock:
            if len(self._tries) > _MOST_KNOWN:
                self._tries.clear()
            for who in (address, ""):
                count, _ = self._tries.get(who, (0, now))
                self._tries[who] = (count + 1, now)

    def right(self, address: str) -> None:
        """Take note of a right code: this address has done with guessing."""
        with self._lock:
            self._tries.pop(address, None)

    def _left_s(self, who: str, patience: int) -> float:
        count, last = self._tries.get(who, (0, 0.0))
        over = count - _FREE_TRIES * patience
        if over < 0:
            return 0.0
        wait_s = min(_LONGEST_WAIT_S, _FIRST_WAIT_S * 2.0 ** min(over, 20))
        return max(0.0, last + wait_s - self._clock())
