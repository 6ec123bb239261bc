"""Molds for the tests of forming runs, and sheets over them cut into triangles in many ways."""

from dataclasses import replace

import numpy as np
import shapely
from shapely import MultiPolygon
from support.membrane_shapes import turned

from moldgen.mold.build import build_raw_mold
from moldgen.mold.features import Feature, Wall
from moldgen.mold.sheet.formed import read_run
from moldgen.mold.sheet.setup import build_setup, run_setup, sizes_round
from moldgen.physics.membrane.sheet_mesh import build_sheet_mesh
from moldgen.solid.height.relief import relief_of
from moldgen.solid.mesh import Mesh, joined
from moldgen.stock import Sheet, load_shop

RIM = np.radians(np.linspace(0, 75, 8))
PROFILES = {
    "dome": [(np.sin(a), np.cos(a)) for a in np.radians(np.linspace(0, 90, 46))],
    "cone": [(0, 1), (1, 0)],
    "frustum": [
        (0, 0.9), *((0.55 + 0.05 * np.sin(a), 0.85 + 0.05 * np.cos(a)) for a in RIM),
        (0.6 + 0.85 / np.tan(RIM[-1]), 0),
    ],
    "recess": [
        (0, 0.1), *((0.4 + 0.05 * np.sin(a), 0.15 - 0.05 * np.cos(a)) for a in RIM),
        (0.54, 0.5), (1, 0.5), (1.09, 0),
    ],
}  # fmt: skip


def mold_of(shape, tall_mm):
    """Return a mold of 40 mm or less from its middle to its edge, closed or not."""
    if shape == "box":
        wall = Wall(
            height_mm=0.75 * tall_mm, draft_deg=5.0, top_radius_mm=0.05 * tall_mm,
            base_radius_mm=0.0,
        )  # fmt: skip
        half = 0.75 * tall_mm
        square = shapely.box(-half, -half, half, half).buffer(-0.1 * half).buffer(0.1 * half)
        raw = build_raw_mold([Feature(name="box", region=MultiPolygon([square]), wall=wall)])
        return joined(raw.meshes)
    corners = turned(tall_mm * np.array(PROFILES[shape])).corners_mm
    whole = np.linalg.norm(np.cross(*(corners[:, 1:] - corners[:, :1]).swapaxes(0, 1)), axis=1)
    points, triangles = np.unique(
        corners[whole > 1e-9].reshape(-1, 3).round(9), axis=0, return_inverse=True
    )
    return Mesh(points, triangles.reshape(-1, 3).astype(np.int32))


CUTS = [
    (widest_mm, shift_mm, turn_deg)
    for widest_mm, shift_mm in (
        (8.0, (0.0, 0.0)), (7.3, (0.0, 0.0)), (8.0, (0.37, 0.23)), (6.6, (0.0, 0.0)),
    )
    for turn_deg in (0.0, 15.0, 45.0)
]  # fmt: skip
"""Side of the coarsest cells, how far they are shifted, how far they are turned. [mm] [mm] [°]."""


def gauge_sheet(gauge_mm=1.0, *, relaxes=True):
    """Return a sheet of styrene, or of one that keeps its stiffness."""
    plastic = load_shop().plastic("HIPS")
    if not relaxes:
        plastic = replace(plastic, relaxation_s=None)
    return Sheet(plastic=plastic, gauge_mm=gauge_mm)


def setup_cut(mold, look, cut=CUTS[0], *, pace=None, relaxes=True):
    """Return a mold under a millimeter of styrene that is cut into triangles in one of the ways."""
    widest_mm, shift_mm, turn_deg = cut
    machine = load_shop().machine("classroom-450x300")
    setup = build_setup(mold, sheet=gauge_sheet(relaxes=relaxes), machine=machine, fineness=look)
    half = np.array([machine.opening_width_mm, machine.opening_depth_mm]) / 2
    corners = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])
    mesh = build_sheet_mesh(
        mold.bounds_mm[:, :2].mean(axis=0) + shift_mm + half * corners,
        size_mm=widest_mm,
        sizes=sizes_round(mold, fineness=look),
        turn_deg=turn_deg,
    )
    spec = setup.spec if pace is None else replace(setup.spec, pace=pace)
    return replace(setup, mesh=mesh, spec=spec)


def formed_over(mold, look, cut=CUTS[0], *, pace=None, hasty_pace=None, plans=(), relaxes=True):
    """Return the sheet formed over a mold and cut out 5 mm beside its foot."""
    run = run_setup(setup_cut(mold, look, cut, pace=pace, relaxes=relaxes))
    hasty = hasty_pace and run_setup(setup_cut(mold, look, cut, pace=hasty_pace, relaxes=relaxes))
    low_mm = mold.points_mm[:, 2].min() + 0.1
    foot = shapely.MultiPoint(mold.points_mm[mold.points_mm[:, 2] < low_mm][:, :2]).convex_hull
    return read_run(
        run, sheet=gauge_sheet(relaxes=relaxes),
        relief=relief_of(mold, cell_mm=0.5, margin_mm=30.0),
        trim=MultiPolygon([shapely.buffer(foot, 5.0, quad_segs=24)]), plans=plans, hasty=hasty,
    )  # fmt: skip
