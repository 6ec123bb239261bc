"""Print what a district would wait for its molds: ``python -m tests.benchmarks.district``.

A simulation, with the figures that `tests.benchmarks.cluster` measured: 3 000 pupils in classes of
30, each class asked for at some moment of a school day, most of them at the beginning of a lesson.
Nothing passes or fails.
"""

from __future__ import annotations

import argparse
import random
import sys
from collections.abc import Generator
from dataclasses import dataclass
from pathlib import Path
from statistics import quantiles
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1]))

import simpy

LESSONS_h = (8.0, 8.8, 9.8, 10.6, 11.6, 13.0, 13.8)
"""When lessons begin; invented."""
LATE_SHARE = 0.2
"""Classes that are asked for at any other moment of the day; invented."""


@dataclass(frozen=True, kw_only=True)
class District:
    """What is simulated.

    Attributes
    ----------
    pupils, pupils_a_class : int
        How many, and how many of them in a class.
    build_s : float
        Processor seconds of a worker for one mold. [s]
    ask_s : float
        What the scheduler does for one job, one after another. [s]
    read_s : float
        Until an answer that is kept is there. [s]
    answer_MB : float
        Of one mold.
    repeats : float
        Share of molds that were built before: classes that are made again.
    """

    pupils: int = 3000
    pupils_a_class: int = 30
    build_s: float = 1.1
    ask_s: float = 0.003
    read_s: float = 0.0045
    answer_MB: float = 1.8
    repeats: float = 0.3


@dataclass(frozen=True, kw_only=True)
class Day:
    """What came of a day.

    Attributes
    ----------
    waits_s : list of float
        From asking to the last mold, of each class. [s]
    scheduler_share, workers_share : float
        Share of the busiest quarter of an hour that they were at work. [-]
    kept_MB : float
        What the store of results holds in the evening.
    """

    waits_s: list[float]
    scheduler_share: float
    workers_share: float
    kept_MB: float


def main() -> None:
    """Print a row for each number of workers."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.district")
    parser.add_argument("--build-s", type=float, default=District.build_s)
    parser.add_argument("--ask-s", type=float, default=District.ask_s)
    parser.add_argument("--pupils", type=int, default=District.pupils)
    words = parser.parse_args()
    district = District(build_s=words.build_s, ask_s=words.ask_s, pupils=words.pupils)
    print(f"{district}\n")
    print("workers  class p50   class p95   longest   scheduler  workers  results kept")
    for n in (1, 2, 4, 8, 16, 32, 64):
        day = simulated(district, n)
        middle, late = quantiles(day.waits_s, n=2)[0], quantiles(day.waits_s, n=20)[-1]
        print(
            f"{n:7} {middle:8.0f} s {late:9.0f} s {max(day.waits_s):7.0f} s"
            f" {100 * day.scheduler_share:10.1f} % {100 * day.workers_share:7.0f} %"
            f" {day.kept_MB / 1000:10.1f} GB"
        )


def simulated(district: District, n_workers: int, *, seed: int = 1) -> Day:
    """Return a day of a district with so many workers."""
    chance = random.Random(seed)
    env = simpy.Environment()
    scheduler, workers = simpy.Resource(env, 1), simpy.Resource(env, n_workers)
    quarters: dict[tuple[str, int], float] = {}
    waits_s: list[float] = []
    built = [0]

    def note(who: str, spent_s: float) -> None:
        key = who, int(env.now // 900)
        quarters[key] = quarters.get(key, 0.0) + spent_s

    def mold(is_kept: bool) -> Generator[simpy.Event, Any, Any]:
        with scheduler.request() as turn:
            yield turn
            yield env.timeout(district.ask_s)
            note("scheduler", district.ask_s)
        with workers.request() as turn:
            yield turn
            spent_s = district.read_s if is_kept else district.build_s * chance.uniform(0.7, 1.3)
            built[0] += not is_kept
            yield env.timeout(spent_s)
            note("workers", spent_s)

    def school_class(asked_s: float) -> Generator[simpy.Event, Any, Any]:
        yield env.timeout(asked_s)
        molds = [
            env.process(mold(chance.random() < district.repeats))
            for _ in range(district.pupils_a_class)
        ]
        yield env.all_of(molds)
        waits_s.append(env.now - asked_s)

    for _ in range(district.pupils // district.pupils_a_class):
        begins_h = chance.choice(LESSONS_h) + chance.uniform(0, 5) / 60
        if chance.random() < LATE_SHARE:
            begins_h = chance.uniform(7.5, 16)
        env.process(school_class(3600 * begins_h))
    env.run()
    busiest = {
        who: max(spent for (other, _), spent in quarters.items() if other == who)
        for who in ("scheduler", "workers")
    }
    return Day(
        waits_s=waits_s,
        scheduler_share=busiest["scheduler"] / 900,
        workers_share=busiest["workers"] / 900 / n_workers,
        kept_MB=built[0] * district.answer_MB,
    )


if __name__ == "__main__":
    main()
