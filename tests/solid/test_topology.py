"""Edges, pieces, orientation and Euler number of meshes."""

from collections import Counter

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.check_solids import box, flipped, frustum, joined, lathe, loose, mesh, moved
from support.some import some

from moldgen.solid.area_kernel import area_vectors
from moldgen.solid.mesh import Mesh
from moldgen.solid.topology import degenerate, groups, topology_of, welded
from moldgen.solid.weld_kernel import numbered

TORUS = lathe([(12, 0), (15, 3), (12, 6), (9, 3)])
TETRA = mesh([(0, 0, 0), (1, 0, 0), (0, 1, 0), (0, 0, 1)],
             [(0, 2, 1), (0, 1, 3), (1, 2, 3), (0, 3, 2)])  # fmt: skip


def without(solid, *triangles):
    """Return the mesh with some triangles taken out."""
    return Mesh(solid.points_mm, np.delete(solid.triangles, triangles, axis=0))


@pytest.mark.parametrize(
    ("solid", "euler"), [(TETRA, 2), (box(1, 2, 3), 2), (frustum(3, 2, 4), 2), (TORUS, 0)]
)
def test_euler_number_of_balls_and_rings(solid, euler):
    """A ball has Euler number 2, a ring 0, and both are closed and of one piece."""
    found = topology_of(solid)

    assert (found.euler, found.closed, found.n_pieces) == (euler, True, 1)
    assert found.edges.n_edges == 3 * len(solid.triangles) / 2


def test_volume_of_a_tetrahedron():
    """The unit tetrahedron holds a sixth."""
    assert topology_of(TETRA).volumes_mm3 == pytest.approx([1 / 6], rel=1e-12)


def test_inside_out_has_negative_volume():
    """The sign of the volume tells inside from outside; the mesh is still closed."""
    found = topology_of(flipped(box(1, 2, 3)))

    assert found.closed
    assert found.volumes_mm3 == pytest.approx([-6.0])


def test_a_mesh_that_shares_its_points_is_its_own_weld():
    """Nothing is copied, and the edges found once stay with the mesh."""
    solid = box(4, 5, 6)

    assert welded(solid) is solid
    assert solid.edges is solid.edges
    assert topology_of(solid).edges is solid.edges


def test_loose_triangles_are_welded():
    """Triangles that repeat their corners are the same solid after welding."""
    solid = welded(loose(box(4, 5, 6)))

    assert len(solid.points_mm) == 8
    assert topology_of(solid).closed
    np.testing.assert_array_equal(solid.corners_mm, box(4, 5, 6).corners_mm)


def test_minus_zero_is_the_same_place():
    """Minus zero and zero are welded; a millionth apart is not."""
    solid = loose(box(1, 1, 1))
    points = solid.points_mm.copy()
    points[::2] *= -1
    points[::2] *= -1
    signed = Mesh(np.where(points == 0, -points, points), solid.triangles)
    points[0, 0] += 1e-6

    assert len(welded(signed).points_mm) == 8
    assert len(welded(Mesh(points, solid.triangles)).points_mm) == 9


def test_welding_drops_unused_points():
    """A point of no triangle does not count."""
    solid = Mesh(np.vstack([TETRA.points_mm, [[9, 9, 9]]]), TETRA.triangles)

    assert topology_of(welded(solid)).euler == 2


def test_open_box_shows_its_rim():
    """A box without its lid has the four edges of the lid open, at their place."""
    solid = without(box(1, 2, 3), 2, 3)
    found = topology_of(solid)

    assert not found.closed
    assert len(found.edges.open) == 4
    assert (solid.points_mm[found.edges.open][:, :, 2] == 3).all()
    assert not len(found.edges.crowded) + len(found.edges.clashing)


