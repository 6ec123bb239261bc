"""A writer that is killed, refused or stopped at each of its steps in the file system."""

from __future__ import annotations

import errno
import os
import shutil
import signal
import sys
import warnings
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from enum import Enum
from pathlib import Path
from typing import Any

from crash.folders import FolderState, file_set, state_of, with_theirs
from moldgen.errors import FileError
from moldgen.export.atomic import check_folder
from moldgen.export.run_folder import write_run
from moldgen.export.swap import Interrupted

_STEPS = frozenset(
    {
        "open", "os.mkdir", "os.rename", "os.link", "os.remove", "os.rmdir", "os.listdir",
        "os.scandir", "os.truncate", "shutil.copyfile", "fcntl.flock",
    }
)  # fmt: skip
"""What Python tells its audit hooks of before it asks the file system for it."""
_MOST_STEPS = 400


class Fault(Enum):
    """What happens at a step."""

    KILL = "killed"
    REFUSE = "refused"
    STOP = "stopped"

    def strike(self) -> None:
        """Let it happen."""
        if self is Fault.KILL:
            os.kill(os.getpid(), signal.SIGKILL)
        raise KeyboardInterrupt if self is Fault.STOP else OSError(errno.EIO, "planted")


@dataclass(frozen=True, kw_only=True)
class Struck:
    """A folder after a writer of set 2 was struck, after it was mended, and after another run."""

    step: int
    at: str
    earlier: int
    struck: FolderState
    told: Interrupted | None
    settled: FolderState
    again: FolderState

    @property
    def sound(self) -> bool:
        """Whether the old set or the new one is there once it is mended, as it is told."""
        may_be = {
            None: {self.earlier, 2},
            Interrupted.FINISHED: {2},
            Interrupted.UNDONE: {self.earlier},
        }
        old_or_new = self.settled.generation in may_be[self.told]
        return self.settled.whole and old_or_new and self.again.whole and self.again.generation == 3

    @property
    def sound_at_once(self) -> bool:
        """Whether that is so before anybody mends it, but for what is hidden."""
        return self.sound and self.struck.generation in {self.earlier, 2}


def struck_at_every_step(folder: Path, fault: Fault, *, earlier: int) -> Iterator[Struck]:
    """Yield what becomes of a folder for each step that the second set takes.

    Parameters
    ----------
    folder : Path
        A place for the folder; it is made anew for each step.
    fault : Fault
        What happens at the step.
    earlier : int
        Generation of the set that is there before: 0 for none, 1 for one.
    """
    for step in range(1, _MOST_STEPS):
        _prepare(folder, earlier)
        at = in_child(lambda: write_run(folder, file_set(2)), fault, step)
        if not at:
            return
        yield _settled(folder, earlier, step, at)
    raise RuntimeError("the writer takes more steps than can be")


def mending_struck(folder: Path) -> Iterator[Struck]:
    """Yield what becomes of a folder if the next run is killed at each of its steps as well."""
    for step in range(1, _MOST_STEPS):
        for second in range(1, _MOST_STEPS):
            _prepare(folder, 1)
            if not in_child(lambda: write_run(folder, file_set(2)), Fault.KILL, step):
                return
            at = in_child(lambda: check_folder(folder), Fault.KILL, second)
            if not at:
                break
            yield _settled(folder, 1, step, f"{at}, mending")


def _prepare(folder: Path, earlier: int) -> None:
    shutil.rmtree(folder, ignore_errors=True)
    with_theirs(folder)
    if earlier:
        write_run(folder, file_set(earlier))


def _settled(folder: Path, earlier: int, step: int, at: str) -> Struck:
    struck = state_of(folder)
    told = check_folder(folder)
    settled = state_of(folder)
    write_run(folder, file_set(3))
    return Struck(
        step=step,
        at=at,
        earlier=earlier,
        struck=struck,
        told=told,
        settled=settled,
        again=state_of(folder),
    )


def in_child(work: Callable[[], object], fault: Fault, step: int) -> str:
    """Do work in a process of its own that is struck at a step; return what it was about to do.

    It is empty if the work was done before it came to that step.
    """
    reader, writer = os.pipe()
    with warnings.catch_warnings():
        # From Python 3.12 on; the child calls nothing that another thread could hold.
        warnings.simplefilter("ignore", DeprecationWarning)
        child = os.fork()
    if not child:
        os.close(reader)
        _struck(work, fault, step, writer)
    os.close(writer)
    with open(reader, encoding="utf-8") as told:
        at = told.read()
    os.waitpid(child, 0)
    return at


def _struck(work: Callable[[], object], fault: Fault, step: int, writer: int) -> None:
    """Do work with a hook that strikes once; the process ends here."""
    left = [step]

    def hook(event: str, args: tuple[Any, ...]) -> None:
        if event in _STEPS:
            left[0] -= 1
            if not left[0]:
                os.write(writer, f"{event} {args[0]}".encode())
                fault.strike()

    sys.addaudithook(hook)
    with suppress(FileError, KeyboardInterrupt):
        work()
    os._exit(0)
