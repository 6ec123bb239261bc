"""Hollow: cells open to the underside, between ribs, under a skin never thinner than asked.

Every cell is a straight column under a roof that prints without support: level where the printer
bridges it, sloped at 45° up to such a bridge where the cell is wider. A column goes no higher than
the skin allows all around it, so the shell is at least that thick by construction.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from manifold3d import Manifold, OpType
from shapely import MultiPolygon, Polygon

from moldgen.errors import GeometryError
from moldgen.finding import Finding, Severity
from moldgen.printing.cells import (
    LEAST_WIDE_MM,
    USUAL,
    HollowCell,
    HollowSpec,
    cell_tool,
    cell_width_mm,
    place_cells,
    rooms_under,
)
from moldgen.printing.skin import check_skin
from moldgen.solid.mesh import Body
from moldgen.solid.prism import prism
from moldgen.solid.slices import solid_of
from moldgen.solid.sound import mesh_from_solid, sound
from moldgen.stock import Filament, Printer

FARTHEST_MM = 12.0
"""Cells farther from each other than this get no passage between them. [mm]."""
PASSAGE_MM = (3.0, 1.6)
"""Width and height of the passages for air through the ribs' feet. [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HollowSolid:
    """A solid with cells.

    Attributes
    ----------
    body : Body
        What is printed. [mm]
    cells : tuple of HollowCell
        What was taken out.
    saved_mm3 : float
        Volume taken out. [mm³]
    findings : tuple of Finding
        What could not be done, and whether the skin stands the vacuum.
    """

    body: Body
    cells: tuple[HollowCell, ...]
    saved_mm3: float
    findings: tuple[Finding, ...]


def hollow(
    body: Body, *, spec: HollowSpec = USUAL, filament: Filament | None = None
) -> HollowSolid:
    """Take cells out of a solid from below.

    Parameters
    ----------
    body : Body
        A closed solid that stands on a level underside. [mm]
    filament : Filament, optional
        What it is printed of, to ask whether the skin stands the vacuum.

    Raises
    ------
    GeometryError
        If the solid is not closed, or the modeler fails.
    """
    solid = solid_of(body.mesh, name=body.name)
    rooms = tuple(rooms_under(solid, body.mesh, spec.skin_mm))
    cells = place_cells(rooms, float(body.mesh.bounds_mm[0, 2]), spec)
    if not cells:
        return HollowSolid(
            body=body, cells=(), saved_mm3=0.0, findings=(_no_room(body.name, spec),)
        )
    lanes, groups = passages(cells, rooms[0][1]) if spec.passages else ((), 1)
    low = cells[0].low_mm
    tools = [
        *map(cell_tool, cells),
        *(prism(lane, low - 1.0, low + PASSAGE_MM[1]) for lane in lanes),
    ]
    cut = sound(Manifold.batch_boolean([solid, *tools], OpType.Subtract), doing="hollowing")
    if len(cut.decompose()) > len(solid.decompose()):
        raise GeometryError("Hollowing parted the solid. Take a thicker skin.")
    saved = float(solid.volume() - cut.volume())
    span = max(cell_width_mm(cell) for cell in cells)
    weak = (
        check_skin(body.name, span_mm=span, skin_mm=spec.skin_mm, filament=filament)
        if filament
        else ()
    )
    return HollowSolid(
        body=Body(body.name, mesh_from_solid(cut)),
        cells=cells,
        saved_mm3=saved,
        findings=(*weak, *_shut(body.name, groups)),
    )


def hollow_spec(
    printer: Printer, *, skin_mm: float = USUAL.skin_mm, cell_mm: float = USUAL.cell_mm
) -> HollowSpec:
    """Return how a solid is hollowed for a printer: ribs and roofs that it makes."""
    return HollowSpec(
        skin_mm=skin_mm,
        cell_mm=cell_mm,
        rib_mm=max(2 * printer.least_wall_mm, 0.8),
        bridge_mm=max(1.0, printer.clean_bridge_mm),
    )


def passages(cells: Sequence[HollowCell], room: MultiPolygon) -> tuple[tuple[Polygon, ...], int]:
    """Return lanes under ribs that join all cells, shortest first, and how many groups are left.

    Parameters
    ----------
    room : MultiPolygon
        Where a lane may run: a skin away from every wall. [mm]
    """
    group = list(range(len(cells)))
    lanes = []
    grown = shapely.buffer(room, 1e-3)
    plans = np.array([cell.plan for cell in cells])
    away = shapely.distance(plans[:, None], plans[None])
    pairs = [(away[a, b], a, b) for a in range(len(cells)) for b in range(a)]
    for gap, a, b in sorted((round(float(gap), 6), a, b) for gap, a, b in pairs):
        if gap > FARTHEST_MM:
            break
        if group[a] == group[b]:
            continue
        lane = _lane(cells[a].plan, cells[b].plan)
        if lane is not None and shapely.covers(grown, lane):
            lanes.append(lane)
            group = [group[a] if number == group[b] else number for number in group]
    return tuple(lanes), len(set(group))


def _lane(one: Polygon, other: Polygon) -> Polygon | None:
    """Return the lane square across the rib between two cells, at the middle of what they share."""
    near = shapely.intersection(
        shapely.buffer(one, FARTHEST_MM, join_style="mitre"), other
    ).centroid
    here = shapely.shortest_line(one, near).coords[0]
    there = shapely.shortest_line(other, shapely.Point(here)).coords[0]
    way = np.subtract(there, here)
    length = float(np.hypot(*way))
    if length < 1e-6:
        return None
    inward = way / length * LEAST_WIDE_MM / 2
    line = shapely.LineString([here - inward, there + inward])
    return shapely.buffer(line, PASSAGE_MM[0] / 2, cap_style="flat")


def _no_room(name: str, spec: HollowSpec) -> Finding:
    return Finding(
        code="hollow-no-room",
        severity=Severity.NOTE,
        says="there is no room for a cell under the skin; it stays solid",
        measured=LEAST_WIDE_MM + 2 * spec.skin_mm,
        unit="mm",
        subject=name,
        basis="a cell is at least 4 mm wide and 2 mm tall (common practice, no source)",
        advice="Print it with infill; an underside with channels is hollowed before they are cut.",
    )


def _shut(name: str, groups: int) -> tuple[Finding, ...]:
    if groups < 2:
        return ()
    return (
        Finding(
            code="hollow-shut",
            severity=Severity.NOTE,
            says="hollows under the mold are not joined by passages for air; groups of them",
            measured=float(groups),
            limit=1.0,
            subject=name,
            basis="a passage keeps the skin and joins hollows at most 12 mm apart",
            advice="See that each lies over a hole of the table, or drill through from one to "
            "the next.",
        ),
    )
