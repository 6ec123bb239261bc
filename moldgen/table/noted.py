"""Noted: what notes of a table made of a time that is computed."""

from __future__ import annotations

from dataclasses import dataclass
from math import log

from moldgen.finding import counted
from moldgen.stock.experience import NoteEstimate
from moldgen.table.doubt import Doubt


@dataclass(frozen=True, slots=True, kw_only=True)
class NotedFactor:
    """What notes of a table made of a time.

    Attributes
    ----------
    factor : NoteEstimate
        What the time is multiplied by, for the next sheet. [-]
    computed_s : float
        The time without it. [s]
    """

    factor: NoteEstimate
    computed_s: float

    @property
    def n_notes(self) -> int:
        """How many notes are behind it."""
        return self.factor.n_notes

    @property
    def doubt(self) -> Doubt:
        """What makes the corrected time uncertain: that of the next sheet."""
        factor = self.factor
        return Doubt(
            what=f"{counted(factor.n_notes, 'note')} of this table, and the next sheet",
            sooner=log(factor.value / factor.low),
            later=log(factor.high / factor.value),
        )
