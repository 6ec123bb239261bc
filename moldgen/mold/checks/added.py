"""Questions that other packages ask of a mold."""

from __future__ import annotations

from collections.abc import Iterator

from moldgen.extensions import CHECKS, extensions, left_out
from moldgen.finding import Finding
from moldgen.mold.checks.case import Case


def check_added(case: Case) -> Iterator[Finding]:
    """Yield what the checks of other packages find; one that fails is left out."""
    for name, check in extensions(CHECKS).items():
        try:
            found = tuple(check(case))
            if not all(isinstance(one, Finding) for one in found):
                raise TypeError("it must yield findings")
        # Whatever goes wrong in somebody else's check must not hide what the others find.
        except Exception as problem:
            left_out(CHECKS, name, problem)
            continue
        yield from found