def test_one_turned_triangle_clashes_with_its_neighbors():
    """A triangle turned round runs its three edges the wrong way."""
    solid = box(1, 2, 3)
    triangles = solid.triangles.copy()
    triangles[5] = triangles[5, ::-1]
    found = topology_of(Mesh(solid.points_mm, triangles))

    assert not found.closed
    assert len(found.edges.clashing) == 3
    assert found.n_pieces == 1


def test_boxes_touching_along_an_edge_are_one_crowded_piece():
    """Four triangles at one edge are crowded, and hold the two boxes together."""
    found = topology_of(welded(joined(box(1, 1, 1), box(1, 1, 1, (1, 1, 0)))))

    assert len(found.edges.crowded) == 1
    assert found.n_pieces == 1
    assert not found.closed


def test_boxes_apart_or_touching_in_a_point_are_two_pieces():
    """Only edges join; a shared point takes one from the Euler number."""
    apart = topology_of(welded(joined(box(1, 1, 1), box(1, 1, 2, (3, 0, 0)))))
    touching = topology_of(welded(joined(box(1, 1, 1), box(1, 1, 1, (1, 1, 1)))))

    assert (apart.n_pieces, apart.euler) == (2, 4)
    assert apart.volumes_mm3 == pytest.approx([1, 2])
    assert (touching.n_pieces, touching.euler, touching.closed) == (2, 3, True)


def test_pieces_keep_the_order_of_their_triangles():
    """The first triangle belongs to piece 0."""
    found = topology_of(joined(box(1, 1, 1), TORUS))

    assert found.piece[0] == 0
    assert found.piece[-1] == 1
    assert list(np.bincount(found.piece)) == [12, len(TORUS.triangles)]


def test_triangles_without_area_are_found():
    """A corner used twice, and three corners on a line, have no area."""
    solid = mesh([(0, 0, 0), (1, 0, 0), (2, 0, 0), (0, 1, 0)], [(0, 1, 3), (0, 0, 1), (0, 1, 2)])

    assert list(degenerate(solid)) == [1, 2]


def test_low_triangle_with_area_is_not_degenerate():
    """A needle a micrometer high still has area."""
    assert not len(degenerate(mesh([(0, 0, 0), (100, 0, 0), (50, 1e-6, 0)], [(0, 1, 2)])))


def test_empty_mesh_has_nothing():
    """No triangles, no edges, no pieces."""
    found = topology_of(Mesh(np.empty((0, 3)), np.empty((0, 3), np.int32)))

    assert (found.n_pieces, found.edges.n_edges, found.euler) == (0, 0, 0)


def test_edges_agree_with_a_plain_count():
    """Pairing by sorting gives what a plain count of directed edges gives."""
    rng = np.random.default_rng(5)
    solid = mesh(rng.random((9, 3)), [rng.permutation(9)[:3] for _ in range(30)])
    edges = solid.edges
    directed = Counter((int(t[k]), int(t[(k + 1) % 3])) for t in solid.triangles for k in range(3))
    both = Counter((min(edge), max(edge)) for edge in directed.elements())

    assert edges.n_edges == len(both)
    assert len(edges.open) == sum(n == 1 for n in both.values())
    assert len(edges.crowded) == sum(n > 2 for n in both.values())
    fair = [e for e, n in both.items() if n == 2 and directed[e] == 1]
    assert {tuple(sorted(map(int, pair))) for pair in edges.points} == set(fair)
    assert len(edges.clashing) == sum(n == 2 for n in both.values()) - len(fair)


def test_shared_edges_run_as_the_first_triangle_runs_them():
    """The points of a pair are in the order of its first triangle, reversed in its second."""
    edges = TORUS.edges
    for (a, b), (first, second) in zip(some(edges.points), edges.triangles, strict=True):
        runs = [[tuple(np.roll(TORUS.triangles[t], -k)[:2]) for k in range(3)]
                for t in (first, second)]  # fmt: skip
        assert (a, b) in runs[0]
        assert (b, a) in runs[1]


