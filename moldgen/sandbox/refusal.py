"""What work refuses, told from one process to another and raised there as the same error."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from moldgen.errors import (
    CancelError,
    FileError,
    GeometryError,
    MoldgenError,
    OutlineError,
    SpecError,
)

_KINDS = {
    kind.__name__: kind
    for kind in (CancelError, FileError, GeometryError, MoldgenError, OutlineError)
}
_PARTS = ("field", "rule", "got", "hint")


def refusal_words(problem: MoldgenError) -> dict[str, str]:
    """Return an error as words that `read_refusal` understands."""
    if isinstance(problem, SpecError):
        return {part: str(getattr(problem, part)) for part in _PARTS}
    kinds = (kind.__name__ for kind in type(problem).__mro__)
    return {"kind": next(kind for kind in kinds if kind in _KINDS), "sentence": str(problem)}


def read_refusal(words: Mapping[str, Any]) -> MoldgenError:
    """Return the error that the words tell of, to be raised."""
    if "rule" in words:
        return SpecError(*(str(words.get(part, "")) for part in _PARTS))
    kind = _KINDS.get(str(words.get("kind")), MoldgenError)
    return kind(str(words.get("sentence", "")))
