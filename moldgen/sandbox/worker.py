"""A process that works for this one, and of which nothing is believed but what it answers."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import IO, Any

from moldgen.errors import MoldgenError
from moldgen.sandbox.child import Tell
from moldgen.sandbox.frames import Frame, FrameError, read_frame, write_frame
from moldgen.sandbox.process_limits import ProcessLimits
from moldgen.sandbox.refusal import read_refusal

_START = (
    "import sys; sys.path.insert(0, sys.argv[1]); "
    "from moldgen.sandbox.child import serve; serve(sys.argv[2], sys.argv[3:])"
)
_KEPT_WORDS = ("PATH", "LANG", "HOME", "SYSTEMROOT", "XDG_CACHE_HOME", "NUMBA_CACHE_DIR",
               "NUMBA_DISABLE_JIT")  # fmt: skip
"""What a worker is told of the surroundings; everything else is nobody's business."""
_SET_WORDS = {"NUMBA_NUM_THREADS": "1", "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
_START_S = 60.0


class WorkerError(MoldgenError):
    """A worker ended, or would not end; the work can be tried again, in another process."""


class Worker:
    """A process of its own that does one piece of work after another.

    It starts when it is first asked, and anew after it has ended, whatever ended it. It ends with
    the process that it works for, also if that is killed.

    Parameters
    ----------
    homes : sequence of str
        Modules whose public functions it may run, each ``(words, blocks, tell) -> Frame``.
    limits : ProcessLimits, optional
        What it may take and touch.
    """

    def __init__(self, homes: Sequence[str], limits: ProcessLimits | None = None) -> None:
        self._homes = tuple(homes)
        self._limits = limits or ProcessLimits()
        self._process: subprocess.Popen[bytes] | None = None
        self._busy = threading.Lock()
        self._writing = threading.Lock()
        self._number = 0
        self.in_force: tuple[str, ...] = ()

    @property
    def pid(self) -> int | None:
        """The process, while there is one."""
        return None if self._process is None else self._process.pid

    def run(
        self,
        work: str,
        words: Mapping[str, Any],
        blocks: Sequence[bytes] = (),
        *,
        tell: Tell = lambda words: None,
        wall_s: float | None = None,
    ) -> Frame:
        """Have one piece of work done, and wait for it; other threads wait for their turn.

        Parameters
        ----------
        work : str
            ``module:function``.
        words : mapping of str
            What JSON can hold.
        blocks : sequence of bytes
            What it cannot.
        tell : callable
            Hears how far the work is.
        wall_s : float, optional
            Seconds that it may take; as the limits say if left out. [s]

        Returns
        -------
        Frame
            The answer.

        Raises
        ------
        MoldgenError
            As the work raised it, with the same sentence.
        CancelError
            If it was stopped.
        WorkerError
            If the process ended, took too long or too much memory, or the work failed.
        """
        with self._busy:
            self._start()
            self._number += 1
            order = {"number": self._number, "work": work, "words": dict(words)}
            alarm = threading.Timer(wall_s or self._limits.wall_s, self.kill)
            alarm.daemon = True
            alarm.start()
            try:
                self._send(Frame(order, blocks))
                answer = self._answer(tell)
            except (OSError, FrameError, ValueError) as problem:
                self.kill()
                raise WorkerError("That did not work: the process that did it ended.") from problem
            finally:
                alarm.cancel()
            return _result(answer)

    def cancel(self) -> None:
        """Ask that the work that is being done stop; it ends with a `CancelError` soon."""
        try:
            self._send(Frame({"number": self._number, "cancel": True}))
        except (OSError, ValueError, AttributeError):
            return

    def kill(self) -> None:
        """End the process, and whatever it started, at once."""
        process, self._process = self._process, None
        if process is None:
            return
        try:
            if hasattr(os, "killpg"):
                os.killpg(process.pid, signal.SIGKILL)
            else:
                process.kill()
        except OSError:
            pass
        process.wait()
        for pipe in (process.stdin, process.stdout):
            _close(pipe)

    def _start(self) -> None:
        if self._process is not None and self._process.poll() is None:
            return
        self.kill()
        home = str(Path(__file__).parents[2])
        told = {name: os.environ[name] for name in _KEPT_WORDS if name in os.environ}
        self._process = subprocess.Popen(
            [sys.executable, "-P", "-c", _START, home, self._limits.as_text(), *self._homes],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            cwd=self._limits.folder,
            env={**told, **_SET_WORDS},
            start_new_session=True,
            creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
        )
        alarm = threading.Timer(_START_S, self.kill)
        alarm.daemon = True
        alarm.start()
        try:
            ready = read_frame(self._answers())
        except (OSError, FrameError, ValueError) as problem:
            raise WorkerError("A process to work in could not be started.") from problem
        finally:
            alarm.cancel()
        if ready is None:
            self.kill()
            raise WorkerError("A process to work in could not be started.")
        self.in_force = tuple(map(str, ready.words["ready"]))

    def _send(self, frame: Frame) -> None:
        with self._writing:
            process = self._process
            if process is None or process.stdin is None:
                raise OSError("no process")
            write_frame(process.stdin, frame)

    def _answers(self) -> IO[bytes]:
        process = self._process
        if process is None or process.stdout is None:
            raise OSError("no process")
        return process.stdout

    def _answer(self, tell: Tell) -> Frame:
        while True:
            answer = read_frame(self._answers())
            if answer is None:
                raise FrameError("ended")
            if answer.words.get("number") != self._number:
                continue
            if "progress" not in answer.words:
                return answer
            tell(answer.words["progress"])


def _result(answer: Frame) -> Frame:
    words = answer.words
    if "done" in words:
        return Frame(words["done"], answer.blocks)
    if "refused" in words:
        raise read_refusal(words["refused"])
    if words.get("failed") == "memory":
        raise WorkerError("That needs more memory than it may have: make it smaller or simpler.")
    raise WorkerError("That did not work: a fault of moldgen itself.")


def _close(pipe: IO[bytes] | None) -> None:
    try:
        if pipe is not None:
            pipe.close()
    except OSError:
        return
