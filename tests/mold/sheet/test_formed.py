"""What is read off a formed sheet: thickness, bridges, webs, and the part as a solid."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from support.formed_sheets import (
    GAUGE_MM,
    SIDE,
    flat_relief,
    formed_sheet,
    forming_run,
    grid,
    level,
    sheet,
    square,
)

from moldgen.errors import SpecError
from moldgen.finding import Severity
from moldgen.mold.features import Direction, FeaturePlan, Wall
from moldgen.mold.sheet.findings import check_formed
from moldgen.mold.sheet.formed import read_run
from moldgen.mold.sheet.places import owner_of, within
from moldgen.physics.membrane.run import (
    FREE,
    ON_MOLD,
)
from moldgen.solid.mesh import Mesh
from moldgen.solid.shell import border_edges, build_shell
from moldgen.solid.sound import solid_from_mesh
from moldgen.stock import load_shop
from moldgen.table.sheet_choice import choices


def _plan(name, half_mm, parent=""):
    region = square(half_mm)
    return FeaturePlan(
        name=name, parent=parent, direction=Direction.RAISED, region=region, outer=region,
        flat=region, z_parent_mm=0.0, z_flat_mm=5.0,
        wall=Wall(height_mm=5.0, draft_deg=5.0, top_radius_mm=0.0, base_radius_mm=0.0),
    )  # fmt: skip


def test_a_sheet_stretched_both_ways_thins_by_the_product():
    """Stretched by 1.5 and by 1.2, 2 mm of sheet are 2 / 1.8 mm everywhere."""
    mesh = grid()

    formed = formed_sheet(level(mesh, scale=(1.5, 1.2)), half_mm=40.0)

    assert formed.whole.least_mm == pytest.approx(GAUGE_MM / 1.8, rel=1e-12)
    assert formed.whole.mean_mm == pytest.approx(GAUGE_MM / 1.8, rel=1e-12)
    assert formed.whole.area_mm2 == pytest.approx(1600 * 1.8, rel=1e-12)
    assert formed.whole.thin_mm == pytest.approx(GAUGE_MM / 1.8, rel=1e-12)
    assert formed.thin_share == pytest.approx(1 / 1.8, rel=1e-12)


def test_a_sheet_dropped_straight_onto_a_slope_thins_by_its_cosine():
    """Points that fall straight onto a slope of 30 deg leave cos 30 deg of the sheet."""
    mesh = grid()
    points = level(mesh)
    points[:, 2] = np.tan(np.radians(30)) * np.maximum(points[:, 0], 0.0)

    formed = formed_sheet(points)

    assert formed.whole.least_mm == pytest.approx(GAUGE_MM * np.cos(np.radians(30)), rel=1e-9)
    assert formed.whole.where_mm[0] > 0


def test_mean_thickness_is_the_gauge_over_the_areal_ratio():
    """Whatever the shape, gauge x flat area is mean thickness x formed area."""
    mesh = grid()
    points = level(mesh)
    points[:, 2] = 3 * np.cos(points[:, 0] / 4) * np.cos(points[:, 1] / 5)

    formed = formed_sheet(points, half_mm=50.0)

    areal = formed.run.areas_mm2.sum() / 1600.0
    assert areal > 1.1
    assert formed.whole.mean_mm == pytest.approx(GAUGE_MM / areal, rel=1e-12)


def test_thickness_is_told_for_every_feature_on_its_own():
    """A feature stretched twice is told apart from the plate that it stands on."""
    mesh = grid()
    points = level(mesh)
    inner = np.abs(mesh.points_mm).max(axis=1) <= 5.5
    points[inner, 2] = 4.0

    formed = formed_sheet(points, plans=(_plan("plate", 15.0), _plan("knob", 7.0, "plate")))

    told = {thinned.name: thinned for thinned in formed.thinned}
    assert list(told) == ["", "plate", "knob"]
    assert told["plate"].least_mm == pytest.approx(GAUGE_MM, rel=1e-12)
    assert told["knob"].least_mm < 0.4 * GAUGE_MM
    assert told[""].least_mm == told["knob"].least_mm


def test_the_feature_with_the_thinnest_places_decides():
    """A spike that is too small to show in the whole part's hundredth is still what decides."""
    mesh = grid()
    points = level(mesh)
    points[np.abs(mesh.points_mm).max(axis=1) <= 0.5, 2] = 6.0

    formed = formed_sheet(points, plans=(_plan("plate", 15.0), _plan("spike", 2.0, "plate")))

    assert formed.whole.thin_mm > 1.2 * formed.thinnest.thin_mm
    assert formed.thinnest.name == "spike"
    assert formed.thin_share == pytest.approx(formed.thinnest.thin_mm / GAUGE_MM)
    (finding,) = check_formed(formed, wanted_mm=1.1 * formed.thinnest.thin_mm)
    assert (finding.subject, finding.measured) == ("spike", formed.thinnest.thin_mm)


