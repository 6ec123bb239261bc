"""Height fields as closed solids: known volumes, draft of triangles, distance from the field."""

from __future__ import annotations

from math import cos, pi, radians, sin, tan

import numpy as np
import pytest
import shapely
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon
from support.molds import plate

from moldgen.errors import SpecError
from moldgen.finding import Severity
from moldgen.mold.build import build_raw_mold, profile_of
from moldgen.mold.features import Feature
from moldgen.mold.features import Wall as MoldWall
from moldgen.mold.freeform.freeform import (
    FreeformSpec,
    change_of,
    check_change,
    check_lean,
    make_formable,
    margin_for_mm,
)
from moldgen.solid.height.envelope import upper_envelope
from moldgen.solid.height.even import evened
from moldgen.solid.height.height_sample import field_of_mesh
from moldgen.solid.height.height_solid import HeightField, least_lean_deg, solid_from_heights
from moldgen.solid.height.settle import settled
from moldgen.solid.mesh import Mesh
from moldgen.solid.topology import topology_of
from moldgen.solid.zbuffer import zbuffer

DRAFT = 5.0
SHARP = FreeformSpec(draft_deg=DRAFT, top_radius_mm=0.0, base_radius_mm=0.0)


def mesh_of(made):
    """Return a mesh made by the library that only tests and readers use."""
    return Mesh(np.array(made.vertices, float), np.array(made.faces, np.int32))


def formable(mesh, cell_mm, spec=SHARP):
    """Return a mesh made formable."""
    height = float(mesh.bounds_mm[1, 2])
    field = field_of_mesh(
        mesh, cell_mm=cell_mm, margin_mm=margin_for_mm(height, spec, cell_mm),
        draft_deg=spec.draft_deg, sunk=spec.sunk,
    )  # fmt: skip
    return make_formable(field, spec)


def frustum_mm3(foot_mm, top_mm, height_mm):
    """Return the volume of a frustum of a cone."""
    return pi * height_mm / 3 * (foot_mm**2 + foot_mm * top_mm + top_mm**2)


def cylinder():
    """Return an upright cylinder of 720 sides, off the grid's middle."""
    made = trimesh.creation.cylinder(12, 16, sections=720)
    made.apply_translation([0.13, 0.07, 8])
    return mesh_of(made)


def sphere(radius=8.0):
    """Return a ball on the table."""
    made = trimesh.creation.uv_sphere(radius, count=[160, 160])
    made.apply_translation([0, 0, radius])
    return mesh_of(made)


def drawn_cone():
    """Return a frustum that leans by the draft already."""
    foot = 12 + 16 * tan(radians(DRAFT))
    return mesh_of(trimesh.creation.revolve([(0, 0), (foot, 0), (12, 16), (0, 16)], sections=720))


def test_cylinder_becomes_the_frustum_of_its_draft():
    """An upright wall gets the cone that starts at its upper edge."""
    made = formable(cylinder(), 0.125)
    known = frustum_mm3(12 + 16 * tan(radians(DRAFT)), 12, 16)
    assert made.solid.mesh.volume_mm3 == pytest.approx(known, rel=2e-3)


def test_cone_at_the_draft_stays_as_it_is():
    """What leans enough already gains nothing but the half percent of lean that smoothing costs."""
    made = formable(drawn_cone(), 0.125)
    known = frustum_mm3(12 + 16 * tan(radians(DRAFT)), 12, 16)
    assert made.solid.mesh.volume_mm3 == pytest.approx(known, rel=2e-3)
    change = change_of(made, volume_mm3=drawn_cone().volume_mm3)
    assert change.added < 3e-3
    assert change.moved_mm < 0.125


