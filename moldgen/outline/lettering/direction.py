"""Which way the parts of a line run, and in which order they stand on the sign."""

from __future__ import annotations

import unicodedata
from itertools import groupby, pairwise

_KINDS = {"L": "L", "R": "R", "AL": "R", "EN": "N", "AN": "N", "NSM": "M"}
_BETWEEN_DIGITS, _BESIDE_DIGITS = ("ES", "CS"), ("ET",)


def direction_runs(line: str) -> list[tuple[int, int, bool]]:
    """Return the parts of a line that run one way, in the order they stand left to right.

    Parameters
    ----------
    line : str
        Text without line breaks.

    Returns
    -------
    list of (start, end, right_to_left)
        Slices of the line.

    Notes
    -----
    The implicit part of the Unicode bidirectional algorithm: rules P2, W1, W4, W5, W7, N1,
    N2, I1, I2 and L2. Explicit embeddings and paired brackets (N0), which a sign does
    not need, are left out.

    References
    ----------
    .. [1] Unicode Standard Annex 9, "Unicode Bidirectional Algorithm".
    """
    levels = embedding_levels(line)
    runs = []
    for level, members in groupby(range(len(line)), key=levels.__getitem__):
        places = list(members)
        runs.append((places[0], places[-1] + 1, level))
    for level in range(max(levels, default=0), 0, -1):
        runs = _reversed_from(runs, level)
    return [(start, end, level % 2 == 1) for start, end, level in runs]


def embedding_levels(line: str) -> list[int]:
    """Return the level of each character: even runs left to right, odd right to left."""
    kinds = _with_numbers([unicodedata.bidirectional(character) for character in line])
    base = next((kind for kind in kinds if kind in ("L", "R")), "L")
    kinds = _with_marks(kinds, base)
    kinds = _with_plain_numbers(kinds, base)
    kinds = _with_neutrals(kinds, base)
    levels = {"L": {"L": 0, "R": 1, "N": 2}, "R": {"L": 2, "R": 1, "N": 2}}[base]
    return [levels[kind] for kind in kinds]


def _with_numbers(classes: list[str]) -> list[str]:
    """W4, W5: separators between digits and signs beside them belong to the number."""
    kinds = [_KINDS.get(name, "") for name in classes]
    for at in range(1, len(kinds) - 1):
        if classes[at] in _BETWEEN_DIGITS and classes[at - 1] == classes[at + 1] == "EN":
            kinds[at] = "N"
    steps = list(pairwise(range(len(kinds))))
    for beside, at in (*steps, *((later, at) for at, later in reversed(steps))):
        if classes[at] in _BESIDE_DIGITS and kinds[beside] == "N":
            kinds[at] = "N"
    return kinds


def _with_marks(kinds: list[str], base: str) -> list[str]:
    """W1: a mark goes with the character before it."""
    settled: list[str] = []
    for kind in kinds:
        settled.append((settled[-1] if settled else base) if kind == "M" else kind)
    return settled


def _with_plain_numbers(kinds: list[str], base: str) -> list[str]:
    """W7: a number after a left-to-right letter is like that letter."""
    strong, settled = base, []
    for kind in kinds:
        strong = kind if kind in ("L", "R") else strong
        settled.append("L" if kind == "N" and strong == "L" else kind)
    return settled


def _with_neutrals(kinds: list[str], base: str) -> list[str]:
    """N1, N2: what has no direction goes with both neighbors, or with the line."""
    settled = list(kinds)
    sides = ["R" if kind == "N" else kind for kind in kinds]
    at = 0
    for kind, members in groupby(kinds):
        end = at + len(list(members))
        if not kind:
            before = sides[at - 1] if at else base
            after = sides[end] if end < len(sides) else base
            settled[at:end] = [before if before == after else base] * (end - at)
        at = end
    return settled


def _reversed_from(runs: list[tuple[int, int, int]], level: int) -> list[tuple[int, int, int]]:
    """L2: turn round each stretch of runs at this level or higher."""
    turned: list[tuple[int, int, int]] = []
    for high, members in groupby(runs, key=lambda run: run[2] >= level):
        stretch = list(members)
        turned += stretch[::-1] if high else stretch
    return turned
