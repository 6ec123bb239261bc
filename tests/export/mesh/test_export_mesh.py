"""Mesh files out: whole or not at all, laid out as published, read back by other libraries."""

import errno
import io
import json
import os
import resource
import struct
import zipfile
from pathlib import Path

import lib3mf
import numpy as np
import pytest
import trimesh
from conftest import half_last_digit, published
from hypothesis import given, settings
from hypothesis import strategies as st
from support.solids_for_export import box, mesh_of, sign_with_peg, tide_sign
from support.some import some

from moldgen.errors import FileError, GeometryError, SpecError
from moldgen.export.atomic import write_atomic, write_together
from moldgen.export.mesh.glb import glb_bytes
from moldgen.export.mesh.stl import as_float32, is_closed, stl_bytes
from moldgen.export.mesh.threemf import threemf_bytes
from moldgen.solid.mesh import Body, Mesh


def everything_in(folder):
    """Every path below a folder, hidden ones too."""
    return sorted(str(path.relative_to(folder)) for path in folder.rglob("*"))


# -- whole or not at all ------------------------------------------------------------------


def test_files_arrive_whole_in_a_folder_made_for_them(tmp_path):
    """Missing folders are made, every file holds its bytes, and nothing else is left."""
    write_together(tmp_path / "a" / "b", {"one.stl": b"1", "two.txt": b"22"})

    assert everything_in(tmp_path) == ["a", "a/b", "a/b/one.stl", "a/b/two.txt"]
    assert (tmp_path / "a/b/two.txt").read_bytes() == b"22"


def test_an_earlier_file_is_replaced(tmp_path):
    """Writing again leaves the new bytes and no copy of the old ones."""
    write_atomic(tmp_path / "mold.stl", b"old")
    write_atomic(tmp_path / "mold.stl", b"new")

    assert (tmp_path / "mold.stl").read_bytes() == b"new"
    assert everything_in(tmp_path) == ["mold.stl"]


def test_a_new_file_has_the_usual_permissions(tmp_path):
    """A written file can be read by the same people as any other new file."""
    (tmp_path / "usual").write_bytes(b"")
    write_atomic(tmp_path / "mold.stl", b"x")

    assert (tmp_path / "mold.stl").stat().st_mode == (tmp_path / "usual").stat().st_mode


def test_a_really_full_disk_leaves_everything_as_it_was(tmp_path):
    """When the system refuses a byte, earlier files stay and no part of the new ones does."""
    (tmp_path / "first.stl").write_bytes(b"earlier")
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (4096, hard))
    try:
        with pytest.raises(FileError, match=r"second\.stl cannot be written: the disk is full\."):
            write_together(tmp_path, {"first.stl": b"new", "second.stl": bytes(10_000)})
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))

    assert everything_in(tmp_path) == ["first.stl"]
    assert (tmp_path / "first.stl").read_bytes() == b"earlier"