def test_undercut_half_of_a_sphere_is_filled():
    """Below the circle where it grows too steep, a ball stands on the frustum of its draft."""
    r, lean = 8.0, radians(DRAFT)
    ring, level = r * cos(lean), r + r * sin(lean)
    cap = pi * (2 * r - level) ** 2 * (3 * r - (2 * r - level)) / 3
    known = cap + frustum_mm3(ring + level * tan(lean), ring, level)
    made = formable(sphere(r), 0.125)
    assert made.solid.mesh.volume_mm3 == pytest.approx(known, rel=3e-3)
    change = change_of(
        made,
        volume_mm3=sphere(r).volume_mm3,
        seen_mm3=5 / 3 * pi * r**3,
        filled_mm2=pi * r * r,
    )
    # The field of a ball holds half a ball and the cylinder below its equator.
    assert change.filled_mm3 == pytest.approx(pi * r**3 / 3, rel=2e-2)
    codes = {f.code: f.severity for f in check_change(change, SHARP, name="float")}
    assert codes["too-much-added"] is Severity.STOP
    assert codes["undercut-filled"] is Severity.CAUTION


def test_error_of_the_volume_falls_with_the_cell():
    """Half the cell leaves at most half the error: edges are read between the nodes."""
    known = frustum_mm3(12 + 16 * tan(radians(DRAFT)), 12, 16)
    errors = [abs(formable(cylinder(), c).solid.mesh.volume_mm3 / known - 1) for c in (0.8, 0.2)]
    assert errors[1] < errors[0] / 4


def off_mm(rim, root, *, own_rim=1.5, own_root=0.0, cell_mm=0.1):
    """Return how far a mold of our own, made formable with these radii, leaves its own section."""
    region = plate(30, 24)
    wall = MoldWall(height_mm=10, draft_deg=DRAFT, top_radius_mm=own_rim, base_radius_mm=own_root)
    feature = Feature(name="plate", region=region, wall=wall)
    profile = profile_of(feature)
    spec = FreeformSpec(draft_deg=DRAFT, top_radius_mm=rim, base_radius_mm=root)
    made = formable(build_raw_mold([feature]).meshes[0], cell_mm, spec)
    inward = np.linspace(profile.foot_mm, profile.inset_mm + 20, 20001)
    exact = shapely.LineString([(d, profile.height_at_mm(float(d))) for d in inward])
    exact = shapely.simplify(exact, 1e-4)
    places = made.solid.mesh.corners_mm[: made.solid.n_top].mean(axis=1)
    away = shapely.distance(region.boundary, shapely.points(places[:, :2]))
    away = np.where(shapely.contains_xy(region, *places[:, :2].T), away, -away)
    shapely.prepare(exact)
    return shapely.distance(exact, shapely.points(np.column_stack([away, places[:, 2]]))).max()


@pytest.mark.parametrize(
    ("rim", "root", "own_root"), [(0.0, 0.0, 0.0), (1.4, 1.0, 0.0), (1.5, 1.0, 1.0)]
)
def test_a_mold_of_our_own_comes_back(rim, root, own_root):
    """Walls, flats, rims and roots that are as asked already come back within 0.05 mm."""
    assert off_mm(rim, root, own_root=own_root) < 0.05


def test_a_rim_too_sharp_is_rounded():
    """Where a rim of 0.5 mm should have 1.5 mm its edge goes, and up to a cell more."""
    # Between a level and a wall that leans by the draft the corner lies r (1 / cos - 1) away.
    corner = 1 / cos(radians(90 - DRAFT) / 2) - 1
    assert off_mm(1.5, 0.0, own_rim=0.5) == pytest.approx((1.5 - 0.5) * corner, abs=0.1)


def test_the_foot_stays_where_the_rim_is_rounded():
    """A ball rolled below raised edges takes nothing from the foot, for there the table goes on."""
    foot = 12 + 16 * tan(radians(DRAFT))
    spec = FreeformSpec(draft_deg=DRAFT, top_radius_mm=1.5, base_radius_mm=0.0)
    x0, _, x1, _ = formable(drawn_cone(), 0.2, spec).solid.foot.bounds
    assert x1 - x0 == pytest.approx(2 * foot, abs=0.03)


