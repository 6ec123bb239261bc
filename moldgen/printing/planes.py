"""Planes: where a solid is cut so that every piece fits the printer and the cuts harm least."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

import numpy as np
from numpy.typing import NDArray

from moldgen.arrays import Floats
from moldgen.errors import SpecError
from moldgen.finding import Finding, Severity
from moldgen.printing.bed_fit import fits_bed, usable_bed_mm
from moldgen.printing.hurdles import COST, Hurdle, HurdleKind, run_along_mm2
from moldgen.solid.mesh import Mesh
from moldgen.stock import Printer

SHORTEST_MM = 12.0
"""No piece is cut shorter than this; it must hold a key and be handled. [mm]."""
STEP_MM = 0.25
"""Distance between places that are tried. [mm]."""
ALONG_MM2 = 25.0
"""Wall along a cut from which it counts as cutting into it. [mm²]."""
PIECE_COST = 15.0
"""What one more piece counts, against what cuts cross (a judgment)."""
MOST_PIECES = 12
"""Along one axis; more pieces than this are no longer one mold."""
_AXES = "xyz"
_EVEN = 1e-4


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """One plane through the whole solid.

    Attributes
    ----------
    axis : int
        0, 1 or 2: the plane lies across x, y or z.
    at_mm : float
        Its place on that axis. [mm]
    crossed : tuple of Hurdle
        What it could not go round.
    """

    axis: int
    at_mm: float
    crossed: tuple[Hurdle, ...] = ()


def place_cuts(mesh: Mesh, printer: Printer, hurdles: Sequence[Hurdle] = ()) -> tuple[Cut, ...]:
    """Place as few planes as make every piece fit the printer, where they cross least.

    What fits turned by an angle is not cut. Pieces are cut to lie straight; one more than needed is
    made where that spares a vent or a letter.

    Raises
    ------
    SpecError
        If the solid would fall into more pieces along one axis than is sensible.
    """
    if fits_bed(mesh, printer):
        return ()
    width, depth, height = usable_bed_mm(printer)
    level = [_axis_cuts(mesh, 2, height, hurdles)]
    turns = [
        [_axis_cuts(mesh, 0, a, hurdles), _axis_cuts(mesh, 1, b, hurdles)]
        for a, b in {(width, depth): None, (depth, width): None}
    ]
    best = min(turns, key=_badness)
    return tuple(cut for cuts in (*best, *level) for cut in cuts)


def check_cuts(name: str, cuts: Sequence[Cut]) -> tuple[Finding, ...]:
    """Tell of every cut that could not go round something."""
    return tuple(_finding(name, cut) for cut in cuts if cut.crossed)


def _badness(cuts: list[tuple[Cut, ...]]) -> float:
    n_pieces = (len(cuts[0]) + 1) * (len(cuts[1]) + 1)
    harm = sum(COST[hurdle.kind] for axis in cuts for cut in axis for hurdle in cut.crossed)
    return harm + PIECE_COST * n_pieces


def _axis_cuts(mesh: Mesh, axis: int, room_mm: float, hurdles: Sequence[Hurdle]) -> tuple[Cut, ...]:
    low, high = (float(value) for value in mesh.bounds_mm[:, axis])
    least = ceil((high - low) / room_mm - 1e-9)
    if least <= 1:
        return ()
    if least > MOST_PIECES:
        raise SpecError(
            f"size along {_AXES[axis]}",
            f"at most {MOST_PIECES * room_mm:.0f} mm on this printer",
            f"{high - low:.0f} mm",
            "Check the unit of the file, or take a larger printer.",
        )
    places = np.arange(low + SHORTEST_MM, high - SHORTEST_MM + 1e-9, STEP_MM)
    along = run_along_mm2(mesh, axis, places)
    cost = _costs(axis, places, along, hurdles)
    chosen = _cheapest(places, cost, low=low, high=high, room_mm=room_mm, pieces=least)
    more = _cheapest(places, cost, low=low, high=high, room_mm=room_mm, pieces=least + 1)
    spared = _sum(places, cost, chosen) - _sum(places, cost, more)
    best = more if more and spared > PIECE_COST else chosen
    return tuple(_cut(axis, at, places, along, hurdles) for at in best)


def _costs(axis: int, places: Floats, along: Floats, hurdles: Sequence[Hurdle]) -> Floats:
    cost = along / ALONG_MM2
    for hurdle in hurdles:
        crossed = [hurdle.crossed(axis, float(at)) for at in places]
        cost = cost + COST[hurdle.kind] * np.array(crossed)
    return np.asarray(cost)


def _cheapest(
    places: Floats, cost: Floats, *, low: float, high: float, room_mm: float, pieces: int
) -> tuple[float, ...]:
    """Return the cheapest places for one cut less than pieces; none if there is no such row.

    By dynamic programming over the places, one cut after another.
    """
    even = (high - low) / pieces
    total = np.full(len(places), np.inf)
    first = places - low
    total[first <= room_mm] = (cost + _EVEN * (first - even) ** 2)[first <= room_mm]
    before: list[NDArray[np.int64]] = []
    for _ in range(pieces - 2):
        total, back = _one_more(places, cost, total, room_mm, even)
        before.append(back)
    rest = high - places
    total = np.where(rest <= room_mm, total + _EVEN * (rest - even) ** 2, np.inf)
    at = int(np.argmin(total)) if len(total) else 0
    if not len(total) or not np.isfinite(total[at]):
        return ()
    row = [at]
    for back in reversed(before):
        row.append(int(back[row[-1]]))
    return tuple(float(places[k]) for k in reversed(row))


def _one_more(
    places: Floats, cost: Floats, total: Floats, room_mm: float, even: float
) -> tuple[Floats, NDArray[np.int64]]:
    after = np.full(len(places), np.inf)
    back = np.zeros(len(places), np.int64)
    for k, place in enumerate(places):
        first = int(np.searchsorted(places, place - room_mm))
        last = int(np.searchsorted(places, place - SHORTEST_MM, side="right"))
        if last > first:
            tried = total[first:last] + _EVEN * (place - places[first:last] - even) ** 2
            back[k] = first + int(np.argmin(tried))
            after[k] = cost[k] + tried.min()
    return after, back


def _sum(places: Floats, cost: Floats, chosen: Sequence[float]) -> float:
    if not chosen:
        return 0.0
    return float(cost[np.searchsorted(places, np.array(chosen) - 1e-9)].sum())


def _cut(axis: int, at: float, places: Floats, along: Floats, hurdles: Sequence[Hurdle]) -> Cut:
    crossed = [hurdle for hurdle in hurdles if hurdle.crossed(axis, at)]
    wall = float(along[int(np.searchsorted(places, at - 1e-9))])
    if wall > ALONG_MM2:
        place = [0.0, 0.0, 0.0]
        place[axis] = at
        x, y, z = place
        crossed.append(
            Hurdle(
                kind=HurdleKind.RADIUS,
                name=f"{wall:.0f} mm² of wall",
                low_mm=(x, y, z),
                high_mm=(x, y, z),
            )
        )
    return Cut(axis=axis, at_mm=at, crossed=tuple(crossed))


def _finding(name: str, cut: Cut) -> Finding:
    things = ", ".join(dict.fromkeys(f"{h.name} ({h.kind.value})" for h in cut.crossed))
    worst = max(cut.crossed, key=lambda hurdle: COST[hurdle.kind])
    finite = all(np.isfinite([*worst.low_mm, *worst.high_mm]))
    x, y, z = (
        (a + b) / 2 if finite else 0.0 for a, b in zip(worst.low_mm, worst.high_mm, strict=True)
    )
    return Finding(
        code="split-crosses",
        severity=Severity.CAUTION if worst.kind is HurdleKind.VENT else Severity.NOTE,
        says=f"the cut across {_AXES[cut.axis]} at {cut.at_mm:.1f} mm cannot go round {things}",
        where_mm=(x, y, z) if finite else None,
        subject=name,
        basis="every place between the pieces that fit the printer was compared",
        advice="Fill and sand the joint there, or take a larger printer.",
    )
