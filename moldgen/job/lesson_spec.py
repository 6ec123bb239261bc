"""How long a lesson is, and what there is to work at."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Annotated

from moldgen.errors import SpecError
from moldgen.quantity import Quantity, Spec
from moldgen.wording import one_of, shown

MOST_PLACES = 60
"""So many places a station has at most. [-]."""


TrimPlaces = Annotated[int, Quantity("", "places to trim at", at_least=1, at_most=MOST_PLACES)]


class Station(StrEnum):
    """Where somebody works."""

    TABLE = "forming table"
    DRILL = "drilling"
    TRIM = "trimming"
    STRIP = "strip heater"
    DRAW = "drawing"


@dataclass(frozen=True, slots=True, kw_only=True)
class StationPlaces(Spec):
    """Places of one station, and how long each part, or person, is there."""

    station: Station
    places: Annotated[
        int, Quantity("", "places at a workstation", at_least=1, at_most=MOST_PLACES)
    ] = 1
    each_min: Annotated[
        float, Quantity("min", "time at a workstation", at_least=0, at_most=240)
    ] = 0.0


def _minutes(about: str, least: float = 0.0) -> Quantity:
    return Quantity("min", about, at_least=least, at_most=600)


@dataclass(frozen=True, slots=True, kw_only=True)
class LessonSpec(Spec):
    """How long a lesson is, and what there is to work at.

    Attributes
    ----------
    length_min, warm_up_min, clean_up_min : float
        The whole lesson, until the heaters are hot, and for tidying up. [min]
    buffer : float
        Time that goes by between what was planned, as a share of it. [-]
    trim_places : int
        Places where parts can be trimmed at the same time.
    stations : tuple of StationPlaces
        Where else people work: each part at the strip heater, each person at drawing.
    """

    length_min: Annotated[float, _minutes("length of a lesson", 10)] = 45.0
    warm_up_min: Annotated[float, _minutes("until the heater is hot")] = 10.0
    clean_up_min: Annotated[float, _minutes("for tidying up")] = 5.0
    buffer: Annotated[
        float, Quantity("", "more time than computed, as a share of it", at_least=0, at_most=3)
    ] = 0.25
    trim_places: TrimPlaces = 4
    stations: tuple[StationPlaces, ...] = ()

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

    def begins_s(self, station: Station) -> float:
        """Return from when on there is work at a station: heaters must be hot. [s]."""
        return self.first_s if station in {Station.TABLE, Station.STRIP} else 0.0

    def places(self, station: Station) -> int:
        """Return how many can work at a station at the same time."""
        if station is Station.TRIM:
            return self.trim_places
        return max((one.places for one in self.stations if one.station is station), default=1)

    def with_places(self, station: Station, places: int) -> LessonSpec:
        """Return a lesson like this one with so many places of a station."""
        if station is Station.TRIM:
            return replace(self, trim_places=places)
        others = (one for one in self.stations if one.station is not station)
        own = StationPlaces(station=station, places=places, each_min=self.each_s(station) / 60)
        return replace(self, stations=(*others, own))

    def each_s(self, station: Station) -> float:
        """Return how long each part, or person, is at a station; 0 if none is wanted. [s]."""
        return 60 * max((o.each_min for o in self.stations if o.station is station), default=0.0)


_STATION = re.compile(
    r"(?P<name>[^\d:]+?)\s*:?\s*(?P<places>\d{1,4})\s*(?:[x×*]\s*(?P<minutes>\d{1,4}(?:[.,]\d+)?)\s*min)?"
)
_TIMED = (Station.STRIP, Station.DRAW)
_NAMED = (*_TIMED, Station.DRILL)
_LIKE = 'like "strip heater 1 x 6 min; drawing 10 x 15 min; drilling 2"'


def stations_from(field: str, words: Iterable[str]) -> tuple[StationPlaces, ...]:
    """Return the stations that are written out.

    Raises
    ------
    SpecError
        If one is no station, stands there twice, lacks its minutes or is out of range.

    Examples
    --------
    >>> [(str(one.station), one.places, one.each_min)
    ...  for one in stations_from("workstations", ["strip heater 2 x 6 min; drilling 1"])]
    [('strip heater', 2, 6.0), ('drilling', 1, 0.0)]
    """
    parts = (part.strip() for one in words for part in one.split(";"))
    found = tuple(_station(field, part) for part in parts if part)
    twice = [one.station for one in found if [o.station for o in found].count(one.station) > 1]
    if twice:
        raise SpecError(field, "each workstation once", f"{twice[0]} twice")
    return found


def _station(field: str, part: str) -> StationPlaces:
    match = _STATION.fullmatch(part)
    if match is None:
        raise SpecError(field, _LIKE, shown(part))
    name = match["name"].strip().casefold()
    if name not in _NAMED:
        raise SpecError(field, one_of(_NAMED), shown(match["name"]))
    station, minutes = Station(name), match["minutes"]
    if station in _TIMED and not minutes:
        raise SpecError(field, f"told how long, {_LIKE}", shown(part))
    if station not in _TIMED and minutes:
        raise SpecError(
            field, "left without minutes for drilling, which takes what its holes take", shown(part)
        )
    try:
        return StationPlaces(
            station=station, places=int(match["places"]),
            each_min=float((minutes or "0").replace(",", ".")),
        )  # fmt: skip
    except SpecError as problem:
        raise problem.at(f"{field}, {problem.field}") from None
