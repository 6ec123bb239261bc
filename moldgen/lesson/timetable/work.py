"""What is to be done in a lesson, and where and when it is planned."""

from __future__ import annotations

from dataclasses import dataclass

from moldgen.job.lesson_spec import LessonSpec, Station
from moldgen.table.run import HANDLING_s


@dataclass(frozen=True, slots=True, kw_only=True)
class PartWork:
    """The work of one part beside forming.

    Attributes
    ----------
    person : str
        Whose part it is.
    trim_s : float
        To trim it. [s]
    drill_s : float
        To drill the holes of its mold, before it is formed; 0 if there are none. [s]
    """

    person: str
    trim_s: float
    drill_s: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ShotWork:
    """The work of one sheet: formed at the table, then trimmed by those whose parts are in it.

    Attributes
    ----------
    name : str
        What it is called.
    parts : tuple of PartWork
        The parts in it.
    heat_s, cool_s : float
        At the heater, and on the mold until it is stiff. [s]
    molds : tuple of str
        Which molds are used; shots that share one must let it rest in between.
    rest_s : float
        How long the molds rest after it. [s]
    color : str
        Of the sheet; any, if empty.
    group : str
        Whose molds are on it; those of several, if empty.
    """

    name: str
    parts: tuple[PartWork, ...]
    heat_s: float
    cool_s: float
    molds: tuple[str, ...] = ()
    rest_s: float = 0.0
    color: str = ""
    group: str = ""

    @property
    def table_s(self) -> float:
        """How long it takes the table: clamping, heating, forming, cooling, taking off. [s]."""
        return HANDLING_s + self.heat_s + self.cool_s

    @property
    def touch_s(self) -> float:
        """How long after its beginning the mold is needed: when the sheet is hot. [s]."""
        return HANDLING_s + self.heat_s

    @property
    def people(self) -> tuple[str, ...]:
        """Whose parts are in it; a name as often as the person has parts."""
        return tuple(part.person for part in self.parts)


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
        Name of the shot; empty for what belongs to none.
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
        Shots of which a piece of work takes longer than a lesson has.
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
