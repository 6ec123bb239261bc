"""Kill writers, and print what becomes of the folder they write into.

``python -m tests.crash [N]``: at every step of the file system (and at every step of the run that
mends it), then N times (200) at a random moment of a process that writes set after set.
"""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Iterable
from pathlib import Path
from unittest.mock import patch

sys.path.insert(0, str(Path(__file__).parents[1]))

from crash.folders import FolderState
from crash.kills import killed_at_random, write_for_ever
from crash.steps import Fault, Struck, mending_struck, struck_at_every_step


def main(words: list[str]) -> int:
    """Print what each kind of fault leaves; return 1 if a folder was not whole once mended."""
    if words[:1] == ["write"]:
        write_for_ever(Path(words[1]))
    n_kills = int(words[0]) if words else 200
    with tempfile.TemporaryDirectory() as temporary:
        wrong = _at_every_step(Path(temporary) / "steps")
        kills = list(killed_at_random(Path(temporary) / "random", n=n_kills, seed=1))
        _tell("killed at random", [(one.struck, one.settled) for one in kills])
    return 1 if wrong or not all(one.settled.whole for one in kills) else 0


def _at_every_step(folder: Path) -> int:
    """Print what becomes of a folder at every step; return how often it was not sound."""
    wrong = 0
    with patch.object(os, "fsync"):  # a kill loses nothing that was written
        for fault in Fault:
            for earlier in (0, 1):
                what = f"{fault.value} at each step, {'a' if earlier else 'no'} set there before"
                wrong += _told(what, struck_at_every_step(folder, fault, earlier=earlier))
        what = "killed at each step, and at each of the run that mends"
        wrong += _told(what, mending_struck(folder))
    return wrong


def _told(what: str, struck: Iterable[Struck]) -> int:
    struck = list(struck)
    _tell(what, [(one.struck, one.settled) for one in struck])
    return sum(not one.sound for one in struck)


def _tell(what: str, states: list[tuple[FolderState, FolderState]]) -> None:
    struck, settled = zip(*states, strict=True)
    print(f"{what}: {len(states)} times")
    print(f"  before the next run: {_counted(struck)}")
    print(f"  after it:            {_counted(settled)}", flush=True)


def _counted(states: Iterable[FolderState]) -> str:
    states = tuple(states)
    return (
        f"mixed {sum(one.generation is None for one in states)}, "
        f"with a file missing {sum(bool(one.missing) for one in states)}, "
        f"with leftovers {sum(bool(one.leftovers) for one in states)}, "
        f"a person's files changed {sum(not one.theirs for one in states)}"
    )


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
