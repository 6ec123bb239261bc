"""Read a job file: every word checked where it stands, every number with its unit."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from typing import Any

from moldgen.errors import SpecError
from moldgen.execution import limits_now
from moldgen.file_value import read_choice, read_number, read_numbers, read_text
from moldgen.job.feature_names import places
from moldgen.job.form import Each, FormField, form_of
from moldgen.job.old_job import renewed_job
from moldgen.job.outline import OUTLINE_KINDS, Grid, JobOutline, JobShape, Points, grid_from
from moldgen.job.spec import Job, JobFeature
from moldgen.quantity import Quantity, Spec
from moldgen.wording import nearest, one_of, shown, spot

_COORDINATE = Quantity("mm", "coordinate", at_least=-5000, at_most=5000)
_PROPORTION = Quantity("", "proportion", at_least=-1000, at_most=1000)


def mold_from_words(words: Mapping[str, Any]) -> Job:
    """Return the mold that nested words, lists and numbers describe, as TOML or JSON hold them.

    Raises
    ------
    SpecError
        If a word is unknown or missing, or a value is of the wrong kind or out of its limits;
        the field names the place, such as ``body 1, raised 2: height``.
    """
    _refuse_absurd(words)
    new, old = renewed_job(words)
    job = read_spec("", new, Job, old_words=old)
    assert isinstance(job, Job)
    _refuse_twins(job)
    return job


def read_spec(place: str, words: Any, spec: type[Spec], **given: Any) -> Spec:
    """Return one specification from a table of words."""
    table = _table(place, words)
    lines = {line.word: line for line in form_of(spec) if line.field not in given}
    values = {
        lines[word].field: read_value(spot(place, word), value, lines[word], place)
        for word, value in _known(place, table, lines, spec).items()
    }
    for line in lines.values():
        if line.required and line.field not in values:
            raise SpecError(spot(place, line.word), "given", "nothing", f"It is: {line.about}.")
    words_of = {line.field: line.word for line in form_of(spec)}
    return spec_of_values(spec, values | given, lines=words_of, place=place)


def spec_of_values(
    spec: type[Spec], values: Mapping[str, Any], *, lines: Mapping[str, str], place: str
) -> Spec:
    """Make a specification; what it refuses is told with the words of the job."""
    try:
        return spec(**values)
    except SpecError as problem:
        field = spot(place, lines.get(problem.field, problem.field))
        raise problem.at(field) from None


def _as_integer(place: str, number: float) -> int:
    if number != int(number):
        raise SpecError(place, "a whole number", f"{number:g}", "Leave out what follows the point.")
    return int(number)


def read_value(place: str, value: Any, line: FormField, parent: str = "") -> Any:
    """Return one written value as its line wants it."""
    if isinstance(line.mark, Quantity):
        number = read_number(place, value, line.mark)
        return _as_integer(place, number) if line.kind is int else number
    if isinstance(line.mark, Each):
        return read_numbers(place, value, line.mark.quantity)
    if line.kind is JobOutline:
        return read_outline(_within(parent, "outline"), value)
    if line.kind == Points:
        return _points(place, value)
    if line.item is not None and line.kind is not Grid:
        return _list(place, value, line, parent)
    if isinstance(line.kind, type) and issubclass(line.kind, Spec):
        return read_spec(line.word, value, line.kind)
    return _plain(place, value, line.kind)


def read_outline(place: str, value: Any) -> JobOutline:
    """Return an outline of the kind that its keys tell.

    Raises
    ------
    SpecError
        If no key, or more than one, says the kind.
    """
    table = dict(_table(place, value))
    kind = _outline_kind(place, table)
    if kind is not JobShape:
        outline = read_spec(place, table, kind)
    else:
        own_words = [name for line in form_of(JobShape) for name in (line.word, line.field)]
        lines = set(own_words) - {"proportions"}
        own = tuple(
            (word, read_number(spot(place, word), table.pop(word), _PROPORTION))
            for word in sorted(table.keys() - lines, key=str)
            if word.isidentifier() and not isinstance(table[word], dict | list)
        )
        outline = read_spec(place, table, JobShape, proportions=own)
    assert isinstance(outline, JobOutline)
    return outline


def _within(place: str, part: str) -> str:
    return f"{place}, {part}" if place else part


def _known(
    place: str, table: Mapping[str, Any], lines: Mapping[str, FormField], spec: type[Spec]
) -> dict[str, Any]:
    """Return the table by the words of the form; refuse other words, with the nearest."""
    words: dict[str, Any] = {}
    for key, value in table.items():
        word = "height" if key == "depth" and _is_sunk(place, spec) else key
        if word not in lines or word in words:
            hint = nearest(str(key)[:40], list(lines)) or f"It can say: {', '.join(lines)}."
            raise SpecError(spot(place, "key"), "one that belongs here", shown(key), hint)
        words[word] = value
    return words


def _is_sunk(place: str, spec: type[Spec]) -> bool:
    return issubclass(spec, JobFeature) and place.rpartition(", ")[2].startswith("sunk ")


def _outline_kind(place: str, table: Mapping[str, Any]) -> type[JobOutline]:
    named = [word for word in OUTLINE_KINDS if word in table]
    if "shape" in named:
        # A star has points: beside a shape, a number is a proportion of that shape.
        named = [w for w in named if w == "shape" or not isinstance(table[w], int | float)]
    strong = [word for word in named if word != "inset"]
    if len(strong) > 1:
        got = " and ".join(strong)
        raise SpecError(place, "of one kind", got, "Leave all but one of them out.")
    if not named:
        kinds = one_of([kind for kind in OUTLINE_KINDS])
        raise SpecError(place, f"told by {kinds}", shown(next(iter(table), "nothing")),
                        'Write for example { text = "A", height = 30 }.')  # fmt: skip
    return OUTLINE_KINDS[(strong or named)[0]]


def _table(place: str, value: Any) -> Mapping[str, Any]:
    if not isinstance(value, Mapping):
        raise SpecError(place or "the job", "a table of words and values", shown(value))
    return value


def _list(place: str, value: Any, line: FormField, parent: str) -> tuple[Any, ...]:
    if not isinstance(value, list | tuple):
        raise SpecError(place, "a list", shown(value), "Write it in [ ].")
    item = line.item
    if isinstance(item, type) and issubclass(item, Spec):
        return tuple(
            read_spec(_within(parent, f"{line.word} {number}"), words, item)
            for number, words in enumerate(value, start=1)
        )
    return tuple(dict.fromkeys(_plain(place, entry, item) for entry in value))


def _plain(place: str, value: Any, kind: Any) -> Any:
    if kind is bool:
        return _switch(place, value)
    if kind is Grid:
        return grid_from(place, read_text(place, value))
    if isinstance(kind, type) and issubclass(kind, StrEnum):
        return read_choice(place, value, kind)
    return read_text(place, value)


def _switch(place: str, value: Any) -> bool:
    if not isinstance(value, bool):
        raise SpecError(place, "true or false", shown(value), "Write it without quotes.")
    return value


def _points(place: str, value: Any) -> Points:
    if not isinstance(value, list | tuple):
        raise SpecError(place, "a list of [x, y]", shown(value), "Write [[0, 0], [60, 0], ...].")
    most = limits_now().corners
    if len(value) > most:
        rule = f"at most {most:,.0f} corners"
        raise SpecError(place, rule, f"{len(value):,}", "Draw it as an SVG, or simplify it.")
    return tuple(_point(f"{place} {number}", pair) for number, pair in enumerate(value, start=1))


def _point(place: str, pair: Any) -> tuple[float, float]:
    if not isinstance(pair, list | tuple) or len(pair) != 2:
        raise SpecError(place, "a pair [x, y]", shown(pair), "Write it like [60, 0].")
    x, y = (read_number(place, value, _COORDINATE) for value in pair)
    return x, y


def _refuse_absurd(words: Any) -> None:
    """Refuse more features, or deeper ones, than a person writes, before they are read."""
    limits = limits_now()
    level: list[Any] = _features(words, "body")
    count = depth = 0
    while level:
        count, depth = count + len(level), depth + 1
        if count > limits.features:
            rule = f"made of at most {limits.features:g} features"
            raise SpecError("the job", rule, f"{count} or more", "Make several jobs of it.")
        if depth > limits.feature_depth:
            rule = f"nested at most {limits.feature_depth:g} features deep"
            raise SpecError("the job", rule, f"{depth} or more", "Make it flatter.")
        level = [one for table in level for one in _features(table, "raised", "sunk")]


def _features(table: Any, *words: str) -> list[Any]:
    lists = [table.get(word) for word in words] if isinstance(table, Mapping) else []
    return [one for entries in lists if isinstance(entries, list | tuple) for one in entries]


def _refuse_twins(job: Job) -> None:
    seen = {place: place for place, feature in places(job) if not feature.name}
    for place, feature in places(job):
        if feature.name and feature.name in seen:
            rule = f"another than that of {seen[feature.name]}"
            raise SpecError(spot(place, "name"), rule, repr(feature.name), "Findings need it.")
        seen[feature.name or place] = place
