"""How sheet and mold meet: by brute force, along the way, at a rim, and left like right."""

from functools import cache
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.membrane_shapes import block, drawn_out, quads, turned
from support.some import some

from moldgen.physics.membrane.form import form_sheet
from moldgen.physics.membrane.run import ON_MOLD, FormingSpec
from moldgen.physics.membrane.sheet_mesh import build_sheet_mesh
from moldgen.physics.membrane.touch import MoldFaces, buckets_of
from moldgen.physics.membrane.touch_kernel import first_hit, heights_under

N_SAMPLES = 4000
RIM, HALF, TALL = 1.0, 6.0, 8.0
SHARES = np.array([[i, j, 12 - i - j] for i in range(13) for j in range(13 - i)]) / 12


def plain_heights(places, mold):
    """Return the height under every place, triangle by triangle."""
    heights = np.full(len(places), mold.floor_mm)
    for a, b, c in mold.corners_mm:
        u, v = b[:2] - a[:2], c[:2] - a[:2]
        twice = u[0] * v[1] - u[1] * v[0]
        if abs(twice) < 1e-12:
            continue
        w = places - a[:2]
        s = (w[:, 0] * v[1] - w[:, 1] * v[0]) / twice
        t = (u[0] * w[:, 1] - u[1] * w[:, 0]) / twice
        over = (s >= -1e-9) & (t >= -1e-9) & (s + t <= 1 + 1e-9)
        height = a[2] + s * (b[2] - a[2]) + t * (c[2] - a[2])
        heights = np.where(over, np.maximum(heights, height), heights)
    return heights


def landscape(seed):
    """Return hills with upright blocks standing among them, and the seed's own numbers."""
    rng = np.random.default_rng(seed)
    x = np.linspace(-10, 10, 9)
    grid = np.stack([*np.meshgrid(x, x), np.zeros((9, 9))], axis=2)
    grid[1:-1, 1:-1, 2] = rng.uniform(0, 4, (7, 7))
    faces = [quads(grid)]
    for _ in range(3):
        left, low = rng.uniform(-9, 5, 2)
        wide, deep, tall = rng.uniform(0.5, 4, 3)
        faces.append(block((left, left + wide), (low, low + deep), (0, 3 + tall)))
    return MoldFaces(corners_mm=np.concatenate(faces)), rng


@given(seed=st.integers(0, 10_000))
@settings(max_examples=20)
def test_heights_are_those_of_brute_force(seed):
    """Over hills and blocks, on and off the mold: to a billionth."""
    mold, rng = landscape(seed)
    places = rng.uniform(-12, 12, (300, 2))

    found = heights_under(places, mold.top_mm + 1, buckets_of(mold))
    np.testing.assert_allclose(found, plain_heights(places, mold), atol=1e-5)


@given(seed=st.integers(0, 10_000))
@settings(max_examples=20)
def test_every_place_of_a_face_is_found_in_its_cell(seed):
    """Upright, leaning and overhanging faces alone in the open: listed, and not above the top."""
    rng = np.random.default_rng(seed)
    corners = rng.uniform(0, 10, (30, 3, 3))
    corners[::3, 2, :2] = corners[::3, :2, :2].mean(axis=1)  # upright
    buckets = buckets_of(MoldFaces(corners_mm=corners))
    corner, per_mm = buckets.frame[:2], buckets.frame[4]
    for e, face in enumerate(some(corners)):
        places = rng.dirichlet([1, 1, 1], 200) @ face
        for j, i in some({tuple(cell) for cell in ((places[:, :2] - corner) * per_mm).astype(int)}):
            cell = i * buckets.tops_mm.shape[1] + j
            listed = buckets.members[buckets.starts[cell] : buckets.starts[cell + 1]]
            assert e in listed
        columns, rows = ((places[:, :2] - corner) * per_mm).astype(int).T
        assert (buckets.tops_mm[rows, columns] >= places[:, 2] - 1e-9).all()


