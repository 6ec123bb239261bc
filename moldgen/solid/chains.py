"""Chains: what follows what, as runs and closed loops."""

from __future__ import annotations

from collections.abc import Sequence


def chains_of(follows: Sequence[int]) -> list[list[int]]:
    """Split numbers into runs in which each is followed by the next.

    Parameters
    ----------
    follows : sequence of int
        For each number the one that follows it, -1 if none does; none follows two.

    Returns
    -------
    list of lists
        Open runs first, from their ends; then closed loops, each from its least number.
    """
    begun = [False] * len(follows)
    has_earlier = set(follows)
    order = [k for k in range(len(follows)) if k not in has_earlier] + list(range(len(follows)))
    runs = []
    for k in order:
        run = []
        while k >= 0 and not begun[k]:
            begun[k] = True
            run.append(k)
            k = follows[k]
        if run:
            runs.append(run)
    return runs