def test_underside_of_a_ring_is_flat_closed_and_has_few_triangles_inside():
    """Needles stay within the strip along the foot, and holes of the foot stay open."""
    made = trimesh.creation.annulus(10, 30, 6, sections=400)
    made.apply_translation([0, 0, 3])
    solid = formable(mesh_of(made), 0.25).solid
    under = solid.mesh.corners_mm[solid.n_top :]
    assert np.abs(under[..., 2]).max() == 0
    assert topology_of(solid.mesh).closed
    away = shapely.distance(solid.foot.boundary, shapely.points(under[..., :2].reshape(-1, 2)))
    inside = (away.reshape(-1, 3) > 0.5).all(axis=1).sum()
    assert inside < 200
    area = -solid.mesh.area_vectors_mm2[solid.n_top :, 2]
    assert (area > 0).all()
    assert area.sum() == pytest.approx(solid.foot.area, rel=1e-9)
    assert len(solid.foot.geoms[0].interiors) == 1


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 10_000), st.sampled_from([3.0, 8.0, 20.0, 45.0]), st.booleans())
def test_any_field_becomes_a_closed_solid_that_leans(seed, draft_deg, rounded):
    """Whatever is brought, the triangles close and lean within 0.1°."""
    rng = np.random.default_rng(seed)
    heights = np.full((46, 52), -np.inf)
    heights[14:32, 14:38] = np.where(
        rng.random((18, 24)) < 0.3, -np.inf, rng.uniform(1.0, 3.0, (18, 24))
    )
    cell = 0.5 if draft_deg < 30 else 2.0
    field = HeightField(origin_mm=(0, 0), cell_mm=cell, heights_mm=heights)
    radius = 2.0 * cell if rounded else 0.0
    spec = FreeformSpec(
        draft_deg=draft_deg, top_radius_mm=radius, base_radius_mm=radius, deviation_mm=0.02
    )
    made = make_formable(field, spec)
    topology = topology_of(made.solid.mesh)
    assert topology.closed
    assert made.solid.mesh.volume_mm3 > 0
    assert made.least_deg >= draft_deg - 0.1
    assert not list(check_lean(made, name="any"))


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 10_000), st.sampled_from([0.005, 0.05, 0.3]))
def test_triangles_stay_within_the_deviation(seed, deviation_mm):
    """No node lies farther from the triangles than stated."""
    rng = np.random.default_rng(seed)
    rough = evened(rng.normal(size=(70, 90)), spread_cells=rng.uniform(2, 8)) * 6 + 4
    heights = np.full((76, 96), -1.0)
    heights[3:-3, 3:-3] = np.maximum(rough, 0.5)
    heights = settled(
        upper_envelope(heights, cell_mm=0.5, draft_deg=20.0), cell_mm=0.5, draft_deg=20.0
    )
    heights[[0, -1]] = heights[:, [0, -1]] = -1.0
    field = HeightField(origin_mm=(0, 0), cell_mm=0.5, heights_mm=heights)
    solid = solid_from_heights(field, deviation_mm=deviation_mm, draft_deg=20.0)
    corners = solid.mesh.corners_mm[: solid.n_top].copy()
    corners[..., :2] = corners[..., :2] / 0.5 + 0.5
    shown, seen = zbuffer(corners, *heights.shape)
    upright = solid.mesh.area_vectors_mm2[:, 2] / solid.mesh.areas_mm2
    off = np.where(seen >= 0, np.abs(shown - heights) * upright[seen], 0.0)
    assert off[heights > 0.01].max() <= 1.02 * deviation_mm


def test_flat_field_needs_few_triangles():
    """A flat block is made of large squares, not of every cell."""
    heights = np.full((210, 310), -5.0)
    heights[5:-5, 5:-5] = 8.0
    field = HeightField(origin_mm=(0, 0), cell_mm=0.5, heights_mm=heights)
    leaning = upper_envelope(heights, cell_mm=0.5, draft_deg=45.0)
    field = HeightField(origin_mm=(0, 0), cell_mm=0.5, heights_mm=np.pad(leaning, 0))
    heights = np.array(field.heights_mm)
    heights[[0, -1]] = heights[:, [0, -1]] = -1.0
    solid = solid_from_heights(
        HeightField(origin_mm=(0, 0), cell_mm=0.5, heights_mm=heights),
        deviation_mm=0.01, draft_deg=10.0,
    )  # fmt: skip
    assert solid.n_top < 200 * 300 / 4


