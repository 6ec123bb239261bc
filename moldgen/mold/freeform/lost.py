"""Thin parts of a shape that rounding its edges takes away."""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil

import numpy as np

from moldgen.arrays import Flags, Grid, Indices
from moldgen.finding import Finding, Severity
from moldgen.mold.freeform.freeform import Formable
from moldgen.solid.topology import groups

LEAST_MM2 = 1.0
"""Area seen from above below which a lost part is none. [mm²]."""


def check_lost_parts(formable: Formable, *, name: str) -> Iterator[Finding]:
    """Tell which parts are gone because they are thinner than the top radius on both sides.

    Beside an edge that is rounded the surface stands as high as before; where nothing within the
    radius does, by more than the radius, there was a fin, a spike or a rim.
    """
    radius = formable.spec.top_radius_mm
    before, after = formable.before, formable.after
    near = ceil(radius / before.cell_mm) + 1
    sunk = before.on_table_mm - _highest_near(after.on_table_mm, near)
    parts = _parts(sunk > max(radius, before.cell_mm))
    parts = [part for part in parts if len(part) * before.cell_mm**2 >= LEAST_MM2]
    if not parts:
        return
    deepest = [float(sunk[tuple(part.T)].max()) for part in parts]
    worst = int(np.argmax(deepest))
    part = parts[worst]
    up, across = np.sort((np.ptp(part, axis=0) + 1) * before.cell_mm)
    size = f"{across:.3g} x {up:.3g} mm seen from above"
    at = part[int(np.argmax(sunk[tuple(part.T)]))]
    yield Finding(
        code="thin-part-lost",
        severity=Severity.CAUTION,
        says=(
            f"a part of {size} is too thin to be formed and is taken away; height lost"
            if len(parts) == 1
            else f"{len(parts)} parts are too thin to be formed and are taken away, the highest "
            f"{size}; height lost"
        ),
        measured=deepest[worst],
        unit="mm",
        where_mm=after.place_mm((int(at[0]), int(at[1]))),
        subject=name,
        basis=f"derived: a ball of the top radius, {radius:.3g} mm, does not go in",
        advice="Make them thicker, ask for a smaller top radius, or choose another draw direction.",
    )


def _highest_near(heights_mm: Grid, n_cells: int) -> Grid:
    """Return the greatest height within some cells along and across, shape (ny, nx). [mm]."""
    highest = heights_mm
    for axis in (0, 1):
        wide = np.pad(highest, [(n_cells, n_cells) if k == axis else (0, 0) for k in (0, 1)])
        n = highest.shape[axis]
        runs = [np.take(wide, range(k, k + n), axis=axis) for k in range(2 * n_cells + 1)]
        highest = np.maximum.reduce(runs)
    return np.asarray(highest)


def _parts(there: Flags) -> list[Indices]:
    """Return rows and columns of the cells of each connected part, shape (k, 2)."""
    cells = np.argwhere(there)
    number = np.full(there.shape, -1)
    number[there] = np.arange(len(cells))
    beside = [
        (number[1:], number[:-1]), (number[:, 1:], number[:, :-1]),
        (number[1:, 1:], number[:-1, :-1]), (number[1:, :-1], number[:-1, 1:]),
    ]  # fmt: skip
    pairs = np.concatenate([np.column_stack([a.ravel(), b.ravel()]) for a, b in beside])
    part = groups(len(cells), pairs[(pairs >= 0).all(axis=1)])
    order = np.argsort(part, kind="stable")
    ends = np.flatnonzero(np.diff(part[order])) + 1
    return [cells[own] for own in np.split(order, ends)] if len(cells) else []
