"""Progress on the screen for anything that takes over a second."""

from __future__ import annotations

import threading
import time
from types import TracebackType

from moldgen.cli.screen import Screen, one_line
from moldgen.pipeline.stage import Stage

_BAR_LETTERS = 20
_PATIENCE_S = 1.0


class Progress:
    """Stage names on stderr for anything that takes over a second.

    On a terminal one line is redrawn, with a bar in front. Elsewhere the stages are plain lines,
    and only if asked for.
    """

    def __init__(self, screen: Screen) -> None:
        self._screen = screen
        self._live = screen.err.isatty() and not screen.quiet
        self._plain = screen.verbose and not screen.quiet and not self._live
        self._start = time.monotonic()
        self._stage: Stage | None = None
        self._drawn = False
        self._lock = threading.Lock()
        self._timer = threading.Timer(_PATIENCE_S, self._draw)
        self._timer.daemon = True

    def __enter__(self) -> Progress:
        if self._live:
            self._timer.start()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._timer.cancel()
        if self._timer.is_alive():
            self._timer.join()
        with self._lock:
            self._live = False
            if self._drawn:
                self._screen.err.write("\r\x1b[K")
                self._screen.err.flush()

    def __call__(self, stage: Stage) -> None:
        """Tell that a stage begins, or how much of it is done."""
        before, self._stage = self._stage, stage
        if self._plain and str(before) != str(stage):
            self._screen.err.write(f"{one_line(str(stage))}\n")
        elif self._live and time.monotonic() - self._start > _PATIENCE_S:
            self._draw()

    def _draw(self) -> None:
        with self._lock:
            if self._live and self._stage is not None:
                self._drawn = True
                self._screen.err.write(f"\r\x1b[K{bar(self._stage)}")
                self._screen.err.flush()


def bar(stage: Stage) -> str:
    """Return a stage as progress shows it: a bar of what is done, and what is being done."""
    filled = int(_BAR_LETTERS * stage.done + 1e-9)
    return f"[{'#' * filled}{'.' * (_BAR_LETTERS - filled)}] {one_line(stage.name)}"
