"""Build many random jobs in a confined process and print what became of them.

``python -m tests.soak [--count 2000] [--seed 1] [--minutes 15] [--keep FOLDER]``. Every job must be
made, its solids closed, facing outward and of positive volume in the eyes of trimesh and
manifold3d, or refused with one sentence; none may take over 60 s of processor time. One in ten is
any job that can be said, the others are as people say them. Exit code 1 if one is not answered
well; what is not goes into the folder, if one is named.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
import time
import tomllib
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1]))

from hypothesis import HealthCheck, Phase, given, seed, settings
from support.any_job import JOBS
from support.memory import peak_MB

import moldgen as mg
from moldgen.job import job_toml
from moldgen.sandbox.process_limits import ProcessLimits
from moldgen.sandbox.worker import Worker, WorkerError
from soak.designing import design
from soak.jobs import likely_job

WORK = "tests.soak.designing"
MOST_S, MOST_MB = 60.0, 2500.0
"""Processor time and memory that no job may take. [s], [MB]"""


def main() -> int:
    """Build, and print the counts."""
    words = _words()
    # A confined process keeps nothing of what it compiles.
    mg.prepare_loops()
    for number in range(12):
        design({"job": likely_job(number)}, (), None)
    counts: Counter[str] = Counter()
    n_bodies, most_s = 0, 0.0
    end_s = time.monotonic() + 60 * words.minutes
    with tempfile.TemporaryDirectory() as folder:
        limits = ProcessLimits(
            folder=Path(folder), processor_s=MOST_S, wall_s=15 * MOST_S, memory_MB=2 * MOST_MB
        )
        worker = Worker([WORK], limits)
        for number, job in enumerate(jobs(words.count, words.seed)):
            if time.monotonic() > end_s:
                break
            answer = answer_to(worker, job)
            counts[answer["outcome"]] += 1
            n_bodies += answer.get("n_bodies", 0)
            most_s = max(most_s, answer.get("processor_s", 0.0))
            if answer["outcome"] not in ("made", "refused"):
                _tell(number, job, answer, words)
        worker.kill()
    print(", ".join(f"{what} {count}" for what, count in counts.most_common()))
    print(f"{counts.total()} jobs, {n_bodies} solids looked at, at most {most_s:.0f} s each")
    return int(counts.total() > counts["made"] + counts["refused"])


def jobs(count: int, first: int) -> Iterator[dict[str, Any]]:
    """Yield jobs in words; the same seed, the same jobs."""
    said = _said(count // 10 + 1, first)
    for number in range(count):
        yield said[number // 10] if number % 10 == 9 else likely_job(first * 1_000_003 + number)


def _said(count: int, first: int) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = []

    @seed(first)
    @settings(
        max_examples=count, database=None, deadline=None, phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )  # fmt: skip
    @given(JOBS)
    def put(job: Any) -> None:
        found.append(tomllib.loads(job_toml(job)))

    put()
    return found


def answer_to(worker: Worker, job: dict[str, Any]) -> dict[str, Any]:
    """Return what became of a job."""
    try:
        answer = worker.run(f"{WORK}:design", {"job": job}).words
    except WorkerError as problem:
        return {"outcome": "ended", "sentence": str(problem)}
    except TypeError:  # a date is no word of JSON
        return {"outcome": "refused", "sentence": ""}
    if peak_MB(worker.pid or 0) > MOST_MB:
        worker.kill()
        return answer | {"outcome": "fat"}
    if answer["outcome"] == "refused" and answer["sentence"].startswith("GeometryError"):
        return answer | {"outcome": "gave up"}
    return answer | ({"outcome": "slow"} if answer["processor_s"] > MOST_S else {})


def _tell(number: int, job: dict[str, Any], answer: dict[str, Any], words: Any) -> None:
    print(f"{number}: {answer['outcome']}: {answer['sentence'][-900:]}", flush=True)
    if words.keep:
        words.keep.mkdir(parents=True, exist_ok=True)
        text = json.dumps(job, indent=1, ensure_ascii=False)
        (words.keep / f"{words.seed}-{number}.json").write_text(text, encoding="utf-8")


def _words() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.soak")
    parser.add_argument("--count", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--minutes", type=float, default=600.0, help="stop after so long")
    parser.add_argument("--keep", type=Path, help="where jobs go that are not answered well")
    return parser.parse_args()


if __name__ == "__main__":
    sys.exit(main())
