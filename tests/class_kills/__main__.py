"""Kill runs of a class, and print what becomes of its folder.

``python -m tests.class_kills [N]``: N times (100) a run of a small class is killed with all it
started at a random moment, and run again, which is killed too, until one is left to its end; then
every file is held against that of a class that was never killed.
"""

from __future__ import annotations

import random
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from class_kills.kills import Struck, killed_runs, small_class


def main(words: list[str]) -> int:
    """Print how often something was lost or torn; return 1 if it ever was."""
    n_kills = int(words[0]) if words else 100
    with tempfile.TemporaryDirectory() as temporary:
        place = small_class(Path(temporary))
        struck = list(killed_runs(place, n=n_kills, chance=random.Random(1), tell=_tell))
    wrong = [one for one in struck if not one.is_sound]
    print(f"killed {len(struck)} times, wrong {len(wrong)} times")
    for one in wrong:
        print(f"  {one}")
    return 1 if wrong else 0


def _tell(number: int, struck: Struck) -> None:
    print(f"{number}: after {struck.after_s:.2f} s, {struck}", flush=True)


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
