"""Print what the rules say of everyday wishes that their formed sheets do not bear out.

Run it from the repository: ``python -m tests.wishes``. Every wish is formed finely, which takes
some ten minutes of one processor; ``python -m tests.wishes preview`` looks less closely and takes
less. Nothing here passes or fails.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Iterable, Iterator
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from moldgen.mold.choices import FormingLook
from wishes.forming import HeldWish, held
from wishes.wishes import wishes


def main(words: list[str]) -> None:
    """Print a line for each wish that the run contradicts, then the counts."""
    look = FormingLook(words[0]) if words else FormingLook.FINE
    told: list[HeldWish] = []
    for wish in wishes():
        told.append(held(wish, look))
        for line in lines_of(told[-1]):
            print(line, flush=True)
    print(*summary(told), sep="\n")


def lines_of(one: HeldWish) -> Iterator[str]:
    """Yield what a run contradicts of one wish, a line each."""
    for finding in one.false:
        yield f"{one.wish.name}: false: {finding}"
    for what in one.absent:
        yield f"{one.wish.name}: absent: {what}"


def summary(told: Iterable[HeldWish]) -> Iterator[str]:
    """Yield how often each rule spoke and was wrong, and one line for all."""
    every = list(told)
    said = Counter(finding.code for one in every for finding in one.findings)
    false = Counter(finding.code for one in every for finding in one.false)
    yield f"{'rule':<28}{'said':>6}{'false':>7}"
    for code, count in sorted(said.items()):
        yield f"{code:<28}{count:>6}{false[code]:>7}"
    findings, absent = sum(said.values()), sum(len(one.absent) for one in every)
    yield (
        f"{len(every)} jobs, {findings / len(every):.2f} findings each, "
        f"{sum(one.cautions for one in every)} cautions, {sum(false.values())} false, "
        f"{absent} absent"
    )


if __name__ == "__main__":
    main(sys.argv[1:])
