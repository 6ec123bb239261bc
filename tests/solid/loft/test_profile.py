"""The section of a wall against plane geometry."""

from math import radians, sin, tan

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldgen.errors import SpecError
from moldgen.solid.loft.profile import Profile, fillet_room_mm


@st.composite
def profiles(draw):
    height = draw(st.floats(0.5, 80))
    draft = draw(st.floats(0, 45))
    room = fillet_room_mm(height, draft)
    root = draw(st.floats(0, 0.6)) * room
    rim = draw(st.floats(0, 0.999)) * (room - root)
    read = draw(st.sampled_from([0.0, height]))
    return Profile(
        height_mm=height, draft_deg=draft, base_radius_mm=root, top_radius_mm=rim, read_mm=read
    )


def test_sharp_wall_runs_from_the_outline():
    """Without fillets a 10 mm wall at 45 degrees read at the foot insets its top by 10 mm."""
    wall = Profile(height_mm=10, draft_deg=45, base_radius_mm=0, top_radius_mm=0, read_mm=0)
    assert (wall.foot_mm, wall.inset_mm) == (0.0, pytest.approx(10.0))


def test_upright_wall_fillet_reaches_its_own_radius():
    """At no draft a base radius of 3 mm starts 3 mm outside, a top radius of 2 mm ends 2 inside."""
    wall = Profile(height_mm=10, draft_deg=0, base_radius_mm=3, top_radius_mm=2, read_mm=10)
    assert wall.foot_mm == pytest.approx(-3.0)
    assert wall.inset_mm == pytest.approx(2.0)


def test_tangent_length_of_a_drafted_rim():
    """The rim ends r tan((90 - draft)/2) beyond the sharp edge (tangents to a circle)."""
    wall = Profile(height_mm=12, draft_deg=5, base_radius_mm=1.5, top_radius_mm=1, read_mm=12)
    assert wall.inset_mm == pytest.approx(tan(radians(42.5)))
    assert wall.foot_mm == pytest.approx(-12 * tan(radians(5)) - 1.5 * tan(radians(42.5)))


@given(profiles())
@settings(max_examples=60, deadline=None)
def test_curve_rises_and_never_overhangs_its_draft(wall):
    """Every chord runs inward and upward, and leans at least as much as the straight wall."""
    d, z = wall.stations()
    assert (np.diff(z) >= -1e-12).all()
    leans = np.degrees(np.arctan2(np.diff(d), np.diff(z)))
    assert leans.min() >= wall.draft_deg - 1e-6
    assert (z[0], z[-1]) == (0.0, pytest.approx(wall.height_mm))
    assert d[0] == pytest.approx(wall.foot_mm)
    assert d[-1] == pytest.approx(wall.inset_mm)


@given(profiles(), st.sampled_from([0.05, 0.01, 0.002]))
@settings(max_examples=40, deadline=None)
def test_chords_stay_within_their_tolerance(wall, chord_mm):
    """The coarse polyline leaves the true arcs by no more than the chord tolerance."""
    d, z = wall.stations(chord_mm=chord_mm)
    fine_d, fine_z = wall.stations(
        chord_mm=1e-6 * max(1.0, wall.base_radius_mm + wall.top_radius_mm)
    )
    a = np.column_stack([d, z])
    points = np.column_stack([fine_d, fine_z])
    along = np.diff(a, axis=0)
    share = np.clip(
        np.einsum("ijk,jk->ij", points[:, None] - a[:-1], along) / (along**2).sum(1), 0, 1
    )
    nearest = a[:-1] + share[..., None] * along
    gaps = np.linalg.norm(points[:, None] - nearest, axis=2).min(axis=1)
    assert gaps.max() <= chord_mm * 1.01 + 1e-6


def test_room_for_fillets_is_exactly_used_up():
    """Two fillets that fill the wall leave no straight part; a hair more is refused."""
    room = fillet_room_mm(6.0, 10.0)
    assert room == pytest.approx(6.0 / (1 - sin(radians(10))))
    wall = Profile(
        height_mm=6, draft_deg=10, base_radius_mm=room / 2, top_radius_mm=room / 2, read_mm=0
    )
    d, z = wall.stations()
    middle = np.hypot(np.diff(d), np.diff(z))
    assert middle.max() < 1.0
    with pytest.raises(
        SpecError, match=r"^top and base radius together must be at most 7.26 mm on a wall"
    ):
        Profile(height_mm=6, draft_deg=10, base_radius_mm=room, top_radius_mm=0.1, read_mm=0)


@given(profiles())
@settings(max_examples=40, deadline=None)
def test_height_at_inverts_the_stations(wall):
    """Looking up the height at the two ends gives floor and top."""
    assert wall.height_at_mm(wall.foot_mm - 1) == pytest.approx(0.0, abs=1e-9)
    assert wall.height_at_mm(wall.inset_mm + 1) == pytest.approx(wall.height_mm)


@pytest.mark.parametrize(("over", "fits"), [(0.0, True), (1e-3, False)])
def test_both_fillets_together_fill_the_wall_and_no_more(over, fits):
    """Radii a thousandth too large together are refused."""
    most = fillet_room_mm(10.0, 5.0)
    wall = {"height_mm": 10.0, "draft_deg": 5.0, "base_radius_mm": most / 2, "read_mm": 0.0}
    top = most / 2 * (1 + 2 * over)
    if fits:
        assert Profile(top_radius_mm=top, **wall).top_radius_mm == top
        return
    with pytest.raises(SpecError, match="top and base radius together"):
        Profile(top_radius_mm=top, **wall)
