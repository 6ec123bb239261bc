"""Corners that a sheet rounds, gaps that it spans, and with what radius it comes out."""

from dataclasses import replace

import numpy as np
import pytest
from support.formed_sheets import flat_relief, forming_run, grid
from support.slotted import TALL_MM, over_blocks, sheet
from support.some import some

from moldgen.mold.sheet.findings import check_formed
from moldgen.mold.sheet.reach import CORNER_GAP, corner_radii_mm, height_over_mm, reach_of
from moldgen.physics.membrane.holding import pressure_at_arrival
from moldgen.physics.membrane.run import FREE, HELD, ON_MOLD
from moldgen.pipeline.mold.forming_tables import corner_text, forming_numbers, forming_tables

WIDE_MM, NARROW_MM = 14.0, 1.6
GAUGE_MM = 1.0


def lifted(gap_mm, stretch):
    """Return a sheet, stretched across, of which a square of 12 mm touches nothing."""
    mesh = grid()
    points = np.column_stack([mesh.points_mm * [stretch, 1.0], np.zeros(len(mesh.points_mm))])
    free = np.abs(mesh.points_mm).max(axis=1) <= 6.5
    points[free, 2] = gap_mm
    touches = np.where(mesh.held, HELD, np.where(free, FREE, ON_MOLD))
    return forming_run(mesh, points, touches), free


@pytest.mark.parametrize(("off_mm", "bridges"), [(-0.05, False), (0.05, True)])
@pytest.mark.parametrize("stretch", [1.0, 1.3])
def test_sheet_within_its_corner_and_half_a_gauge_is_no_bridge(stretch, off_mm, bridges):
    """0.29 of tension over pressure and half a gauge: a hair less is a corner, a hair more not."""
    tension = (stretch**2 - stretch**-2) / stretch
    run, free = lifted(0.0, stretch)
    radius_mm = tension / run.spec.pressure_per_mm
    gap_mm = (1 - np.sqrt(0.5)) * radius_mm + GAUGE_MM / 2 + off_mm
    run, free = lifted(gap_mm, stretch)

    reach = reach_of(run, relief=flat_relief(), gauge_mm=GAUGE_MM)

    # Away from its rim, where the sheet is steep and its tension another.
    inner = np.abs(run.mesh.points_mm).max(axis=1) <= 4.5
    assert reach.bridged[inner].all() == bridges
    assert reach.rounds[inner].all() != bridges
    assert not (reach.bridged | reach.rounds)[~free].any()
    np.testing.assert_allclose(reach.gaps_mm[inner], gap_mm, rtol=1e-12)


@pytest.mark.parametrize(("hangs_mm", "bridges"), [(7.0, False), (10.0, True)])
def test_sheet_that_hangs_higher_than_its_corner_spans_a_slot(hangs_mm, bridges):
    """Between faces so close that neither is far off the height over the ground tells."""
    mesh, stretch, pressure_per_mm = grid(), 2.5, 0.3
    radius_mm = (stretch**2 - stretch**-2) / stretch / pressure_per_mm
    free = (np.abs(mesh.points_mm) <= [1.5, 8.5]).all(axis=1)
    z_mm = np.where(free, hangs_mm, 12.0)
    points = np.column_stack([mesh.points_mm * [1.0, stretch], z_mm])
    run = forming_run(mesh, points, np.where(mesh.held, HELD, np.where(free, FREE, ON_MOLD)))
    run = replace(run, spec=replace(run.spec, pressure_per_mm=pressure_per_mm))
    heights = np.full((60, 60), 12.0)
    heights[:, 28:32] = 0.0
    slot = replace(flat_relief(), heights_mm=heights)

    reach = reach_of(run, relief=slot, gauge_mm=GAUGE_MM)

    middle = (np.abs(mesh.points_mm[:, 0]) < 0.5) & (np.abs(mesh.points_mm[:, 1]) < 6)
    assert reach.gaps_mm[middle].max() < CORNER_GAP * radius_mm + GAUGE_MM / 2
    assert 7.0 < radius_mm + GAUGE_MM / 2 < 10.0
    assert reach.bridged[middle].all() == bridges


@pytest.mark.parametrize("relaxes", [True, False])
def test_feet_in_the_open_are_rounded_and_not_bridged(relaxes):
    """Between blocks far apart much touches nothing, all of it in corners; none of it is told."""
    formed, run, _ = over_blocks(WIDE_MM, relaxes=relaxes)

    assert (run.touches == FREE).sum() > 500
    assert formed.reach.rounds.sum() > 500
    assert formed.bridges == ()
    assert not formed.reach.bridged.any()
    assert "formed-bridges" not in [finding.code for finding in check_formed(formed)]


