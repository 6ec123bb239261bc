"""What other packages add: shapes, checks, fixtures and formats, found by their entry points."""

from __future__ import annotations

import warnings
from collections.abc import Mapping
from functools import cache
from importlib.metadata import entry_points
from types import MappingProxyType
from typing import Any

SHAPES = "moldgen.shapes"
"""Name of a shape, and the text of its SVG, as the files of the outline library are written."""
CHECKS = "moldgen.checks"
"""A function that takes a `moldgen.mold.checks.Case` and yields findings."""
FIXTURES = "moldgen.fixtures"
"""A `moldgen.fixture.kinds.Kind`, whose ``build`` names a module of that package."""
FORMATS = "moldgen.formats"
"""Ending of a file, and a function that takes bodies and a title and returns bytes."""


class ExtensionWarning(UserWarning):
    """Something that another package adds cannot be used, and is left out."""


@cache
def extensions(group: str) -> Mapping[str, Any]:
    """Return what other packages add, by name; only now are they imported.

    One that cannot be imported is left out, with an `ExtensionWarning`.

    Parameters
    ----------
    group : str
        `SHAPES`, `CHECKS`, `FIXTURES` or `FORMATS`.
    """
    found: dict[str, Any] = {}
    for entry in entry_points(group=group):
        try:
            found[entry.name] = entry.load()
        # Whatever goes wrong in somebody else's package must not stop the work here.
        except Exception as problem:
            left_out(group, entry.name, problem)
    return MappingProxyType(dict(sorted(found.items())))


def left_out(group: str, name: str, problem: Exception) -> None:
    """Tell in one sentence that something which another package adds is left out."""
    why = " ".join(f"{type(problem).__name__}: {problem}".split())[:200]
    kind = group.removeprefix("moldgen.").removesuffix("s")
    warnings.warn(
        f"the {kind} {name!r} of another package is left out ({why}). Update or remove it.",
        ExtensionWarning,
        stacklevel=3,
    )
