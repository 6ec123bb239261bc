"""Vented: bores added to a finished mold, its surface left as it is everywhere else."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from manifold3d import Manifold, OpType

from moldgen.finding import Finding, Severity
from moldgen.mold.air.bores import LESSER_BORES_MM
from moldgen.mold.choices import UndersideKind
from moldgen.mold.underside.cut import BoreSpec, below, vent_tool
from moldgen.mold.underside.underside import BORE_WALL_MM, Underside, UndersideSpec, build_underside
from moldgen.mold.vents.by_ball import in_reading_order
from moldgen.mold.vents.low_places import low_places
from moldgen.mold.vents.vent import LowPlace, Vent, VentSpec
from moldgen.printing.edits import set_down, underside_of
from moldgen.solid.height.ball import gap_under_ball
from moldgen.solid.height.relief import Relief, relief_for_ball
from moldgen.solid.mesh import Body, Mesh
from moldgen.solid.slices import solid_of
from moldgen.solid.sound import mesh_from_solid, sound

LOWEST_MM = 0.5
"""A low place no higher than this over the table is the table itself. [mm]."""
ASIDE_MM = 2.5
"""A vent is moved no farther than this to a level spot. [mm]."""
LOWER_MM = 3.0
"""A vent is moved no farther down than this: beside a groove the floor is another place. [mm]."""
LEVEL_MM = 0.15
"""Unevenness of the surface that a vent may stand on. [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class VentedSolid:
    """A mold with bores.

    Attributes
    ----------
    body : Body
        What is printed or drilled; its surface is the one brought, but for the bores. [mm]
    vents : tuple of Vent
        What was bored.
    underside : Underside or None
        Channels cut under it, if asked for.
    findings : tuple of Finding
        Low places that got no vent, and why.
    """

    body: Body
    vents: tuple[Vent, ...]
    underside: Underside | None
    findings: tuple[Finding, ...]


def vent_mold(
    body: Body, vents: VentSpec, *, bore: BoreSpec, grooves: UndersideSpec | None = None
) -> VentedSolid:
    """Bore a vent at every low place of a brought mold.

    Parameters
    ----------
    body : Body
        A closed mold; it is set down on z = 0. [mm]
    vents : VentSpec
        Holes: diameter, spacing, ball.
    bore : BoreSpec
        The bores below them.
    grooves : UndersideSpec, optional
        Channels to cut into the underside, that lead to the table's holes.

    Raises
    ------
    GeometryError
        If the mold is not closed, or the modeler fails.
    """
    body = set_down(body)
    solid = solid_of(body.mesh, name=body.name)
    relief = relief_for_ball(body.mesh, vents.ball_mm)
    placed: list[Vent] = []
    skipped: list[LowPlace] = []
    for place in _low(relief, vents):
        spot = _level_spot(relief, place, vents.diameter_mm)
        vent = _settled(solid, relief, spot, vents, bore)
        if vent is None:
            skipped.append(place)
        elif all(_apart(vent, other) > 2.5 * vents.diameter_mm for other in placed):
            placed.append(vent)
    named = in_reading_order(placed)
    under = _underside(body.mesh, named, grooves) if grooves is not None else None
    tools = [*(vent_tool(vent, bore) for vent in named), *_channels(under)]
    cut = Manifold.batch_boolean([solid, *tools], OpType.Subtract) if tools else solid
    # Not simplified: that would move corners of the surface that was brought.
    mesh = mesh_from_solid(sound(cut, doing="boring vents"))
    return VentedSolid(
        body=Body(body.name, mesh),
        vents=named,
        underside=under,
        findings=tuple(_no_room(body.name, place) for place in skipped),
    )


def _low(relief: Relief, spec: VentSpec) -> list[LowPlace]:
    gap = gap_under_ball(relief.on_table_mm, ball_mm=spec.ball_mm, cell_mm=relief.cell_mm)
    return [
        place
        for place in low_places(gap, relief, spec)
        if place.z_mm > LOWEST_MM and not _at_foot(relief, place)
    ]


def _at_foot(relief: Relief, place: LowPlace) -> bool:
    """Whether the table itself lies beside a place: the air leaves along the foot line."""
    heights = relief.on_table_mm
    row, column = relief.cells(np.array([[place.x_mm, place.y_mm]]))[0]
    around = heights[max(0, row - 2) : row + 3, max(0, column - 2) : column + 3]
    return bool(around.min() < LOWEST_MM)


def _level_spot(relief: Relief, place: LowPlace, diameter_mm: float) -> LowPlace:
    """Return the place, moved a little to where a whole hole stands on level ground."""
    heights = relief.on_table_mm
    row, column = relief.cells(np.array([[place.x_mm, place.y_mm]]))[0]
    reach = int(ASIDE_MM / relief.cell_mm) + 1
    near = max(1, int(np.ceil((diameter_mm / 2 + 0.2) / relief.cell_mm)))
    best = (np.inf, 0.0, int(row), int(column))
    for i in range(max(near, row - reach), min(heights.shape[0] - near, row + reach + 1)):
        for j in range(max(near, column - reach), min(heights.shape[1] - near, column + reach + 1)):
            if not -LOWER_MM <= heights[i, j] - place.z_mm <= LEVEL_MM:
                continue
            around = heights[i - near : i + near + 1, j - near : j + near + 1]
            uneven = max(LEVEL_MM, float(np.ptp(around)))
            away = float(np.hypot(i - row, j - column))
            best = min(best, (round(uneven, 3), round(away, 3), i, j))
    x, y = relief.places_mm(np.array([best[2:]]))[0]
    z = float(heights[best[2], best[3]])
    return replace(place, x_mm=float(x), y_mm=float(y), z_mm=z)


def _settled(
    solid: Manifold, relief: Relief, low: LowPlace, spec: VentSpec, bore: BoreSpec
) -> Vent | None:
    """Return the vent with the widest bore that stays within the plastic; None for none."""
    whole = Vent(
        name="",
        x_mm=low.x_mm,
        y_mm=low.y_mm,
        z_mm=low.z_mm,
        diameter_mm=spec.diameter_mm,
        feature="mold",
        low=low,
    )
    widths = [bore.bore_mm, *(width for width in LESSER_BORES_MM if width < bore.bore_mm)]
    covered = [width for width in widths if _covered(relief, whole, width, bore)]
    held = [width for width in covered if _held(solid, whole, width, bore)]
    # Into a hollow the narrowest bore will do, and harms the ribs least.
    into = [width for width in reversed(covered) if _opens(solid, whole, width, bore)]
    best = next(iter([*held, *into]), None)
    if best is None:
        return None
    return replace(whole, bore_mm=None if best == bore.bore_mm else best)


def _covered(relief: Relief, vent: Vent, width: float, bore: BoreSpec) -> bool:
    """Whether the mold's surface lies over a bore, and the wall around it, everywhere."""
    reach = width / 2 + BORE_WALL_MM
    low = relief.cells(np.array([[vent.x_mm - reach, vent.y_mm - reach]]))[0]
    high = relief.cells(np.array([[vent.x_mm + reach, vent.y_mm + reach]]))[0]
    rows, columns = np.mgrid[low[0] : high[0] + 1, low[1] : high[1] + 1]
    cells = np.column_stack([rows.ravel(), columns.ravel()])
    away = np.hypot(*(relief.places_mm(cells) - [vent.x_mm, vent.y_mm]).T)
    over = relief.on_table_mm[tuple(cells[away <= reach].T)]
    return bool(over.min(initial=np.inf) >= vent.z_mm - bore.land_mm + BORE_WALL_MM - 1e-9)


def _held(solid: Manifold, vent: Vent, width: float, bore: BoreSpec) -> bool:
    """Whether a bore has plastic all round it."""
    rod = _rod(vent, width / 2 + BORE_WALL_MM, 0.05, max(vent.z_mm - bore.land_mm, 0.3))
    return bool((rod ^ solid).volume() > (1 - 1e-4) * rod.volume())


def _opens(solid: Manifold, vent: Vent, width: float, bore: BoreSpec) -> bool:
    """Whether a bore opens into a hollow of the underside, its land whole."""
    step = max(vent.z_mm - bore.land_mm, 0.3)
    land = _rod(vent, vent.diameter_mm / 2 + 0.2, step + 0.01, max(vent.z_mm - 0.2, step + 0.02))
    mouth = _rod(vent, width / 2, 0.05, min(1.0, step))
    whole = (land ^ solid).volume() > 0.9 * land.volume()
    return bool(whole and (mouth ^ solid).volume() < 0.7 * mouth.volume())


def _rod(vent: Vent, radius: float, low: float, high: float) -> Manifold:
    return Manifold.cylinder(high - low, radius, radius, 24).translate((vent.x_mm, vent.y_mm, low))


def _apart(vent: Vent, other: Vent) -> float:
    return float(np.hypot(vent.x_mm - other.x_mm, vent.y_mm - other.y_mm))


def _underside(mesh: Mesh, vents: Sequence[Vent], spec: UndersideSpec) -> Underside | None:
    foot = underside_of(mesh)
    if foot.is_empty or spec.kind is UndersideKind.FLAT:
        return None
    return build_underside(foot, vents, spec)


def _channels(under: Underside | None) -> Iterator[Manifold]:
    if under is None:
        return
    pairs = ((under.channels, under.spec.depth_mm), (under.air_notches, under.spec.air_notch_mm))
    for region, depth in pairs:
        if not region.is_empty:
            yield below(region, depth)


def _no_room(name: str, place: LowPlace) -> Finding:
    return Finding(
        code="vent-no-room",
        severity=Severity.CAUTION,
        says="a low spot got no vent: no straight counterbore below it keeps its wall",
        measured=place.gap_mm,
        unit="mm",
        where_mm=(place.x_mm, place.y_mm, place.z_mm),
        subject=name,
        basis=f"{BORE_WALL_MM:g} mm of plastic around a counterbore (common practice, no source)",
        advice="Drill it by hand at a slant, or thicken the mold there.",
    )
