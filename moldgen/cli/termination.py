"""A request of the system to end is answered as Ctrl-C is: nothing is left half done."""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType


class Termination(KeyboardInterrupt):
    """The system asks the program to end (SIGTERM), as it does before it shuts down."""


@contextmanager
def ending_when_asked() -> Iterator[None]:
    """Raise `Termination` where the work stands when the system asks the program to end.

    Somebody who calls the command line from a program with a handler of its own keeps that one.
    """
    is_main = threading.current_thread() is threading.main_thread()
    if not is_main or signal.getsignal(signal.SIGTERM) is not signal.SIG_DFL:
        yield
        return
    signal.signal(signal.SIGTERM, _end)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, signal.SIG_DFL)


def _end(number: int, frame: FrameType | None) -> None:
    raise Termination
