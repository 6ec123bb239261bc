"""Print what a cluster costs and brings: ``python -m tests.benchmarks.cluster [--tags 300]``.

It starts scheduler and workers on loopback and ends them again. Nothing passes or fails.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from concurrent.futures import as_completed
from pathlib import Path
from statistics import median
from time import perf_counter
from unittest.mock import patch

sys.path.insert(0, str(Path(__file__).parents[1]))

from support.cluster import RunningCluster, running_cluster
from support.memory import peak_MB

import moldgen as mg
from moldgen.job.formats import Format
from moldgen.lesson.class_work.build import order_for
from moldgen.pool.cluster import cluster_workers
from moldgen.pool.piece import answer_of, carry_out, piece_bytes

N_EMPTY = 500


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.cluster")
    parser.add_argument("--tags", type=int, default=300, help="different molds to build")
    n = parser.parse_args().tags
    mg.prepare_loops()
    pieces = tags(n)
    print(f"{n} different tags, STL alone; a job is {median(map(len, pieces)) / 1e3:.1f} kB")
    walls_s = {}
    for count in (1, 2):
        with running_cluster(n=count) as cluster:
            wall_s, answers = built(cluster, pieces)
            walls_s[count] = wall_s
            most = max(map(peak_MB, cluster.workers()))
            print(
                f"  {count} worker(s)  {wall_s:8.1f} s, {most:.0f} MB at most in a worker",
                flush=True,
            )
            if count == 1:
                first, each_s = answers, empty_s(cluster)
                print(f"  a job with nothing to do  {1e3 * each_s:6.2f} ms from asking to answer")
            else:
                print(f"  same bytes  {answers == first}")
    print(f"  efficiency of 2 workers  {100 * walls_s[1] / walls_s[2] / 2:.0f} %  (aim 85)")
    start_s = perf_counter()
    here = {piece: carry_out(piece) for piece in pieces[:40]}
    here_s = (perf_counter() - start_s) * n / len(here)
    print(f"  in this process alone  {here_s:8.1f} s (from {len(here)} of them)")
    print(f"  same bytes  {all(first[piece] == data for piece, data in here.items())}")
    sizes = [len(data) for data in first.values()]
    print(f"  an answer is {median(sizes) / 1e6:.2f} MB")
    with (
        tempfile.TemporaryDirectory() as folder,
        running_cluster(n=2, results=Path(folder)) as kept,
    ):
        built(kept, pieces[:60])
        kept_MB = sum(path.stat().st_size for path in Path(folder).iterdir()) / 1e6
        print(f"  60 of them kept: {kept_MB:.0f} MB")
    with (
        tempfile.TemporaryDirectory() as folder,
        running_cluster(n=1, results=Path(folder)) as kept,
    ):
        built(kept, pieces[:60])
        again_s, _ = built(kept, pieces[:60])
        print(f"  asked for again and kept: {1e3 * again_s / 60:.1f} ms each")


def tags(n: int) -> list[bytes]:
    """Return so many different pieces of work."""
    made = []
    for number in range(n):
        job = mg.sign(f"PIER {number}", letter_height=14, gauge_mm=1.0)
        order = order_for(job, folder=Path(), stock={}, formats=[Format.STL])
        made.append(order.piece())
    return made


def built(cluster: RunningCluster, pieces: list[bytes]) -> tuple[float, dict[bytes, bytes]]:
    """Return how long they take, and what was answered."""
    with cluster_workers(cluster.address) as pool:
        start_s = perf_counter()
        waiting = {pool.submit(carry_out, piece): piece for piece in pieces}
        answers = {waiting[done]: done.result() for done in as_completed(waiting)}
        wall_s = perf_counter() - start_s
    for answer in answers.values():
        answer_of(answer)
    return wall_s, answers


def empty_s(cluster: RunningCluster) -> float:
    """Return how long a job takes that is refused at once. [s]."""
    with patch("moldgen.pool.piece.__version__", "none"):
        refused = [piece_bytes("none", {"number": number}) for number in range(N_EMPTY)]
    with cluster_workers(cluster.address) as pool:
        start_s = perf_counter()
        for done in as_completed([pool.submit(carry_out, piece) for piece in refused]):
            done.result()
        return (perf_counter() - start_s) / N_EMPTY


if __name__ == "__main__":
    main()