def test_a_folder_made_for_nothing_goes_again(tmp_path):
    """If the files cannot be written, folders that were made for them are removed."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (4096, hard))
    try:
        with pytest.raises(FileError, match="the disk is full"):
            write_together(tmp_path / "a" / "b", {"x.stl": bytes(10_000)})
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))

    assert everything_in(tmp_path) == []


def test_a_failed_rename_puts_the_earlier_files_back(tmp_path, monkeypatch):
    """A set is never half new: if the last rename fails, the first is undone."""
    write_together(tmp_path, {"a": b"old a", "b": b"old b"})
    plain = os.replace

    def replace(source, target):
        if Path(target).name == "b" and Path(source).read_bytes() == b"new b":
            raise OSError(errno.EIO, "Input/output error")
        plain(source, target)

    monkeypatch.setattr("moldgen.export.swap.os.replace", replace)
    with pytest.raises(FileError, match=r"b cannot be written: input/output error\."):
        write_together(tmp_path, {"a": b"new a", "b": b"new b", "c": b"new c"})

    assert everything_in(tmp_path) == ["a", "b"]
    assert [(tmp_path / name).read_bytes() for name in "ab"] == [b"old a", b"old b"]


@pytest.mark.parametrize(
    ("code", "sentence"),
    [
        (errno.ENOSPC, "the disk is full. Make room, or choose another folder."),
        (errno.EDQUOT, "the disk is full. Make room, or choose another folder."),
        (errno.EACCES, "this file may not be changed. Choose a folder you may write to."),
        (errno.EROFS, "this file may not be changed. Choose a folder you may write to."),
        (errno.EIO, "input/output error. Choose another folder."),
    ],
)
def test_each_refusal_of_the_system_is_one_sentence(tmp_path, monkeypatch, code, sentence):
    """Full, forbidden and broken disks are each told in their own words."""

    def refuse(*_):
        raise OSError(code, os.strerror(code))

    monkeypatch.setattr("moldgen.export.atomic.Path.open", refuse)
    with pytest.raises(FileError) as caught:
        write_atomic(tmp_path / "mold.stl", b"x")

    assert str(caught.value) == f"{tmp_path / 'mold.stl'} cannot be written: {sentence}"
    assert everything_in(tmp_path) == []


def test_a_file_where_a_folder_should_be_is_told(tmp_path):
    """A file in the way of the folder, or of one above it, is named."""
    (tmp_path / "out").write_bytes(b"")

    with pytest.raises(FileError, match=r"out is a file, not a folder\. Choose another folder\."):
        write_atomic(tmp_path / "out" / "mold.stl", b"x")
    with pytest.raises(FileError, match="a folder on the way to it is a file"):
        write_atomic(tmp_path / "out" / "deep" / "mold.stl", b"x")


def test_a_folder_where_a_file_should_be_is_told(tmp_path):
    """A folder of the file's name stays, and nothing is written."""
    (tmp_path / "mold.stl").mkdir()

    with pytest.raises(FileError, match=r"mold\.stl is a folder, so no file can take its name"):
        write_together(tmp_path, {"a.txt": b"x", "mold.stl": b"x"})
    assert everything_in(tmp_path) == ["mold.stl"]


def test_a_name_too_long_is_told(tmp_path):
    """A name that the file system refuses is told, and nothing is left."""
    with pytest.raises(FileError, match="the name is too long"):
        write_atomic(tmp_path / ("a" * 300), b"x")
    assert everything_in(tmp_path) == []


@pytest.mark.parametrize("name", ["", ".", "..", "a/b", "a\\b", "a\0b"])
def test_only_plain_file_names_are_taken(tmp_path, name):
    """A name cannot lead out of the folder."""
    with pytest.raises(SpecError, match="file name must be a plain name without folders"):
        write_together(tmp_path, {name: b"x"})


# -- single precision ---------------------------------------------------------------------


def with_short_edge(length_mm):
    """Make a box far from the origin, one edge cut in two parts, one of them very short."""
    plain = box(20, 15, 10, at_mm=(1000, 500, 700))
    start, end = plain.triangles[0][:2]
    direction = plain.points_mm[end] - plain.points_mm[start]
    extra = plain.points_mm[start] + direction / np.linalg.norm(direction) * length_mm
    points = np.vstack([plain.points_mm, extra])
    triangles = []
    for triangle in plain.triangles.tolist():
        for i in range(3):
            if {triangle[i], triangle[i - 2]} == {start, end}:
                a, b, c = triangle[i], triangle[i - 2], triangle[i - 1]
                triangles += [[a, 8, c], [8, b, c]]
                break
        else:
            triangles.append(triangle)
    return Mesh(points, np.array(triangles, dtype=np.int32))


def test_an_edge_too_short_for_single_precision_is_closed_up():
    """The two triangles without area go, and the box is as closed and as large as before."""
    mesh = with_short_edge(1e-6)
    assert is_closed(mesh.triangles)
    assert len(mesh.triangles) == 14

    rounded = as_float32(mesh)

    assert len(rounded.triangles) == 12
    assert is_closed(rounded.triangles)
    assert rounded.volume_mm3 == pytest.approx(3000, rel=1e-5)


def test_an_edge_long_enough_stays():
    """An edge that single precision can hold keeps its triangles."""
    assert len(as_float32(with_short_edge(0.1)).triangles) == 14


def test_triangles_stay_if_removing_them_would_open_the_mesh():
    """A mesh that would not be closed without its collapsed triangles keeps them."""
    thin = box(1e-7, 1e-7, 1e-7, at_mm=(500, 500, 500))
    two = Mesh(
        np.vstack([thin.points_mm, box(1, 1, 1).points_mm]),
        np.vstack([thin.triangles, box(1, 1, 1).triangles + 8]).astype(np.int32),
    )
    pinched = with_pinched_neck()

    assert len(as_float32(two).triangles) == 12
    assert len(as_float32(pinched).triangles) == len(pinched.triangles)
    assert is_closed(as_float32(pinched).triangles)


