"""A timetable in words: how many lessons it takes, and what would make it fewer."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from moldgen.finding import counted
from moldgen.job.lesson_spec import MOST_PLACES, LessonSpec, Station
from moldgen.lesson.timetable.timetable import plan_lessons
from moldgen.lesson.timetable.work import Timetable
from moldgen.wording import clock_text, listed

_PLACES = {
    Station.TRIM: "places to trim",
    Station.STRIP: "strip heaters",
    Station.DRILL: "places to drill",
    Station.DRAW: "places to draw",
}
_MORE_PLACES = 12
"""So many more places of a station are thought of. [-]."""
_STEP_MIN = 5.0
_LONGEST_MIN = 180.0


def time_text(time_s: float) -> str:
    """Return a time of a lesson as minutes and seconds: ``12:05``."""
    minutes, seconds = divmod(round(time_s), 60)
    return f"{minutes}:{seconds:02d}"


def timetable_text(plan: Timetable) -> str:
    """Return how many lessons the work takes, what would make them fewer, and what is in none."""
    return " ".join(_sentences(plan))


def _sentences(plan: Timetable) -> Iterator[str]:
    if not plan.slots:
        yield "Nothing fits into a lesson of this length."
        return
    n_formed = sum(slot.station is Station.TABLE for slot in plan.slots)
    formed = counted(n_formed, "shot")
    length = f"{plan.lesson.length_min:g} min"
    if plan.n_lessons == 1:
        end = clock_text(plan.ends_s)
        yield f"{formed} in one lesson of {length}: the last work ends after {end}."
    else:
        lessons = counted(plan.n_lessons, "lesson")
        if n_formed == 1:
            yield f"{formed} takes {lessons} of {length}."
        else:
            yield f"{formed} take {lessons} of {length}."
        yield from _remedies(plan)
    if plan.left_out:
        yield f"Longer than a lesson, and so in none: {listed(plan.left_out)}."


def _remedies(plan: Timetable) -> Iterator[str]:
    """Yield what was found to take fewer lessons, a sentence each; each was planned out."""
    for station, what in _PLACES.items():
        more = _fewer_by_places(plan, station)
        if more is not None:
            lessons = counted(more.n_lessons, "lesson")
            yield f"With {more.lesson.places(station)} {what} it is {lessons}."
    longer = _one_by_length(plan)
    if longer is not None:
        yield f"One lesson of {longer.lesson.length_min:g} min would do."
    single = [shot for shot in plan.shots if len(shot.parts) == 1]
    if 2 * len(single) > len(plan.shots) > 1:
        table_s = (1 + plan.lesson.buffer) * sum(shot.table_s for shot in single)
        yield f"Single shots keep the table for {clock_text(table_s)}: form several on a sheet."


def _fewer_by_places(plan: Timetable, station: Station) -> Timetable | None:
    """Return the plan with the fewest more places of a station that takes fewer lessons."""
    if not any(slot.station is station for slot in plan.slots):
        return None
    now = plan.lesson.places(station)
    most = min(now + _MORE_PLACES, MOST_PLACES)
    more = [plan.lesson.with_places(station, places) for places in range(now + 1, most + 1)]
    return _first_of_fewer(more, plan, plan.n_lessons - 1)


def _one_by_length(plan: Timetable) -> Timetable | None:
    """Return the plan in one lesson, as long as it has to be for it."""
    first_min = _STEP_MIN * (plan.lesson.length_min // _STEP_MIN + 1)
    steps = range(int((_LONGEST_MIN - first_min) / _STEP_MIN) + 1)
    longer = [replace(plan.lesson, length_min=first_min + _STEP_MIN * k) for k in steps]
    return _first_of_fewer(longer, plan, 1)


def _first_of_fewer(tried: Sequence[LessonSpec], plan: Timetable, most: int) -> Timetable | None:
    """Return the first plan that takes so many lessons at most and leaves out no more shots.

    The last is looked at before the others: if that is not enough, none is.
    """

    def planned(lesson: LessonSpec) -> Timetable | None:
        one = plan_lessons(plan.shots, lesson)
        return one if one.n_lessons <= most and len(one.left_out) <= len(plan.left_out) else None

    if not tried or planned(tried[-1]) is None:
        return None
    return next(one for one in map(planned, tried) if one is not None)
