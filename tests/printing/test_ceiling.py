"""Level ceilings whose triangles do not quite fit together."""

import numpy as np
import pytest

from moldgen.printing.bridge import bridges_of
from moldgen.solid.mesh import Mesh
from moldgen.solid.topology import topology_of


@pytest.mark.parametrize("stray_mm", [0.0, 2e-5, -2e-5])
def test_a_ceiling_with_a_corner_beside_an_edge_is_measured(stray_mm):
    """A bent edge of 20 nm between two triangles and a third changes neither span nor area."""
    corners = [(0, 0), (40, 0), (40, 20), (0, 20)]
    plan = [*corners, (20 + stray_mm, 10 - stray_mm), (-10, -10), (50, -10), (-10, 30)]
    strips = [(0, 1, 6), (0, 6, 5), (3, 0, 5), (3, 5, 7)]
    ceiling = [(0, 2, 1), (0, 3, 4), (4, 3, 2), *strips]
    floor = [(a + 8, b + 8, c + 8) for c, b, a in [(0, 2, 1), (0, 3, 2), *strips]]
    border = [(5, 7), (7, 3), (3, 2), (2, 1), (1, 6), (6, 5)]
    walls = [face for a, b in border for face in ((b, a, a + 8), (b, a + 8, b + 8))]
    points = [(x, y, z) for z in (10.0, 12.0) for x, y in plan]
    slab = Mesh(np.array(points), np.array([*ceiling, (0, 4, 2), *floor, *walls], np.int32))
    level = np.arange(len(slab.triangles)) < len(ceiling)

    (bridge,) = bridges_of(slab, level, topology_of(slab).edges, np.eye(3))

    assert topology_of(slab).closed
    assert bridge.area_mm2 == pytest.approx(800 + 500 + 300, rel=1e-5)