def test_faces_that_are_not_felt_are_left_out():
    """A face without area, and one that does not rise above the floor."""
    flat = np.array([[[0, 0, 1], [1, 1, 1], [2, 2, 1]], [[0, 0, 0], [4, 0, 0], [0, 4, -1.0]]])
    mold = MoldFaces(corners_mm=np.concatenate([flat, [[[0, 0, 0], [4, 0, 0], [0, 4, 2]]]]))

    assert len(buckets_of(mold).planes) == 1


@given(seed=st.integers(0, 10_000))
@settings(max_examples=20)
def test_a_path_meets_the_mold_where_dense_sampling_does(seed):
    """Long slanting paths from above: the first sample below the surface, to two samples."""
    mold, rng = landscape(seed)
    planes, starts, members, tops_mm, _, frame = buckets_of(mold)
    faces, shares = (planes, starts, members, tops_mm, frame), np.linspace(0, 1, N_SAMPLES + 1)
    for _ in range(10):
        p = np.array([*rng.uniform(-14, 14, 2), mold.top_mm + rng.uniform(0.1, 2)])
        q = np.array([*rng.uniform(-12, 12, 2), rng.uniform(-1, 3)])
        way = p + shares[:, None] * (q - p)
        under = way[:, 2] < plain_heights(np.ascontiguousarray(way[:, :2]), mold)
        share, on_floor = first_hit(*p, *q, *faces)

        assert (share <= 1) == under.any()
        if under.any():
            assert shares[np.argmax(under)] == pytest.approx(share, abs=2.01 / N_SAMPLES)
            place = p + share * (q - p)
            assert on_floor == (abs(place[2]) < 1e-9)


TOWER, BANK_TO, POST_AT = ((-8, -4), (-3, 3), (-6, -0.4)), -11.0, 5.0


@cache
def drawn_beside_a_tower():
    """Return the run into a pit: a slot between its bank and a tower, a ring around a tall post.

    Everything lies below the clamp, so that frames tell the whole way of every point.
    """
    r, z = (
        [0.0, 1.0, 1.0 + 1e-3, 2.2, 2.2 + 1e-3, 3.2, 3.2 + 1e-3],
        [-0.5, -0.5, -6, -6, -2, -2, -6],
    )
    ring = turned(np.column_stack([r, z]), n_around=96).corners_mm + np.array([POST_AT, 0, 0])
    sides = [(-16, BANK_TO, -14, 14), (12, 16, -14, 14), (-16, 16, -14, -10), (-16, 16, 10, 14)]
    banks = [block((a, b), (c, d), (-6, 0)) for a, b, c, d in sides]
    mold = MoldFaces(
        corners_mm=np.concatenate([ring, block(*TOWER), *banks]), floor_mm=-6.0, clamp_mm=0.0
    )
    mesh = build_sheet_mesh([(-14, -12), (14, -12), (14, 12), (-14, 12)], size_mm=0.8)
    return form_sheet(mesh, mold, spec=FormingSpec(pressure_per_mm=3.0, pace=6))


def buried(places):
    """Return how deep each place lies in bank, tower, post or ring; less than 0 is outside."""
    x, y, z = np.moveaxis(places, -1, 0)
    r = np.hypot(x - POST_AT, y)
    (left, right), (near, far), (_, top) = TOWER
    tower = np.min([x - left, right - x, y - near, far - y, top - z], axis=0)
    bank = np.minimum(np.max([BANK_TO - x, x - 12, np.abs(y) - 10], axis=0), -z)
    post = np.minimum(1.0 - r, -0.5 - z)
    ring = np.min([r - 2.2, 3.2 - r, -2.0 - z], axis=0)
    return np.max([tower, bank, post, ring, -6.0 - z], axis=0)


