"""Timetable: shots at the forming table one after another, trimming beside it, lesson by lesson."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum

from moldgen.errors import SpecError
from moldgen.finding import counted
from moldgen.job.lesson_spec import LessonSpec
from moldgen.table.run import HANDLING_s

MOST_LESSONS = 100


@dataclass(frozen=True, slots=True, kw_only=True)
class ShotWork:
    """The work of one sheet: formed at the table, then trimmed by those whose parts are in it.

    Attributes
    ----------
    name : str
        What it is called.
    people : tuple of str
        Whose parts are in it; a name as often as the person has parts.
    heat_s, cool_s : float
        At the heater, and on the mold until it is stiff. [s]
    trim_s : float
        To trim one part. [s]
    mold : str
        Which molds are used; shots with the same ones must let them rest in between.
    rest_s : float
        How long the molds rest after it. [s]
    color : str
        Of the sheet; any, if empty.
    """

    name: str
    people: tuple[str, ...]
    heat_s: float
    cool_s: float
    trim_s: float
    mold: str = ""
    rest_s: float = 0.0
    color: str = ""

    @property
    def table_s(self) -> float:
        """How long it takes the table: clamping, heating, forming, cooling, taking off. [s]."""
        return HANDLING_s + self.heat_s + self.cool_s


class Station(StrEnum):
    """Where somebody works."""

    TABLE = "forming table"
    TRIM = "trimming"


@dataclass(frozen=True, slots=True, kw_only=True)
class TimeSlot:
    """A piece of work: where, when, who.

    Attributes
    ----------
    lesson : int
        From 1.
    station : Station
        Where.
    place : int
        Which of its places, from 1.
    start_s, end_s : float
        From the beginning of the lesson. [s]
    shot : str
        Name of the shot.
    people : tuple of str
        Who works there.
    """

    lesson: int
    station: Station
    place: int
    start_s: float
    end_s: float
    shot: str
    people: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Timetable:
    """Who is at which station when.

    Attributes
    ----------
    slots : tuple of TimeSlot
        By lesson and start.
    left_out : tuple of str
        Shots that take longer than a lesson has.
    lesson : LessonSpec
        What it was planned for.
    shots : tuple of ShotWork
        What was planned, in the order wanted.
    """

    slots: tuple[TimeSlot, ...]
    left_out: tuple[str, ...]
    lesson: LessonSpec
    shots: tuple[ShotWork, ...] = ()

    @property
    def n_lessons(self) -> int:
        """How many lessons it takes."""
        return max((slot.lesson for slot in self.slots), default=0)

    @property
    def ends_s(self) -> float:
        """When the last work of the last lesson ends. [s]."""
        last = self.n_lessons
        return max((slot.end_s for slot in self.slots if slot.lesson == last), default=0.0)


@dataclass(slots=True)
class _Lesson:
    """One lesson as it fills up."""

    number: int
    spec: LessonSpec
    table_free_s: float
    places_free_s: list[float]
    slots: list[TimeSlot] = field(default_factory=list)
    rested_s: dict[str, float] = field(default_factory=dict)
    person_free_s: dict[str, float] = field(default_factory=dict)

    def begins_s(self, shot: ShotWork) -> float:
        """Return when a shot can begin: table free, molds rested, people there. [s]."""
        rested_s = self.rested_s.get(shot.mold, 0.0) - (HANDLING_s + shot.heat_s)
        waits_s = (self.person_free_s.get(person, 0.0) for person in shot.people)
        return max(self.table_free_s, rested_s, *waits_s, 0.0)

    def planned(self, shot: ShotWork) -> list[TimeSlot] | None:
        """Return the work of a shot where it fits; None if it would end too late."""
        longer = 1.0 + self.spec.buffer
        start_s = self.begins_s(shot)
        end_s = start_s + longer * shot.table_s
        slots = [self._slot(shot, Station.TABLE, 1, start_s, end_s)]
        free_s, busy_s = list(self.places_free_s), dict.fromkeys(shot.people, end_s)
        for person in shot.people:
            place = min(range(len(free_s)), key=lambda k: max(free_s[k], busy_s[person]))
            begin_s = max(free_s[place], busy_s[person])
            free_s[place] = busy_s[person] = begin_s + longer * shot.trim_s
            trim = self._slot(shot, Station.TRIM, place + 1, begin_s, free_s[place])
            slots.append(replace(trim, people=(person,)))
        return None if max(slot.end_s for slot in slots) > self.spec.last_s + 1e-6 else slots

    def _slot(
        self, shot: ShotWork, station: Station, place: int, start_s: float, end_s: float
    ) -> TimeSlot:
        return TimeSlot(
            lesson=self.number, station=station, place=place, start_s=start_s, end_s=end_s,
            shot=shot.name, people=shot.people,
        )  # fmt: skip

    def take(self, shot: ShotWork, slots: Sequence[TimeSlot]) -> None:
        """Keep the work of a shot."""
        self.slots += slots
        self.table_free_s = slots[0].end_s
        self.rested_s[shot.mold] = slots[0].end_s + shot.rest_s
        for slot in slots[1:]:
            self.places_free_s[slot.place - 1] = slot.end_s
            self.person_free_s[slot.people[0]] = slot.end_s


def plan_lessons(shots: Sequence[ShotWork], lesson: LessonSpec) -> Timetable:
    """Return when each shot is formed and its parts are trimmed, in as many lessons as it takes.

    Shots go to the table in their order, but for one whose molds still rest, or whose people still
    trim: the first that can begin at once goes before it. Everybody trims a part as soon as it is
    formed and a place is free. A lesson takes what ends in time; the rest goes on in the next.

    Parameters
    ----------
    shots : sequence of ShotWork
        In the order wanted.
    lesson : LessonSpec
        Length and places.

    Raises
    ------
    SpecError
        If it would take more than a year of lessons.
    """
    left = list(shots)
    slots: list[TimeSlot] = []
    left_out: list[str] = []
    number = 0
    while left:
        number += 1
        if number > MOST_LESSONS:
            raise SpecError(
                "shots", f"few enough for {MOST_LESSONS} lessons", counted(len(shots), "shot"),
                "Arrange more molds on a sheet.",
            )  # fmt: skip
        done = list(_filled(number, left, lesson))
        if not done:
            left_out.append(left.pop(0).name)
            number -= 1
            continue
        for shot, work in done:
            left.remove(shot)
            slots += work
    ordered = sorted(slots, key=lambda slot: (slot.lesson, slot.start_s, slot.station, slot.place))
    return Timetable(
        slots=tuple(ordered), left_out=tuple(left_out), lesson=lesson, shots=tuple(shots)
    )


def _filled(
    number: int, shots: Sequence[ShotWork], spec: LessonSpec
) -> Iterator[tuple[ShotWork, list[TimeSlot]]]:
    """Yield the shots that one lesson takes, with their work."""
    lesson = _Lesson(
        number=number, spec=spec, table_free_s=spec.first_s,
        places_free_s=[0.0] * spec.trim_places,
    )  # fmt: skip
    waiting = list(shots)
    while waiting:
        shot = min(waiting, key=lesson.begins_s)
        work = lesson.planned(shot)
        if work is None:
            return
        waiting.remove(shot)
        lesson.take(shot, work)
        yield shot, work


def time_text(time_s: float) -> str:
    """Return a time of a lesson as minutes and seconds: ``12:05``."""
    minutes, seconds = divmod(round(time_s), 60)
    return f"{minutes}:{seconds:02d}"
