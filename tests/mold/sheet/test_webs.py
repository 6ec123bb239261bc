"""Webs and folds where a sheet has too much of itself: at tall corners and between tall posts."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
import shapely
from shapely import MultiPolygon
from support.forming_molds import formed_over, mold_of
from support.some import some

from moldgen.errors import SpecError
from moldgen.mold.build import build_raw_mold
from moldgen.mold.choices import FormingLook
from moldgen.mold.features import Feature, Wall
from moldgen.mold.sheet.findings import check_formed
from moldgen.mold.sheet.formed import read_run
from moldgen.mold.sheet.setup import build_setup, run_setup
from moldgen.solid.height.relief import relief_of
from moldgen.solid.mesh import Mesh, joined
from moldgen.stock import Sheet, load_shop

LOOKS = (FormingLook.PREVIEW, FormingLook.FINE)


@cache
def _formed(height_mm, *, apart_mm=30.0):
    """Two square posts of 40 mm side by side, under 1 mm of styrene."""
    shop = load_shop()
    wall = Wall(height_mm=height_mm, draft_deg=5.0, top_radius_mm=1.5, base_radius_mm=0.0)
    middle = 20.0 + apart_mm / 2
    posts = [
        Feature(
            name=name, wall=wall,
            region=MultiPolygon([shapely.box(x - 20, -20, x + 20, 20).buffer(-2).buffer(2)]),
        )
        for name, x in (("left", -middle), ("right", middle))
    ]  # fmt: skip
    raw = build_raw_mold(posts)
    mesh = joined(raw.meshes)
    sheet = Sheet(plastic=shop.plastic("HIPS"), gauge_mm=1.0)
    setup = build_setup(
        mesh, sheet=sheet, machine=shop.machine("classroom-450x300"), fineness=FormingLook.PREVIEW
    )
    run = run_setup(setup)
    feet = shapely.union_all([plan.outer for plan in raw.plans])
    trim = MultiPolygon([shapely.buffer(shapely.convex_hull(feet), 50)])
    relief = relief_of(mesh, cell_mm=0.5, margin_mm=60.0)
    return read_run(run, sheet=sheet, relief=relief, trim=trim, plans=raw.plans)


def test_tall_corners_web_and_low_ones_do_not():
    """Tall posts raise a fold at each outer corner and two between them; knobs of 6 mm raise none.

    A fold is no taller than the post it hangs from; those worth the name are a third of it or more.
    """
    tall, low = _formed(45.0), _formed(6.0)

    folds = [web for web in tall.webs if web.height_mm > 45.0 / 3]
    assert all(web.height_mm < 45.0 for web in folds)
    corners = [web for web in folds if abs(web.where_mm[0]) > 15.0 + 40.0 / 2]
    assert {(web.where_mm[0] > 0, web.where_mm[1] > 0) for web in corners} == {
        (False, False), (False, True), (True, False), (True, True),
    }  # fmt: skip
    # Every fold runs out from a corner of the posts, 20 mm from their middle, not from a side.
    for web in some(folds):
        assert abs(web.where_mm[1]) > 12.0
    assert max(web.height_mm for web in low.webs) < 0.1 * 6.0
    codes = [finding.code for finding in check_formed(low)]
    assert "formed-web" not in codes
    assert low.run.converged


def test_a_sheet_between_tall_posts_webs_across():
    """Between the posts the sheet hangs far above the table, and that is told as a web."""
    (finding,) = [f for f in check_formed(_formed(45.0)) if f.code == "formed-bridges"]

    assert "webs across" in finding.says
    assert finding.measured is not None
    assert 45.0 / 2 < finding.measured < 45.0
    assert finding.where_mm is not None
    assert abs(finding.where_mm[0]) < 15.0


def test_folds_do_not_blow_up():
    """Where the sheet folds on itself no air gets in: nothing thins to a bubble's skin."""
    formed = _formed(45.0)

    assert formed.run.thickness_at_points.min() > 0.01
    height = formed.run.points_mm[:, 2].max()
    assert height < 45.0 + 1.0
    assert np.isfinite(formed.run.points_mm).all()


def test_thickness_is_the_same_on_either_side():
    """The mold is the same left and right, and so is the sheet on it, to 3 %."""
    told = {thinned.name: thinned for thinned in _formed(6.0).thinned}

    left, right = told["left"], told["right"]
    assert abs(left.mean_mm / right.mean_mm - 1) < 0.01
    assert abs(left.least_mm / right.least_mm - 1) < 0.03


def test_a_sheet_that_is_not_followed_is_not_set_up():
    """Off is a choice of jobs, not a number of triangles."""
    shop = load_shop()
    with pytest.raises(SpecError, match="fineness must be preview or fine"):
        build_setup(
            Mesh(np.eye(3), np.array([[0, 1, 2]], np.int32)),
            sheet=Sheet(plastic=shop.plastic("HIPS"), gauge_mm=1.0),
            machine=shop.machine("classroom-450x300"),
            fineness=FormingLook.OFF,
        )


@cache
def _followed(shape, tall_mm, look):
    return formed_over(mold_of(shape, tall_mm), look)


def test_a_preview_finds_the_webs_of_a_fine_run():
    """Both tell a fold at every corner of a tall box, and of about the same width."""
    preview, fine = (_followed("box", 50.0, look) for look in LOOKS)

    for formed in (preview, fine):
        corners = {(web.where_mm[0] > 0, web.where_mm[1] > 0) for web in formed.folds}
        assert corners == {(False, False), (False, True), (True, False), (True, True)}
        codes = [finding.code for finding in check_formed(formed)]
        assert codes.count("formed-web") == len(formed.folds)
    assert 0.6 < preview.folds[0].width_mm / fine.folds[0].width_mm < 1.6


@pytest.mark.parametrize(("shape", "tall_mm"), [("cone", 30.0), ("recess", 30.0)])
def test_a_preview_finds_no_webs_where_a_fine_run_finds_none(shape, tall_mm):
    """Sheet that ripples on a slope is told as a web by neither."""
    preview, fine = (_followed(shape, tall_mm, look) for look in LOOKS)

    for formed in (preview, fine):
        assert formed.folds == ()
        assert "formed-web" not in [finding.code for finding in check_formed(formed)]


def test_how_tall_a_ripple_stands_tells_no_web():
    """On the cone ripples reach up the slope by far more than the gauge: height would mislead."""
    fine = _followed("cone", 30.0, FormingLook.FINE)

    ripples = [web for web in fine.webs if web.height_mm > 3.0 * fine.sheet.gauge_mm]
    assert ripples
    assert max(web.width_mm for web in ripples) < 0.7 * fine.sheet.gauge_mm


def test_a_fold_counts_against_the_gauge():
    """The same fold is one of thinner sheet and a ripple in thicker."""
    web = max(_formed(45.0).webs, key=lambda one: one.width_mm)

    assert web.is_fold(web.width_mm / 1.3)
    assert not web.is_fold(web.width_mm / 1.1)
