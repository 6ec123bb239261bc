"""The schema of what a run says as data: of ``findings.json`` and of ``--json`` alike."""

from __future__ import annotations

from typing import Any

from moldgen.export.report.findings_json import SCHEMA_VERSION
from moldgen.finding import Remedy, Severity, Way

_Schema = dict[str, Any]
_SEVERITIES = [severity.value for severity in Severity]


def findings_schema() -> _Schema:
    """Return the schema of ``findings.json`` (JSON Schema 2020-12).

    What ``--json`` prints has two keys more, ``exit_code`` and ``files``.
    """
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "moldgen findings",
        "description": "What one run of moldgen made, measured and found.",
        "type": "object",
        "properties": {
            "schema_version": _told("version of this layout", const=SCHEMA_VERSION),
            "title": _text("name of the job"),
            "summary": _told(
                "the rows a person reads first, value in words by label, in their order",
                type="object",
                additionalProperties={"type": "string"},
            ),
            "numbers": _told(
                "the measures, by name with unit at its end; null where there is none",
                type="object",
                propertyNames={"pattern": "^[A-Za-z][A-Za-z0-9_]*$"},
                additionalProperties={"$ref": "#/$defs/measure"},
            ),
            "worst": _told("gravest severity found, null if none", enum=[*_SEVERITIES, None]),
            "counts": _told(
                "how many findings of each severity",
                type="object",
                properties={word: {"type": "integer", "minimum": 0} for word in _SEVERITIES},
                required=_SEVERITIES,
                additionalProperties=False,
            ),
            "findings": _told(
                "gravest first", type="array", items={"$ref": "#/$defs/finding"}
            ),
            "exit_code": _told("what the command ended with; --json only", enum=[0, 1]),
            "files": _told(
                "places of the files; --json only", type="array", items={"type": "string"}
            ),
        },
        "required": [
            "schema_version", "title", "summary", "numbers", "worst", "counts", "findings"
        ],
        "additionalProperties": False,
        "$defs": {"finding": _finding(), "measure": _measure()},
    }  # fmt: skip


def _finding() -> _Schema:
    properties = {
        "code": _text("stable name of the rule", pattern="^[a-z0-9]+(-[a-z0-9]+)*$"),
        "severity": _told("what it means for the forming run", enum=_SEVERITIES),
        "says": _text("the plain fact, without its numbers"),
        "measured": _told("what was found, in unit", type=["number", "null"]),
        "limit": _told("what was asked for, in unit", type=["number", "null"]),
        "unit": _text("of measured and limit; empty for a ratio or a count"),
        "where_mm": _told(
            "place on the mold: x, y, z",
            type=["array", "null"],
            items={"type": ["number", "null"]},
            minItems=3,
            maxItems=3,
        ),
        "place": _text("the same in words; empty if it has no name"),
        "ring": _told(
            "number of the ring round it in pictures and plan, null for none",
            type=["integer", "null"],
            minimum=1,
        ),
        "subject": _text("feature or body concerned; empty for the whole job"),
        "basis": _text("where the limit comes from"),
        "advice": _text("what to do about it"),
        "cures": _told(
            "changes of the job that remove it or lessen it, each by itself",
            type="array",
            items={
                "type": "object",
                "properties": {
                    "field": _told("what to change", enum=[one.value for one in Remedy]),
                    "way": _told("which way", enum=[one.value for one in Way]),
                    "least": _told(
                        "from where on it helps, null for another entry of the stock",
                        type=["number", "null"],
                    ),
                },
                "required": ["field", "way", "least"],
                "additionalProperties": False,
            },
        ),
        "sentence": _text("all of it in words, as the report says it"),
    }
    return {
        "type": "object",
        "properties": properties,
        "required": list(properties),
        "additionalProperties": False,
    }


def _measure() -> _Schema:
    inner = {"$ref": "#/$defs/measure"}
    return {
        "anyOf": [
            {"type": ["number", "string", "boolean", "null"]},
            {"type": "array", "items": inner},
            {"type": "object", "additionalProperties": inner},
        ]
    }


def _text(about: str, **rules: Any) -> _Schema:
    return _told(about, type="string", **rules)


def _told(about: str, **rules: Any) -> _Schema:
    return {"description": about, **rules}
