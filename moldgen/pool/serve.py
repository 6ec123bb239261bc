"""The machines of a cluster: one that schedules, and those that work."""

from __future__ import annotations

import asyncio
import os
from collections.abc import Callable
from contextlib import AsyncExitStack
from pathlib import Path
from typing import Any

from moldgen.errors import FileError
from moldgen.pool.address import KEY_FILES, ClusterAddress
from moldgen.pool.cluster import ClusterError, check_installed, security_of
from moldgen.pool.results import RESULTS

WORKER_BYTES = 1_500_000_000
"""Memory that a worker may take before it is started anew. [bytes]"""
_KEY_DAYS = 1100
"""How long new keys hold: three school years, and a little. [d]"""
_QUIET = {
    "distributed.logging": {"distributed": "warning"},
    "distributed.scheduler.http.routes": [],
    "distributed.worker.http.routes": [],
}
"""Nothing is served but the work itself, and only trouble is told."""
_NO_STATUS_PAGE = {"dashboard": False, "dashboard_address": "127.0.0.1:0"}


def serve_scheduler(address: ClusterAddress, ready: Callable[[], None]) -> None:
    """Schedule the work of a cluster until the process is told to stop.

    Parameters
    ----------
    address : ClusterAddress
        Where to listen.
    ready : callable
        Called when workers may join.

    Raises
    ------
    ClusterError
        If it cannot listen there.
    """
    check_installed()
    _be_quiet()
    asyncio.run(_serve_scheduler(address, ready))


async def _serve_scheduler(address: ClusterAddress, ready: Callable[[], None]) -> None:
    from distributed import Scheduler

    try:
        scheduler = Scheduler(
            host=address.host, port=address.port, security=_security(address),
            protocol="tcp" if address.keys is None else "tls", **_NO_STATUS_PAGE,
        )  # fmt: skip
        async with scheduler:
            ready()
            await scheduler.finished()
    except OSError as problem:
        raise ClusterError(
            f"Nothing can listen at {address.url}: {problem.strerror or problem}. "
            "Name another port, or end what listens there."
        ) from None


def serve_workers(
    address: ClusterAddress, n: int, *, results: Path | None, ready: Callable[[], None]
) -> None:
    """Work for a cluster in so many processes, each on one thread, until told to stop.

    A process that ends, or takes too much memory, is started anew. If the scheduler goes, they
    wait for it to come back.

    Parameters
    ----------
    address : ClusterAddress
        Where the scheduler is.
    n : int
        Processes.
    results : Path or None
        Folder of answers that are kept; several machines may share it.
    ready : callable
        Called when all of them work.

    Raises
    ------
    ClusterError
        If no scheduler answers.
    """
    check_installed()
    _be_quiet()
    asyncio.run(_serve_workers(address, n, results, ready))


async def _serve_workers(
    address: ClusterAddress, n: int, results: Path | None, ready: Callable[[], None]
) -> None:
    from distributed import Nanny

    words = {
        "NUMBA_NUM_THREADS": "1", "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1",
        "DASK_DISTRIBUTED__LOGGING__DISTRIBUTED": "warning",
    }  # fmt: skip
    if results is not None:
        words[RESULTS] = str(results.absolute())
    os.environ.update(words)  # their libraries look before they are told
    async with AsyncExitStack() as stack:
        try:
            nannies = [
                await stack.enter_async_context(
                    Nanny(
                        address.url, nthreads=1, memory_limit=WORKER_BYTES,
                        security=_security(address), config=_QUIET, **_NO_STATUS_PAGE,
                    )
                )
                for _ in range(n)
            ]  # fmt: skip
        except (OSError, TimeoutError) as problem:
            raise ClusterError(
                f"No scheduler answers at {address.url}. Start one with moldgen scheduler."
            ) from problem
        ready()
        await asyncio.gather(*(nanny.finished() for nanny in nannies))


def _be_quiet() -> None:
    import logging

    import dask

    dask.config.set(_QUIET)
    logging.getLogger("distributed").setLevel(logging.WARNING)


def _security(address: ClusterAddress) -> Any:
    from distributed.security import Security

    return security_of(address) or Security()


def make_keys(folder: Path) -> None:
    """Make new keys: a certificate that vouches for itself, and its secret, for all machines alike.

    Raises
    ------
    ClusterError
        If the library for keys is not installed.
    FileError
        If the folder has keys, or cannot be written.
    """
    try:
        from cryptography import x509  # noqa: F401
    except ImportError:
        raise ClusterError(
            "New keys need a library that is not installed: pip install 'moldgen[cluster]'."
        ) from None
    for name in KEY_FILES:
        if (folder / name).exists():
            raise FileError(f"{folder / name} is there: name an empty folder for new keys.")
    certificate, secret = _certificate()
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, data in zip(KEY_FILES, (certificate, certificate, secret), strict=True):
            with open(folder / name, "xb", opener=_for_owner_alone) as stream:
                stream.write(data)
    except OSError as error:
        raise FileError(f"{folder} cannot be written: {error.strerror}.") from None


def _for_owner_alone(path: str, flags: int) -> int:
    return os.open(path, flags, 0o600)


def _certificate() -> tuple[bytes, bytes]:
    """Return a certificate and its secret, as PEM."""
    from datetime import UTC, datetime, timedelta

    from cryptography import x509
    from cryptography.hazmat.primitives import hashes, serialization
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.x509.oid import NameOID

    secret = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "moldgen-cluster")])
    now = datetime.now(UTC)
    certificate = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(secret.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(days=1))
        .not_valid_after(now + timedelta(days=_KEY_DAYS))
        .add_extension(x509.BasicConstraints(ca=True, path_length=None), critical=True)
        .sign(secret, hashes.SHA256())
    )
    return (
        certificate.public_bytes(serialization.Encoding.PEM),
        secret.private_bytes(
            serialization.Encoding.PEM,
            serialization.PrivateFormat.PKCS8,
            serialization.NoEncryption(),
        ),
    )
