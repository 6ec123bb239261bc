"""Where the sheet arrives last by a forming run, against the rolling ball and by hand."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
import shapely
from shapely import MultiPolygon

from moldgen.mold.build import build_raw_mold
from moldgen.mold.choices import FormingLook
from moldgen.mold.features import Direction, Feature, Wall
from moldgen.mold.sheet.formed import read_run
from moldgen.mold.sheet.setup import build_setup, run_setup, sizes_round
from moldgen.mold.vents.by_ball import place_vents
from moldgen.mold.vents.by_run import BASIS, arrival_on, place_vents_by_run
from moldgen.mold.vents.vent import VentSpec
from moldgen.solid.height.relief import relief_of
from moldgen.solid.mesh import joined
from moldgen.stock import Sheet, load_shop

SPEC = VentSpec(diameter_mm=1.0)
WALL = Wall(height_mm=10.0, draft_deg=6.0, top_radius_mm=1.0, base_radius_mm=1.0)


def _multi(geometry):
    parts = [part for part in shapely.get_parts(geometry) if part.geom_type == "Polygon"]
    return MultiPolygon(parts)


def _shape(name):
    """A ring with a round counter, a plate with a round recess, a plate with two recesses."""
    if name == "ring":
        ring = shapely.Point(0, 0).buffer(32).difference(shapely.Point(0, 0).buffer(14))
        return [Feature(name="ring", region=_multi(ring), wall=WALL)]
    shift = [(0.0, 0.0)] if name == "dish" else [(-24.0, 0.0), (24.0, 0.0)]
    floor = Wall(height_mm=8.0, draft_deg=6.0, top_radius_mm=1.0, base_radius_mm=1.5)
    recesses = tuple(
        Feature(
            name=f"recess {n}", region=_multi(shapely.Point(*at).buffer(15)),
            direction=Direction.SUNK, wall=floor,
        )
        for n, at in enumerate(shift)
    )  # fmt: skip
    plate = shapely.box(-50, -30, 50, 30).buffer(6)
    return [Feature(name="plate", region=_multi(plate), wall=WALL, children=recesses)]


@cache
def _formed(name):
    """Raw mold, its relief, and a quick forming run over it."""
    shop = load_shop()
    raw = build_raw_mold(_shape(name))
    mesh = joined(raw.meshes)
    sheet = Sheet(plastic=shop.plastic("HIPS"), gauge_mm=1.0)
    machine = shop.machine("classroom-450x300")
    run = run_setup(build_setup(mesh, sheet=sheet, machine=machine, fineness=FormingLook.PREVIEW))
    return raw, relief_of(mesh, cell_mm=0.5, margin_mm=16.0), run, sheet, machine


def _on(plan, feature):
    return np.array([(v.x_mm, v.y_mm) for v in plan.vents if v.feature == feature]).reshape(-1, 2)


@pytest.mark.parametrize("name", ["dish", "pair"])
def test_run_and_ball_find_the_same_recesses(name):
    """Every recess gets a vent by the run as by the ball, and no vent stands on the plate."""
    raw, relief, run, _, _ = _formed(name)

    by_run = place_vents_by_run(relief, run, raw.plans, SPEC)
    by_ball = place_vents(relief, raw.plans, SPEC)

    for plan in (by_run, by_ball):
        assert {vent.feature for vent in plan.vents} == {
            plan.name for plan in raw.plans if plan.name.startswith("recess")
        }
    for recess in (plan for plan in raw.plans if plan.name.startswith("recess")):
        ours, balls = _on(by_run, recess.name), _on(by_ball, recess.name)
        middle = np.array(recess.outer.centroid.coords[0])
        # Both serve the ring at the foot of the wall, where the sheet comes last.
        for xy in (ours, balls):
            assert np.hypot(*(xy - middle).T).min() > 7.0
        away = np.hypot(*(ours[:, None] - balls[None]).T).min(axis=0)
        # On a level foot every place is as late as the next: all are served within the spacing.
        assert away.max() < SPEC.spacing_mm


def test_the_counter_of_a_ring_lies_on_the_table():
    """Inside the ring and round it air is left on the table, by the run as by the ball."""
    raw, relief, run, _, _ = _formed("ring")

    by_run = place_vents_by_run(relief, run, raw.plans, SPEC)
    by_ball = place_vents(relief, raw.plans, SPEC)

    for plan in (by_run, by_ball):
        assert plan.vents == ()
        away = np.array([np.hypot(p.x_mm, p.y_mm) for p in plan.on_table])
        assert (away < 14).any()
        assert (away > 30).any()
    assert by_run.basis == BASIS != by_ball.basis


def test_a_pocket_holds_the_air_that_hung_under_the_sheet():
    """The recess was sealed at its rim: it held nearly its own volume and no more."""
    raw, relief, run, _, _ = _formed("dish")

    plan = place_vents_by_run(relief, run, raw.plans, SPEC)

    recess = next(plan for plan in raw.plans if plan.name.startswith("recess"))
    most = recess.outer.area * 8.0
    air = max(vent.low.air_mm3 for vent in plan.vents)
    assert 0.05 * most < air < most


def test_arrival_is_later_farther_in():
    """From the top of the plate into the recess the sheet arrives later and later."""
    _, relief, run, _, _ = _formed("dish")
    arrival = arrival_on(relief, run, ball_mm=8.0)

    row, columns = relief.cells(np.array([[0.0, 0.0]]))[0, 0], relief.x_mm
    line = arrival.time[row]
    top, middle, foot = (line[np.argmin(np.abs(columns - x))] for x in (25.0, 0.0, 12.9))
    assert top < middle < foot


def test_gaps_close_along_the_run():
    """Under the sheet there is less and less air, but for the last trembling of the sheet."""
    _, relief, run, _, _ = _formed("pair")
    arrival = arrival_on(relief, run, ball_mm=8.0)

    volumes = [float(gap.sum()) for _, gap in arrival.frames_mm]
    assert volumes[0] > 3 * volumes[-1]
    assert len(volumes) > 5
    assert np.diff(volumes).max() < 0.01 * volumes[0]


@pytest.mark.parametrize("name", ["dish", "ring", "pair"])
def test_mean_thickness_agrees_with_the_areal_draw_ratio(name):
    """Gauge over the areal ratio of the mold in its clamp is the formed sheet's mean to 1 %."""
    raw, relief, run, sheet, machine = _formed(name)
    mesh = joined(raw.meshes)
    up = mesh.area_vectors_mm2[:, 2]
    gained = float((mesh.areas_mm2[up > 0] - up[up > 0]).sum())
    ground = machine.opening_width_mm * machine.opening_depth_mm
    whole = read_run(
        run, sheet=sheet, relief=relief, plans=raw.plans,
        trim=_multi(shapely.box(-1e3, -1e3, 1e3, 1e3)),
    )  # fmt: skip

    assert whole.whole.mean_mm == pytest.approx(1.0 / (1 + gained / ground), rel=0.01)


def test_triangles_are_small_at_edges_and_grow_away_from_them():
    """At the rim they have the finest size, on the bare table the widest, and never jump."""
    raw, _, _, _, _ = _formed("dish")
    sizes = sizes_round(joined(raw.meshes), fineness=FormingLook.PREVIEW)

    assert sizes.wanted_mm.min() < 2.5
    assert sizes.wanted_mm[0, 0] > 3 * sizes.wanted_mm.min()
    grow = max(np.abs(np.diff(sizes.wanted_mm, axis=axis)).max() for axis in (0, 1))
    assert grow <= 0.4 * (sizes.wanted_mm.min() / 2.0) * sizes.cell_mm * 1.01 + 1e-9


@pytest.mark.parametrize("name", ["dish", "pair"])
def test_a_run_takes_no_vent_away(name):
    """Wherever the shape demands a vent there is one with a forming run as well."""
    raw, relief, run, _, _ = _formed(name)

    by_run = {(v.x_mm, v.y_mm) for v in place_vents_by_run(relief, run, raw.plans, SPEC).vents}
    by_ball = {(v.x_mm, v.y_mm) for v in place_vents(relief, raw.plans, SPEC).vents}

    assert by_ball
    assert by_ball <= by_run
