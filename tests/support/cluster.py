"""A cluster on this machine: the real commands, each in a process of its own."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from moldgen.pool.address import ClusterAddress, cluster_address


@dataclass(frozen=True)
class RunningCluster:
    """A scheduler, and the processes that work for it."""

    address: ClusterAddress
    worker_command: subprocess.Popen[str]

    def workers(self) -> list[int]:
        """Return the processes that build."""
        found = []
        for folder in Path("/proc").iterdir():
            if not folder.name.isdecimal():
                continue
            try:
                parent = (folder / "stat").read_text().rpartition(")")[2].split()[1]
                words = (folder / "cmdline").read_text()
            except OSError:
                continue
            if int(parent) == self.worker_command.pid and "spawn_main" in words:
                found.append(int(folder.name))
        return sorted(found)


@contextmanager
def running_cluster(
    *, n: int, keys: Path | None = None, results: Path | None = None
) -> Iterator[RunningCluster]:
    """Start a scheduler and a machine with so many workers, and end them with Ctrl-C."""
    options = ["--cluster-keys", str(keys)] if keys else []
    kept = ["--results", str(results)] if results else []
    port = str(_free_port())
    with _command("scheduler", "--port", port, *options) as (scheduler, line):
        url = line.split(" at ", 1)[1].split(" ", 1)[0]
        with _command("worker", url, "--processes", str(n), *options, *kept) as (worker, _):
            address = cluster_address(url, str(keys) if keys else "")
            yield RunningCluster(address=address, worker_command=worker)
        assert scheduler.poll() is None


@contextmanager
def _command(*words: str) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """Start a command, wait for its first line, and end it."""
    process = subprocess.Popen(
        [sys.executable, "-u", "-m", "moldgen", *words],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        encoding="utf-8",
        env={**os.environ, "PYTHONDONTWRITEBYTECODE": "1"},
    )
    assert process.stdout is not None
    try:
        yield process, process.stdout.readline()
    finally:
        process.send_signal(signal.SIGINT)
        try:
            process.communicate(timeout=20)
        except subprocess.TimeoutExpired:
            process.kill()
            process.communicate()


def _free_port() -> int:
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return int(one.getsockname()[1])