def test_a_place_belongs_to_the_innermost_feature():
    """Children claim their places from their parents; beside all of them there is none."""
    plans = (_plan("plate", 15.0), _plan("knob", 7.0, "plate"))

    owner = owner_of(np.array([[0.0, 0.0], [10.0, 0.0], [18.0, 0.0]]), plans)

    assert owner.tolist() == [1, 0, -1]


@pytest.mark.parametrize(
    "region",
    [
        square(7.3),
        square(30.0) - square(11.1),
        shapely.Point(3, 2).buffer(13.7),
        shapely.box(-25, -0.3, 25, 0.4) - shapely.box(-3, -0.2, 3, 0.2),
    ],
)
def test_the_raster_of_a_region_changes_no_place(region):
    """Places are told to lie in a region as one by one, holes and slivers too."""
    places = np.random.default_rng(3).uniform(-32, 32, (40_000, 2))

    told = within(region, places)

    assert 100 < told.sum() < len(places) - 100
    np.testing.assert_array_equal(told, shapely.contains_xy(region, places))


def test_sheet_that_touches_nothing_is_a_bridge():
    """A free patch of 10 x 8 mm is told with its gap and its area."""
    mesh = grid()
    points = level(mesh)
    free = (np.abs(mesh.points_mm[:, 0]) <= 5.5) & (np.abs(mesh.points_mm[:, 1]) <= 4.5)
    inner = (np.abs(mesh.points_mm[:, 0]) <= 1.5) & (np.abs(mesh.points_mm[:, 1]) <= 1.5)
    points[inner, 2] = 1.25
    touches = np.where(free, FREE, ON_MOLD)

    formed = formed_sheet(points, touches=touches)

    (bridge,) = formed.bridges
    assert bridge.gap_mm == pytest.approx(1.25)
    assert bridge.area_mm2 == pytest.approx(formed.untouched_mm2)
    assert bridge.area_mm2 > 80.0
    assert abs(bridge.where_mm[0]) <= 1.5


def test_a_small_free_patch_lies_in_a_fillet_and_is_none():
    """Two triangles that touch nothing are no bridge, but their area is still counted."""
    mesh = grid()
    touches = np.full(len(mesh.points_mm), ON_MOLD)
    touches[mesh.triangles[[100, 100 + (SIDE - 1) ** 2]].ravel()] = FREE

    formed = formed_sheet(level(mesh), touches=touches, half_mm=30.0)

    assert formed.bridges == ()
    assert formed.untouched_mm2 == pytest.approx(1.0)


def test_sheet_pressed_together_is_a_web():
    """A strip pressed to 0.7 of its width along 20 mm is one web, a triangle longer at its ends."""
    mesh = grid()
    points = level(mesh)
    x, y = mesh.points_mm.T
    strip = (np.abs(y) <= 10) & (x > 2)
    points[strip, 0] -= 0.3 * np.minimum(x[strip] - 2, 3.0)

    formed = formed_sheet(points)

    (web,) = formed.webs
    assert 20.0 <= web.length_mm <= 23.0
    assert 0.35 < web.spare < 1 / 0.7 - 1 + 1e-9
    # 0.9 mm are lost across the strip and half of them stand up; its ends are sheared besides.
    assert 0.45 <= web.height_mm <= 0.65


def test_a_web_in_the_waste_is_no_fold_of_the_part():
    """The same web is told where it is cut out with the part, and not where it is thrown away."""
    mesh = grid()
    points = level(mesh)
    x, y = mesh.points_mm.T
    strip = (np.abs(y) <= 10) & (x > 8)
    points[strip, 0] -= 6.0 * np.minimum(x[strip] - 8, 1.0)

    near, far = formed_sheet(points), formed_sheet(points, half_mm=2.0)

    assert [web.in_part for web in near.webs] == [True] * len(near.folds)
    assert near.folds
    assert len(far.webs) == len(near.webs)
    assert far.folds == ()


def test_sheet_merely_pulled_one_way_is_no_web():
    """A sheet pulled to twice its length narrows by itself: nothing presses it together."""
    mesh = grid()

    formed = formed_sheet(level(mesh, scale=(2.0, 2.0**-0.5)), half_mm=60.0)

    assert formed.webs == ()


