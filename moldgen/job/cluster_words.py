"""How workers and clusters are named, wherever they can be."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from moldgen.errors import SpecError
from moldgen.pool.address import cluster_address
from moldgen.quantity import Meaning, Quantity, Spec

WorkerCount = Annotated[
    int,
    Quantity(
        "", "molds built at a time on this machine; as many as pay if 0", at_least=0, at_most=64
    ),
]
ClusterWord = Annotated[
    str, Meaning("address of a cluster that builds them, as moldgen scheduler prints it")
]
ClusterKeys = Annotated[str, Meaning("folder of the cluster's keys, needed beyond this machine")]


def check_worker_words(workers: int, cluster: str, cluster_keys: str) -> None:
    """Raise `SpecError` unless workers and cluster go together."""
    if cluster_keys and not cluster:
        raise SpecError("cluster_keys", "left out without a cluster", repr(cluster_keys))
    if cluster and workers:
        raise SpecError(
            "workers", "left out with a cluster", f"{workers}",
            "The cluster has its own workers.",
        )  # fmt: skip
    if cluster:
        cluster_address(cluster, cluster_keys)


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkerWords(Spec):
    """What a command can say of who does its work."""

    workers: WorkerCount = 0
    cluster: ClusterWord = ""
    cluster_keys: ClusterKeys = ""

    def __post_init__(self) -> None:
        Spec.__post_init__(self)
        check_worker_words(self.workers, self.cluster, self.cluster_keys)

    @property
    def is_said(self) -> bool:
        """Whether anything is."""
        return bool(self.workers or self.cluster)
