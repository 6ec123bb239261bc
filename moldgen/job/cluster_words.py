"""How a cluster is named, wherever it can be."""

from __future__ import annotations

from typing import Annotated

from moldgen.quantity import Meaning

ClusterWord = Annotated[
    str, Meaning("address of a cluster that builds them, as moldgen scheduler prints it")
]
ClusterKeys = Annotated[str, Meaning("folder of the cluster's keys, needed beyond this machine")]
