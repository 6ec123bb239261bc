"""Round sheets blown free to the volume of the equations, for the tests; each run is made once."""

from functools import cache

import numpy as np
from support.membrane_ode import dome
from support.round_mesh import build_round_mesh

from moldgen.physics.membrane.form import form_sheet
from moldgen.physics.membrane.rubber import Rubber
from moldgen.physics.membrane.run import FormingSpec

PACE = 0.3
N_RINGS = 40
"""Rings of the mesh that the tenth of a percent is promised for: 9600 triangles."""


@cache
def blown_run(pole_stretch, *, second=0.0, n_rings=N_RINGS):
    """Return the run of a disc of radius 1 blown to the volume of the equations."""
    wanted = dome(pole_stretch, second=second)
    # Nothing sticks, so nothing depends on the way there: it may be quick.
    spec = FormingSpec(pressure_per_mm=100, volume_mm3=wanted.volume, tolerance=2e-6, pace=PACE)
    mesh = build_round_mesh(1.0, n_rings=n_rings)
    run = form_sheet(mesh, None, rubber=Rubber(second=second), spec=spec)
    assert run.converged
    return run


def ring_thickness(run, n_rings):
    """Return the thickness of every ring of triangles, from the middle out."""
    mesh = run.mesh
    ring = np.rint(n_rings * np.hypot(*mesh.points_mm.T)[mesh.triangles].max(axis=1)) - 1
    flat, formed = (np.bincount(ring.astype(int), each) for each in (mesh.areas_mm2, run.areas_mm2))
    return flat / formed


def blown(pole_stretch, *, second=0.0, n_rings=N_RINGS):
    """Return pressure, height, pole and rim of a disc blown to the volume of the equations."""
    run = blown_run(pole_stretch, second=second, n_rings=n_rings)
    t = ring_thickness(run, n_rings)
    return {
        "pressure": run.history.pressure_per_mm[-1],
        "height": -run.points_mm[:, 2].min(),
        # Straight on from the two nearest rings: thickness goes with the radius at the rim, with
        # its square at the pole.
        "pole": t[0] - (t[1] - t[0]) / 4,
        "rim": 1.5 * t[-1] - 0.5 * t[-2],
    }


def thickness_at(pole_stretch, place, *, second=0.0, n_rings=N_RINGS):
    """Return the thickness at an undeformed radius."""
    got = blown(pole_stretch, second=second, n_rings=n_rings)
    if place in (0, 1):
        return got["rim" if place else "pole"]
    run = blown_run(pole_stretch, second=second, n_rings=n_rings)
    middles = (np.arange(n_rings) + 0.5) / n_rings
    return float(np.interp(place, middles, ring_thickness(run, n_rings)))


def rim_deg(pole_stretch, *, n_rings=N_RINGS):
    """Return the slope at the clamp, straight on from the two last rings. [°]."""
    run = blown_run(pole_stretch, n_rings=n_rings)
    mesh = run.mesh
    along_x = np.flatnonzero((np.abs(mesh.points_mm[:, 1]) < 1e-9) & (mesh.points_mm[:, 0] > 0))
    last = along_x[np.argsort(mesh.points_mm[along_x, 0])][-3:]
    way = np.diff(run.points_mm[last], axis=0)
    slopes = np.degrees(np.arctan2(way[:, 2], way[:, 0]))
    return float(1.5 * slopes[1] - 0.5 * slopes[0])
