"""The door to the solid modeler: what passes is closed, and comes back as it went."""

import numpy as np
import pytest
from manifold3d import Manifold
from support.check_solids import box, pyramid

from moldgen.errors import GeometryError
from moldgen.solid.mesh import Mesh
from moldgen.solid.sound import mesh_from_solid, solid_from_mesh, sound


def test_a_mesh_comes_back_as_it_went():
    """Positions keep their double precision on the way through the modeler and back."""
    solid = pyramid(20 + 1 / 3, 11 + 1 / 7, 9.1)
    back = mesh_from_solid(solid_from_mesh(solid, doing="trying"))

    assert back.volume_mm3 == pytest.approx(solid.volume_mm3, rel=1e-14)
    assert {tuple(p) for p in back.points_mm} == {tuple(p) for p in solid.points_mm}
    assert len(back.triangles) == len(solid.triangles)


def test_a_sound_solid_passes():
    """A good solid is handed on untouched."""
    cube = Manifold.cube((1, 2, 3))

    assert sound(cube, doing="trying") is cube


def test_nothing_left_is_said():
    """An empty result names what was being done."""
    empty = Manifold.cube((1, 1, 1)) - Manifold.cube((2, 2, 2))

    with pytest.raises(GeometryError, match=r"^Cutting vents left no solid\.$"):
        sound(empty, doing="cutting vents")


def test_an_open_mesh_is_refused():
    """A mesh with a triangle missing is refused with the modeler's own word."""
    whole = box(3, 4, 5)
    open_box = Mesh(whole.points_mm, np.ascontiguousarray(whole.triangles[1:]))

    with pytest.raises(GeometryError, match=r"^Raising a box failed: NotManifold\.$"):
        solid_from_mesh(open_box, doing="raising a box")


def test_a_place_that_is_no_number_is_refused():
    """A point that is not finite is refused before anything is cut."""
    points = box(3, 4, 5).points_mm.copy()
    points[0, 0] = np.nan

    with pytest.raises(GeometryError, match="failed: NonFiniteVertex"):
        solid_from_mesh(Mesh(points, box(3, 4, 5).triangles), doing="raising a box")
