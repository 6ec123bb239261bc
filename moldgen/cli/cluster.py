"""The commands of a cluster: one machine schedules the work, others do it."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from moldgen.cli.options import as_option, spec_from_options
from moldgen.cli.screen import Screen
from moldgen.errors import SpecError
from moldgen.execution import n_processors
from moldgen.job.command.cluster import SchedulerCommand, WorkerCommand
from moldgen.job.command.school_class import CLASS_FORMATS
from moldgen.pool.address import cluster_address
from moldgen.version import __version__


def do_scheduler(given: Mapping[str, Any], screen: Screen) -> int:
    """Hand out work to the machines of a cluster until the person stops it, or make its keys."""
    words = spec_from_options(SchedulerCommand, given)
    from moldgen.pool.serve import make_keys, serve_scheduler

    if words.new_keys:
        make_keys(Path(words.new_keys))
        screen.say(
            f"New keys lie in {words.new_keys}. Copy the folder to every machine of the cluster,",
            "and to nobody else: who has it can run any program there.",
        )
        return 0
    host = f"[{words.host}]" if ":" in words.host else words.host
    try:
        address = cluster_address(f"{host}:{words.port:.0f}", words.cluster_keys, field="host")
    except SpecError as problem:
        raise as_option(problem, SchedulerCommand) from None
    keys = f" --cluster-keys {words.cluster_keys}" if words.cluster_keys else ""

    def ready() -> None:
        screen.say(
            f"The cluster listens at {address.url} (moldgen {__version__}).",
            f"On each machine that works:  moldgen worker {address.url}{keys}",
            f"Who has work for it:         moldgen class ROSTER --like JOB --cluster {address.url}"
            f"{keys}",
            "Ctrl-C ends it.",
        )
        screen.out.flush()

    serve_scheduler(address, ready)
    return 0


def do_worker(given: Mapping[str, Any], screen: Screen) -> int:
    """Work for a cluster until the person stops it."""
    words = spec_from_options(WorkerCommand, given)
    from moldgen.cli.first_use import prepare_use
    from moldgen.pool.results import tidy_results
    from moldgen.pool.serve import serve_workers

    try:
        address = cluster_address(words.address, words.cluster_keys, field="address")
    except SpecError as problem:
        raise as_option(problem, WorkerCommand) from None
    results = Path(words.results) if words.results else None
    if results is not None:
        tidy_results(results)
    prepare_use("mold", screen, formats=CLASS_FORMATS)
    n = int(words.processes or n_processors())

    def ready() -> None:
        processes = "1 process works" if n == 1 else f"{n} processes work"
        screen.say(f"{processes} for the cluster at {address.url}. Ctrl-C ends it.")
        screen.out.flush()

    serve_workers(address, n, results=results, ready=ready)
    return 0
