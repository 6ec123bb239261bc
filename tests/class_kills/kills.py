"""A small class made in a process that is killed, and what is left of it."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from shutil import rmtree

import moldgen as mg
from moldgen.export.run_folder import LIST_NAME, listed_marks, run_is_whole
from moldgen.job import job_toml

NAMES = ("ADA", "BO", "CEM")
_KILLS_PER_CLASS = 6
"""So often a class is killed before its run is left to end, and a new one begun."""


@dataclass(frozen=True, kw_only=True)
class Struck:
    """What a killed run left.

    Attributes
    ----------
    after_s : float
        When it was killed. [s]
    whole : int
        How many folders of persons it left whole.
    torn : tuple of str
        Folders with a list of files that is not true.
    lost : tuple of str
        Folders that an earlier run left whole and that are not so any more.
    orphans : int
        Processes that it had started and that live on.
    differs : tuple of str
        Files of the run that was left to its end that are not as they should be.
    """

    after_s: float
    whole: int
    torn: tuple[str, ...]
    lost: tuple[str, ...]
    orphans: int
    differs: tuple[str, ...] = ()

    @property
    def is_sound(self) -> bool:
        """Whether nothing was torn, lost, left running or other than it should be."""
        return not (self.torn or self.lost or self.orphans or self.differs)

    def __str__(self) -> str:
        """Return all of it in one line."""
        return (
            f"whole {self.whole}, torn {self.torn}, lost {self.lost}, "
            f"left running {self.orphans}, differs {self.differs}"
        )


def small_class(folder: Path) -> Path:
    """Write roster and job of a small class; return the folder."""
    job = mg.sign("NAME", letter_height=14, gauge_mm=1.0)
    (folder / "tag.toml").write_text(job_toml(job), encoding="utf-8")
    (folder / "names.csv").write_text("\n".join(NAMES), encoding="utf-8")
    return folder


def killed_runs(
    place: Path, *, n: int, chance: random.Random, tell: Callable[[int, Struck], None]
) -> Iterator[Struck]:
    """Yield what becomes of a class whose runs are killed, n times in all."""
    began = time.monotonic()
    with _run(place, "whole") as first:
        first.wait()
    longest_s = time.monotonic() - began
    wanted = _files(place / "whole")
    assert len(wanted) > 2 * len(NAMES), "the class was not made"
    done: set[str] = set()
    for number in range(1, n + 1):
        if (number - 1) % _KILLS_PER_CLASS == 0:
            rmtree(place / "out", ignore_errors=True)
            done = set()
        struck = _struck(place, chance.uniform(0.0, longest_s), done)
        if number % _KILLS_PER_CLASS == 0 or number == n:
            with _run(place, "out") as last:
                last.wait()
            struck = _with_differences(struck, wanted, _files(place / "out"))
        tell(number, struck)
        yield struck


def _struck(place: Path, after_s: float, done: set[str]) -> Struck:
    """Kill a run, and say what it left; ``done`` are the folders that were whole before."""
    with _run(place, "out") as run:
        time.sleep(after_s)
        children = _children(run.pid)
        run.send_signal(signal.SIGKILL)
        run.wait()
    out = place / "out"
    listed = [path.parent for path in sorted(out.glob(f"*/{LIST_NAME}"))]
    whole = {path.name for path in listed if run_is_whole(path, listed_marks(path))}
    struck = Struck(
        after_s=after_s,
        whole=len(whole),
        # A run that is killed while it swaps files is settled by the next one.
        torn=tuple(path.name for path in listed if path.name not in whole and _is_settled(path)),
        lost=tuple(sorted(name for name in done - whole if _is_settled(out / name))),
        orphans=_still_running(children),
    )
    done |= whole
    return struck


def _is_settled(folder: Path) -> bool:
    hidden = {path.name for path in folder.iterdir() if path.name.startswith(".")}
    return hidden <= {LIST_NAME}


def _run(place: Path, out: str) -> subprocess.Popen[bytes]:
    words = [sys.executable, "-m", "moldgen", "class", str(place / "names.csv"), "--like"]
    words += [str(place / "tag.toml"), "--formats", "stl,3mf", "--out", str(place / out), "-q"]
    return subprocess.Popen(words, stdout=subprocess.DEVNULL)


def _files(out: Path) -> dict[str, bytes]:
    """Return every file of a class that people see, by name."""
    return {
        path.relative_to(out).as_posix(): path.read_bytes()
        for path in out.rglob("*")
        if path.is_file() and not any(part.startswith(".") for part in path.relative_to(out).parts)
    }


def _with_differences(struck: Struck, wanted: dict[str, bytes], made: dict[str, bytes]) -> Struck:
    # What tells how much was built in this run is another in a run that went on.
    told = {"overview.html", "class.zip"}
    differs = {
        name for name in wanted.keys() | made.keys() if wanted.get(name) != made.get(name)
    } - told
    missing = {name for name in told if name not in made}
    return Struck(
        after_s=struck.after_s, whole=struck.whole, torn=struck.torn, lost=struck.lost,
        orphans=struck.orphans, differs=tuple(sorted(differs | missing)),
    )  # fmt: skip


def _children(pid: int) -> list[int]:
    """Return the processes that a process has started."""
    found = []
    for path in Path("/proc").glob("[0-9]*/stat"):
        try:
            words = path.read_text().rsplit(")", 1)[1].split()
        except OSError:
            continue
        if int(words[1]) == pid:
            found.append(int(path.parent.name))
    return found


def _still_running(pids: list[int]) -> int:
    """Return how many of some processes live on, a while after who started them is gone."""
    until = time.monotonic() + 10.0
    while (alive := sum(map(_lives, pids))) and time.monotonic() < until:
        time.sleep(0.05)
    return alive


def _lives(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except OSError:
        return False
    try:
        return Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0] != "Z"
    except OSError:
        return False
