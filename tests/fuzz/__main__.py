"""Read many damaged and senseless files of each kind in a confined process and print the table.

``python -m tests.fuzz [--count 1000] [--seed 1] [--kinds svg,dxf] [--keep FOLDER]``. Every file
must be read, or refused with one sentence, within 20 s of processor time and 1.5 GB; whatever is
not is written into the folder, if one is named. Exit code 1 if there is any.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from hypothesis import HealthCheck, Phase, given, seed, settings

from fuzz.attack import Answer, Attack, files
from fuzz.corpus import KINDS

COLUMNS = ("made", "refused", "fault", "slow", "fat", "ended")


def main() -> int:
    """Attack every kind, and print a row for each."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz")
    parser.add_argument("--count", type=int, default=1000, help="files of all kinds")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--kinds", default=",".join(KINDS))
    parser.add_argument("--keep", type=Path, help="where files go that are not answered well")
    words = parser.parse_args()
    kinds = words.kinds.split(",")
    print(f"{'kind':8}" + "".join(f"{name:>9}" for name in COLUMNS) + "  most s  most MB")
    bad = 0
    with tempfile.TemporaryDirectory() as folder:
        attack = Attack(Path(folder))
        for kind in kinds:
            answers = answers_of(attack, kind, -(-words.count // len(kinds)), words)
            bad += sum(not one.is_good for one in answers)
            print(row(kind, answers), flush=True)
        attack.close()
    print(f"{bad} not answered well")
    return int(bad > 0)


def answers_of(attack: Attack, kind: str, count: int, words: argparse.Namespace) -> list[Answer]:
    """Return the answers to that many files of a kind; print those that are not good."""
    answers: list[Answer] = []

    @seed(words.seed)
    @settings(
        max_examples=count, database=None, deadline=None, phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )  # fmt: skip
    @given(files(kind))
    def put(data: bytes) -> None:
        answers.append(answer := attack.answer(kind, data))
        if not answer.is_good:
            print(f"  {kind} {len(data)} bytes: {answer.outcome}: {answer.sentence[-600:]}")
            if words.keep:
                words.keep.mkdir(parents=True, exist_ok=True)
                (words.keep / f"{len(answers)}.{kind}").write_bytes(data)

    put()
    return answers


def row(kind: str, answers: list[Answer]) -> str:
    """Return the counts of a kind as a line."""
    counts = Counter(one.outcome for one in answers)
    most_s = max(one.processor_s for one in answers)
    most_MB = max(one.peak_MB for one in answers)
    cells = "".join(f"{counts[name]:>9}" for name in COLUMNS)
    return f"{kind:8}{cells}{most_s:>8.1f}{most_MB:>9.0f}"


if __name__ == "__main__":
    sys.exit(main())
