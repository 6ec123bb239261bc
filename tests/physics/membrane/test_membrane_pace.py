"""The pace that users get, against the same run so slow that the sheet is in balance all along.

What a fast run gets wrong is which points land first, and so how much sheet is left for the rest.
"""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from support.forming_molds import PROFILES, mold_of
from support.some import some

from moldgen.mold.choices import FormingLook
from moldgen.mold.sheet.setup import build_setup, run_setup
from moldgen.stock import Sheet, load_shop

SLOW = 6.0
"""Pace of the slow run: six and twelve times as slow as what users get."""
TALL_MM = {FormingLook.PREVIEW: 30.0, FormingLook.FINE: 20.0}
OFF = {FormingLook.PREVIEW: 0.05, FormingLook.FINE: 0.02}


@cache
def setup_of(shape, look):
    """Return the run as a user's command sets it up, under a millimeter of styrene."""
    shop = load_shop()
    sheet = Sheet(plastic=shop.plastic("HIPS"), gauge_mm=1.0)
    return build_setup(
        mold_of(shape, TALL_MM[look]), sheet=sheet, machine=shop.machine("classroom-450x300"),
        fineness=look,
    )  # fmt: skip


def rings(run, shape, *, side_mm, far_mm):
    """Return the mean thickness of each ring of the flat sheet, two triangles wide."""
    middles = run.mesh.points_mm[run.mesh.triangles].mean(axis=1)
    away = np.abs(middles).max(axis=1) if shape == "box" else np.hypot(*middles.T)
    ring = np.floor(away / (2 * side_mm)).astype(int)
    near = away < far_mm
    flat = np.bincount(ring[near], run.mesh.areas_mm2[near])
    return flat / np.bincount(ring[near], run.areas_mm2[near])


@pytest.mark.parametrize("look", OFF)
@pytest.mark.parametrize("shape", [*PROFILES, "box"])
def test_the_pace_of_a_look_is_slow_enough(shape, look):
    """Every ring as thick as in balance: to 5 % as a preview, to 2 % as a fine run."""
    setup = setup_of(shape, look)
    slow = replace(setup, spec=replace(setup.spec, pace=SLOW))
    side_mm = {FormingLook.PREVIEW: 2.0, FormingLook.FINE: 1.0}[look]
    how = {"side_mm": side_mm, "far_mm": 1.75 * TALL_MM[look]}
    users, wanted = (rings(run_setup(each), shape, **how) for each in (setup, slow))

    assert wanted.min() < 0.9
    for off in some(users / wanted - 1):
        assert abs(off) < OFF[look]


def test_a_run_in_a_hurry_would_be_noticed():
    """A third of the pace is off by more than twice what a preview may be."""
    setup = setup_of("cone", FormingLook.PREVIEW)
    how = {"side_mm": 2.0, "far_mm": 1.75 * TALL_MM[FormingLook.PREVIEW]}
    hasty, wanted = (
        rings(run_setup(replace(setup, spec=replace(setup.spec, pace=pace))), "cone", **how)
        for pace in (0.15, SLOW)
    )

    assert np.abs(hasty / wanted - 1).max() > 2 * OFF[FormingLook.PREVIEW]
