"""The planted faults: where each stands, what it changes, and which tests should see it."""

from __future__ import annotations

import shutil
import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parents[2]


@dataclass(frozen=True, kw_only=True)
class Fault:
    """One line that is wrong.

    Attributes
    ----------
    module : str
        File that it stands in, below ``moldgen/``.
    before, after : str
        A piece of the file that stands there once, and what takes its place.
    tests : tuple of str
        Test files, or single tests of them, that should fail, below ``tests/``.
    """

    module: str
    before: str
    after: str
    tests: tuple[str, ...]

    def count_in(self, root: Path) -> int:
        """Return how often the piece stands in the file of a copy of the program."""
        return (root / "moldgen" / self.module).read_text(encoding="utf-8").count(self.before)

    def plant(self, root: Path) -> None:
        """Put the fault into a copy of the program."""
        path = root / "moldgen" / self.module
        text = path.read_text(encoding="utf-8")
        path.write_text(text.replace(self.before, self.after), encoding="utf-8")

    def mend(self, root: Path) -> None:
        """Put the file of a copy back as it is."""
        name = Path("moldgen") / self.module
        # With its time, by which compiled loops know their source.
        shutil.copy2(ROOT / name, root / name)


@cache
def load_faults() -> tuple[Fault, ...]:
    """Return every fault of the list."""
    text = (Path(__file__).parent / "faults.toml").read_text(encoding="utf-8")
    return tuple(
        Fault(**entry | {"tests": tuple(entry["tests"])}) for entry in tomllib.loads(text)["fault"]
    )
