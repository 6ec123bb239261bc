"""Small formed sheets for the tests of what is read off them and drawn of them."""

import numpy as np
import shapely
from shapely import MultiPolygon

from moldgen.mold.sheet.formed import FormedSheet, read_run
from moldgen.physics.membrane.rubber import Rubber
from moldgen.physics.membrane.run import HELD, ON_MOLD, FormingRun, FormingSpec, Frames, History
from moldgen.physics.membrane.sheet_mesh import SheetMesh
from moldgen.solid.height.relief import Relief
from moldgen.stock import Sheet, load_shop

GAUGE_MM = 2.0
SIDE = 41
"""Points along a side of the square sheet, 1 mm apart."""


def grid():
    """A sheet of 40 x 40 mm in squares of 1 mm, cut along their diagonals."""
    x, y = np.meshgrid(np.arange(SIDE) - 20.0, np.arange(SIDE) - 20.0)
    points = np.column_stack([x.ravel(), y.ravel()])
    corner = (np.arange(SIDE - 1)[:, None] * SIDE + np.arange(SIDE - 1)).ravel()
    lower = np.column_stack([corner, corner + 1, corner + SIDE + 1])
    upper = np.column_stack([corner, corner + SIDE + 1, corner + SIDE])
    triangles = np.concatenate([lower, upper]).astype(np.int32)
    held = np.abs(points).max(axis=1) > 19.5
    return SheetMesh(points_mm=points, triangles=triangles, held=held)


def forming_run(mesh, points_mm, touches=None):
    """Return a run of which nothing is known but where its points ended."""
    touches = np.where(mesh.held, HELD, ON_MOLD) if touches is None else touches
    one = np.array([1.0])
    return FormingRun(
        mesh=mesh, rubber=Rubber(), spec=FormingSpec(), points_mm=points_mm,
        arrival=np.where(touches == ON_MOLD, 1.0, np.inf), touches=touches.astype(np.int8),
        clamp_mm=0.0, converged=True, steps=1,
        frames=Frames(
            time=one, pressure_per_mm=one, points_mm=points_mm[None].astype(np.float32)
        ),
        history=History(
            time=one, energy_mm2=one, pressure_per_mm=one, swept_mm3=one, residual=1e-4 * one
        ),
    )  # fmt: skip


def flat_relief(height_mm=0.0):
    """Return a table of 60 x 60 mm, level at a height."""
    cells = np.full((60, 60), height_mm)
    return Relief(
        origin_mm=(-30.0, -30.0), cell_mm=1.0, heights_mm=cells,
        triangles=np.zeros((60, 60), np.int32),
    )  # fmt: skip


def square(half_mm):
    """Return a square about the origin."""
    return MultiPolygon([shapely.box(-half_mm, -half_mm, half_mm, half_mm)])


def formed_sheet(
    points_mm, *, touches=None, half_mm=19.0, plans=(), mesh=None, run=None
) -> FormedSheet:
    """Return what is read off a sheet whose points ended somewhere."""
    mesh = mesh or grid()
    return read_run(
        run or forming_run(mesh, points_mm, touches),
        sheet=sheet(),
        relief=flat_relief(),
        trim=square(half_mm),
        plans=plans,
    )


def sheet(gauge_mm=GAUGE_MM):
    """Return a sheet of polystyrene."""
    return Sheet(plastic=load_shop().plastic("HIPS"), gauge_mm=gauge_mm)


def level(mesh, z_mm=0.0, *, scale=(1.0, 1.0)):
    """Return the points of a sheet, stretched and laid level."""
    return np.column_stack([mesh.points_mm * scale, np.full(len(mesh.points_mm), z_mm)])
