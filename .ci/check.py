"""Run everything a change must pass: format, lint, types, examples, tests and doctests.

Format, lint and types run beside the examples. Tests come last, so that the screen ends with their
count. All steps run, whatever fails.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
TESTS = "pytest -q -n 2 --dist worksteal --doctest-modules --durations 8".split()
LOOPS = (
    "import moldgen; from moldgen.pipeline.loops.table import known_uses; "
    "moldgen.prepare_loops(known_uses())"
)
_screen = threading.Lock()


def passes(name: str, *words: str) -> bool:
    """Run Python with these words in the repository and return whether it ended well."""
    done = subprocess.run(
        [sys.executable, *words],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        check=False,
    )
    with _screen:
        print(f"== {name}", flush=True)
        sys.stdout.buffer.write(done.stdout)
        sys.stdout.flush()
    return done.returncode == 0


def texts_pass() -> dict[str, bool]:
    """Look at the program's text, by three tools."""
    return {
        "format": passes("format", "-m", "ruff", "format", "--check", "."),
        "lint": passes("lint", "-m", "ruff", "check", "."),
        "types": passes("types", "-m", "mypy"),
    }


def examples_pass() -> dict[str, bool]:
    """Make every example into a folder that is thrown away, with all loops compiled before.

    What is compiled here, side by side, no two of the tests compile at once.
    """
    with tempfile.TemporaryDirectory() as folder:
        return {"compiled loops": passes("compiled loops", "-c", LOOPS)} | {
            f"example {job.stem}": passes(
                f"example {job.stem}",
                *("-m", "moldgen", "make", str(job), "--quiet", "--out", f"{folder}/{job.stem}"),
            )
            for job in sorted((ROOT / "examples").glob("*.toml"))
        }


def both(*lanes: Callable[[], dict[str, bool]]) -> dict[str, bool]:
    """Return what passes in lanes side by side."""
    with ThreadPoolExecutor(len(lanes)) as pool:
        found = [pool.submit(lane) for lane in lanes]
        return {name: good for one in found for name, good in one.result().items()}


def main() -> int:
    """Return 0 if all passed."""
    os.environ.setdefault("PYTHONUTF8", "1")
    # What one process has compiled of all this Python is not compiled again by hundreds of others.
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    good = both(texts_pass, examples_pass)
    failed = ", ".join(name for name, passed in good.items() if not passed)
    print(f"== failed so far: {failed}" if failed else "== all well so far", flush=True)
    print("== tests and doctests", flush=True)
    tested = subprocess.run([sys.executable, "-m", *TESTS], cwd=ROOT, check=False)
    return 0 if tested.returncode == 0 and not failed else 1


if __name__ == "__main__":
    raise SystemExit(main())
