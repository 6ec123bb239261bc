"""Who and what is taken when: places, people and molds, lesson by lesson."""

from __future__ import annotations

from bisect import insort
from collections import defaultdict
from collections.abc import Hashable, Iterator
from dataclasses import dataclass
from math import inf

from moldgen.job.lesson_spec import LessonSpec, Station

MOST_LESSONS = 100
"""More than a year has. [-]."""
_SLACK_S = 1e-6


@dataclass(frozen=True, slots=True, order=True)
class Moment:
    """A time of a lesson, from its beginning. [s]."""

    lesson: int
    time_s: float


START = Moment(1, 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Booked:
    """When and at which place, from 1, a piece of work was booked."""

    lesson: int
    place: int
    start_s: float
    end_s: float

    @property
    def start(self) -> Moment:
        """When it begins."""
        return Moment(self.lesson, self.start_s)

    @property
    def end(self) -> Moment:
        """When it is done."""
        return Moment(self.lesson, self.end_s)


@dataclass(frozen=True, slots=True, kw_only=True)
class MoldUse:
    """Molds that a piece of work takes: touched when the sheet is hot, at rest after the part.

    They are taken from ``after_s`` past the start of the work to ``until_s`` past its end. [s]
    """

    molds: tuple[str, ...]
    after_s: float
    until_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """A piece of work that wants a place and its people for a time, and maybe a mold.

    Attributes
    ----------
    station : Station
        Where.
    length_s : float
        How long; an empty lesson has so much time. [s]
    people : tuple of str
        Who has to be there.
    use : MoldUse or None
        The molds it takes.
    """

    station: Station
    length_s: float
    people: tuple[str, ...] = ()
    use: MoldUse | None = None

    def owners(self, lesson: int, place: int) -> Iterator[tuple[Hashable, float, float]]:
        """Yield who or what is taken in a lesson: from and until so long past the start. [s]."""
        yield (lesson, self.station, place), 0.0, self.length_s
        for who in dict.fromkeys(self.people):
            yield (lesson, "person", who), 0.0, self.length_s
        if self.use is not None:
            until_s = self.length_s + self.use.until_s
            for mold in dict.fromkeys(self.use.molds):
                yield (lesson, "mold", mold), self.use.after_s, until_s


class Bookings:
    """All that is taken, of the lessons of one timetable.

    Parameters
    ----------
    lesson : LessonSpec
        Length, places and heaters.
    """

    def __init__(self, lesson: LessonSpec) -> None:
        self._lesson = lesson
        self._taken: defaultdict[Hashable, list[tuple[float, float]]] = defaultdict(list)
        self._full: dict[tuple[int, Station], float] = {}

    def fits(self, station: Station, length_s: float) -> bool:
        """Tell whether an empty lesson has time for a piece of work."""
        return self._lesson.begins_s(station) + length_s <= self._lesson.last_s + _SLACK_S

    def first(self, task: Task, *, after: Moment = START) -> Booked | None:
        """Return the first time at which a place, all people and the molds are free.

        None if that would be later than a year of lessons.

        Parameters
        ----------
        task : Task
            What is to be done.
        after : Moment
            Not earlier than that.
        """
        for number in range(after.lesson, MOST_LESSONS + 1):
            least_s = after.time_s if number == after.lesson else 0.0
            found = self._in_lesson(task, number, least_s)
            if found is not None:
                return found
        return None

    def _in_lesson(self, task: Task, number: int, least_s: float) -> Booked | None:
        """Return the first time in one lesson; None if there is none."""
        station = task.station
        if task.length_s >= self._full.get((number, station), inf):
            return None
        begins_s = self._lesson.begins_s(station)
        places = range(1, self._lesson.places(station) + 1)
        found = min(
            (self._free(task, number, place, max(least_s, begins_s)) for place in places),
            key=lambda one: one.start_s,
        )
        if found.end_s <= self._lesson.last_s + _SLACK_S:
            return found
        alone = Task(station=station, length_s=task.length_s)
        ends_s = min(self._free(alone, number, place, begins_s).end_s for place in places)
        if ends_s > self._lesson.last_s + _SLACK_S:
            self._full[number, station] = task.length_s
        return None

    def take(self, task: Task, booked: Booked) -> None:
        """Keep a time that `first` found."""
        for owner, first_s, last_s in task.owners(booked.lesson, booked.place):
            insort(self._taken[owner], (booked.start_s + first_s, booked.start_s + last_s))

    def _free(self, task: Task, number: int, place: int, from_s: float) -> Booked:
        """Return the first time in a lesson, however late, that suits one place."""
        wanted = list(task.owners(number, place))
        start_s, later_s = -1.0, from_s
        while later_s > start_s:
            start_s = later_s
            for owner, first_s, last_s in wanted:
                later_s = self._past(owner, later_s, first_s, last_s)
        return Booked(
            lesson=number, place=place, start_s=start_s, end_s=start_s + task.length_s
        )  # fmt: skip

    def _past(self, owner: Hashable, start_s: float, first_s: float, last_s: float) -> float:
        """Return the first start, not before ``start_s``, that meets nothing of one owner. [s]."""
        for begin_s, end_s in self._taken.get(owner, ()):
            if begin_s < start_s + last_s - _SLACK_S and end_s > start_s + first_s + _SLACK_S:
                start_s = end_s - first_s
        return start_s