def test_no_point_travels_through_the_mold():
    """From frame to frame no straight way leads through bank, tower, post or ring.

    The true way between two frames is bent, so that its chord may clip an edge, by no more than an
    eighth of its length; both its ends are outside.
    """
    frames = drawn_beside_a_tower().frames.points_mm.astype(float)
    shares = np.linspace(0, 1, 17)[:, None, None]

    assert len(frames) > 20
    assert buried(frames).max() < 1e-2
    for before, after in pairwise(frames):
        length = np.linalg.norm(after - before, axis=1)
        moved = length > 1e-3
        ways = before[moved] + shares * (after - before)[moved]
        assert (buried(ways).max(axis=0) - length[moved] / 8).max(initial=-1) < 1e-2


def test_a_point_that_jumps_would_be_seen():
    """Off the tower's foot straight onto its top, or through the bank: told at once."""
    shares = np.linspace(0, 1, 17)[:, None]
    for start, end in (((-8.1, 0, -5), (-7, 0, -0.4)), ((-11.5, 0, 0), (-10.9, 0, -3))):
        way = np.array(start) + shares * np.subtract(end, start)
        assert buried(way).max() > 0.2


def test_what_lies_on_a_top_came_from_above():
    """Whoever ends on tower or post was over it, and higher, in the frame before it touched."""
    run = drawn_beside_a_tower()
    frames = run.frames.points_mm.astype(float)
    tops = [
        (lambda p: (np.abs(p[..., 0] + 6) < 2) & (np.abs(p[..., 1]) < 3), -0.4),
        (lambda p: np.hypot(p[..., 0] - POST_AT, p[..., 1]) < 0.99, -0.5),
    ]
    for over, top in tops:
        lies = (run.touches == ON_MOLD) & over(run.points_mm)
        lies &= np.abs(run.points_mm[:, 2] - top) < 1e-6
        assert lies.sum() > 3
        # Never below the top before it lay on it.
        assert frames[:, lies, 2].min() > top - 1e-5


def test_what_lies_in_a_slot_came_through_its_mouth():
    """Points low between bank and tower never were low over either."""
    run = drawn_beside_a_tower()
    x, y, z = run.points_mm.T
    slot = (x > BANK_TO + 0.1) & (x < -8.1) & (z < -0.8) & (np.abs(y) < 2.5)
    way = run.frames.points_mm[:, slot].astype(float)

    assert slot.sum() > 3
    assert buried(way).max() < 1e-2


def test_left_is_like_right():
    """Two blocks and a bar, mirrored about x = 0: thickness to a millionth, and the same touch."""
    faces = [
        block((-14, -6), (-8, 5), (0, 8)),
        block((6, 14), (-8, 5), (0, 8)),
        block((-3, 3), (8, 12), (0, 5)),
    ]
    mesh = build_sheet_mesh([(-25, -20), (25, -20), (25, 20), (-25, 20)], size_mm=1.5)
    run = form_sheet(mesh, MoldFaces(corners_mm=np.concatenate(faces)))
    x, y = np.round(mesh.points_mm, 6).T
    here, there = np.lexsort((x, y)), np.lexsort((-x, y))

    np.testing.assert_allclose(mesh.points_mm[here], mesh.points_mm[there] * [-1, 1], atol=1e-9)
    thickness = run.thickness_at_points
    assert np.ptp(thickness) > 0.4
    np.testing.assert_allclose(thickness[here], thickness[there], rtol=1e-6)
    np.testing.assert_array_equal(run.touches[here], run.touches[there])
    shifted = np.roll(thickness, 1)
    assert np.abs(shifted[here] / shifted[there] - 1).max() > 1e-3


def rounded():
    """Return half the profile of a block with a rounded rim, from the middle out."""
    turn = np.linspace(0, np.pi / 2, 41)
    rim = np.column_stack([HALF + RIM * (np.sin(turn) - 1), TALL + RIM * (np.cos(turn) - 1)])
    return np.concatenate([[[0, TALL]], rim, [[HALF, 0]]])


