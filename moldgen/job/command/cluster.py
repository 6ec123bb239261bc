"""What can be typed after the commands of a cluster: scheduler and worker."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from moldgen.job.cluster_words import ClusterKeys
from moldgen.quantity import Meaning, Quantity, Spec


@dataclass(frozen=True, slots=True, kw_only=True)
class SchedulerCommand(Spec):
    """What the scheduler command can say."""

    host: Annotated[
        str,
        Meaning("name or number of this machine in its network; this machine alone if left out"),
    ] = "127.0.0.1"
    port: Annotated[float, Quantity("", "where it listens", at_least=1024, at_most=65535)] = 8786
    cluster_keys: ClusterKeys = ""
    new_keys: Annotated[
        str, Meaning("make new keys in this folder and end; copy it to every machine")
    ] = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkerCommand(Spec):
    """What the worker command can say."""

    address: Annotated[str, Meaning("address of the cluster, as moldgen scheduler prints it")]
    processes: Annotated[
        int,
        Quantity("", "molds built at a time; as many as processors if 0", at_least=0, at_most=256),
    ] = 0
    cluster_keys: ClusterKeys = ""
    results: Annotated[
        str,
        Meaning("folder in which built molds are kept, so that none is built twice; may be shared"),
    ] = ""
