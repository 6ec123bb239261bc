"""A timetable in words: how many lessons it takes, and what would make it fewer."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import ceil

from moldgen.finding import counted
from moldgen.lesson.timetable.timetable import Station, Timetable, plan_lessons
from moldgen.wording import clock_text, listed

MOST_TRIED = 60
"""So many shots are planned anew to see what would make it fewer lessons. [-]."""
_MOST_PLACES = 16
_LENGTHS_MIN = (60.0, 75.0, 90.0, 120.0, 180.0)


def timetable_text(plan: Timetable) -> str:
    """Return how many lessons it takes, what would make it fewer, and what is in none."""
    return " ".join(_sentences(plan))


def _sentences(plan: Timetable) -> Iterator[str]:
    if not plan.slots:
        yield "Nothing fits into a lesson of this length."
        return
    shots = counted(sum(slot.station is Station.TABLE for slot in plan.slots), "shot")
    length = f"{plan.lesson.length_min:g} min"
    if plan.n_lessons == 1:
        end = clock_text(plan.ends_s)
        yield f"{shots} in one lesson of {length}: the last part is trimmed after {end}."
    else:
        yield f"{shots} take {counted(plan.n_lessons, 'lesson')} of {length}."
        yield from _fewer(plan)
    if plan.left_out:
        yield f"Longer than a lesson, and so in none: {listed(plan.left_out)}."


def _fewer(plan: Timetable) -> Iterator[str]:
    """Yield what would make it fewer lessons: places, a longer lesson, molds on a sheet."""
    if len(plan.shots) <= MOST_TRIED:
        yield from _more_places(plan)
        yield from _longer(plan)
    alone = sum(len(shot.people) == 1 for shot in plan.shots)
    if 2 * alone > len(plan.shots):
        yield "More molds on a sheet make it fewer."


def _more_places(plan: Timetable) -> Iterator[str]:
    here = plan.lesson.trim_places
    for places in range(here + 1, max(here, _MOST_PLACES) + 1):
        other = plan_lessons(plan.shots, replace(plan.lesson, trim_places=places))
        if other.n_lessons < plan.n_lessons:
            yield f"With {places} places to trim: {counted(other.n_lessons, 'lesson')}."
            return


def _longer(plan: Timetable) -> Iterator[str]:
    for length_min in _LENGTHS_MIN:
        if length_min > plan.lesson.length_min:
            other = plan_lessons(plan.shots, replace(plan.lesson, length_min=length_min))
            if other.n_lessons <= ceil(plan.n_lessons / 2):
                lessons = counted(other.n_lessons, "lesson")
                yield f"With lessons of {length_min:g} min: {lessons}."
                return