def with_pinched_neck():
    """Make a double pyramid over a triangle that single precision takes for a line."""
    points = np.array([[-5, 0, 0], [5, 0, 0], [0, 0, 0], [0, 1e-7, 0], [0, 0, 3]]) + 1000.0
    left = [[0, 3, 2], [0, 4, 3], [0, 2, 4]]
    right = [[1, 2, 3], [1, 3, 4], [1, 4, 2]]
    return Mesh(points, np.array(left + right, dtype=np.int32))


def test_rounded_points_are_single_precision():
    """Every coordinate survives the way through a file unchanged."""
    points = as_float32(tide_sign()).points_mm

    np.testing.assert_array_equal(points, points.astype(np.float32))


def test_no_coordinate_is_minus_nought():
    """Minus nought equals nought but has other bytes, and some readers join points by bytes."""
    mesh = box(3, 5, 7)
    negative = Mesh(np.where(mesh.points_mm == 0, -0.0, mesh.points_mm), mesh.triangles.copy())

    assert not np.signbit(as_float32(negative).points_mm).any()
    assert stl_bytes([negative], title="x") == stl_bytes([mesh], title="x")


def test_a_corner_that_is_no_number_is_refused():
    """A mesh with a NaN or a number beyond single precision is not written."""
    for value in (np.nan, np.inf, 1e39):
        points = box(1, 1, 1).points_mm.copy()
        points[3, 1] = value
        broken = Mesh(points, box(1, 1, 1).triangles.copy())
        for write in (
            lambda mesh: stl_bytes([mesh], title="x"),
            lambda mesh: threemf_bytes([Body("x", mesh)], title="x"),
        ):
            with pytest.raises(GeometryError, match="a corner that is not a finite number"):
                write(broken)
        if not value == 1e39:
            with pytest.raises(GeometryError, match="a corner that is not a finite number"):
                glb_bytes([Body("x", broken)])


def test_nothing_to_write_is_refused():
    """No body, or a body without triangles, is told at once."""
    empty = Mesh(np.zeros((0, 3)), np.zeros((0, 3), dtype=np.int32))

    with pytest.raises(SpecError, match="meshes must be at least one mesh"):
        stl_bytes([], title="x")
    with pytest.raises(SpecError, match="bodies must be at least one body"):
        threemf_bytes([], title="x")
    with pytest.raises(SpecError, match="bodies must be at least one body"):
        glb_bytes([])
    for write in (
        lambda: stl_bytes([empty], title="x"),
        lambda: threemf_bytes([Body("x", empty)], title="x"),
        lambda: glb_bytes([Body("x", empty)]),
    ):
        with pytest.raises(GeometryError, match="no triangles"):
            write()


# -- STL ------------------------------------------------------------------------------------


def strip(n_triangles):
    """Make an open fan of so many triangles."""
    angle = np.linspace(0, 3, n_triangles + 1)
    rim = np.stack([np.cos(angle), np.sin(angle), 0 * angle], axis=1)
    number = np.arange(n_triangles)
    fan = np.stack([0 * number, number + 1, number + 2], axis=1).astype(np.int32)
    return Mesh(np.vstack([np.zeros(3), rim]), fan)


@pytest.mark.parametrize("row", published("binary_stl"), ids=lambda row: row["n_triangles"])
def test_stl_has_the_published_size(row):
    """84 bytes and 50 for each triangle."""
    assert len(stl_bytes([strip(int(row["n_triangles"]))], title="x")) == int(row["n_bytes"])


def test_published_stl_size_can_tell_a_missing_count():
    """The table rejects a layout without the four bytes of the count."""
    assert all(80 + 50 * int(row["n_triangles"]) != int(row["n_bytes"])
               for row in published("binary_stl"))  # fmt: skip


def test_stl_records_hold_normal_corners_and_zero():
    """Each record is a unit normal outward, three corners in order, and two zero bytes."""
    mesh = box(3, 5, 7)
    data = stl_bytes([mesh], title="x")

    assert struct.unpack_from("<I", data, 80) == (12,)
    for i in range(12):
        numbers = struct.unpack_from("<12fH", data, 84 + 50 * i)
        corners = np.array(numbers[3:12]).reshape(3, 3)
        np.testing.assert_array_equal(corners, mesh.points_mm[mesh.triangles[i]])
        outward = np.cross(corners[1] - corners[0], corners[2] - corners[0])
        np.testing.assert_allclose(numbers[:3], outward / np.linalg.norm(outward), atol=1e-6)
        assert np.dot(outward, corners[0] - [1.5, 2.5, 3.5]) > 0
        assert numbers[12] == 0


