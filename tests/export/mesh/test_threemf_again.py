"""Bodies taken out of a 3MF package as they are written there, and placed in another."""

import zipfile
from pathlib import Path

import numpy as np
import pytest

from moldgen.errors import FileError
from moldgen.export.mesh.threemf import MODEL_PART, package_bytes, threemf_bytes
from moldgen.export.mesh.threemf_again import packaged_bodies, placed_body
from moldgen.solid.mesh import Body, Mesh
from moldgen.solid.reading.threemf import parts_from_threemf

CORNERS_MM = np.array([[1.5, 2, -3], [9, 2.25, -3], [1.5, 7, -3], [1.5, 2, 4.1]])
FACES = np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [2, 0, 3]], np.int32)
HIGHER_MM = np.add(CORNERS_MM, (20, 0, 1))
NAMED = "half <mesh>\n & half"


@pytest.fixture
def package(tmp_path):
    """Two bodies, one a millimeter higher than the other, with names that look like markup."""
    path = tmp_path / "two.3mf"
    bodies = [Body(NAMED, Mesh(CORNERS_MM, FACES)), Body("b", Mesh(HIGHER_MM, FACES))]
    path.write_bytes(threemf_bytes(bodies, title=NAMED, metadata={"job": NAMED}))
    return path


@pytest.mark.parametrize("turn_deg", [0.0, 90.0, 180.0, 270.0, 33.3])
def test_a_body_placed_again_is_turned_and_moved(package, turn_deg):
    """Another reader finds each corner where a turn about the origin and a move bring it."""
    placed = [
        placed_body(one, name=name, x_mm=100.25, y_mm=-3.5, turn_deg=turn_deg)
        for one, name in zip(packaged_bodies(package), "AB", strict=True)
    ]
    parts = parts_from_threemf(Path("p.3mf"), package_bytes(placed, title="Plate 1"))

    assert [name for name, *_ in parts] == ["A", "B"]
    turn = np.radians(turn_deg)
    axes = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    for (_, points, triangles), corners_mm in zip(parts, (CORNERS_MM, HIGHER_MM), strict=True):
        level = corners_mm.astype(np.float32)[:, :2] @ axes.T + [100.25, -3.5]
        assert np.allclose(points[:, :2], level, atol=1e-6)
        assert np.allclose(points[:, 2], corners_mm[:, 2] + 3, atol=1e-6)
        assert np.array_equal(triangles, FACES)


def test_quarter_turns_are_exact(package):
    """No sine of a right angle is nearly zero."""
    one = packaged_bodies(package)[0]

    placed = placed_body(one, name="", x_mm=1.0, y_mm=0.125, turn_deg=90.0)

    assert placed.place == ("0", "1", "0", "-1", "0", "0", "0", "0", "1", "1", "0.125", "3")


def test_what_is_no_package_of_ours_is_refused(package, tmp_path):
    """A torn file, one without a model, and another program's are told by their names."""
    torn = tmp_path / "torn.3mf"
    torn.write_bytes(package.read_bytes()[:300])
    foreign, empty = tmp_path / "foreign.3mf", tmp_path / "empty.3mf"
    for path, name in ((foreign, MODEL_PART), (empty, "other")):
        with zipfile.ZipFile(path, "w") as archive:
            archive.writestr(name, "<model><mesh><vertices/></mesh></model>")

    for path in (torn, foreign, empty, tmp_path / "missing.3mf"):
        with pytest.raises(FileError, match=rf"{path.name} is no .*Make it again"):
            packaged_bodies(path)
