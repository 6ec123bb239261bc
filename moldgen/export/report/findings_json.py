"""What a run says as data: findings, figures and rows, for programs, and the schema of it."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from math import isfinite
from numbers import Integral, Real
from typing import Any

from moldgen.finding import Finding, Severity, ranked, ring_numbers, sentence, worst

SCHEMA_VERSION = 3


def findings_json_bytes(
    findings: Iterable[Finding],
    *,
    title: str,
    summary: Iterable[tuple[str, str]],
    numbers: Mapping[str, Any],
) -> bytes:
    """Return the record of a run as a JSON file in UTF-8.

    Parameters are those of `findings_record`. The same findings give the same bytes.
    """
    record = findings_record(findings, title=title, summary=summary, numbers=numbers)
    return (json_text(record) + "\n").encode("utf-8", "replace")


def findings_record(
    findings: Iterable[Finding],
    *,
    title: str,
    summary: Iterable[tuple[str, str]],
    numbers: Mapping[str, Any],
) -> dict[str, Any]:
    """Return what a run says as plain values: the same words in every file and on the screen.

    Parameters
    ----------
    findings : iterable of Finding
        What the checks said; the gravest come first.
    title : str
        Name of the job.
    summary : iterable of (label, value)
        The rows a person reads first, in words.
    numbers : mapping of str to plain values
        The measures, by name with unit, such as ``height_mm``.

    Notes
    -----
    JSON has no infinity: a value that is not finite becomes None, its sentence still tells it.
    It follows `moldgen.export.report.findings_schema.findings_schema`.
    """
    gravest_first = ranked(findings)
    gravest = worst(gravest_first)
    record = {
        "schema_version": SCHEMA_VERSION,
        "title": title,
        "numbers": numbers,
        "worst": None if gravest is None else gravest.value,
        "counts": {s.value: sum(f.severity is s for f in gravest_first) for s in Severity},
        "findings": [
            finding.as_dict() | {"ring": ring, "sentence": sentence(finding, ring=ring)}
            for finding, ring in zip(gravest_first, ring_numbers(gravest_first), strict=True)
        ],
    }
    # Rows keep the order in which they are read, all else is found by its name.
    return dict(sorted((_plain(record) | {"summary": _by_label(summary)}).items()))


def json_text(record: Mapping[str, Any]) -> str:
    """Return a record as JSON that people can read as well: letters as letters, indented."""
    return json.dumps(record, ensure_ascii=False, indent=2, allow_nan=False)


def _by_label(rows: Iterable[tuple[str, str]]) -> dict[str, str]:
    """Return rows by their label; what is said under one label twice is kept twice."""
    by_label: dict[str, str] = {}
    for label, value in rows:
        by_label[label] = f"{by_label[label]}; {value}" if label in by_label else value
    return by_label


def _plain(value: Any) -> Any:
    """Turn numbers of any library and nested containers into what JSON knows."""
    if value is None or isinstance(value, bool | str):
        return value
    if isinstance(value, Mapping):
        return {str(key): _plain(value[key]) for key in sorted(value, key=str)}
    if isinstance(value, Integral):
        return int(value)
    if isinstance(value, Real):
        return float(value) if isfinite(value) else None
    if isinstance(value, Iterable):
        return [_plain(each) for each in value]
    return str(value)
