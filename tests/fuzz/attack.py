"""One file after another into a confined process, and what became of each."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from hypothesis import strategies as st
from support.memory import peak_MB

from fuzz.corpus import sound_files
from fuzz.damage import damaged
from fuzz.grammar import dxf_drawings, svg_drawings, toml_files
from moldgen.sandbox.process_limits import ProcessLimits
from moldgen.sandbox.worker import Worker, WorkerError

MOST_S, MOST_MB = 20.0, 1500.0
"""Processor time and memory that no file may take. [s], [MB]"""
MOST_LETTERS = 900
"""Longest answer that is still one sentence, with a path in it."""
_READ = "tests.fuzz.reading"
_GRAMMARS = {"svg": svg_drawings, "dxf": dxf_drawings, "job": toml_files, "stock": toml_files}


@dataclass(frozen=True, kw_only=True)
class Answer:
    """What became of one file.

    Attributes
    ----------
    outcome : {"made", "refused", "fault", "slow", "fat", "ended"}
    sentence : str
        What was told, or the traceback of a fault.
    processor_s, peak_MB : float
        What it took. [s], [MB]
    """

    outcome: str
    sentence: str = ""
    processor_s: float = 0.0
    peak_MB: float = 0.0

    @property
    def is_good(self) -> bool:
        """Whether it was read, or refused with one sentence."""
        one = "\n" not in self.sentence and len(self.sentence) <= MOST_LETTERS
        return self.outcome == "made" or (self.outcome == "refused" and one)


class Attack:
    """A process that reads files; it is started anew after each that ends it.

    Parameters
    ----------
    folder : path
        The one folder that it may write to.
    """

    def __init__(self, folder: Path) -> None:
        limits = ProcessLimits(
            folder=folder, processor_s=MOST_S, memory_MB=4000, wall_s=20 * MOST_S
        )
        self._worker = Worker([_READ], limits)

    def answer(self, kind: str, data: bytes) -> Answer:
        """Have a file read."""
        try:
            words = self._worker.run(f"{_READ}:read", {"kind": kind}, [data]).words
        except WorkerError as problem:
            return Answer(outcome="ended", sentence=str(problem))
        answer = Answer(**words, peak_MB=peak_MB(self._worker.pid or 0))
        if answer.peak_MB > MOST_MB:
            self._worker.kill()  # the most that it ever took is all that the system tells
            return Answer(outcome="fat", sentence=answer.sentence, peak_MB=answer.peak_MB)
        if answer.processor_s > MOST_S:
            return Answer(outcome="slow", processor_s=answer.processor_s)
        return answer

    def close(self) -> None:
        """End the process."""
        self._worker.kill()


def files(kind: str) -> st.SearchStrategy[bytes]:
    """Return files of a kind: damaged sound ones, and some written by their grammar."""
    sound = st.sampled_from(sound_files(kind))
    broken = st.builds(
        lambda data, other, seed: damaged(kind, data, seed, other=other),
        sound, sound, st.integers(0, 2**40),
    )  # fmt: skip
    return broken | _GRAMMARS[kind]() if kind in _GRAMMARS else broken
