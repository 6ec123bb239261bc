"""The first use on a machine: a bar while the loops that a command needs are compiled."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from typing import Any

from moldgen.cli.commands import COMMANDS
from moldgen.cli.screen import Screen
from moldgen.job import Job
from moldgen.job.formats import Format
from moldgen.mold.choices import FormingLook
from moldgen.quantity import Spec

_BAR_LETTERS = 10
_PLAIN_STEPS = 4
"""Parts of the way of which each is a line, where the bar cannot be redrawn."""


class FirstUseBar:
    """One line on stderr that is redrawn, or a few plain lines where that is no terminal."""

    def __init__(self, screen: Screen) -> None:
        self._screen = screen
        self._live = screen.err.isatty()
        self._step = -1

    def __call__(self, share: float, left_s: float) -> None:
        """Show which share is done, from 0 to 1, and how long the rest will take. [s]."""
        if self._screen.quiet:
            return
        if self._live:
            end = "" if share < 1.0 else "\r\x1b[K"
            self._screen.err.write(f"\r\x1b[K{bar_line(share, left_s)}{end}")
        elif int(share * _PLAIN_STEPS) > self._step:
            self._step = int(share * _PLAIN_STEPS)
            self._screen.err.write(f"{bar_line(share, left_s)}\n")
        self._screen.err.flush()


def bar_line(share: float, left_s: float) -> str:
    """Return the line that shows how far it is."""
    filled = int(share * _BAR_LETTERS)
    bar = "#" * filled + "." * (_BAR_LETTERS - filled)
    left = "ready" if share >= 1.0 else f"about {_round(left_s)} s left"
    return f"first use: preparing the program [{bar}] {int(100 * share)} %, {left}"


def _round(left_s: float) -> int:
    """Return whole seconds, beyond ten by fives: it is known no better than that. [s]."""
    return max(1, round(left_s)) if left_s < 10 else 5 * round(left_s / 5)


def prepare_job(job: Job, screen: Screen) -> None:
    """Compile what the mold of a job needs, if this machine has not done so before."""
    prepare_use("mold", screen, formats=job.output.formats, look=job.forming.look)


def prepare_command(spec: type[Spec], words: Any, screen: Screen) -> None:
    """Compile what a command needs, if this machine has not done so before."""
    place = f":{spec.__name__}"
    for name, command in COMMANDS.items():
        if command.form.endswith(place):
            look = getattr(words, "forming", FormingLook.OFF)
            prepare_use(name, screen, formats=words.formats, look=look)


def prepare_use(
    use: str, screen: Screen, *, formats: Collection[Format], look: FormingLook = FormingLook.OFF
) -> None:
    """Compile what a kind of work needs, if this machine has not done so before."""
    uses = [use]
    if Format.PNG in formats or Format.HTML in formats:
        uses.append(f"{use}-pictures")
    if look.is_asked:
        uses.append("forming")
    prepare_uses(uses, screen)


def prepare_uses(uses: Iterable[str], screen: Screen) -> None:
    """Compile what these kinds of work need, if this machine has not done so before."""
    from moldgen.pipeline.loops.prepare import prepare

    prepare(uses, FirstUseBar(screen))