@pytest.mark.parametrize("title", ["solid oak", "", "Fähre \n 潮", "x" * 300])
def test_stl_header_is_80_plain_characters_and_never_begins_with_solid(title):
    """Any title makes a header that no reader takes for the text form."""
    data = stl_bytes([box(1, 1, 1)], title=title)

    assert len(data) == 684
    assert not data.lower().startswith(b"solid")
    assert all(32 <= byte < 127 for byte in data[:80])


def test_stl_reads_back_closed_with_the_same_volume_and_bounds():
    """Another library finds the sign closed, as large and in the same place."""
    bodies = sign_with_peg()
    data = stl_bytes([body.mesh for body in bodies], title="sign")

    found = trimesh.load_mesh(io.BytesIO(data), file_type="stl")

    assert found.is_watertight
    assert found.is_winding_consistent
    assert found.volume == pytest.approx(sum(b.mesh.volume_mm3 for b in bodies), rel=1e-5)
    expected = np.vstack([bodies[0].mesh.bounds_mm, bodies[1].mesh.bounds_mm])
    np.testing.assert_allclose(found.bounds[1], expected.max(axis=0), rtol=1e-6)
    np.testing.assert_allclose(found.bounds[0], expected.min(axis=0), atol=1e-5)


@settings(max_examples=25, deadline=None)
@given(
    st.floats(1e-6, 1e-2),
    st.tuples(*[st.floats(-2000, 2000)] * 3),
)
def test_stl_of_a_box_with_a_short_edge_anywhere_reads_back_closed(length_mm, at_mm):
    """However short an edge, and wherever the part lies, joining equal points closes it."""
    mesh = with_short_edge(length_mm)
    moved = Mesh(mesh.points_mm + at_mm, mesh.triangles.copy())

    found = trimesh.load_mesh(io.BytesIO(stl_bytes([moved], title="x")), file_type="stl")

    assert found.is_watertight
    # Single precision at 3000 mm is 1.2e-4 mm, on sides of 10 mm and more.
    assert found.volume == pytest.approx(3000, rel=1e-4)


# -- 3MF ------------------------------------------------------------------------------------


def cube_of_the_specification():
    """Return the sample cube as a body."""
    points = [[float(row[axis]) for axis in "xyz"] for row in published("threemf_cube_vertices")]
    triangles = [[int(row[v]) for v in ("v1", "v2", "v3")]
                 for row in published("threemf_cube_triangles")]  # fmt: skip
    return Body("cube", Mesh(np.array(points), np.array(triangles, dtype=np.int32)))


def read_with_lib3mf(data):
    """Return unit, and name, points in place and triangles of every built object."""
    model = lib3mf.get_wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromBuffer(data)
    assert reader.GetWarningCount() == 0
    found = []
    items = model.GetBuildItems()
    while items.MoveNext():
        item = items.GetCurrent()
        thing = item.GetObjectResource()
        mesh = model.GetMeshObjectByID(thing.GetResourceID())
        assert mesh.IsManifoldAndOriented(), "not an oriented solid"
        place = np.array([list(row) for row in item.GetObjectTransform().Fields])
        points = np.array([list(vertex.Coordinates) for vertex in mesh.GetVertices()])
        triangles = np.array([list(t.Indices) for t in mesh.GetTriangleIndices()], dtype=np.int32)
        found.append((thing.GetName(), Mesh(points @ place[:3] + place[3], triangles)))
    entries = model.GetMetaDataGroup()
    metadata = {}
    for i in range(entries.GetMetaDataCount()):
        entry = entries.GetMetaData(i)
        metadata[(entry.GetNameSpace(), entry.GetName())] = entry.GetValue()
    return model.GetUnit(), found, metadata


