"""How long the first command takes on a machine where nothing has been compiled yet.

Run it from the repository: ``python -m tests.benchmarks.first_use``. It takes a minute or two.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from pathlib import Path

from .clock import Ran, run_command

TITLE = "First use: tide-sign.toml, every file, with nothing compiled and then again"
EXAMPLE = Path(__file__).parents[2] / "examples" / "tide-sign.toml"


def main() -> None:
    """Print the table."""
    print(f"\n{TITLE}")
    for label, figures in first_use_rows():
        print(f"  {label:<44}{figures}", flush=True)


def first_use_rows(example: Path = EXAMPLE) -> Iterator[tuple[str, str]]:
    """Yield time of the first command and of the second, and how many loops have been compiled."""
    with tempfile.TemporaryDirectory() as folder:
        kept = Path(folder) / "kept"
        words = ["make", str(example), "--quiet", "--out", f"{folder}/out"]
        first = run_command(words, NUMBA_CACHE_DIR=str(kept))
        yield "first command", f"{_figures(first)}   (aim 45 s more than the second)"
        n_loops = len(list(kept.rglob("*.nbc")))
        second = run_command(words, NUMBA_CACHE_DIR=str(kept))
        yield "second command", _figures(second)
        more_s = first.wall_s - second.wall_s
        yield f"{n_loops} loops compiled", f"{more_s:8.1f} s"
        yield "loops compiled by the second", f"{len(list(kept.rglob('*.nbc'))) - n_loops:6d}"


def _figures(ran: Ran) -> str:
    used = "" if ran.processor_s is None else f"  {ran.processor_s:6.1f} s on processors"
    return f"{ran.wall_s:8.1f} s{used}"


if __name__ == "__main__":
    main()
