"""Lines that cross so often that cutting them at every crossing would fill the memory."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from moldgen.errors import OutlineError
from moldgen.execution import checkpoint, limits_now

_PAIRS_AT_ONCE = 2_000_000
_USUAL_PER_SIDE = 4
"""Neighbors that a side meets in honest drawings: its own two, and those of a shared corner."""

Curve = NDArray[np.float64]


def refuse_tangled(curves: Sequence[Curve], *, what: str, closed: bool = True) -> None:
    """Refuse curves that meet in more places than may be.

    Parameters
    ----------
    curves : sequence of ndarray, shape (n, 2)
        Lines, in any unit.
    what : str
        What the error sentence calls them.
    closed : bool
        Whether the last point of each is joined to its first.

    Raises
    ------
    OutlineError
        If they do.
    """
    n_sides = sum(len(curve) for curve in curves)
    most = int(limits_now().crossings) + _USUAL_PER_SIDE * n_sides
    if n_sides**2 < 2 * most:
        return
    tree = shapely.STRtree(_sides(curves, closed=closed))
    for predicate in (None, "intersects"):
        if not _meet_often(tree, most, predicate):
            return
    raise OutlineError(
        f"{what} crosses itself more than {limits_now().crossings:,.0f} times; "
        "redraw or simplify it."
    )


def _sides(curves: Sequence[Curve], *, closed: bool) -> NDArray[np.object_]:
    ends = [np.roll(c, -1, axis=0) if closed else np.r_[c[1:], c[-1:]] for c in curves]
    pairs = np.stack([np.concatenate(curves), np.concatenate(ends)], axis=1)
    return np.asarray(shapely.linestrings(pairs))


def _meet_often(tree: shapely.STRtree, most: int, predicate: str | None) -> bool:
    """Tell whether more than so many pairs meet; no more of them are held than at once."""
    sides = tree.geometries
    step = max(16, _PAIRS_AT_ONCE // len(sides))
    met = 0
    for first in range(0, len(sides), step):
        checkpoint()
        # Each pair is met from both its sides, and each side meets itself.
        found = tree.query(sides[first : first + step], predicate=predicate)
        met += found.shape[1] - min(step, len(sides) - first)
        if met > 2 * most:
            return True
    return False
