"""Run everything a change must pass: format, lint, types, examples, tests and doctests.

Tests come last, so that the screen ends with their count. All steps run, whatever fails.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
TESTS = "pytest -q -n 2 --dist worksteal --doctest-modules --durations 8".split()


def passes(name: str, *words: str) -> bool:
    """Run a Python module in the repository and return whether it ended well."""
    print(f"== {name}", flush=True)
    return subprocess.run([sys.executable, "-m", *words], cwd=ROOT, check=False).returncode == 0


def examples_pass() -> bool:
    """Make every example into a folder that is thrown away."""
    with tempfile.TemporaryDirectory() as folder:
        return all(
            [
                passes(
                    f"example {job.stem}",
                    *("moldgen", "make", str(job), "--quiet", "--out", f"{folder}/{job.stem}"),
                )
                for job in sorted((ROOT / "examples").glob("*.toml"))
            ]
        )


def main() -> int:
    """Return 0 if all passed."""
    os.environ.setdefault("PYTHONUTF8", "1")
    good = {
        "format": passes("format", "ruff", "format", "--check", "."),
        "lint": passes("lint", "ruff", "check", "."),
        "types": passes("types", "mypy"),
        "examples": examples_pass(),
    }
    failed = ", ".join(name for name, passed in good.items() if not passed)
    print(f"== failed so far: {failed}" if failed else "== all well so far", flush=True)
    tested = passes("tests and doctests", *TESTS)
    return 0 if tested and not failed else 1


if __name__ == "__main__":
    raise SystemExit(main())