def test_settled_field_gives_no_peak_more():
    """Laying triangles back never raises anything above what stood beside it."""
    heights = np.full((30, 30), -40.0)
    heights[15, 15] = 3.0
    cone = upper_envelope(heights, cell_mm=0.5, draft_deg=10.0)
    made = settled(cone, cell_mm=0.5, draft_deg=10.0, floor_mm=-20.0)
    assert made.max() == pytest.approx(3.0)
    assert (made >= cone).all()


def test_recess_is_cut_back_on_request():
    """With ``sunk`` an upright recess opens upward; its wall stands within a cell of its draft."""
    ring = shapely.box(-20, -20, 20, 20) - shapely.box(-10, -10, 10, 10)
    wall = trimesh.creation.extrude_polygon(ring, 12)
    floor = trimesh.creation.box((40, 40, 4))
    floor.apply_translation([0, 0, 2])
    mesh = mesh_of(trimesh.util.concatenate([wall, floor]))
    spec = FreeformSpec(draft_deg=10.0, top_radius_mm=0.0, base_radius_mm=0.0, sunk=True)
    made = formable(mesh, 0.25, spec)
    row = int(np.argmin(np.abs(made.after.y_mm)))
    line = made.after.on_table_mm[row]
    x = made.after.x_mm
    half = np.interp(8.0, line[(x > 9) & (x < 14)], x[(x > 9) & (x < 14)])
    assert half == pytest.approx(10.0 + 4 * tan(radians(10.0)), abs=0.25)
    # The evening out reaches three cells into a sharp corner.
    assert line[np.abs(x) < 9.0] == pytest.approx(4.0, abs=1e-6)


def test_plate_stands_round_the_shape():
    """A margin makes a plate with round corners and the wall's own draft."""
    spec = FreeformSpec(
        draft_deg=DRAFT, top_radius_mm=1.0, base_radius_mm=1.0, base_mm=4.0, margin_mm=8.0
    )
    made = formable(sphere(), 0.25, spec)
    x0, _, x1, _ = made.solid.foot.bounds
    assert x1 - x0 == pytest.approx(2 * (8 + 8 + 4 * tan(radians(DRAFT))), abs=1.0)
    assert isinstance(made.solid.foot, MultiPolygon)
    assert least_lean_deg(made.solid)[0] >= DRAFT - 0.1


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"heights_mm": np.full((4, 4), -1.0)}, "above the table somewhere"),
        ({"heights_mm": np.full((4, 4), 1.0)}, "below the table all along the border"),
        ({"heights_mm": np.full((4, 4), np.nan)}, "finite everywhere"),
    ],
)
def test_fields_that_make_no_solid_are_refused(change, words):
    """Empty, unbounded and unknown fields are named."""
    field = HeightField(origin_mm=(0, 0), cell_mm=1.0, **change)
    with pytest.raises(SpecError, match=words):
        solid_from_heights(field, deviation_mm=0.01, draft_deg=5.0)


def test_too_many_cells_and_a_margin_without_plate_are_refused():
    """A cell far too small, and a margin with nothing to be a margin of, are named."""
    with pytest.raises(SpecError, match="cell_mm must be at least"):
        field_of_mesh(cylinder(), cell_mm=0.002, margin_mm=1.0, draft_deg=5.0)
    spec = FreeformSpec(draft_deg=5.0, top_radius_mm=0, base_radius_mm=0, margin_mm=5.0)
    with pytest.raises(SpecError, match="margin_mm must be 0 mm without a base"):
        formable(cylinder(), 0.5, spec)