def cut_into(places):
    """Return how deep each place (way from the middle, height) lies in that block; 0 outside."""
    out, up = places[..., 0] - HALF + RIM, places[..., 1] - TALL + RIM
    flat = np.minimum(RIM - out, RIM - up)
    round_off = RIM - np.hypot(out, up)
    return np.maximum(np.where((out > 0) & (up > 0), round_off, flat), 0.0)


def cuts(run, *, is_round):
    """Return longest side and depth of cut of every triangle near the rim."""
    corners = run.points_mm[run.mesh.triangles]
    near = (corners[:, :, 2].max(axis=1) > TALL - 3) & (np.abs(corners[:, :, 1]).max(axis=1) < 10)
    corners = corners[near]
    places = np.einsum("kc,tcd->tkd", SHARES, corners)
    out = np.hypot(places[..., 0], places[..., 1]) if is_round else np.abs(places[..., 0])
    depth = cut_into(np.stack([out, places[..., 2]], axis=2)).max(axis=1)
    sides = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2)
    return sides.max(axis=1), depth


@cache
def over_a_rim(size_mm, *, is_round):
    """Return the sheet over a rounded block, drawn out or turned."""
    if is_round:
        mold = turned(rounded(), n_around=240)
    else:
        half = rounded()
        mold = drawn_out(np.concatenate([half[:0:-1] * [-1, 1], half[1:]]), length=36)
    ring = [(-14, -14), (14, -14), (14, 14), (-14, 14)] if is_round else RECTANGLE
    return form_sheet(build_sheet_mesh(ring, size_mm=size_mm), mold)


RECTANGLE = [(-14, -20), (14, -20), (14, 20), (-14, 20)]


def chord_cut(side, *, sag=4):
    """Return how deep a side cuts a rim: derived.

    A rim is nowhere rounder than a ball of its radius that lies inside it. Where the sheet is
    deepest in it, its plane cuts that ball in a circle that holds no corner. Across a straight rim
    the chord is what matters, and an end is within half a side (`sag` 4); in any triangle a corner
    is within the longest side over the root of 3 (`sag` 3). Beyond that, the chord of the two flat
    faces less the rounding.
    """
    ball = RIM - np.sqrt(np.maximum(RIM**2 - side**2 / sag, 0))
    beyond = side / 2 - RIM * (np.sqrt(2) - 1)
    return np.where(side < np.sqrt(2) * RIM, ball, np.maximum(ball, beyond))


@pytest.mark.parametrize("size_mm", [1.0, 0.7])
def test_a_straight_rim_is_cut_no_deeper_than_a_chord(size_mm):
    """Side squared over eight radii, as far as the side is short; and the bound is nearly met."""
    side, depth = cuts(over_a_rim(size_mm, is_round=False), is_round=False)
    bound = chord_cut(side)

    assert (depth - bound).max() < 1e-3
    assert (depth / bound).max() > 0.7


@pytest.mark.parametrize("size_mm", [1.2, 0.8])
def test_a_round_rim_is_cut_no_deeper_than_a_triangle(size_mm):
    """Side squared over six radii, where the longest side is short enough to tell."""
    side, depth = cuts(over_a_rim(size_mm, is_round=True), is_round=True)
    short = side < np.sqrt(3) * RIM

    assert short.mean() > 0.5
    assert (depth - chord_cut(side, sag=3))[short].max() < 1e-3
    assert depth.max() > 0.02


def test_a_finer_sheet_cuts_less():
    """Sides of seven tenths halve the cut."""
    coarse, fine = (cuts(over_a_rim(s, is_round=False), is_round=False)[1] for s in (1.0, 0.7))

    assert np.quantile(fine, 0.99) < 0.7 * np.quantile(coarse, 0.99)


def test_half_the_bound_would_not_hold():
    """A bound of side squared over sixteen radii is broken."""
    side, depth = cuts(over_a_rim(1.0, is_round=False), is_round=False)

    assert (depth - 0.5 * chord_cut(side)).max() > 0.01
