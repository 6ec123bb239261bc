"""A stage of a run, as people and pages are told of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Stage:
    """What a run is at.

    Attributes
    ----------
    number, of : int
        Which of how many stages; numbers never go back.
    name : str
        What is done in it, such as ``building the walls``.
    share : float
        How much of the stage is done, from 0 to 1. [-]
    """

    number: int
    of: int
    name: str
    share: float = 0.0

    @property
    def done(self) -> float:
        """How much of the whole run is done, all stages taken as equally long, from 0 to 1. [-]."""
        return (self.number - 1 + self.share) / self.of

    def __str__(self) -> str:
        return f"{self.number}/{self.of} {self.name}"


Progress = Callable[[Stage], None]
"""Hears of each stage as it begins, and of its share while it lasts if that is known."""


def quiet(stage: Stage) -> None:
    """Tell nobody which stage begins."""
