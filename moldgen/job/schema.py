"""The job file's schema, for editors that complete and check while one writes."""

from __future__ import annotations

import re
from enum import StrEnum
from math import isfinite
from typing import Any

from moldgen.job.form import Each, FormField, form_of
from moldgen.job.outline import OUTLINE_KINDS, Grid, JobOutline, JobShape, Points
from moldgen.job.spec import INSERT_WORDS, Job, JobBody, JobFeature
from moldgen.job.strip_spec import JobBend, JobHole, JobLoad, StripJob
from moldgen.quantity import Quantity, Spec

_Schema = dict[str, Any]
_MEASURE = r"^\s*[-+]?[0-9.,/ -]+([eE][-+]?[0-9]+)?\s*\D{0,6}\s*$"
"""A written measure such as ``1/8 in``; what it comes to is checked when it is read."""


def job_schema() -> _Schema:
    """Return the schema of a job file (JSON Schema 2020-12)."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "moldgen job",
        "oneOf": [{"$ref": "#/$defs/mold_job"}, {"$ref": "#/$defs/strip_job"}],
        "$defs": {
            "mold_job": _table(Job),
            "strip_job": _table(StripJob),
            "bend": _table(JobBend),
            "hole": _table(JobHole),
            "load": _table(JobLoad),
            "outline": {"oneOf": [_outline(word) for word in OUTLINE_KINDS]},
            "raised": _table(JobFeature),
            "sunk": _with_depth(_table(JobFeature)),
            "body": _table(JobBody),
        },
    }


def _table(spec: type[Spec]) -> _Schema:
    lines = form_of(spec)
    required = [line.word for line in lines if line.required]
    return {
        "type": "object",
        "description": _first_sentence(spec),
        "properties": {line.word: _line(line) for line in lines},
        "additionalProperties": False,
    } | ({"required": required} if required else {})


def _with_depth(table: _Schema) -> _Schema:
    """Let a sunk feature say depth in place of height."""
    properties = table["properties"] | {"depth": table["properties"]["height"]}
    return table | {"properties": properties, "not": {"required": ["height", "depth"]}}


def _outline(word: str) -> _Schema:
    spec = OUTLINE_KINDS[word]
    table = _table(spec)
    table["required"] = sorted({word, *table.get("required", ())})
    if spec is JobShape:
        del table["properties"]["proportions"]
        table["additionalProperties"] = _number(Quantity("", "proportion of the shape"))
    return table


def _line(line: FormField) -> _Schema:
    schema: _Schema = {"description": line.about}
    if isinstance(line.default, bool | int | float | str):
        schema["default"] = line.default
    return schema | _kind(line)


def _kind(line: FormField) -> _Schema:
    if isinstance(line.mark, Quantity):
        return _number(line.mark)
    if isinstance(line.mark, Each):
        listed = {"type": "array", "items": _number(line.mark.quantity)}
        return {"anyOf": [listed, {"type": "string"}]}
    if line.kind is JobOutline:
        return {"$ref": "#/$defs/outline"}
    if line.kind == Points:
        pair = {"type": "array", "items": _number(Quantity("mm", "")), "minItems": 2, "maxItems": 2}
        return {"type": "array", "items": pair, "minItems": 3}
    if line.item is not None and line.kind is not Grid:
        return _list(line)
    return _plain(line)


def _list(line: FormField) -> _Schema:
    if issubclass(line.item, Spec):
        items: _Schema = {"$ref": f"#/$defs/{line.word}"}
    else:
        items = _words(line.item)
    return {"type": "array", "items": items} | ({"minItems": 1} if line.required else {})


def _plain(line: FormField) -> _Schema:
    if line.kind is bool:
        return {"type": "boolean"}
    if line.kind is Grid:
        return {"type": "string", "pattern": r"^\s*\d{1,4}\s*[x×X]\s*\d{1,4}\s*$"}
    if issubclass(line.kind, Spec):
        return _table(line.kind)
    if line.word == "insert":
        plain = re.sub(r"[?]P<\w+>", "", INSERT_WORDS.pattern)
        return {"type": "string", "pattern": f"^({plain})$"}
    return _words(line.kind)


def _words(kind: Any) -> _Schema:
    if issubclass(kind, StrEnum):
        return {"enum": [str(choice) for choice in kind]}
    return {"type": "string"}


def _number(quantity: Quantity) -> _Schema:
    limits = {
        "exclusiveMinimum": quantity.above,
        "minimum": quantity.at_least,
        "exclusiveMaximum": quantity.below,
        "maximum": quantity.at_most,
    }
    number = {"type": "number"} | {word: end for word, end in limits.items() if isfinite(end)}
    return {"anyOf": [number, {"type": "string", "pattern": _MEASURE}]}


def _first_sentence(spec: type[Spec]) -> str:
    return (spec.__doc__ or "").strip().partition("\n")[0]
