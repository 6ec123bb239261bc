"""One command on one file: whether it was made, and whether its headline is true."""

from __future__ import annotations

import contextlib
import io
import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from moldgen.cli.app import main

_LOW = {"draft-low", "draft-lost", "draft-not-kept"}
_ASKED_DEG = 3.0
"""Draft of a raised wall below which a headline must have a finding to it. [°]."""


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """What became of one file.

    Attributes
    ----------
    command : str
        What was done.
    status : int
        Exit code: 0 made, 1 made with a stop, 2 refused, 3 a fault.
    said : str
        What was shown.
    found : dict
        Findings and numbers, where files were written.
    """

    command: str
    status: int
    said: str
    found: dict[str, Any]

    @property
    def is_made(self) -> bool:
        """Whether something came of it."""
        return self.status in {0, 1}

    @property
    def codes(self) -> set[str]:
        """Codes of the findings."""
        return {one["code"] for one in self.found.get("findings", [])}

    @property
    def is_headline_false(self) -> bool:
        """Whether little draft is told of a mold of which no finding says so."""
        least = self.found.get("numbers", {}).get("least_draft_deg")
        made = self.command in {"raise", "adapt"} and least is not None
        return made and least < _ASKED_DEG and not self.codes & _LOW


def outcome_of(command: str, path: Path, out: Path, words: Sequence[str] = ()) -> Outcome:
    """Run a command on a file as a person does."""
    heard = io.StringIO()
    line = [command, str(path), *words, "--formats", "json", "--out", str(out)]
    with contextlib.redirect_stdout(heard), contextlib.redirect_stderr(heard):
        try:
            status = main(line)
        except SystemExit as end:
            status = int(end.code or 0)
    written = out / "findings.json"
    found = json.loads(written.read_text()) if status in {0, 1} and written.is_file() else {}
    return Outcome(command=command, status=status, said=heard.getvalue(), found=found)
