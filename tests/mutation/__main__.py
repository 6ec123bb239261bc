"""Plant the faults of the list one at a time in a copy, run their tests, and print what survives.

``python -m tests.mutation [--only PART] [--from N] [--seconds 600]``: of all faults or of those
whose module's name holds a part, each within that time. A fault *survives* if its tests pass; exit
code 1 if one does.
"""

from __future__ import annotations

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from mutation.fault import ROOT, Fault, load_faults

_COPIED = ("moldgen", "tests", "shapes", "examples", "pyproject.toml", "README.md")
_NOT_COPIED = shutil.ignore_patterns("*.pyc", ".*")


def main() -> int:
    """Plant, test and print."""
    parser = argparse.ArgumentParser(prog="python -m tests.mutation")
    parser.add_argument("--only", default="", help="part of a module's name")
    parser.add_argument("--from", type=int, default=1, dest="first", help="number to begin with")
    parser.add_argument("--seconds", type=float, default=600.0, help="longest run of its tests")
    words = parser.parse_args()
    survivors = 0
    with tempfile.TemporaryDirectory() as folder:
        root = _copy(Path(folder))
        for number, fault in enumerate(load_faults(), start=1):
            if number < words.first or words.only not in fault.module:
                continue
            outcome = outcome_of(fault, root, seconds=words.seconds)
            survivors += outcome == "SURVIVED"
            change = f"{fault.before.strip()} -> {fault.after.strip()}".replace("\n", " ")
            print(f"{number:3} {outcome:9} {fault.module}: {change[:110]}", flush=True)
    print(f"{survivors} survived")
    return int(survivors > 0)


def _copy(folder: Path) -> Path:
    for name in _COPIED:
        if (ROOT / name).is_dir():
            shutil.copytree(ROOT / name, folder / name, ignore=_NOT_COPIED)
        else:
            shutil.copy(ROOT / name, folder / name)
    return folder


def outcome_of(fault: Fault, root: Path, *, seconds: float) -> str:
    """Plant a fault in a copy, run its tests there, and take it out again."""
    if fault.count_in(root) != 1:
        return "NOT FOUND"
    fault.plant(root)
    try:
        tests = [f"tests/{name}" for name in fault.tests]
        done = subprocess.run(
            [sys.executable, "-m", "pytest", "-q", "-x", "-p", "no:cacheprovider", *tests],
            cwd=root, env=_surroundings(root), capture_output=True, timeout=seconds, check=False,
        )  # fmt: skip
    except subprocess.TimeoutExpired:
        return "TOO LONG"
    finally:
        fault.mend(root)
    # Pytest's exit codes: 0 all passed, 1 some failed, others did not run the tests.
    return {0: "SURVIVED", 1: "caught"}.get(done.returncode, "NOT RUN")


def _surroundings(root: Path) -> dict[str, str]:
    """Return an environment in which the copy is the program."""
    return {**os.environ, "PYTHONPATH": str(root), "PYTHONDONTWRITEBYTECODE": "1"}


if __name__ == "__main__":
    sys.exit(main())
