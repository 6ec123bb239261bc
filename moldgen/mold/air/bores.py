"""The way of every vent down to the table: a bore that stays within the plastic."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import hypot

import numpy as np
import shapely
from numpy.typing import NDArray

from moldgen.execution import checkpoint
from moldgen.finding import Finding, Severity
from moldgen.mold.air.slits import SlitSearch, is_clear
from moldgen.mold.features import FeaturePlan
from moldgen.mold.underside.cut import BoreSpec, Opening
from moldgen.mold.underside.underside import BORE_WALL_MM
from moldgen.mold.vents.by_ball import HOLE_MARGIN_MM, floors_of
from moldgen.mold.vents.vent import Floor, Vent, VentPlan
from moldgen.mold.vents.waste import as_printed
from moldgen.solid.height.relief import Relief

LESSER_BORES_MM = (3.0, 2.5, 2.0, 1.5, 1.2)
"""Bores that are tried where the usual one would break through a wall. [mm]."""

SERVED_MM = 5.0
"""A low spot no farther from a slit needs no hole of its own. [mm]."""

FARTHEST_MM = 3.0
"""A vent is moved no farther than this to leave room for its bore. [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Ground:
    """The mold around the vents: its surface and its levels."""

    relief: Relief
    floors: tuple[Floor, ...]


def settle_bores(
    plan: VentPlan,
    plans: Sequence[FeaturePlan],
    relief: Relief,
    spec: BoreSpec,
    *,
    slit_mm: float | None = None,
    prints_waste: bool = False,
) -> tuple[VentPlan, tuple[Finding, ...]]:
    """Give every vent a bore that keeps its wall, all the way from the table up to its land.

    Where slits are wanted, a vent becomes one if it has room with its pocket. A vent whose usual
    bore would come too near an outer wall or a neighboring recess gets a
    lesser bore; failing that it moves a little on its own flat; failing that it is left out.

    Parameters
    ----------
    plan : VentPlan
        Vents as placed.
    plans : sequence of FeaturePlan
        Every feature as built.
    relief : Relief
        The mold seen from above.
    spec : BoreSpec
        The usual bore.
    slit_mm : float, optional
        Width of the slits that go before holes; none if left out. [mm]
    prints_waste : bool
        Whether holes outside the trim line are printed, however wide their marks are.

    Returns
    -------
    VentPlan, tuple of Finding
        The vents that can be bored, and what became of the others.
    """
    ground = _Ground(relief=relief, floors=floors_of(plans, relief))
    search = None if slit_mm is None else SlitSearch(ground.floors, relief, slit_mm)
    kept: list[Vent] = []
    findings: list[Finding] = []
    for vent in plan.vents:
        checkpoint()
        slit = None if search is None else search.fit(vent, kept)
        if slit is not None:
            kept.append(slit)
            continue
        if any(serves(other, vent) for other in kept):
            continue
        holes = [as_printed(vent, least_hole_mm=spec.least_hole_mm)] if prints_waste else []
        bored = (one for hole in (*holes, vent) for one in _choices(hole, ground, spec))
        clear = (one for one in bored if all(is_clear(one, k) for k in kept))
        settled = next(clear, None)
        if settled is None:
            findings.append(_left_out(vent, spec))
            continue
        kept.append(settled)
        moved = float(np.hypot(settled.x_mm - vent.x_mm, settled.y_mm - vent.y_mm))
        if moved > 1e-9:
            findings.append(_moved(settled, moved))
    return replace(plan, vents=tuple(kept)), tuple(findings)


def serves(slit: Vent, vent: Vent) -> bool:
    """Tell whether a slit lies so near a vent's low spot that it takes the air from there."""
    if slit.slit is None:
        return False
    apart_mm = hypot(slit.x_mm - vent.low.x_mm, slit.y_mm - vent.low.y_mm)
    if apart_mm > SERVED_MM + slit.slit.length_mm:
        return False
    low = shapely.Point(vent.low.x_mm, vent.low.y_mm)
    return bool(slit.axis_mm.distance(low) <= SERVED_MM)


def bore_room_mm(vent: Vent, bore_mm: float, relief: Relief, spec: BoreSpec) -> float:
    """Return how much plastic lies over the bore and the wall around it, at the thinnest. [mm].

    The surface is read over a disc as wide as the bore and its wall; a recess or an outer wall
    that comes nearer shows as a place lower than the top of the bore.
    """
    around = _heights_around(vent, bore_mm / 2 + BORE_WALL_MM, relief)
    return float(around.min() - bore_top_mm(vent, spec))


def bore_top_mm(vent: Vent, spec: BoreSpec) -> float:
    """Return where the wide part of a vent's bore ends. [mm]."""
    printed = spec.opening(vent) is Opening.PRINTED
    return vent.z_mm - (spec.land_mm if printed else spec.skin_mm)


def _choices(vent: Vent, ground: _Ground, spec: BoreSpec) -> Iterator[Vent]:
    """Yield the vent as it could be bored, the most welcome way first."""
    lesser = [bore for bore in LESSER_BORES_MM if bore < spec.bore_mm]
    sizes = [spec.bore_mm, *(bore for bore in lesser if bore > vent.diameter_mm + 0.3)]
    for x, y in _spots(vent, ground.floors):
        for bore in sizes:
            there = replace(vent, x_mm=x, y_mm=y, bore_mm=None if bore == spec.bore_mm else bore)
            if _fits(there, bore, ground, spec):
                yield there


def _fits(vent: Vent, bore_mm: float, ground: _Ground, spec: BoreSpec) -> bool:
    skin = spec.land_mm if spec.opening(vent) is Opening.PRINTED else spec.skin_mm
    return bore_room_mm(vent, bore_mm, ground.relief, spec) >= min(skin, BORE_WALL_MM) - 0.1


def _spots(vent: Vent, floors: Sequence[Floor]) -> Iterator[tuple[float, float]]:
    """Yield the vent's own place, then places around it on the same flat, the nearest first."""
    yield vent.x_mm, vent.y_mm
    flat = next((floor for floor in floors if floor.name == vent.feature), None)
    if flat is None or abs(flat.z_mm - vent.z_mm) > 1e-6:
        return
    room = shapely.buffer(flat.region, -(vent.diameter_mm / 2 + HOLE_MARGIN_MM) + 1e-6)
    turns = 2 * np.pi * np.arange(16) / 16
    for away in np.arange(0.5, FARTHEST_MM + 0.1, 0.5):
        x, y = vent.x_mm + away * np.cos(turns), vent.y_mm + away * np.sin(turns)
        inside = shapely.contains_xy(room, x, y)
        yield from zip(x[inside].tolist(), y[inside].tolist(), strict=True)


def _heights_around(vent: Vent, radius_mm: float, relief: Relief) -> NDArray[np.float64]:
    n = int(np.ceil(radius_mm / relief.cell_mm))
    steps = np.arange(-n, n + 1) * relief.cell_mm
    dx, dy = np.meshgrid(steps, steps)
    near = np.hypot(dx, dy) <= radius_mm
    places = np.column_stack([vent.x_mm + dx[near], vent.y_mm + dy[near]])
    rows, columns = relief.cells(places).T
    return np.asarray(relief.on_table_mm[rows, columns])


def _moved(vent: Vent, moved_mm: float) -> Finding:
    return Finding(
        code="vent-moved",
        severity=Severity.NOTE,
        says=f"vent {vent.name} stands beside its low spot, so that its counterbore keeps a wall",
        measured=moved_mm,
        limit=FARTHEST_MM,
        unit="mm",
        where_mm=(vent.x_mm, vent.y_mm, vent.z_mm),
        subject=vent.feature,
        basis=f"geometry; {BORE_WALL_MM:g} mm of plastic around a counterbore: common practice, no "
        "source",
        advice="Nothing to do.",
    )


def _left_out(vent: Vent, spec: BoreSpec) -> Finding:
    return Finding(
        code="vent-left-out",
        severity=Severity.CAUTION,
        says=f"there is no room for the counterbore of vent {vent.name}, so it was left out",
        measured=vent.low.gap_mm,
        limit=None,
        unit="mm",
        where_mm=(vent.x_mm, vent.y_mm, vent.z_mm),
        subject=vent.feature,
        basis=f"geometry; {BORE_WALL_MM:g} mm of plastic around a counterbore: common practice, no "
        "source",
        advice="Drill it by hand, or give the mold a wider margin or a smaller counterbore than "
        f"{spec.bore_mm:g} mm.",
    )
