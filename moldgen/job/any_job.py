"""Read and write either kind of job: a mold with bodies, or a strip with bends."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from moldgen.errors import SpecError
from moldgen.job.form import form_of
from moldgen.job.read import mold_from_words, read_spec
from moldgen.job.spec import Job
from moldgen.job.strip_spec import StripJob
from moldgen.job.write import HEAD, is_table, mold_toml, told_once, value_lines
from moldgen.quantity import Spec

AnyJob = Job | StripJob


def job_from_words(words: Mapping[str, Any]) -> AnyJob:
    """Return the mold or the bent strip that nested words describe, as TOML or JSON hold them.

    Raises
    ------
    SpecError
        If it is both or neither, a word is unknown or missing, or a value is of the wrong kind
        or out of its limits; the field names the place, such as ``strip, bend 2: angle``.
    """
    kinds = {"strip", "body"} & words.keys() if isinstance(words, Mapping) else set()
    if len(kinds) == 2:
        rule, got = "a mold or a bent strip", "both [[body]] and [strip]"
        raise SpecError("the job", rule, got, "Leave one out, or make two jobs of it.")
    if not kinds and isinstance(words, Mapping):
        rule = "a mold with a [[body]], or a bent strip with a [strip]"
        raise SpecError("the job", rule, "neither", "Write one of the two.")
    if "strip" not in kinds:
        return mold_from_words(words)
    job = read_spec("", words, StripJob)
    assert isinstance(job, StripJob)
    return job


def job_toml(job: AnyJob) -> str:
    """Return a commented job file that reads back as an equal job."""
    if isinstance(job, Job):
        return mold_toml(job)
    return HEAD + "\n" + "\n".join(told_once(spec_lines("", job))) + "\n"


def spec_lines(path: str, spec: Spec) -> Iterator[str]:
    """Yield the lines of a table: its own words, then the tables and lists of tables in it."""
    lines = form_of(type(spec))
    lists = [line for line in lines if _is_spec(line.item)]
    tables = [line for line in lines if is_table(line)]
    yield from value_lines(spec, [line for line in lines if line not in (*lists, *tables)])
    for line in tables:
        part = getattr(spec, line.field)
        if part is not None and part != line.default:
            yield from _part_lines("[{}]", _within(path, line.word), part)
    for line in lists:
        for part in getattr(spec, line.field):
            yield from _part_lines("[[{}]]", _within(path, line.word), part)


def _part_lines(brackets: str, path: str, part: Spec) -> Iterator[str]:
    yield from ("", brackets.format(path))
    yield from spec_lines(path, part)


def _within(path: str, word: str) -> str:
    return f"{path}.{word}" if path else word


def _is_spec(kind: Any) -> bool:
    return isinstance(kind, type) and issubclass(kind, Spec)
