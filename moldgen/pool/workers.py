"""The workers that a command asks for: a cluster, processes of this machine, or this process."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import Executor
from contextlib import contextmanager
from typing import Protocol

from moldgen.execution import n_processors
from moldgen.pool.address import cluster_address
from moldgen.pool.cluster import cluster_workers
from moldgen.pool.processes import local_processes


class WorkerWish(Protocol):
    """What the words of a command say about workers.

    Attributes
    ----------
    workers : int
        Processes of this machine; 0 leaves it open. [-]
    cluster, cluster_keys : str
        Address of a cluster, and the folder of its keys; empty for none.
    """

    @property
    def workers(self) -> int: ...  # noqa: D102
    @property
    def cluster(self) -> str: ...  # noqa: D102
    @property
    def cluster_keys(self) -> str: ...  # noqa: D102


@contextmanager
def chosen_workers(wish: WorkerWish, *, usual: int = 1) -> Iterator[Executor | None]:
    """Yield the workers that are asked for; None where this process does the work itself.

    Parameters
    ----------
    wish : WorkerWish
        What is asked for.
    usual : int
        Processes where nothing is. [-]

    Raises
    ------
    ClusterError
        If there is no such cluster, or nobody works in it.
    """
    if wish.cluster:
        with cluster_workers(cluster_address(wish.cluster, wish.cluster_keys)) as pool:
            yield pool
        return
    n = wish.workers or usual
    if n <= 1:
        yield None
        return
    with local_processes(n) as pool:
        yield pool


def usual_workers(n_pieces: int, *, least: int) -> int:
    """Return how many processes are usual for so many pieces of work.

    Starting them takes a while: one, this process itself, for fewer pieces than ``least``.
    """
    return min(n_pieces, n_processors()) if n_pieces >= least else 1
