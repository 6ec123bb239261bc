"""Timetable: shots at the forming table one after another, other work beside it, by lessons."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from moldgen.errors import SpecError
from moldgen.finding import counted
from moldgen.job.lesson_spec import LessonSpec, Station
from moldgen.lesson.timetable.booking import (
    MOST_LESSONS,
    START,
    Booked,
    Bookings,
    MoldUse,
    Moment,
    Task,
)
from moldgen.lesson.timetable.work import PartWork, ShotWork, TimeSlot, Timetable

_NEXT = 8
"""Of so many that wait, in the order in which they came, the first that can begin goes on."""
_Waiting = tuple[Moment, str, Task]
"""From when on a piece of work can be done, the shot that it belongs to, and what it is."""


def plan_lessons(shots: Sequence[ShotWork], lesson: LessonSpec) -> Timetable:
    """Return when each shot is formed and its parts are worked on, in as many lessons as it takes.

    Shots go to the table in their order, but for those whose molds still rest: others go before
    them. The holes of a mold are drilled before its shot. Everybody trims a part as soon as it is
    formed and a place is free, then goes to the strip heater if parts are bent; whoever is free
    draws. What a lesson has no time for goes on in the next.

    Parameters
    ----------
    shots : sequence of ShotWork
        In the order wanted.
    lesson : LessonSpec
        Length, places and stations.

    Raises
    ------
    SpecError
        If it would take more than a year of lessons.

    Notes
    -----
    Station by station, each piece of work takes the first time at which its place, its people and
    its molds are free; of those that wait, the one that can begin first goes first.
    """
    plan = _Workload(lesson, shots)
    plan.form()
    plan.trim_and_bend()
    plan.draw()
    ordered = sorted(
        plan.slots, key=lambda slot: (slot.lesson, slot.start_s, _ORDER[slot.station], slot.place)
    )
    return Timetable(
        slots=tuple(ordered), left_out=tuple(plan.left_out), lesson=lesson, shots=tuple(shots)
    )


_ORDER = {station: number for number, station in enumerate(Station)}


class _Workload:
    """A timetable while it fills up."""

    def __init__(self, lesson: LessonSpec, shots: Sequence[ShotWork]) -> None:
        self._lesson, self._shots = lesson, shots
        self._bookings = Bookings(lesson)
        self._formed: list[tuple[Moment, ShotWork]] = []
        self.slots: list[TimeSlot] = []
        self.left_out: list[str] = []

    def form(self) -> None:
        """Plan the drilling and the forming of the shots that a lesson has time for."""
        for shot in self._shots:
            if not all(
                self._bookings.fits(task.station, task.length_s) for task in self._all(shot)
            ):
                self.left_out.append(shot.name)
                continue
            drilled = [self._book(shot.name, self._drill(part)) for part in _drilled(shot)]
            ready = max((one.end for one in drilled), default=START)
            formed = self._book(shot.name, self._form(shot), after=ready)
            self._formed.append((formed.end, shot))

    def trim_and_bend(self) -> None:
        """Plan what is done with the parts that are formed."""
        formed = [
            (end, shot.name, self._trim(part)) for end, shot in self._formed for part in shot.parts
        ]
        trimmed = self._in_turn(formed)
        if self._lesson.each_s(Station.STRIP):
            self._in_turn(
                (end, shot, self._each(Station.STRIP, *task.people)) for end, shot, task in trimmed
            )

    def draw(self) -> None:
        """Plan the drawing of each person, whenever that person is free."""
        if self._lesson.each_s(Station.DRAW):
            people = dict.fromkeys(who for _, shot in self._formed for who in shot.people)
            for who in people:
                self._book("", self._each(Station.DRAW, who))

    def _in_turn(self, waiting: Iterable[_Waiting]) -> list[_Waiting]:
        """Plan what waits; of the next few, what can begin first. Return when each is done."""
        queue = sorted(waiting, key=lambda one: one[0])
        done: list[_Waiting] = []
        while queue:
            times = [self._first(task, after) for after, _, task in queue[:_NEXT]]
            k = min(range(len(times)), key=lambda i: times[i].start)
            _, shot, task = queue.pop(k)
            done.append((self._kept(shot, task, times[k]).end, shot, task))
        return done

    def _longer(self, time_s: float) -> float:
        return (1.0 + self._lesson.buffer) * time_s

    def _drill(self, part: PartWork) -> Task:
        length_s = self._longer(part.drill_s)
        return Task(station=Station.DRILL, length_s=length_s, people=(part.person,))

    def _form(self, shot: ShotWork) -> Task:
        use = MoldUse(molds=shot.molds, after_s=shot.touch_s, until_s=shot.rest_s)
        length_s = self._longer(shot.table_s)
        return Task(station=Station.TABLE, length_s=length_s, people=shot.people, use=use)

    def _trim(self, part: PartWork) -> Task:
        length_s = self._longer(part.trim_s)
        return Task(station=Station.TRIM, length_s=length_s, people=(part.person,))

    def _each(self, station: Station, *people: str) -> Task:
        length_s = self._longer(self._lesson.each_s(station))
        return Task(station=station, length_s=length_s, people=people)

    def _all(self, shot: ShotWork) -> Iterator[Task]:
        """Yield every piece of work of a shot and its people."""
        yield self._form(shot)
        for part in shot.parts:
            yield self._drill(part)
            yield self._trim(part)
        yield self._each(Station.STRIP)
        yield self._each(Station.DRAW)

    def _book(self, shot: str, task: Task, *, after: Moment = START) -> Booked:
        return self._kept(shot, task, self._first(task, after))

    def _first(self, task: Task, after: Moment) -> Booked:
        found = self._bookings.first(task, after=after)
        if found is None:
            raise SpecError(
                "shots", f"few enough for {MOST_LESSONS} lessons",
                counted(len(self._shots), "shot"), "Arrange more molds on a sheet.",
            )  # fmt: skip
        return found

    def _kept(self, shot: str, task: Task, booked: Booked) -> Booked:
        self._bookings.take(task, booked)
        self.slots.append(
            TimeSlot(
                lesson=booked.lesson, station=task.station, place=booked.place,
                start_s=booked.start_s, end_s=booked.end_s, shot=shot, people=task.people,
            )
        )  # fmt: skip
        return booked


def _drilled(shot: ShotWork) -> Iterator[PartWork]:
    """Yield the parts of a shot whose molds have holes to drill."""
    return (part for part in shot.parts if part.drill_s > 0)
