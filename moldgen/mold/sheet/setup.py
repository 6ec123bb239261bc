"""Set a forming run up: this mold on that table under this sheet."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from moldgen.arrays import Floats
from moldgen.errors import SpecError
from moldgen.execution import Cancel, checkpoint
from moldgen.mold.choices import FormingLook
from moldgen.physics.membrane.form import form_sheet
from moldgen.physics.membrane.rubber import Rubber, pressure_per_mm
from moldgen.physics.membrane.run import FormingRun, FormingSpec, Progress
from moldgen.physics.membrane.sheet_mesh import SheetMesh, SideLengths, build_sheet_mesh
from moldgen.physics.membrane.touch import MoldFaces
from moldgen.solid.height.relief import relief_of
from moldgen.solid.mesh import Mesh
from moldgen.stock import FormingMachine, Sheet
from moldgen.table.hold import hold
from moldgen.wording import one_of

WIDEST_MM = 8.0
"""Longest side of a triangle of the sheet, far from a mold of usual size. [mm]."""

GROWTH = 0.4
"""By how much triangles may grow per length away from an edge of the mold. [-]."""

EDGE_MM = 0.15
"""Height that tells an edge or a wall from a flat, within a cell and its neighbors. [mm]."""

CELL_MM = 1.0
"""Cell of the raster on which the wanted sizes are laid down. [mm]."""


_SIZES_MM = {FormingLook.PREVIEW: 2.0, FormingLook.FINE: 1.0}
# Against a run in balance all along, no ring of dome, cone, frustum, box or recess comes out more
# than 2 % too thick or thin at the finer pace, and 5 % at the other.
_PACES = {FormingLook.PREVIEW: 0.45, FormingLook.FINE: 1.0}
_MOST_TRIANGLES = {FormingLook.PREVIEW: 15_000, FormingLook.FINE: 60_000}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Setup:
    """A mold on its table under a sheet in its clamp, ready to be formed.

    Attributes
    ----------
    mesh : SheetMesh
        The flat sheet inside the clamp's clear opening. [mm]
    faces : MoldFaces
        Mold and table. [mm]
    rubber : Rubber
        How the hot sheet resists.
    spec : FormingSpec
        The table's vacuum, over the stiffness that the sheet has left at the end.
    """

    mesh: SheetMesh
    faces: MoldFaces
    rubber: Rubber
    spec: FormingSpec


def build_setup(
    mold: Mesh,
    *,
    sheet: Sheet,
    machine: FormingMachine,
    fineness: FormingLook = FormingLook.FINE,
    sag_mm: float = 0.0,
    pace_share: float = 1.0,
    middle_mm: tuple[float, float] | None = None,
) -> Setup:
    """Lay a mold in the middle of a table's opening and a hot sheet over it.

    The clamp comes down to the table, so that a mold of any kind first rises through the sheet and
    is then drawn onto; a recess in it is filled from above.

    Parameters
    ----------
    mold : Mesh
        Everything that stands on the table at the mold's lowest point. [mm]
    sheet : Sheet
        Plastic and gauge: how stiff they are against the vacuum, and how far they relax under it.
    machine : FormingMachine
        Clear opening and vacuum.
    fineness : FormingLook
        How many triangles to spend: preview or fine.
    sag_mm : float
        How deep the sheet hangs when the mold begins to rise. [mm]
    pace_share : float
        Pace over the usual one for this fineness. [-]
    middle_mm : tuple of two floats, optional
        Where the middle of the opening lies over the mold; over its own middle if left out. [mm]

    Raises
    ------
    SpecError
        If the mold does not fit into the opening, or the sheet is not to be followed at all.
    """
    if fineness not in _SIZES_MM:
        raise SpecError("fineness", one_of(_SIZES_MM), str(fineness))
    low, high = mold.bounds_mm
    middle = (low[:2] + high[:2]) / 2 if middle_mm is None else np.array(middle_mm)
    half = np.array([machine.opening_width_mm, machine.opening_depth_mm]) / 2
    ring = middle + half * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])
    floor_mm = float(low[2])
    share = hold(sheet).share
    per_mm = pressure_per_mm(
        machine.vacuum_kPa,
        modulus_kPa=share * sheet.plastic.hot_modulus_kPa,
        gauge_mm=sheet.gauge_mm,
    )
    sizes = sizes_round(mold, fineness=fineness)
    widest_mm = _widest_mm(sizes.wanted_mm, fineness)
    return Setup(
        mesh=build_sheet_mesh(ring, size_mm=widest_mm, sizes=sizes),
        faces=MoldFaces(corners_mm=mold.corners_mm, floor_mm=floor_mm, clamp_mm=floor_mm),
        rubber=Rubber(),
        spec=FormingSpec(
            pressure_per_mm=per_mm,
            relaxed_share=share,
            sag_mm=sag_mm,
            pace=pace_share * _PACES[fineness],
        ),
    )


def run_setup(
    setup: Setup,
    progress: Progress | None = None,
    *,
    cancel: Cancel | None = None,
    threads: int | None = None,
) -> FormingRun:
    """Form the sheet of a setup; see `moldgen.physics.membrane.form.form_sheet`."""
    return form_sheet(
        setup.mesh,
        setup.faces,
        rubber=setup.rubber,
        spec=setup.spec,
        progress=progress,
        cancel=cancel,
        threads=threads,
    )


def sizes_round(mold: Mesh, *, fineness: FormingLook) -> SideLengths:
    """Return triangles small at every edge and wall of a mold, and larger away from them.

    Where that would be more triangles than the fineness allows, all of them are made larger.
    """
    finest = _SIZES_MM[fineness]
    relief = relief_of(mold, cell_mm=CELL_MM, margin_mm=WIDEST_MM / GROWTH)
    edge = _uneven(relief.on_table_mm) > EDGE_MM
    size = _grown(np.where(edge, finest, WIDEST_MM), step_mm=GROWTH * CELL_MM)
    widest_mm = _widest_mm(size, fineness)
    while _n_triangles(size, widest_mm) > _MOST_TRIANGLES[fineness]:
        checkpoint()
        size = size * 1.1
    return SideLengths(wanted_mm=size, corner_mm=relief.origin_mm, cell_mm=CELL_MM)


def _n_triangles(size_mm: Floats, widest_mm: float) -> float:
    """Return about how many triangles a field of sizes comes to."""
    # Cells are halved until none is too large; each is cut into four triangles from its middle.
    halvings = np.ceil(np.log2(np.maximum(widest_mm / size_mm, 1.0)) - 1e-9)
    return float((4 * CELL_MM**2 / (widest_mm / 2**halvings) ** 2).sum())


def _widest_mm(size_mm: Floats, fineness: FormingLook) -> float:
    """Return the longest side of a triangle: doubled for a mold that is too large for it."""
    area_mm2, widest_mm = size_mm.size * CELL_MM**2, WIDEST_MM
    while 4 * area_mm2 / widest_mm**2 > _MOST_TRIANGLES[fineness]:
        widest_mm *= 2
    return widest_mm


def _uneven(heights_mm: Floats) -> Floats:
    """Return the greatest difference of height within a cell and its neighbors. [mm]."""
    padded = np.pad(heights_mm, 1, mode="edge")
    ny, nx = heights_mm.shape
    around = [padded[i : i + ny, j : j + nx] for i in range(3) for j in range(3)]
    uneven: Floats = np.max(around, axis=0) - np.min(around, axis=0)
    return uneven


def _grown(size_mm: Floats, *, step_mm: float) -> Floats:
    """Return the greatest field under ``size_mm`` that grows by no more than a step per cell."""
    field = size_mm.copy()
    for _ in range(int(np.ceil(np.ptp(field) / step_mm)) if field.size else 0):
        field[1:] = np.minimum(field[1:], field[:-1] + step_mm)
        field[:-1] = np.minimum(field[:-1], field[1:] + step_mm)
        field[:, 1:] = np.minimum(field[:, 1:], field[:, :-1] + step_mm)
        field[:, :-1] = np.minimum(field[:, :-1], field[:, 1:] + step_mm)
    return field