def test_two_webs_apart_are_two():
    """Strips on either side of a sheet are told one by one, the longer one first."""
    mesh = grid()
    points = level(mesh)
    x, y = mesh.points_mm.T
    for side, reach in ((1, 12.0), (-1, 6.0)):
        strip = (np.abs(y) <= reach) & (side * x > 5)
        points[strip, 0] -= side * 0.4 * np.minimum(side * x[strip] - 5, 2.0)

    formed = formed_sheet(points)

    first, second = (web.length_mm for web in formed.webs)
    assert 24.0 <= first <= 27.0
    assert 12.0 <= second <= 15.5
    assert formed.webs[0].where_mm[0] > 0 > formed.webs[1].where_mm[0]


def test_a_flat_sheet_as_a_solid_has_its_volume():
    """A flat sheet becomes a closed plate of its area times its thickness."""
    mesh = grid()
    surface = Mesh(level(mesh), mesh.triangles)

    shell = build_shell(surface, np.full(SIDE**2, 1.5))

    assert shell.volume_mm3 == pytest.approx(1600 * 1.5, rel=1e-12)
    assert solid_from_mesh(shell, doing="reading the plate").volume() == pytest.approx(2400.0)
    assert shell.bounds_mm[1, 2] == pytest.approx(1.5)


def test_a_dome_as_a_solid_has_the_volume_between_two_spheres():
    """A cap of a sphere of 30 mm, 1 mm thick, holds the shell between 30 and 31 mm to 0.2 %."""
    mesh = grid()
    inside = np.linalg.norm(mesh.points_mm[mesh.triangles], axis=2).max(axis=1) <= 19.0
    triangles = mesh.triangles[inside]
    points = level(mesh)
    points[:, 2] = np.sqrt(np.maximum(900 - (mesh.points_mm**2).sum(axis=1), 0.0))
    surface = Mesh(points, triangles)

    shell = build_shell(surface, np.full(SIDE**2, 1.0))

    share = ((31 / 30) ** 3 - 1) * 10  # volume over area: integral of (r / 30)^2 from 30 to 31
    assert shell.volume_mm3 / surface.areas_mm2.sum() == pytest.approx(share, rel=2e-3)
    assert border_edges(shell.triangles).size == 0


@pytest.mark.parametrize(
    ("thickness", "words"),
    [(np.ones(3), "thickness_mm must be one for each"), (np.zeros(SIDE**2), "more than 0 mm")],
)
def test_a_sheet_needs_a_thickness_everywhere(thickness, words):
    """Thicknesses that are missing or nought are refused."""
    mesh = grid()

    with pytest.raises(SpecError, match=words):
        build_shell(Mesh(level(mesh), mesh.triangles), thickness)


def test_the_thinnest_gauge_that_leaves_enough_is_chosen():
    """Where 45 % is left and 0.6 mm is wanted, 1.5 mm of HIPS is enough and 1 mm is not."""
    gauges = load_shop().gauges_for("HIPS")

    found = choices(gauges, thin_share=0.45, wanted_mm=0.6)
    best = next(choice for choice in found if choice.enough)

    assert best.thin_mm >= 0.6
    thinner = [choice for choice in found if choice.gauge.gauge_mm < best.gauge.gauge_mm]
    assert thinner
    assert all(choice.thin_mm < 0.6 and not choice.enough for choice in thinner)
    assert all(choice.enough for choice in found[len(thinner) :])


def test_no_gauge_may_be_enough():
    """A wanted thickness above what the thickest gauge leaves gets no answer."""
    gauges = load_shop().gauges_for("HIPS")

    found = choices(gauges, thin_share=0.3, wanted_mm=9.0)
    assert found
    assert not any(choice.enough for choice in found)


@pytest.mark.parametrize(("share", "wanted"), [(0.0, 1.0), (0.5, 0.0)])
def test_choosing_a_gauge_needs_sizes_above_nought(share, wanted):
    """A share or a wanted thickness of nought is refused."""
    with pytest.raises(SpecError, match="must be more than 0"):
        choices((), thin_share=share, wanted_mm=wanted)


def _codes(formed, **kwargs):
    return [finding.code for finding in check_formed(formed, **kwargs)]


def test_an_even_sheet_has_nothing_to_tell():
    """A sheet stretched by a third lies on its mold and is thick enough."""
    formed = formed_sheet(level(grid(), scale=(1.2, 1.1)), half_mm=40.0)

    assert check_formed(formed) == ()


