"""Thin places and the least thickness: what they are, how little they move, what is doubted."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from support.formed_sheets import GAUGE_MM, formed_sheet, forming_run, grid, level
from support.forming_molds import CUTS, formed_over, mold_of

from moldgen.finding import Severity
from moldgen.mold.choices import FormingLook
from moldgen.mold.sheet.findings import check_formed
from moldgen.mold.sheet.thickness import (
    MOST_EVENED,
    PACE_DOUBT,
    smooth_thickness,
    thickness_over_patches,
    thinnest_mean,
)

HOLDS = 0.02
"""Share by which thin places may move with how the sheet is cut into triangles."""


@pytest.mark.parametrize("count", [7, 100, 5000])
@pytest.mark.parametrize("share", [0.02, 0.3, 1.0])
def test_the_thinnest_share_counts_by_area(count, share):
    """The mean over the thinnest share is that of sorted areas, cut where the share ends."""
    numbers = np.random.default_rng(count)
    thickness, areas = numbers.uniform(0.2, 1.0, count), numbers.uniform(0.01, 4.0, count)
    order = np.argsort(thickness)
    ends = np.concatenate([[0.0], np.cumsum(areas[order])])
    volume = np.concatenate([[0.0], np.cumsum((areas * thickness)[order])])
    wanted = share * areas.sum()

    told = thinnest_mean(thickness, areas, share=share)

    assert told == pytest.approx(np.interp(wanted, ends, volume) / wanted, rel=1e-9)


def test_the_thinnest_share_may_be_a_part_of_one_triangle():
    """Where one triangle is more than the share, it alone tells."""
    assert thinnest_mean(np.array([0.5, 0.3]), np.array([1.0, 1.0]), share=0.02) == 0.3


def ramp(mesh, *, low=0.6, high=1.0):
    """Return a level sheet that gets thicker evenly over its area, from left to right."""
    formed = np.linspace(0.0, 1.0, 2001)
    # Thickness over the formed place; the flat length is its integral.
    flat = np.concatenate([[0], np.cumsum(np.diff(formed) * 0.5 * (2 * low + (high - low) * (
        formed[1:] + formed[:-1])))])  # fmt: skip
    x = (mesh.points_mm[:, 0] + 20.0) / 40.0
    points = level(mesh)
    points[:, 0] = 40.0 * np.interp(x * flat[-1], flat, formed) - 20.0
    return points, flat[-1]


def test_a_hundredth_of_the_area_is_thinner_than_the_thin_places():
    """Where thickness rises evenly over the area, the thin number is its first hundredth."""
    points, shrunk = ramp(grid())

    formed = formed_sheet(points, half_mm=30.0)

    # All of the sheet lies on the same 40 mm, so that the flat one is stretched by less.
    first, last = 0.6 / shrunk, 1.0 / shrunk
    wanted = GAUGE_MM * (first + 0.01 * (last - first))
    assert formed.whole.thin_mm == pytest.approx(wanted, rel=0.02)
    assert formed.whole.least_mm < formed.whole.thin_mm < GAUGE_MM * (first + 0.1 * (last - first))


def test_pieces_of_sheet_lose_no_plastic():
    """Scatter from triangle to triangle goes, an even stretch stays, whatever is far off."""
    mesh = grid()
    even = forming_run(mesh, level(mesh, scale=(1.5, 1.2)))
    part = np.abs(mesh.points_mm[mesh.triangles].mean(axis=1)).max(axis=1) < 6.0
    rough = level(mesh)
    rough[:, :2] += np.random.default_rng(1).uniform(-0.2, 0.2, rough[:, :2].shape)
    torn = forming_run(mesh, rough)
    far = rough.copy()
    far[np.abs(mesh.points_mm).max(axis=1) > 12.0, 2] += 50.0

    np.testing.assert_allclose(thickness_over_patches(even, part), 1 / 1.8, rtol=1e-12)
    pieces = thickness_over_patches(torn, part)[part]
    assert np.std(pieces) < 0.4 * np.std(smooth_thickness(torn)[part])
    np.testing.assert_allclose(
        pieces, thickness_over_patches(forming_run(mesh, far), part)[part], rtol=1e-12
    )


def test_a_narrow_band_that_is_drawn_far_is_not_lost():
    """A wall of 9 mm out of 1 mm of sheet counts nearly as single triangles tell it."""
    mesh = grid()
    points = level(mesh)
    points[np.abs(mesh.points_mm).max(axis=1) <= 5.5, 2] = 9.0

    formed = formed_sheet(points)

    own = formed.part
    areas = formed.run.areas_mm2[own]
    single = thinnest_mean(smooth_thickness(formed.run)[own], areas, share=0.02)
    pieces = thinnest_mean(thickness_over_patches(formed.run, own)[own], areas, share=0.02)
    assert pieces > 1.3 * single
    assert formed.whole.thin_mm == pytest.approx(MOST_EVENED * single * GAUGE_MM, rel=1e-12)


@cache
def cut_in_many_ways(shape, tall_mm, *, relaxes):
    """Return a preview of a mold for each of 12 ways to cut the sheet into triangles."""
    mold = mold_of(shape, tall_mm)
    return [formed_over(mold, FormingLook.PREVIEW, cut, relaxes=relaxes) for cut in CUTS]


def moved(values):
    """Return by which share the farthest of some values is off their mean."""
    return np.abs(np.array(values) / np.mean(values) - 1).max()


@pytest.mark.parametrize(("shape", "tall_mm"), [("dome", 30.0), ("recess", 40.0)])
def test_thin_places_hardly_depend_on_the_triangles(shape, tall_mm):
    """Four meshes, each turned to 0, 15 and 45°, tell the same to 2 %, even in a preview.

    So it is while the sheet keeps its stiffness; how far it relaxes into a sharp foot goes by the
    triangles there, to 7 %.
    """
    formed = cut_in_many_ways(shape, tall_mm, relaxes=False)
    held = cut_in_many_ways(shape, tall_mm, relaxes=True)

    assert len({len(one.run.mesh.triangles) for one in formed}) > 6
    assert moved([one.thinnest.thin_mm for one in formed]) < HOLDS
    assert moved([one.thinnest.thin_mm for one in held]) < 0.07


def test_the_thinnest_triangle_would_not_do():
    """What single triangles of the same runs tell moves by more than that."""
    formed = cut_in_many_ways("dome", 30.0, relaxes=False)

    assert moved([one.run.thickness[one.part].min() for one in formed]) > 1.5 * HOLDS
    assert moved([one.whole.least_mm for one in formed]) > HOLDS


@pytest.mark.parametrize(("shape", "tall_mm"), [("dome", 30.0), ("recess", 40.0)])
def test_the_doubts_cover_what_moves(shape, tall_mm):
    """No mesh tells a thin or a least thickness that is off their mean by more than its doubt."""
    formed = [one.whole for one in cut_in_many_ways(shape, tall_mm, relaxes=True)]
    thin, least = (np.mean([getattr(f, name) for f in formed]) for name in ("thin_mm", "least_mm"))

    assert len(formed) == len(CUTS)
    assert all(abs(one.thin_mm - thin) < one.thin_doubt_mm for one in formed)
    assert all(abs(one.least_mm - least) < one.least_doubt_mm for one in formed)
    assert max(one.thin_doubt_mm / one.thin_mm for one in formed) < 0.12


def test_a_slower_run_is_doubted_less():
    """Of an even sheet only the pace is in doubt, and half as much at twice the pace."""
    mesh = grid()
    run = forming_run(mesh, level(mesh, scale=(1.5, 1.2)))
    paces = [formed_sheet(run.points_mm, run=replace(run, spec=replace(run.spec, pace=pace)))
             for pace in (0.5, 1.0)]  # fmt: skip

    fast, slow = (formed.whole for formed in paces)
    assert slow.thin_doubt_mm == pytest.approx(PACE_DOUBT * slow.thin_mm, rel=1e-9)
    assert fast.thin_doubt_mm == pytest.approx(2 * slow.thin_doubt_mm, rel=1e-9)
    assert fast.least_doubt_mm == pytest.approx(2 * slow.least_doubt_mm, rel=1e-9)


@cache
def paced(pace):
    """Return a small dome at a pace, with what half of it tells of its error."""
    mold = mold_of("dome", 20.0)
    return formed_over(mold, FormingLook.PREVIEW, pace=pace, hasty_pace=pace / 2)


def test_a_second_run_bounds_what_the_pace_does():
    """At the pace of a preview and in a hurry, a run at a pace of 6 differs by no more than told.

    In a hurry more is told.
    """
    slow = formed_over(mold_of("dome", 20.0), FormingLook.PREVIEW, pace=6.0).whole
    usual, hurried = (paced(pace).whole for pace in (0.45, 0.2))

    assert usual.pace is not None
    assert hurried.pace is not None
    assert abs(usual.thin_mm - slow.thin_mm) < usual.pace.thin_mm
    assert abs(usual.least_mm - slow.least_mm) < usual.pace.least_mm
    assert abs(hurried.thin_mm - slow.thin_mm) < hurried.pace.thin_mm
    assert abs(hurried.least_mm - slow.least_mm) < hurried.pace.least_mm
    assert hurried.pace.thin_mm > 1.2 * usual.pace.thin_mm
    # What is not in vain: the hurried run is off by more than a preview's usual doubt.
    assert abs(hurried.thin_mm - slow.thin_mm) > 0.05 * slow.thin_mm


def test_what_the_pace_does_is_a_note_and_part_of_the_doubt():
    """With the second run there is a note of the measured error; without it there is none."""
    formed = paced(0.45)
    told = formed.thinnest
    assert told.pace is not None

    (note,) = [one for one in check_formed(formed) if one.code == "forming-pace"]

    assert note.severity is Severity.NOTE
    assert note.measured == told.pace.thin_mm
    assert f"{told.pace.least_mm:.2g} mm" in note.says
    assert told.pace.thin_mm <= told.thin_doubt_mm < told.pace.thin_mm + 0.05 * told.thin_mm
    plain = [one.code for one in check_formed(formed_over(mold_of("dome", 20.0),
             FormingLook.PREVIEW))]  # fmt: skip
    assert "forming-pace" not in plain