@pytest.mark.parametrize("gap_mm", [NARROW_MM, 4.0])
def test_a_narrow_deep_gap_is_bridged(gap_mm):
    """Between blocks close together the sheet spans, in the gap, and that is a finding."""
    formed, run, relief = over_blocks(gap_mm)
    x, y, _ = run.points_mm[formed.reach.bridged].T

    assert formed.bridges
    worst = formed.bridges[0]
    assert abs(worst.where_mm[0]) < 1.0
    assert worst.gap_mm > worst.limit_mm
    between = (np.abs(x) < gap_mm / 2 + 1) & (np.abs(y) < 10)
    assert between.sum() > 20
    hangs = height_over_mm(run.points_mm, relief)[formed.reach.bridged][between]
    assert hangs.max() > TALL_MM / 3
    assert "formed-bridges" in [finding.code for finding in check_formed(formed)]


def test_sheet_that_relaxes_reaches_farther():
    """Less of it hangs free than of rubber, and its corners are sharper."""
    (soft, soft_run, _), (firm, firm_run, _) = (
        over_blocks(WIDE_MM, relaxes=relaxes) for relaxes in (True, False)
    )

    assert soft.untouched_mm2 < 0.7 * firm.untouched_mm2
    assert soft_run.spec.drawn_per_mm == pytest.approx(firm_run.spec.pressure_per_mm, rel=1e-12)
    assert soft.corners.radius_mm < 0.7 * firm.corners.radius_mm
    # The bound that does not relax, told of the run that does, is what the other run comes to.
    assert soft.corners.most_mm == pytest.approx(firm.corners.radius_mm, rel=0.1)
    assert firm.corners.least_mm == firm.corners.radius_mm == firm.corners.most_mm


def test_the_radius_told_is_the_radius_of_the_sheet():
    """At the foot in the middle of the wide gap, far from the ends: the sheet's own gap to 25 %."""
    formed, run, _ = over_blocks(WIDE_MM)
    x, y, z = run.points_mm.T
    foot = (np.abs(y) < 8) & (run.touches == FREE) & (np.abs(x) < WIDE_MM / 2)
    across, up = WIDE_MM / 2 - np.abs(x[foot]), z[foot]

    from_edge_mm = np.hypot(across, up).min()
    told = corner_radii_mm(run)[foot[run.mesh.triangles].any(axis=1)].mean()
    # Between wall and ground there are 94 degrees.
    angle = np.radians(94) / 2
    assert from_edge_mm / (1 / np.sin(angle) - 1) == pytest.approx(told, rel=0.25)
    assert formed.corners.least_mm < told < formed.corners.most_mm


def test_no_corner_is_farther_from_a_face_than_told():
    """On a quarter of a circle the nearer of two faces is 0.29 of the radius away, at most."""
    angles = np.linspace(0, np.pi / 2, 1001)
    nearer = np.minimum(1 - np.cos(angles), 1 - np.sin(angles))

    assert nearer.max() == pytest.approx(CORNER_GAP, rel=1e-6)


def test_the_corners_are_told_with_their_band():
    """A decimal and a band in the summary, all numbers for programs, and why below the table."""
    formed, _, _ = over_blocks(WIDE_MM)
    corners, numbers = formed.corners, forming_numbers(formed)

    assert corners.least_mm < corners.radius_mm < corners.most_mm
    assert corner_text(corners) == (
        f"radius about {corners.radius_mm:.1f} mm where the mold is sharp "
        f"({corners.least_mm:.1f} to {corners.most_mm:.1f} mm)"
    )
    assert numbers["formed_corner_radius_mm"] == corners.radius_mm
    assert numbers["formed_corner_least_mm"] == corners.least_mm
    assert numbers["formed_corner_most_mm"] == corners.most_mm
    (table,) = forming_tables(formed, (), None)
    assert "mean relaxation time of 8 s" in table.note
    assert "from memory" in table.note


def test_a_plastic_of_which_nothing_is_known_says_so():
    """The table and the finding say that the sheet was taken not to relax."""
    formed, _, _ = over_blocks(4.0, relaxes=False)

    (table,) = forming_tables(formed, (), None)
    assert "Nobody says how fast it relaxes" in table.note
    (finding,) = [f for f in check_formed(formed) if f.code == "formed-bridges"]
    assert "nobody says how fast the plastic relaxes" in finding.basis


def test_a_flat_sheet_lies_in_all_its_corners():
    """Where everything rests as the full vacuum comes no radius is told."""
    mesh = grid()
    run = forming_run(mesh, np.column_stack([mesh.points_mm, np.zeros(len(mesh.points_mm))]))

    assert corner_text(None) == "the sheet lies in all of them"
    assert np.isfinite(pressure_at_arrival(run)).all()
    for radius_mm in some(corner_radii_mm(run)):
        assert radius_mm == pytest.approx(0.0, abs=1e-9)
    assert sheet().gauge_mm == GAUGE_MM