def test_a_sheet_under_a_quarter_of_its_gauge_is_thin():
    """Where nothing is wanted the limit is a quarter of the gauge, and the needed gauge is told."""
    formed = formed_sheet(level(grid(), scale=(2.5, 2.0)), half_mm=60.0)

    (finding,) = check_formed(formed)

    assert finding.code == "formed-thin"
    assert finding.measured == pytest.approx(0.4)
    assert finding.limit == pytest.approx(0.5)
    assert "2.5 mm" in finding.advice


def test_a_wanted_thickness_is_held_against_the_sheet():
    """0.6 mm wanted where 1 mm is left is enough; 1.1 mm is not."""
    formed = formed_sheet(level(grid(), scale=(2.0, 1.0)), half_mm=60.0)

    assert _codes(formed, wanted_mm=0.6) == []
    assert _codes(formed, wanted_mm=1.1) == ["formed-thin"]


def test_the_thin_place_is_told_with_its_feature():
    """A knob drawn up thins the sheet on the knob, not on the plate around it."""
    mesh = grid()
    points = level(mesh)
    points[np.abs(mesh.points_mm).max(axis=1) <= 5.5, 2] = 9.0

    formed = formed_sheet(points, plans=(_plan("plate", 15.0), _plan("knob", 7.0, "plate")))

    assert [f.subject for f in check_formed(formed) if f.code == "formed-thin"] == ["knob"]


@pytest.mark.parametrize(
    ("gap_mm", "told"),
    [(0.9, []), (1.2, [Severity.NOTE]), (6.5, [Severity.CAUTION])],
)
def test_bridges_are_told_from_half_a_gauge(gap_mm, told):
    """Under 1 mm of 2 mm sheet is a fillet; above three gauges it is something to look at."""
    mesh = grid()
    points = level(mesh)
    middle = np.abs(mesh.points_mm).max(axis=1) <= 8.5
    points[middle, 2] = gap_mm
    touches = np.where(np.abs(mesh.points_mm).max(axis=1) <= 12.5, FREE, ON_MOLD)

    formed = formed_sheet(points, touches=touches)

    bridges = [f for f in check_formed(formed) if f.code == "formed-bridges"]
    assert [f.severity for f in bridges] == told


def test_a_run_that_did_not_settle_says_so():
    """The residual and its limit are told, and what the result is good for."""
    mesh = grid()
    run = forming_run(mesh, level(mesh))
    object.__setattr__(run, "converged", False)

    formed = read_run(run, sheet=sheet(), relief=flat_relief(), trim=square(19.0))

    (finding,) = check_formed(formed)
    assert finding.code == "forming-unsettled"
    assert finding.measured == pytest.approx(1e-4)
    assert finding.limit == pytest.approx(1e-3)


def test_a_web_is_told_with_its_cure():
    """Every web is a finding with place, height and what cures it."""
    mesh = grid()
    points = level(mesh)
    x, y = mesh.points_mm.T
    strip = (np.abs(y) <= 10) & (x > 2)
    points[strip, 0] -= 0.4 * np.minimum(x[strip] - 2, 3.0)
    thin, thick = (
        read_run(
            forming_run(mesh, points), sheet=sheet(gauge), relief=flat_relief(), trim=square(19.0)
        )
        for gauge in (0.5, 1.0)
    )

    (finding,) = [f for f in check_formed(thin) if f.code == "formed-web"]

    assert finding.where_mm is not None
    assert 2.0 < finding.where_mm[0] < 8.0
    assert "Move what stands there apart" in finding.advice
    # 0.6 mm of fold are a ripple in a sheet of 1 mm.
    assert [f for f in check_formed(thick) if f.code == "formed-web"] == []


def test_a_fold_that_stands_up_is_a_web():
    """Sheet that hangs over a place it lies on already has folded: its height is told."""
    mesh = grid()
    points = level(mesh)
    x, y = mesh.points_mm.T
    fold = np.abs(y) <= 6
    along = np.clip(x[fold], 0, 12)
    # Up 4 mm, back over itself by a hair, and down again: 8 mm of sheet stand on 4 mm of ground.
    points[fold, 2] = np.minimum(along, 8 - along).clip(0, 4)
    points[fold, 0] -= np.where(along > 4, 1.2 * (along - 4).clip(0, 4), 0)

    formed = read_run(
        forming_run(mesh, points), sheet=sheet(1.0), relief=flat_relief(), trim=square(30.0)
    )

    web = max(formed.webs, key=lambda one: one.height_mm)
    assert web.height_mm == pytest.approx(4.0, abs=0.6)
    assert 10.0 <= web.length_mm <= 16.0
