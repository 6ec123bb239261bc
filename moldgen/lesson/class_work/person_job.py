"""What each person of a class makes: the job of the class with the person's own words and shape."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import zip_longest
from pathlib import Path
from typing import TypeVar

from moldgen.errors import MoldgenError, SpecError
from moldgen.job import Job, load_job
from moldgen.job.outline import JobOutline, JobShape, JobSvg, JobText
from moldgen.job.spec import JobBody, JobFeature
from moldgen.lesson.roster.roster import Roster, RosterEntry, told_apart
from moldgen.named_file import path_in
from moldgen.wording import fold

F = TypeVar("F", JobBody, JobFeature)


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonJob:
    """What a person makes.

    Attributes
    ----------
    entry : RosterEntry
        Who.
    job : Job or None
        What; None if it cannot be made.
    problem : str
        Why it cannot be made, one sentence.
    changes : tuple of str
        What was changed for this person that others have otherwise, a clause each.
    """

    entry: RosterEntry
    job: Job | None
    problem: str = ""
    changes: tuple[str, ...] = ()


def person_jobs(roster: Roster, like: Job, *, folder: Path) -> tuple[PersonJob, ...]:
    """Return what each person of a class makes.

    Parameters
    ----------
    roster : Roster
        The class.
    like : Job
        What the class makes. Its first text is everybody's own word.
    folder : Path
        Where drawings and job files of the roster lie.
    """
    return tuple(_person_job(entry, like, folder) for entry in roster.entries)


def own_jobs(people: Iterable[tuple[str, Job]], links: Iterable[str] = ()) -> tuple[PersonJob, ...]:
    """Return what people make who each have a job of their own; nothing of it is changed.

    Parameters
    ----------
    people : iterable of (str, Job)
        Name and job; who makes several things stands there several times.
    links : iterable of str
        What the codes on their job cards open, in the same order; none if left out.
    """
    named = [
        (RosterEntry(row=0, name=name, word=job.title, link=link or ""), job)
        for (name, job), link in zip_longest(people, links)
    ]
    apart, _ = told_apart([entry for entry, _ in named])
    return tuple(
        PersonJob(entry=entry, job=job) for entry, (_, job) in zip(apart, named, strict=True)
    )


def _person_job(entry: RosterEntry, like: Job, folder: Path) -> PersonJob:
    try:
        if entry.job:
            return _on_table_of(like, PersonJob(entry=entry, job=_own_job(entry, folder)))
        return PersonJob(entry=entry, job=_changed(entry, like))
    except MoldgenError as error:
        return PersonJob(entry=entry, job=None, problem=str(error))


def _own_job(entry: RosterEntry, folder: Path) -> Job:
    field = f"job in row {entry.row} of the roster"
    own = load_job(path_in(folder, entry.job, field=field))
    if not isinstance(own, Job):
        raise SpecError(field, "the job of a mold", "a bent strip", "Give another file.")
    return own


def _on_table_of(like: Job, one: PersonJob) -> PersonJob:
    """Return an own job on the table of the class, on which all of it is formed."""
    if one.job is None or one.job.machine == like.machine:
        return one
    changes = (f"for the table {like.machine} instead of {one.job.machine}",)
    return replace(one, job=replace(one.job, machine=like.machine), changes=changes)


def _changed(entry: RosterEntry, like: Job) -> Job:
    job, has_text = like, first_text(like) is not None
    if has_text:
        job = with_text(job, lambda text: _worded(text, entry))
    elif entry.word not in ("", entry.name):
        raise SpecError(
            f"word in row {entry.row} of the roster", "left out for a job without words",
            repr(entry.word), "Let the class make a job with a word on it.",
        )  # fmt: skip
    if entry.shape or entry.drawing:
        job = _shaped(job, entry)
    return replace(job, title=_title(entry, like))


def _title(entry: RosterEntry, like: Job) -> str:
    """Return what a person's job is called: by the word, after the class's own name for it."""
    text = first_text(like)
    if text is None:
        return like.title
    return entry.says if fold(like.title) == fold(text.text) else f"{like.title} {entry.says}"


def _worded(text: JobText, entry: RosterEntry) -> JobText:
    return replace(text, text=entry.says, font=entry.font or text.font)


def _shaped(job: Job, entry: RosterEntry) -> Job:
    """Return a job whose first body has the outline of a person's own."""
    body, *others = job.body
    outline = body.outline
    if not isinstance(outline, JobShape | JobSvg):
        field = f"{'shape' if entry.shape else 'drawing'} in row {entry.row} of the roster"
        raise SpecError(
            field, "left out for a job whose body is no shape", repr(entry.shape or entry.drawing),
            "Let the class make a job whose first body is a shape.",
        )  # fmt: skip
    placed = {
        name: getattr(outline, name)
        for name in ("x_mm", "y_mm", "turn_deg", "mirror", "width_mm", "height_mm")
    }
    # One side is enough: the other would stretch a shape that has other proportions.
    if placed["width_mm"] is not None:
        placed["height_mm"] = None
    own: JobOutline = (
        JobShape(shape=entry.shape, **placed)
        if entry.shape
        else JobSvg(svg=entry.drawing, **placed)
    )
    return replace(job, body=(replace(body, outline=own), *others))


def first_text(job: Job) -> JobText | None:
    """Return the first words of a job, None if it has none."""
    return next((text for body in job.body for text in _texts(body)), None)


def _texts(feature: JobFeature) -> Iterator[JobText]:
    if isinstance(feature.outline, JobText):
        yield feature.outline
    for child in (*feature.raised, *feature.sunk):
        yield from _texts(child)


def with_text(job: Job, change: Callable[[JobText], JobText]) -> Job:
    """Return a job with its first words changed."""
    bodies = list(job.body)
    for i, body in enumerate(bodies):
        if any(True for _ in _texts(body)):
            bodies[i] = _with_text(body, change)
            break
    return replace(job, body=tuple(bodies))


def _with_text(feature: F, change: Callable[[JobText], JobText]) -> F:
    if isinstance(feature.outline, JobText):
        return replace(feature, outline=change(feature.outline))
    raised = _with_first_text(feature.raised, change)
    if raised != feature.raised:
        return replace(feature, raised=raised)
    return replace(feature, sunk=_with_first_text(feature.sunk, change))


def _with_first_text(
    children: tuple[JobFeature, ...], change: Callable[[JobText], JobText]
) -> tuple[JobFeature, ...]:
    for i, child in enumerate(children):
        if any(True for _ in _texts(child)):
            return (*children[:i], _with_text(child, change), *children[i + 1 :])
    return children