def test_the_cube_of_the_specification_comes_back_as_printed():
    """Counts, volume and extent of the sample cube survive the way out and in."""
    facts = {row["fact"]: row["value"] for row in published("threemf_cube_facts")}

    _, [(_, mesh)], _ = read_with_lib3mf(threemf_bytes([cube_of_the_specification()], title="c"))

    assert len(mesh.points_mm) == int(facts["n_vertices"])
    assert len(mesh.triangles) == int(facts["n_triangles"])
    # 40 mm held in single precision is good to 2e-6, so the volume to 1e-2.
    assert mesh.volume_mm3 == pytest.approx(float(facts["volume_mm3"]), abs=2e-2)
    for axis, letter in enumerate("xyz"):
        width = float(facts[f"{letter}_greatest"]) - float(facts[f"{letter}_least"])
        printed = half_last_digit(facts[f"{letter}_least"])
        assert np.ptp(mesh.points_mm, axis=0)[axis] == pytest.approx(width, abs=printed)


def test_the_cube_of_the_specification_can_tell_a_turned_triangle():
    """With one triangle turned over, the second library no longer finds an oriented solid."""
    cube = cube_of_the_specification().mesh
    turned = cube.triangles.copy()
    turned[0] = turned[0][::-1]

    with pytest.raises(AssertionError, match="not an oriented solid"):
        read_with_lib3mf(threemf_bytes([Body("c", Mesh(cube.points_mm, turned))], title="c"))


def test_3mf_reads_back_with_lib3mf_in_strict_mode():
    """Unit, names, volumes and places to one another are as they were, without a warning."""
    bodies = sign_with_peg()

    unit, found, metadata = read_with_lib3mf(
        threemf_bytes(bodies, title="Tide & time", metadata={"job": 'word = "TIDE"\nx = 1 < 2\n'})
    )

    assert unit == lib3mf.ModelUnit.MilliMeter
    assert [name for name, _ in found] == ["tide sign", "peg"]
    for (_, mesh), body in zip(found, bodies, strict=True):
        assert mesh.volume_mm3 == pytest.approx(body.mesh.volume_mm3, rel=1e-5)
    apart = found[1][1].bounds_mm[0] - found[0][1].bounds_mm[0]
    expected = bodies[1].mesh.bounds_mm[0] - bodies[0].mesh.bounds_mm[0]
    np.testing.assert_allclose(apart, expected, atol=1e-4)
    assert metadata[("", "Title")] == "Tide & time"
    assert metadata[("", "Application")] == "moldgen"
    assert metadata[("urn:moldgen:3mf", "job")] == 'word = "TIDE"\nx = 1 < 2\n'


def test_3mf_stands_in_the_positive_octant_with_its_corner_at_the_origin():
    """Nothing reaches below zero, whatever the place of the bodies."""
    _, found, _ = read_with_lib3mf(threemf_bytes(sign_with_peg(), title="x"))

    lowest = np.min([mesh.bounds_mm[0] for _, mesh in found], axis=0)
    np.testing.assert_array_equal(lowest, [0, 0, 0])


def test_3mf_reads_back_with_trimesh():
    """A second library sees the same closed bodies, names and volume."""
    bodies = sign_with_peg()

    scene = trimesh.load_scene(io.BytesIO(threemf_bytes(bodies, title="x")), file_type="3mf")

    assert scene.units in {"mm", "millimeter", "millimeters"}
    assert {mesh.metadata.get("name", name) for name, mesh in scene.geometry.items()} == {
        "tide sign",
        "peg",
    }
    assert all(mesh.is_watertight for mesh in scene.geometry.values())
    volume = sum(mesh.volume for mesh in scene.geometry.values())
    assert volume == pytest.approx(sum(b.mesh.volume_mm3 for b in bodies), rel=1e-5)


def test_3mf_package_has_the_parts_of_the_specification():
    """Content types, start part and, if given, a thumbnail are where the specification says."""
    picture = b"\x89PNG\r\n\x1a\nnot really"
    data = threemf_bytes([Body("x", box(1, 2, 3))], title="x", thumbnail_png=picture)

    with zipfile.ZipFile(io.BytesIO(data)) as package:
        links = package.read("_rels/.rels").decode()
        kinds = package.read("[Content_Types].xml").decode()
        assert package.namelist()[0] == "[Content_Types].xml"
        assert package.read("Metadata/thumbnail.png") == picture
        assert {info.date_time for info in package.infolist()} == {(1980, 1, 1, 0, 0, 0)}

    assert 'Target="/3D/3dmodel.model"' in links
    assert "/3dmanufacturing/2013/01/3dmodel" in links
    assert "relationships/metadata/thumbnail" in links
    assert "application/vnd.ms-package.3dmanufacturing-3dmodel+xml" in kinds
    assert 'Extension="png"' in kinds


