"""Many pieces of work asked for at a time, and their answers as they come."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Executor, Future, wait

from moldgen.errors import GeometryError
from moldgen.execution import checkpoint
from moldgen.pool.cluster import why_lost
from moldgen.pool.piece import carry_out

MOST_WAITING = 64
"""So many answers are asked for at a time, which is enough for as many workers. [-]."""


def answers(
    pool: Executor, pieces: Sequence[bytes], *, threads: int = 1
) -> Iterator[tuple[int, bytes]]:
    """Yield the number of each piece of work with its answer, as soon as it is there.

    No more is asked for at a time than is soon taken. Who takes no more leaves the rest undone.

    Parameters
    ----------
    pool : Executor
        Carries them out.
    pieces : sequence of bytes
        From `piece_bytes`.
    threads : int
        On how many threads each runs.

    Raises
    ------
    GeometryError
        If workers end in the midst of one again and again, or a cluster goes away.
    CancelError
        If the work was asked to stop.
    """
    left = list(reversed(range(len(pieces))))
    waiting: dict[Future[bytes], int] = {}
    try:
        while left or waiting:
            while left and len(waiting) < MOST_WAITING:
                number = left.pop()
                waiting[pool.submit(carry_out, pieces[number], threads)] = number
            ready, _ = wait(waiting, return_when=FIRST_COMPLETED)
            for future in [one for one in waiting if one in ready]:
                checkpoint()
                yield waiting.pop(future), _answer(future)
    finally:
        for future in waiting:
            future.cancel()


def _answer(future: Future[bytes]) -> bytes:
    try:
        return future.result()
    except Exception as problem:
        told = why_lost(problem)
        if not told:
            raise
        raise GeometryError(told) from None
