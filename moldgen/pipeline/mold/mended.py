"""What mending gives back: a job with changes, each with what it cures."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from moldgen.finding import Finding, Remedy, Severity
from moldgen.job import Job
from moldgen.pipeline.chosen_value import ChosenValue


@dataclass(frozen=True, slots=True, kw_only=True)
class JobChange:
    """One value of a job that was changed.

    Attributes
    ----------
    field : Remedy
        What was changed.
    feature : str
        Of which feature; empty for the whole job.
    before, after : str
        What it was and is, in words with units.
    because : str
        What it cures.
    """

    field: Remedy
    feature: str
    before: str
    after: str
    because: str

    @property
    def name(self) -> str:
        """What to refuse it by, such as ``letters.height``."""
        return f"{self.feature}.{self.field}" if self.feature else str(self.field)

    @property
    def text(self) -> str:
        """It in a line."""
        return f"{self.name}: {self.before} -> {self.after} ({self.because})"


@dataclass(frozen=True, slots=True, kw_only=True)
class MendedJob:
    """A job with changes, and what is left to say of it.

    Attributes
    ----------
    job : Job
        With the changes.
    changes : tuple of JobChange
        In the order they were made; none if nothing had to be, or could be, changed.
    before, after : tuple of Finding
        What is said of the job as it was, and as it is now.
    ways : tuple of (changes, findings)
        Where something grave is left: the nearest ways, with what each would leave.
    choices : tuple of ChosenValue
        What the job left open and was chosen, and not changed since.
    """

    job: Job
    changes: tuple[JobChange, ...]
    before: tuple[Finding, ...]
    after: tuple[Finding, ...]
    ways: tuple[tuple[tuple[JobChange, ...], tuple[Finding, ...]], ...] = ()
    choices: tuple[ChosenValue, ...] = ()

    @property
    def is_clear(self) -> bool:
        """Whether no caution and no stop is left."""
        return not grave(self.after)


def grave(findings: Iterable[Finding]) -> list[Finding]:
    """Return the cautions and stops."""
    return [one for one in findings if one.severity is not Severity.NOTE]


def still_chosen(
    choices: Iterable[ChosenValue], changes: Iterable[JobChange]
) -> tuple[ChosenValue, ...]:
    """Return those of the values chosen for a job that no change has replaced."""
    changed = {
        _CHOSEN_AS[one.field].format(one.feature) for one in changes if one.field in _CHOSEN_AS
    }
    return tuple(one for one in choices if one.what not in changed)


_CHOSEN_AS = {
    Remedy.HEIGHT: "height of {}", Remedy.SIZE: "letters", Remedy.GAUGE: "sheet",
    Remedy.FILAMENT: "filament",
}  # fmt: skip
"""What the value that a change replaces is called where it was chosen."""
