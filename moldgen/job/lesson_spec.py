"""How long a lesson is, and what there is to work at."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from moldgen.errors import SpecError
from moldgen.quantity import Quantity, Spec


def _minutes(about: str, least: float = 0.0) -> Quantity:
    return Quantity("min", about, at_least=least, at_most=600)


@dataclass(frozen=True, slots=True, kw_only=True)
class LessonSpec(Spec):
    """How long a lesson is, and what there is to work at.

    Attributes
    ----------
    length_min, warm_up_min, clean_up_min : float
        The whole lesson, until the heater is hot, and for tidying up. [min]
    buffer : float
        Time that goes by between what was planned, as a share of it. [-]
    trim_places : int
        Places where parts can be trimmed at the same time.
    """

    length_min: Annotated[float, _minutes("length of a lesson", 10)] = 45.0
    warm_up_min: Annotated[float, _minutes("until the heater is hot")] = 10.0
    clean_up_min: Annotated[float, _minutes("for tidying up")] = 5.0
    buffer: Annotated[
        float, Quantity("", "more time than computed, as a share of it", at_least=0, at_most=3)
    ] = 0.25
    trim_places: Annotated[int, Quantity("", "places to trim at", at_least=1, at_most=60)] = 4

    def __post_init__(self) -> None:
        Spec.__post_init__(self)
        if self.last_s <= self.first_s:
            raise SpecError(
                "length_min", "longer than warming up and tidying up together",
                f"{self.length_min:g} min", "Give the lesson more time.",
            )  # fmt: skip

    @property
    def first_s(self) -> float:
        """When the first sheet can go under the heater. [s]."""
        return 60 * self.warm_up_min

    @property
    def last_s(self) -> float:
        """When all work ends. [s]."""
        return 60 * (self.length_min - self.clean_up_min)
