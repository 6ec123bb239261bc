"""What is said of meshes that are not one closed solid."""

import numpy as np
import pytest
from support.check_solids import box, case, codes, flipped, joined, lathe, loose, mesh

from moldgen.finding import Severity
from moldgen.mold.checks.closed import check_closed
from moldgen.solid.edges import paired_edges
from moldgen.solid.mesh import Mesh


def test_closed_solid_gives_nothing():
    """A box and a ring, shared points or loose, are in order."""
    assert check_closed(case(box(1, 2, 3), loose(lathe([(4, 0), (8, 0), (6, 3)])))) == ()


def test_open_box_is_told_with_its_place():
    """A box without lid has four open edges, the first on its rim."""
    solid = box(10, 20, 30)
    (finding,) = check_closed(case(Mesh(solid.points_mm, np.delete(solid.triangles, [2, 3], 0))))

    assert (finding.code, finding.severity) == ("mesh-open", Severity.STOP)
    assert finding.measured == 4
    assert finding.where_mm[2] == 30
    assert finding.subject == "A"


def test_inside_out_body_stops():
    """A body turned inside out is told, and only that."""
    (finding,) = check_closed(case(box(1, 2, 3), flipped(box(1, 2, 3))))

    assert (finding.code, finding.severity, finding.subject) == (
        "mesh-inside-out",
        Severity.STOP,
        "B",
    )


def test_hollow_and_pieces_are_told():
    """A box in a box, inside out, is a hollow; two boxes in one body are two pieces."""
    hollow = joined(box(9, 9, 9), flipped(box(3, 3, 3, (3, 3, 3))))
    apart = joined(box(1, 1, 1), box(2, 2, 2, (5, 0, 0)))
    first, second = check_closed(case(hollow, apart))

    assert (first.code, first.where_mm) == ("mesh-hollow", pytest.approx((4.5, 4.5, 4.5)))
    assert (second.code, second.severity) == ("mesh-pieces", Severity.NOTE)
    assert second.where_mm == pytest.approx((0.5, 0.5, 0.5))


def test_self_touching_body_is_a_caution():
    """Two boxes along one edge touch; the edge is named."""
    (finding,) = check_closed(case(joined(box(1, 1, 1), box(1, 1, 1, (1, 1, 0)))))

    assert (finding.code, finding.severity) == ("mesh-touching", Severity.CAUTION)
    assert finding.where_mm == (1, 1, 0.5)


def test_clashing_triangle_stops():
    """A triangle turned round makes three edges clash."""
    solid = box(1, 2, 3)
    triangles = solid.triangles.copy()
    triangles[5] = triangles[5, ::-1]

    (finding,) = check_closed(case(Mesh(solid.points_mm, triangles)))

    assert (finding.code, finding.measured) == ("mesh-clashing", 3)


def test_triangle_without_area_is_a_note():
    """A box with a point on an edge, and the flat triangle that closes it, still closes."""
    solid = box(2, 2, 2)
    points = np.vstack([solid.points_mm, [[1, 0, 0]]])
    # The edge from corner 0 to corner 1 is split on one side only, the gap filled by a needle.
    triangles = [tuple(t) for t in solid.triangles if set(t) != {0, 1, 3}]
    triangles += [(0, 3, 8), (8, 3, 1), (0, 8, 1)]
    found = check_closed(case(mesh(points, triangles)))

    assert codes(found) == ["mesh-degenerate"]
    assert found[0].severity is Severity.NOTE


@pytest.mark.parametrize(
    "bodies",
    [
        (box(1, 2, 3),),
        (flipped(box(1, 2, 3)),),
        (box(1, 2, 3), box(2, 2, 2, (5, 0, 0))),
    ],
    ids=["one", "inside out", "two"],
)
@pytest.mark.parametrize("up", [(0.0, 0.0, 1.0), (0.0, 1.0, 1.0)])
def test_edges_are_those_of_the_mesh_that_is_looked_at(bodies, up):
    """However often they were paired before: as many bodies, turned over or outside in."""
    made = case(*bodies, draw_direction=up)
    own = paired_edges(made.mesh.triangles.copy(), n_points=len(made.mesh.points_mm))

    assert made.edges.triangles.tolist() == own.triangles.tolist()
    assert made.edges.points.tolist() == own.points.tolist()
    assert made.mesh.volume_mm3 > 0
