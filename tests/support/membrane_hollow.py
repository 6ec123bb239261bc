"""Sheets drawn into long and round hollows, for the tests; each run is made once."""

from functools import cache

import numpy as np
from support.membrane_shapes import across, strip, trough, turned
from support.round_mesh import build_round_mesh

from moldgen.physics.membrane.form import form_sheet
from moldgen.physics.membrane.run import FormingSpec

HALF, LENGTH, RADIUS = 10.0, 100.0, 10.0


def hollow(angle_deg, depth):
    """Return half the profile of a hollow 10 mm wide to each side, from the lip to the middle."""
    if angle_deg == 90:
        return [[13, 0], [10, 0], [10 - 1e-6, -depth], [0, -depth]]
    run = depth / np.tan(np.radians(angle_deg))
    return [[13, 0], [10, 0], [10 - run, -depth], [0, -depth]]


@cache
def in_a_trough(angle_deg, depth):
    """Return place on the flat sheet, formed place and height, thickness, across a trough."""
    half = np.array(hollow(angle_deg, depth))
    profile = np.concatenate([half * [-1, 1], half[-2::-1]])
    mold = trough(profile, length=LENGTH, floor_mm=-depth - 1)
    spec = FormingSpec(pressure_per_mm=1.0, pace=6)
    run = form_sheet(strip(2 * HALF, LENGTH, n_across=64, n_along=20), mold, spec=spec)
    assert run.converged
    table = across(run, within=3)
    return table[table[:, 1] < 0]


def on_wall(table, angle_deg):
    """Return way from the lip and thickness of what lies on the wall."""
    angle = np.radians(angle_deg)
    along = -table[:, 2] / np.sin(angle)
    off = np.abs(table[:, 1] + HALF - along * np.cos(angle))
    return along[off < 0.02], table[off < 0.02, 3]


@cache
def in_a_cone(angle_deg):
    """Return way from the lip over its radius and thickness, band by band of a round wall."""
    angle = np.radians(angle_deg)
    depth = 12.0 if angle_deg == 60 else 16.0
    mold = turned(hollow(angle_deg, depth)[::-1], n_around=240, floor_mm=-depth - 1)
    spec = FormingSpec(pressure_per_mm=1.0, pace=2)
    run = form_sheet(build_round_mesh(RADIUS, n_rings=32), mold, spec=spec)
    middles = run.points_mm[run.mesh.triangles].mean(axis=1)
    along = -middles[:, 2] / np.sin(angle)
    off = np.abs(np.hypot(*middles[:, :2].T) - RADIUS + along * np.cos(angle))
    bands = np.digitize(along, np.arange(0.1, 1.0, 0.1) * RADIUS)
    lies = (off < 0.1) & (bands > 0) & (bands < 9)
    flat, formed, way = (
        np.bincount(bands[lies], each[lies])[1:]
        for each in (run.mesh.areas_mm2, run.areas_mm2, run.areas_mm2 * along)
    )
    return way / formed / RADIUS, flat / formed
