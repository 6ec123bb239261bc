"""Write a job file that a person can read, change and learn from."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from typing import Any

from moldgen.job.form import FormField, form_of
from moldgen.job.outline import OUTLINE_KINDS, Grid, JobOutline, JobShape
from moldgen.job.spec import Job, JobFeature, JobSheet
from moldgen.quantity import Spec

_ESSENTIAL = {"title", "machine", "printer", "filament", "side", "plastic", "gauge", "height",
              "thickness", "strip_heater"}  # fmt: skip
"""Words that are written even where they say what holds anyway."""
_COMMENT_COLUMN = 40
_UNITS = {"mm", "mm³", "°"}
HEAD = """\
# A job for moldgen. To make it:  moldgen make THIS-FILE.toml
# Bare numbers are millimeters or degrees; "1/8 in" or "3 cm" in quotes will do as well.
# What is left out is computed, or has its usual value.
"""


def mold_toml(job: Job) -> str:
    """Return a commented job file that reads back as an equal job.

    It says what differs from the usual, and the essentials.
    """
    return HEAD + "\n" + "\n".join(told_once(_job_lines(job))) + "\n"


def told_once(lines: Iterable[str]) -> Iterator[str]:
    """Yield the lines; a comment that was read above is cut down to its unit."""
    written: set[str] = set()
    for line in lines:
        words, _, comment = line.rpartition(" # ")
        if comment in written and words:
            unit = comment.partition(", ")[0]
            yield f"{words} # {unit}" if unit in _UNITS else words.rstrip()
        else:
            yield line
        written.add(comment)


def _job_lines(job: Job) -> Iterator[str]:
    lines = form_of(Job)
    tables = [line for line in lines if is_table(line)]
    yield from value_lines(
        job, [line for line in lines if line.item is None and line not in tables]
    )
    for line in tables:
        part = getattr(job, line.field)
        if part != line.default or isinstance(part, JobSheet):
            yield from ("", f"[{line.word}]")
            yield from value_lines(part, form_of(type(part)))
    for body in job.body:
        yield from _feature_lines("body", body)


def _feature_lines(path: str, feature: JobFeature) -> Iterator[str]:
    indent = "  " * path.count(".")
    lines = [line for line in form_of(type(feature)) if line.word not in _PARTS]
    own = [f"[[{path}]]", *value_lines(feature, lines, sunk=path.endswith("sunk"))]
    outline = [f"[{path}.outline]", *_outline_lines(feature.outline)]
    yield from ("", *(indent + line for line in own))
    yield from (indent + line for line in outline)
    for word in ("raised", "sunk"):
        for child in getattr(feature, word):
            yield from _feature_lines(f"{path}.{word}", child)


_PARTS = ("outline", "raised", "sunk")


def _outline_lines(outline: JobOutline) -> Iterator[str]:
    kind = next(word for word, spec in OUTLINE_KINDS.items() if type(outline) is spec)
    lines = [line for line in form_of(type(outline)) if line.word != "proportions"]
    yield from value_lines(outline, sorted(lines, key=lambda line: line.word != kind))
    if isinstance(outline, JobShape):
        for name, value in outline.proportions:
            yield commented(f"{name} = {toml_value(value)}", "proportion of this shape")


def value_lines(spec: Spec, lines: Iterable[FormField], *, sunk: bool = False) -> Iterator[str]:
    """Yield a line of TOML for every value that differs from the usual, or is essential.

    What is left open is left out.
    """
    for line in lines:
        value = getattr(spec, line.field)
        is_open = value is None or (value == "" and line.default == "")
        if not is_open and (value != line.default or line.word in _ESSENTIAL):
            word = "depth" if sunk and line.word == "height" else line.word
            yield commented(f"{word} = {toml_value(value)}", line.about)


def commented(line: str, comment: str) -> str:
    """Return a line of TOML and what it means, in a column where that fits."""
    return f"{line:<{_COMMENT_COLUMN}} # {comment}"


def is_table(line: FormField) -> bool:
    """Return whether a line holds a table of its own."""
    return isinstance(line.kind, type) and issubclass(line.kind, Spec)


def toml_value(value: Any) -> str:
    """Return a value as TOML writes it."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, Grid):
        return f'"{value}"'
    if isinstance(value, float | int):
        return repr(int(value)) if value == int(value) else repr(value)
    if isinstance(value, tuple):
        return f"[{', '.join(toml_value(item) for item in value)}]"
    # TOML takes the escapes of JSON, but not a bare delete character.
    return json.dumps(str(value), ensure_ascii=False).replace("\x7f", "\\u007f")
