"""Classes that are being made: one at a time, each in a process that reaches its folder alone."""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from moldgen.errors import CancelError, MoldgenError, SpecError
from moldgen.sandbox.process_limits import ProcessLimits
from moldgen.sandbox.worker import Worker
from moldgen.web.workshop.folder import ClassFolder

HOME = "moldgen.web.workshop.work"
STOPPED = "Stopped. What is finished is kept: make it again to go on."
_HOUR_S = 3600.0
_LIMITS = ProcessLimits(
    wall_s=2 * _HOUR_S, processor_s=2 * _HOUR_S, memory_MB=4000.0, file_MB=400.0, open_files=128
)


@dataclass(frozen=True, slots=True, kw_only=True)
class RunState:
    """How far a class is.

    Attributes
    ----------
    told : str
        What is being done.
    share : float
        How much of that is done, from 0 to 1. [-]
    problem : str
        Why it ended without a result; empty if it did not.
    is_running : bool
        Whether it goes on.
    """

    told: str = ""
    share: float = 0.0
    problem: str = ""
    is_running: bool = True


class ClassRuns:
    """What makes classes.

    Parameters
    ----------
    start : callable
        Returns a worker that holds to limits.
    """

    def __init__(
        self, start: Callable[[ProcessLimits], Worker] = lambda limits: Worker([HOME], limits)
    ) -> None:
        self._start = start
        self._changed = threading.Lock()
        self._states: dict[int, RunState] = {}
        self._running: tuple[int, Worker] | None = None

    def begin(
        self,
        class_id: int,
        folder: ClassFolder,
        words: Mapping[str, Any],
        prepare: Callable[[], None],
    ) -> None:
        """Begin to make a class; nothing happens if it is being made already.

        Parameters
        ----------
        class_id : int
            Which.
        folder : ClassFolder
            The one place that may be written to.
        words : mapping of str
            What it is made of.
        prepare : callable
            Puts what is read into the folder.

        Raises
        ------
        SpecError
            If another class is being made.
        """
        with self._changed:
            if self._running is not None:
                if self._running[0] == class_id:
                    return
                hint = "Wait until it is ready."
                raise SpecError("class", "made alone", "another that is being made", hint)
            folder.path.mkdir(parents=True, exist_ok=True)
            worker = self._start(replace(_LIMITS, folder=folder.path.resolve()))
            self._running = class_id, worker
            self._states[class_id] = RunState()
        told = {**words, "folder": str(folder.path.resolve())}

        def run() -> None:
            self._run(class_id, worker, told, prepare)
            if class_id not in self._states:  # the class is gone
                folder.remove()

        threading.Thread(target=run, daemon=True).start()

    def state(self, class_id: int) -> RunState | None:
        """Return how far a class is; None if it was not begun since the page was started."""
        return self._states.get(class_id)

    def stop(self, class_id: int) -> None:
        """Ask that a class be made no further; what is finished of it is kept."""
        with self._changed:
            if self._running is not None and self._running[0] == class_id:
                self._running[1].cancel()

    def forget(self, class_id: int) -> None:
        """End the making of a class at once, and forget it."""
        with self._changed:
            if self._running is not None and self._running[0] == class_id:
                self._running[1].kill()
            self._states.pop(class_id, None)

    def close(self) -> None:
        """End what is being made; what is finished of it is kept."""
        with self._changed:
            if self._running is not None:
                self._running[1].kill()

    def _run(
        self,
        class_id: int,
        worker: Worker,
        words: Mapping[str, Any],
        prepare: Callable[[], None],
    ) -> None:
        try:
            prepare()
            if class_id not in self._states:
                return
            worker.run(f"{HOME}:make", words, tell=lambda told: self._hear(class_id, told))
        except CancelError:
            self._end(class_id, STOPPED)
        except (MoldgenError, OSError) as problem:
            self._end(class_id, str(problem))
        else:
            self._end(class_id, "")
        finally:
            worker.kill()
            with self._changed:
                self._running = None

    def _hear(self, class_id: int, told: Mapping[str, Any]) -> None:
        self._put(class_id, RunState(told=str(told["told"]), share=float(told["share"])))

    def _end(self, class_id: int, problem: str) -> None:
        self._put(class_id, RunState(problem=problem, is_running=False))

    def _put(self, class_id: int, state: RunState) -> None:
        with self._changed:
            if class_id in self._states:
                self._states[class_id] = state
