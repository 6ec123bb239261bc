"""The findings as data, for programs that read what the checks said."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from math import isfinite
from numbers import Integral, Real
from typing import Any

from moldgen.finding import Finding, Severity, ranked, worst

SCHEMA_VERSION = 1


def findings_json_bytes(
    findings: Iterable[Finding], *, title: str, summary: Mapping[str, Any]
) -> bytes:
    """Return the findings as a JSON file in UTF-8, gravest first, keys sorted.

    Parameters
    ----------
    findings : iterable of Finding
        What the checks said.
    title : str
        Name of the job.
    summary : mapping of str to plain values
        The few facts read first, by name with unit, such as ``height_mm``.

    Notes
    -----
    JSON has no infinity: a value that is not finite is written as null, its sentence still
    tells it. The same findings give the same bytes.
    """
    told = ranked(findings)
    gravest = worst(told)
    record = {
        "schema_version": SCHEMA_VERSION,
        "title": title,
        "summary": dict(summary),
        "worst": None if gravest is None else gravest.value,
        "counts": {s.value: sum(f.severity is s for f in told) for s in Severity},
        "findings": [finding.as_dict() for finding in told],
    }
    text = json.dumps(_plain(record), ensure_ascii=False, sort_keys=True, indent=2, allow_nan=False)
    return (text + "\n").encode("utf-8", "replace")


def _plain(value: Any) -> Any:
    """Turn numbers of any library and nested containers into what JSON knows."""
    if value is None or isinstance(value, bool | str):
        return value
    if isinstance(value, Mapping):
        return {str(key): _plain(each) for key, each in value.items()}
    if isinstance(value, Integral):
        return int(value)
    if isinstance(value, Real):
        return float(value) if isfinite(value) else None
    if isinstance(value, Iterable):
        return [_plain(each) for each in value]
    return str(value)
