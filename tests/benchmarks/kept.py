"""How long whole jobs take, against what was kept of them: times are told as ratios to one loop.

``python -m tests.benchmarks.kept`` measures every job, prints it beside what was kept last, and
ends with 1 if one has become `SLOWER` times as slow. ``--keep`` adds the figures to `KEPT`; a name
or two measure those jobs alone. The loop takes the same work on every machine, so that a ratio
says of the program what a time says of the machine.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import platform
import sys
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from pathlib import Path
from time import process_time
from typing import Literal

import numpy as np

import moldgen as mg
from moldgen.memo import Memo
from moldgen.version import __version__

from .clock import run_command

KEPT = Path(__file__).with_name("kept.json")
"""What was kept, job by job, the newest last."""

SLOWER = 1.5
"""A job that takes so many times its last kept ratio has become slow."""

EXAMPLE = Path(__file__).parents[2] / "examples" / "tide-sign.toml"
TAGS = (
    "ADA BEN CLEO DORA EMIL FINN GRETA HUGO IDA JAN KAI LENA MAX NORA OLE PIA QUINN RUTH SVEN TESS "
    "UWE VERA WIM XENIA YUN ZOE ANNE BO CARL DITA"
).split()


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """What a job took.

    Attributes
    ----------
    job : str
        Which one.
    ratio : float
        Its least time on processors over that of the loop. [-]
    processor_s, wall_s : float
        Least times of the job; wall time of whole commands alone, 0 for others. [s]
    loop_s : float
        Least time of the loop. [s]
    machine, day, version : str
        Where, when, and of which program.
    """

    job: str
    ratio: float
    processor_s: float
    wall_s: float
    loop_s: float
    machine: str
    day: str
    version: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """Time of one round. [s]."""

    processor_s: float
    wall_s: float = 0.0


def loop() -> float:
    """Do the work that every time is compared with, and return what it takes. [s]."""
    start = process_time()
    total = 0
    for number in range(400_000):
        total += number & 7
    values = np.sin(np.arange(400_000.0) * (total % 3 + 1))
    for _ in range(4):
        values = np.sort(values)[::-1] * 1.0001
    hashlib.sha256(values.tobytes()).hexdigest()
    return process_time() - start


def command(*words: str) -> Callable[[], Taken]:
    """Return a round of a whole command, in a process and a folder of its own."""

    def once() -> Taken:
        with tempfile.TemporaryDirectory() as folder:
            ran = run_command([*words, "--quiet", "--out", folder])
        return Taken(processor_s=ran.processor_s or 0.0, wall_s=ran.wall_s)

    return once


def first_picture() -> Taken:
    """Show the walls of a sign of which one letter has changed."""
    return _timed(lambda: _changed_sign().raw.mesh)


def findings() -> Taken:
    """Check a preview whose walls are there."""
    seen = _changed_sign()
    _ = seen.raw.mesh
    return _timed(lambda: seen.checked.findings)


def forming_map() -> Taken:
    """Form the sheet over a preview that was checked without."""
    letter = next(_LETTERS)
    memo = Memo(2**28)
    flat = _sign(letter, memo, forming="off")
    _ = flat.checked
    formed = _sign(letter, memo, forming="preview")
    return _timed(lambda: formed.formed)


def thirty_tags() -> Taken:
    """Make thirty name tags, each different, with STL and findings."""

    def make() -> None:
        for name in TAGS:
            job = mg.sign(name, letter_height_mm=12, formats=["stl"])
            mg.make(job).output.render()

    return _timed(make)


def start(*words: str) -> Callable[[], Taken]:
    """Return a round of a start of the program that does hardly anything."""

    def once() -> Taken:
        ran = run_command([*words])
        return Taken(processor_s=ran.processor_s or 0.0, wall_s=ran.wall_s)

    return once


def _sign(letter: str, memo: Memo, *, forming: Literal["off", "preview"] = "off") -> mg.MoldDesign:
    from moldgen.pipeline.mold.design import design_mold
    from moldgen.pipeline.mold.quality import Quality
    from moldgen.stock import load_shop

    return design_mold(
        mg.sign(f"PIER {letter}", forming=forming),
        folder=Path(), shop=load_shop(user_file=None), quality=Quality.PREVIEW, memo=memo,
    )  # fmt: skip


def _changed_sign() -> mg.MoldDesign:
    """Return a sign that differs from the one before it in one letter, not looked at yet."""
    return _sign(next(_LETTERS), _SHARED)


def _timed(work: Callable[[], object]) -> Taken:
    begun = process_time()
    work()
    return Taken(processor_s=process_time() - begun)


_SHARED = Memo(2**28)
_LETTERS = iter("ABCDEFGHJKLMNOPQRSTUVWXYZ23456789" * 9)

JOBS: dict[str, tuple[int, Callable[[], Taken]]] = {
    "help": (7, start("--help")),
    "sign, every file": (3, command("sign", "PIER 4")),
    "sign, STL": (3, command("sign", "PIER 4", "--formats", "stl")),
    "first picture": (9, first_picture),
    "findings": (7, findings),
    "forming map": (4, forming_map),
    "tide-sign.toml, every file": (2, command("make", str(EXAMPLE))),
    "thirty tags": (1, thirty_tags),
}
"""Every job: how many rounds are counted, after one that is not, and what a round is."""


def measured(job: str) -> Figure:
    """Measure a job, the loop between its rounds."""
    times, once = JOBS[job]
    once()
    loops, rounds = [loop()], []
    for _ in range(times):
        rounds.append(once())
        loops.append(loop())
    processor_s = min(taken.processor_s for taken in rounds)
    return Figure(
        job=job,
        ratio=round(processor_s / min(loops), 2),
        processor_s=round(processor_s, 3),
        wall_s=round(min(taken.wall_s for taken in rounds), 3),
        loop_s=round(min(loops), 4),
        machine=f"{platform.system()} {platform.machine()}, Python {platform.python_version()}",
        day=date.today().isoformat(),
        version=__version__,
    )


def kept() -> list[Figure]:
    """Return all that was kept, the newest last."""
    return [Figure(**each) for each in json.loads(KEPT.read_text(encoding="utf-8"))]


def last_kept(job: str) -> Figure | None:
    """Return what was kept last of a job."""
    return next((one for one in reversed(kept()) if one.job == job), None)


def keep(figures: Sequence[Figure]) -> None:
    """Add figures to what is kept."""
    all_of_them = [asdict(one) for one in (*kept(), *figures)]
    lines = ",\n".join(f"  {json.dumps(one, sort_keys=True)}" for one in all_of_them)
    KEPT.write_text(f"[\n{lines}\n]\n", encoding="utf-8")


def slowed(now: Figure) -> float:
    """Return how many times its last kept ratio a job takes; 1 if none was kept."""
    before = last_kept(now.job)
    return 1.0 if before is None else now.ratio / before.ratio


def main(words: Sequence[str]) -> int:
    """Measure, print and, if told so, keep; return 1 if a job has become slow."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.kept", description=__doc__)
    parser.add_argument("jobs", nargs="*", metavar="JOB", help=f"one of: {'; '.join(JOBS)}")
    parser.add_argument("--keep", action="store_true", help="add the figures to kept.json")
    given = parser.parse_args(words)
    if unknown := set(given.jobs) - set(JOBS):
        parser.error(f"no job {sorted(unknown)[0]!r}; there are: {'; '.join(JOBS)}")
    figures, slow = [], []
    for job in given.jobs or JOBS:
        now = measured(job)
        figures.append(now)
        share = slowed(now)
        slow += [job] if share > SLOWER else []
        print(
            f"{job:<28}{now.processor_s:8.3f} s on processors {now.wall_s:8.3f} s"
            f"{now.ratio:9.2f} loops {share:6.2f} x what was kept",
            flush=True,
        )
    if given.keep:
        keep(figures)
    if slow:
        print(f"{SLOWER:g} times as slow as what was kept, or slower: {', '.join(slow)}")
    return int(bool(slow))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