def test_3mf_numbers_are_the_shortest_that_read_back():
    """Coordinates read back to the very same single-precision numbers, without idle digits."""
    rng = np.random.default_rng(3)
    points = (rng.normal(size=(60, 3)) * 10.0 ** rng.integers(-6, 4, (60, 1))).astype(np.float64)
    mesh = Mesh(points, np.arange(60, dtype=np.int32).reshape(-1, 3))

    with zipfile.ZipFile(io.BytesIO(threemf_bytes([Body("x", mesh)], title="x"))) as package:
        model = trimesh.util.decode_text(package.read("3D/3dmodel.model"))
    words = [word for line in model.splitlines() if line.startswith("<vertex ")
             for word in line.split('"')[1::2]]  # fmt: skip

    np.testing.assert_array_equal(
        np.array(words, dtype=np.float32).reshape(-1, 3), points.astype(np.float32)
    )
    assert max(len(word.partition("e")[0].strip("-0.").replace(".", "")) for word in words) <= 9
    box_words = threemf_bytes([Body("x", box(12, 3, 4))], title="x")
    with zipfile.ZipFile(io.BytesIO(box_words)) as package:
        assert b'x="12" y="3" z="4"' in package.read("3D/3dmodel.model")


@pytest.mark.parametrize("name", ['a "b" <c> & d', "Fähre\n潮\t1", "bell\x07 \ud800", ""])
def test_3mf_takes_any_name(name):
    """Quotes, line ends and foreign letters come back; what XML cannot hold is replaced."""
    _, [(found, _)], metadata = read_with_lib3mf(
        threemf_bytes([Body(name, box(1, 1, 1))], title=name, metadata={"Description": name})
    )

    kept = name.replace("\x07", "\ufffd").replace("\ud800", "\ufffd")
    assert found == kept.replace("\n", " ").replace("\t", " ")
    assert metadata[("", "Description")] == kept


def test_3mf_metadata_names_are_qualified_or_known():
    """Own names get the prefix once; a name that is not a word is refused."""
    data = threemf_bytes(
        [Body("x", box(1, 1, 1))],
        title="x",
        metadata={"job": "a", "moldgen:plastic": "b", "Designer": "c"},
    )
    with zipfile.ZipFile(io.BytesIO(data)) as package:
        model = package.read("3D/3dmodel.model").decode()

    assert 'name="moldgen:job">a<' in model
    assert 'name="moldgen:plastic">b<' in model
    assert 'name="Designer">c<' in model
    assert 'xmlns:moldgen="' in model
    with pytest.raises(SpecError, match="metadata name must be a word of letters"):
        threemf_bytes([Body("x", box(1, 1, 1))], title="x", metadata={"two words": "a"})


# -- GLB ------------------------------------------------------------------------------------

PARTS = {"SCALAR": 1, "VEC3": 3, "VEC4": 4}
DTYPES = {5123: "<u2", 5125: "<u4", 5126: "<f4"}


def opened(data):
    """Check the container by the published numbers; return the document and its binary part."""
    numbers = {row["name"]: int(row["value"], 0) for row in published("glb_numbers")}
    magic, version, length = struct.unpack_from("<3I", data)
    assert (magic, version, length) == (numbers["magic"], numbers["version"], len(data))
    size, kind = struct.unpack_from("<2I", data, 12)
    assert (kind, size % 4) == (numbers["json_chunk"], 0)
    text = data[20 : 20 + size]
    assert text.rstrip(b" ").endswith(b"}")
    start = 20 + size
    binary, kind = struct.unpack_from("<2I", data, start)
    assert (kind, binary % 4, start + 8 + binary) == (numbers["bin_chunk"], 0, len(data))
    document = json.loads(text)
    assert document["asset"]["version"] == "2.0"
    declared = document["buffers"][0]["byteLength"]
    assert 0 <= binary - declared <= 3
    assert not any(data[start + 8 + declared :])
    return document, data[start + 8 : start + 8 + declared]


def accessor(document, binary, number):
    """Read one accessor, checking alignment, size and finite numbers."""
    entry = document["accessors"][number]
    view = document["bufferViews"][entry["bufferView"]]
    dtype, parts = np.dtype(DTYPES[entry["componentType"]]), PARTS[entry["type"]]
    assert view["byteOffset"] % 4 == 0
    assert view["byteLength"] == entry["count"] * parts * dtype.itemsize
    assert view["byteOffset"] + view["byteLength"] <= len(binary)
    values = np.frombuffer(binary, dtype, entry["count"] * parts, view["byteOffset"])
    assert np.isfinite(values).all()
    return values.reshape(entry["count"], parts)


