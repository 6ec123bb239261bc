"""The folder of a class: what its molds are built in, and what was made last, as one ZIP."""

from __future__ import annotations

import json
import shutil
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from zipfile import BadZipFile, ZipFile

from moldgen.errors import FileError

ZIP, FACTS = "class.zip", "made.json"


@dataclass(frozen=True, slots=True, kw_only=True)
class MadeClass:
    """What was made of a class.

    Attributes
    ----------
    key : str
        Of what: another key stands for other approvals, stock, defaults or notes of the log.
    summary : tuple of (str, str)
        Rows that a person reads at a glance.
    findings : tuple of (str, str)
        Severity and sentence, the gravest first.
    names : tuple of str
        Files in the ZIP, with their folders.
    """

    key: str
    summary: tuple[tuple[str, str], ...]
    findings: tuple[tuple[str, str], ...]
    names: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ClassFolder:
    """Where what is made of a class lies.

    Attributes
    ----------
    path : Path
        Its own folder. It need not be there.
    """

    path: Path

    @property
    def uploads(self) -> Path:
        """Drawings that were brought, while they are read."""
        return self.path / "uploads"

    @property
    def drawings(self) -> Path:
        """Their outlines, which the jobs name."""
        return self.path / "drawings"

    @property
    def home(self) -> Path:
        """The stock and the room, as files."""
        return self.path / "home"

    @property
    def built(self) -> Path:
        """The folder of the class, as the command line makes it."""
        return self.path / "built"

    @property
    def zip(self) -> Path:
        """All of it in one file."""
        return self.path / "made" / ZIP

    def made(self) -> MadeClass | None:
        """Return what was made last; None if there is nothing, or nothing whole."""
        try:
            told = json.loads(self.zip.with_name(FACTS).read_bytes())
            with ZipFile(self.zip) as packed:
                names = tuple(packed.namelist())
            return _made(told, names)
        except (OSError, ValueError, KeyError, TypeError, AttributeError, BadZipFile):
            return None

    def file(self, name: str) -> bytes | None:
        """Return a file out of the ZIP; None if it holds none of that name."""
        try:
            with ZipFile(self.zip) as packed:
                return packed.read(name)
        except (OSError, KeyError, BadZipFile):
            return None

    def remove(self) -> None:
        """Remove all of it.

        Raises
        ------
        FileError
            If something stays.
        """
        shutil.rmtree(self.path, ignore_errors=True)
        if self.path.exists():
            raise FileError(f"{self.path} cannot be removed: remove it by hand.")


def class_folder(data: Path, class_id: int, code: str) -> ClassFolder:
    """Return the folder of a class; numbers come again after a class was deleted, codes do not."""
    return ClassFolder(path=data / "classes" / f"{class_id}-{code.lower()}")


def _made(told: dict[str, Any], names: tuple[str, ...]) -> MadeClass:
    return MadeClass(
        key=str(told["key"]),
        summary=tuple((str(label), str(value)) for label, value in told["summary"]),
        findings=tuple((str(severity), str(words)) for severity, words in told["findings"]),
        names=names,
    )
