"""What arranging gives back to a program."""

from __future__ import annotations

from dataclasses import dataclass

from moldgen.api.run_result import RunResult
from moldgen.lesson.arrange.make import Arrangement


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class ArrangementResult(RunResult):
    """Molds arranged, with everything there is to say about it.

    Attributes
    ----------
    arrangement : Arrangement
        Shots, plates and cut sheets, with every place.
    """

    arrangement: Arrangement
