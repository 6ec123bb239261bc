"""Workers of a cluster: processes on other machines that take pieces of work from a scheduler."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from concurrent.futures import Executor
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from moldgen.errors import MoldgenError
from moldgen.pool.address import KEY_FILES, ClusterAddress, check_keys
from moldgen.pool.processes import RETRIES
from moldgen.version import __version__

if TYPE_CHECKING:
    from distributed import Client
    from distributed.security import Security

_CONNECT_S = 10.0
_JOIN_S = 20.0
"""How long the first worker may take to join. [s]"""


class ClusterError(MoldgenError):
    """A cluster cannot be reached, or not be used."""


def installed_version() -> str:
    """Return the version of moldgen where this runs."""
    return __version__


@contextmanager
def cluster_workers(address: ClusterAddress) -> Iterator[Executor]:
    """Yield the workers of a cluster; each has the same version of moldgen as this process.

    A worker that ends in the midst of its work loses nothing: another one does it again. The same
    piece of work is done once, whoever asks for it at the same time.

    Raises
    ------
    ClusterError
        If there is no such cluster, nobody works in it, or the versions differ.
    """
    client = _connected(address)
    try:
        _check_workers(client, address)
        yield client.get_executor(pure=True, retries=RETRIES)
    finally:
        client.close(timeout=5)


def why_lost(problem: BaseException) -> str:
    """Return why a worker did not answer, one sentence; empty if that is not what it was."""
    from concurrent.futures import CancelledError
    from concurrent.futures.process import BrokenProcessPool

    if isinstance(problem, BrokenProcessPool):
        return (
            f"{RETRIES + 1} processes ended in the midst of their work, perhaps for want of "
            "memory. What was finished of a class is kept: run the same command again, with "
            "--workers 1."
        )
    kind = type(problem)
    if kind.__module__.partition(".")[0] == "distributed":
        if kind.__name__ == "KilledWorker":
            return (
                f"{RETRIES + 1} workers of the cluster ended in the midst of the same mold, "
                "perhaps for want of memory. What was finished of a class is kept: run the same "
                "command again, without --cluster if it happens again."
            )
        return _GONE
    if isinstance(problem, CancelledError | OSError):
        return _GONE
    return ""


_GONE = (
    "The cluster went away in the midst of the work. What was finished of a class is kept: run "
    "the same command again when it is there."
)


def security_of(address: ClusterAddress) -> Security | None:
    """Return what the library needs to know of the keys; None without."""
    from distributed.security import Security

    if address.keys is None:
        return None
    check_keys(address.keys)
    ca, cert, key = (str(address.keys / name) for name in KEY_FILES)
    roles: Mapping[str, str] = {
        f"tls_{role}_{part}": path
        for role in ("client", "scheduler", "worker")
        for part, path in (("cert", cert), ("key", key))
    }
    return Security(require_encryption=True, tls_ca_file=ca, **roles)


def check_installed() -> None:
    """Raise `ClusterError` unless the library for clusters is installed."""
    try:
        import distributed  # noqa: F401
    except ImportError:
        raise ClusterError(
            "A cluster needs a library that is not installed: pip install 'moldgen[cluster]'."
        ) from None


def _connected(address: ClusterAddress) -> Client:
    check_installed()
    from distributed import Client

    try:
        return Client(
            address.url, security=security_of(address), timeout=_CONNECT_S, name="moldgen",
            set_as_default=False,
        )  # fmt: skip
    except (OSError, TimeoutError, ValueError) as problem:
        raise ClusterError(
            f"No cluster answers at {address.url}. Start one with moldgen scheduler, or look "
            "whether address and keys are right."
        ) from problem


def _check_workers(client: Client, address: ClusterAddress) -> None:
    try:
        client.wait_for_workers(1, timeout=_JOIN_S)
    except TimeoutError:
        raise ClusterError(
            f"Nobody works in the cluster at {address.url}. Run moldgen worker {address.url} on "
            "each machine that shall."
        ) from None
    for worker, version in _versions(client).items():
        if version != f"moldgen {__version__}":
            raise ClusterError(
                f"The worker {worker} runs {version}, and this is moldgen {__version__}: install "
                "the same version on all machines."
            )


def _versions(client: Client) -> dict[str, str]:
    """Return what each worker runs, by its name."""
    told: dict[str, Any] = client.run(installed_version, on_error="return")
    return {
        worker: "another version" if isinstance(version, BaseException) else f"moldgen {version}"
        for worker, version in told.items()
    }