def test_groups_are_joined_by_chains():
    """Things joined by a chain of pairs are one group; numbers rise from 0."""
    assert list(groups(6, np.array([(4, 5), (0, 2), (2, 4)]))) == [0, 1, 0, 2, 0, 0]


@settings(max_examples=25, deadline=None)
@given(st.floats(0, 360), st.floats(-50, 50), st.floats(0.1, 20))
def test_moving_changes_no_topology_and_scales_volume(turn_deg, by, scale):
    """Turned, moved and scaled, a ring stays a ring; its volume goes with the cube."""
    before = topology_of(TORUS)
    after = topology_of(welded(moved(TORUS, turn_deg=turn_deg, by=(by, -by, 1), scale=scale)))

    assert (after.euler, after.closed, after.n_pieces) == (0, True, 1)
    assert after.volumes_mm3 == pytest.approx(scale**3 * before.volumes_mm3, rel=1e-9)


@given(seed=st.integers(0, 10_000), span=st.integers(1, 40))
@settings(max_examples=30)
def test_places_are_numbered_as_they_come_up(seed, span):
    """Thousands of corners on a small lattice: the same places as a dictionary tells."""
    rng = np.random.default_rng(seed)
    points = rng.integers(-span, span, (3000, 3)).astype(np.float64) * 0.25
    corners = rng.integers(0, 3000, 6000).astype(np.int32)
    known: dict[tuple[float, ...], int] = {}
    plain = [known.setdefault(tuple(points[i]), len(known)) for i in corners]

    numbers, firsts = numbered(points, corners)
    assert numbers.tolist() == plain
    np.testing.assert_array_equal(points[firsts], np.array(list(known)))


def test_a_table_grows_as_it_fills():
    """A grid of points, each used once: more than the table was made for."""
    points = np.random.default_rng(3).normal(size=(5000, 3))

    numbers, firsts = numbered(points, np.arange(5000, dtype=np.int32))
    np.testing.assert_array_equal(numbers, np.arange(5000))
    np.testing.assert_array_equal(firsts, np.arange(5000))


@given(seed=st.integers(0, 10_000), n_points=st.integers(3, 12))
@settings(max_examples=40)
def test_edges_are_those_of_a_plain_count(seed, n_points):
    """Random triangles, crowded and contrary: every edge as a dictionary of sides tells it."""
    rng = np.random.default_rng(seed)
    triangles = rng.integers(0, n_points, (25, 3)).astype(np.int32)
    sides: dict[tuple[int, int], list[tuple[int, tuple[int, int]]]] = {}
    for t, corner in enumerate(triangles.tolist()):
        if len(set(corner)) == 3:
            for c in range(3):
                way = (corner[c], corner[(c + 1) % 3])
                sides.setdefault((min(way), max(way)), []).append((t, way))
    plain = [sides[key] for key in sorted(sides)]
    two = [side for side in plain if len(side) == 2]
    shared = [side for side in two if side[0][1] != side[1][1]]
    found = Mesh(rng.normal(size=(n_points, 3)), triangles).edges

    assert found.n_edges == len(plain)
    assert found.points.tolist() == [list(side[0][1]) for side in shared]
    assert found.triangles.tolist() == [[side[0][0], side[1][0]] for side in shared]
    assert found.open.tolist() == [list(side[0][1]) for side in plain if len(side) == 1]
    assert found.crowded.tolist() == [list(side[0][1]) for side in plain if len(side) > 2]
    assert found.clashing.tolist() == [list(side[0][1]) for side in two if side[0][1] == side[1][1]]


def test_many_area_vectors_are_the_same_numbers():
    """The compiled loop gives what numpy's cross product gives, to the last bit."""
    rng = np.random.default_rng(5)
    points = rng.normal(size=(400, 3)) * 100
    triangles = rng.integers(0, 400, (5000, 3)).astype(np.int32)
    a, b, c = (points[triangles[:, i]] for i in range(3))

    np.testing.assert_array_equal(area_vectors(points, triangles), 0.5 * np.cross(b - a, c - a))