def checked_primitives(data):
    """Check the rules for meshes strictly; return name, points, normals, colors, triangles."""
    document, binary = opened(data)
    found = []
    for node in document["nodes"]:
        mesh = document["meshes"][node["mesh"]]
        [primitive] = mesh["primitives"]
        assert primitive["mode"] == 4
        assert primitive["material"] < len(document["materials"])
        places = primitive["attributes"]
        points = accessor(document, binary, places["POSITION"])
        limits = document["accessors"][places["POSITION"]]
        assert limits["min"] == points.min(axis=0).tolist()
        assert limits["max"] == points.max(axis=0).tolist()
        normals = accessor(document, binary, places["NORMAL"])
        np.testing.assert_allclose(np.linalg.norm(normals, axis=1), 1, atol=1e-5)
        colors = None
        if "COLOR_0" in places:
            assert document["accessors"][places["COLOR_0"]]["normalized"] is True
            colors = accessor(document, binary, places["COLOR_0"])
        corners = accessor(document, binary, primitive["indices"])
        assert corners.max() < len(points)
        assert corners.max() < np.iinfo(corners.dtype).max
        found.append((node["name"], points, normals, colors, corners.reshape(-1, 3)))
    return found


def test_glb_follows_the_specification_and_keeps_the_solid():
    """Metres, Y up, outward triangles: the volume comes back a billion times smaller."""
    bodies = sign_with_peg()

    for body, (name, points, normals, colors, triangles) in zip(
        some(bodies), checked_primitives(glb_bytes(bodies)), strict=True
    ):
        turned = Mesh(points.astype(np.float64), triangles.astype(np.int32))
        x, y, z = points.T * 1000
        back = np.stack([x, -z, y], axis=1)
        assert name == body.name
        assert colors is None
        assert turned.volume_mm3 * 1e9 == pytest.approx(body.mesh.volume_mm3, rel=1e-5)
        np.testing.assert_allclose(back.min(axis=0), body.mesh.bounds_mm[0], atol=1e-5)
        np.testing.assert_allclose(back.max(axis=0), body.mesh.bounds_mm[1], atol=1e-5)
        along = np.einsum("tij,tj->ti", normals[triangles], turned.area_vectors_mm2)
        assert (along > 0.8 * turned.areas_mm2[:, None]).all()


def test_glb_colors_are_linear_light_by_triangle():
    """Each triangle has one color, turned from screen values by the curve of IEC 61966-2-1."""
    mesh = box(1, 1, 1)
    paint = np.zeros((12, 3), dtype=np.uint8)
    paint[5] = (255, 128, 10)

    [(_, points, _, colors, triangles)] = checked_primitives(
        glb_bytes([Body("x", mesh)], colors=[paint])
    )

    order = {tuple(map(tuple, points[t].round(6))): i for i, t in enumerate(triangles)}
    assert len(order) == 12
    corners = np.array(mesh.corners_mm[5])[:, [0, 2, 1]] * [0.001, 0.001, -0.001]
    number = order[tuple(map(tuple, (corners + 0.0).astype(np.float32).round(6)))]
    bright = colors[triangles[number]] / 65535
    # 128/255 -> ((0.50196 + 0.055)/1.055)^2.4 = 0.21586; 10/255 -> 0.039216/12.92 = 0.0030353
    np.testing.assert_allclose(bright, [[1, 0.21586, 0.0030353, 1]] * 3, atol=1e-5)
    others = np.setdiff1d(triangles, triangles[number])
    assert (colors[others][:, :3] == 0).all()
    assert (colors[others][:, 3] == 65535).all()


def test_glb_with_opacity_is_drawn_see_through():
    """A fourth part below full makes the material blend; a full one does not."""
    clear = np.full((12, 4), 90, dtype=np.uint8)
    full = np.full((12, 4), 255, dtype=np.uint8)
    bodies = [Body("a", box(1, 1, 1)), Body("b", box(1, 1, 1)), Body("c", box(1, 1, 1))]

    document, _ = opened(glb_bytes(bodies, colors=[clear, full, None]))

    modes = [document["materials"][mesh["primitives"][0]["material"]].get("alphaMode", "OPAQUE")
             for mesh in document["meshes"]]  # fmt: skip
    assert modes == ["BLEND", "OPAQUE", "OPAQUE"]


def test_glb_reads_back_with_trimesh():
    """Another library finds the same bodies, closed once its points are joined."""
    bodies = sign_with_peg()

    scene = trimesh.load_scene(io.BytesIO(glb_bytes(bodies)), file_type="glb")

    assert set(scene.geometry) == {"tide sign", "peg"}
    for body in bodies:
        mesh = scene.geometry[body.name]
        mesh.merge_vertices(merge_norm=True, merge_tex=True)
        assert mesh.is_watertight
        assert mesh.volume * 1e9 == pytest.approx(body.mesh.volume_mm3, rel=1e-4)


def test_glb_with_many_corners_uses_wide_indices():
    """Past 65534 corners the indices are 32 bits wide and nothing wraps round."""
    data = glb_bytes([Body("fan", strip(70_000))])

    [(_, points, _, _, triangles)] = checked_primitives(data)
    assert len(points) > 65535
    assert triangles.max() == len(points) - 1


@pytest.mark.parametrize(
    ("colors", "rule"),
    [
        ([], "one entry per body"),
        ([np.zeros((11, 3), dtype=np.uint8)], "3 or 4 per triangle"),
        ([np.zeros((12, 2), dtype=np.uint8)], "3 or 4 per triangle"),
        ([np.zeros((12, 3))], "uint8"),
    ],
)
def test_glb_refuses_colors_that_do_not_fit(colors, rule):
    """Colors must be whole numbers to 255, three or four for each triangle."""
    with pytest.raises(SpecError, match=rule):
        glb_bytes([Body("x", box(1, 1, 1))], colors=colors)


# -- normals --------------------------------------------------------------------------------


def test_normals_of_a_box_stay_sharp():
    """Edges of 90 degrees are creases: each corner keeps the normal of its face."""
    mesh = box(2, 3, 4)
    faces = mesh.area_vectors_mm2 / mesh.areas_mm2[:, None]

    np.testing.assert_allclose(mesh.corner_normals, np.repeat(faces[:, None], 3, axis=1))


def test_normals_of_a_ball_point_away_from_its_center():
    """On a finely cut ball the averaged normals are radial within a third of the facet angle."""
    from manifold3d import Manifold

    ball = mesh_of(Manifold.sphere(10, 96))

    radial = ball.corners_mm / np.linalg.norm(ball.corners_mm, axis=2, keepdims=True)
    turn = np.degrees(np.arccos(np.clip((ball.corner_normals * radial).sum(axis=2), -1, 1)))
    assert turn.max() < 360 / 96 / 3


def test_normals_do_not_depend_on_how_a_flat_is_cut():
    """A corner where one face has many narrow triangles still gets the even average."""
    ridge = np.array([[0, 0, 0], [0, 10, 0]])
    left = [[-np.cos(t), 5 * np.sin(t), 0] for t in np.linspace(-1, 1, 9)]
    # Nine points fan out from the ridge's start in the plane z = 0, two in the plane that
    # falls away at 20 degrees: the normal on the ridge must lean half of it if the angles match.
    fall = np.tan(np.radians(20))
    right = [[1, -5.0, -fall], [1, 5.0, -fall]]
    points = np.array([*ridge, [0, -10, 0], *left, *right])
    fan_left = [[0, 4 + i, 3 + i] for i in range(8)] + [[0, 3, 2], [0, 1, 11]]
    fan_right = [[0, 2, 12], [0, 12, 13], [0, 13, 1]]
    mesh = Mesh(points, np.array(fan_left + fan_right, dtype=np.int32))

    normal = mesh.corner_normals[0, 0]

    lean = np.degrees(np.arctan2(normal[0], normal[2]))
    assert lean == pytest.approx(10, abs=0.3)


# -- the same bytes -------------------------------------------------------------------------


def test_the_same_bodies_give_the_same_bytes():
    """Every format, written twice, is the same to the last byte."""
    bodies = sign_with_peg()
    meshes = [body.mesh for body in bodies]
    paint = [np.full((len(mesh.triangles), 3), 77, dtype=np.uint8) for mesh in meshes]

    assert stl_bytes(meshes, title="a") == stl_bytes(meshes, title="a")
    assert threemf_bytes(bodies, title="a") == threemf_bytes(bodies, title="a")
    assert glb_bytes(bodies, colors=paint) == glb_bytes(bodies, colors=paint)
