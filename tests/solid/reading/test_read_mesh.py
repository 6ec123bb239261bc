"""Mesh files that people bring: read to millimeters, or refused in one sentence."""

import io
import struct
import zipfile

import numpy as np
import pytest
import trimesh
from conftest import half_last_digit, published
from support.solids_for_export import box, sign_with_peg, tide_sign

from moldgen.errors import FileError, SpecError
from moldgen.export.mesh.glb import glb_bytes
from moldgen.export.mesh.stl import is_closed, stl_bytes
from moldgen.export.mesh.threemf import threemf_bytes
from moldgen.finding import sentence
from moldgen.limits import Limits
from moldgen.solid.mesh import Body, Mesh
from moldgen.solid.reading.mesh_file import check_unit, load_mesh, mesh_from_bytes

CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"


def written(folder, name, data):
    """Write bytes to a file and return its path."""
    path = folder / name
    path.write_bytes(data if isinstance(data, bytes) else data.encode())
    return path


def text_stl(mesh):
    """Write a mesh in the text form of STL."""
    lines = ["solid pier"]
    for corners in mesh.corners_mm:
        lines += ["facet normal 0 0 0", " outer loop"]
        lines += [f"  vertex {x!r} {y!r} {z!r}" for x, y, z in corners.tolist()]
        lines += [" endloop", "endfacet"]
    return "\n".join([*lines, "endsolid pier", ""])


def as_library_writes(mesh, kind):
    """Let trimesh write a mesh."""
    data = trimesh.Trimesh(mesh.points_mm, mesh.triangles, process=False).export(file_type=kind)
    return data if isinstance(data, bytes) else data.encode()


def threemf(objects, build, *, unit="millimeter", parts=()):
    """Make a 3MF package from the text of its resources and its build."""
    model = (
        f'<model unit="{unit}" xmlns="{CORE}" '
        'xmlns:p="http://schemas.microsoft.com/3dmanufacturing/production/2015/06">'
        f"<resources>{objects}</resources><build>{build}</build></model>"
    )
    start = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
    links = (
        '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
        f'<Relationship Target="/3D/3dmodel.model" Id="a" Type="{start}"/></Relationships>'
    )
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as package:
        package.writestr("_rels/.rels", links)
        package.writestr("3D/3dmodel.model", model)
        for name, content in parts:
            package.writestr(name, content)
    return stream.getvalue()


def mesh_object(mesh, number=1, *, extra=""):
    """Write a mesh as an object of a 3MF model."""
    vertices = "".join(f'<vertex x="{x}" y="{y}" z="{z}"/>' for x, y, z in mesh.points_mm.tolist())
    rows = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in mesh.triangles.tolist())
    return (
        f'<object id="{number}" {extra}><mesh><vertices>{vertices}</vertices>'
        f"<triangles>{rows}</triangles></mesh></object>"
    )


ITEM = '<item objectid="1"/>'


# -- what comes in --------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["a.stl", "a.STL", "a.obj", "a.ply", "text.stl"])
def test_formats_without_units_come_in_as_they_are(tmp_path, name):
    """Volume, bounds and closedness survive each format, and equal points are joined."""
    sign = tide_sign()
    kind = name[-3:].lower()
    data = text_stl(sign) if name.startswith("text") else as_library_writes(sign, kind)

    [body] = load_mesh(written(tmp_path, name, data))

    assert body.name == name[:-4]
    assert is_closed(body.mesh.triangles)
    assert len(body.mesh.triangles) == len(sign.triangles)
    assert body.mesh.volume_mm3 == pytest.approx(sign.volume_mm3, rel=1e-5)
    np.testing.assert_allclose(body.mesh.bounds_mm, sign.bounds_mm, atol=1e-5)


@pytest.mark.parametrize(
    ("name", "write"), [("x.3mf", lambda b: threemf_bytes(b, title="x")), ("x.glb", glb_bytes)]
)
def test_our_own_files_come_back(tmp_path, name, write):
    """3MF and GLB as we write them: the same bodies, names, volumes, way up and millimeters."""
    bodies = sign_with_peg()

    found = load_mesh(written(tmp_path, name, write(bodies)))

    assert [body.name for body in found] == ["tide sign", "peg"]
    for body, expected in zip(found, bodies, strict=True):
        assert body.mesh.volume_mm3 == pytest.approx(expected.mesh.volume_mm3, rel=1e-5)
        spans = [np.ptp(mesh.bounds_mm, axis=0) for mesh in (body.mesh, expected.mesh)]
        np.testing.assert_allclose(spans[0], spans[1], atol=1e-4)
    tip = found[1].mesh.points_mm[found[1].mesh.points_mm[:, 2].argmax()]
    foot = found[1].mesh.bounds_mm[0]
    assert tip[2] - foot[2] == pytest.approx(12, abs=1e-4)
    assert all(is_closed(body.mesh.triangles) for body in found)


def test_our_own_stl_comes_back(tmp_path):
    """Both bodies come back as one closed mesh of the same volume."""
    bodies = sign_with_peg()
    data = stl_bytes([body.mesh for body in bodies], title="x")

    [body] = load_mesh(written(tmp_path, "x.stl", data))

    assert is_closed(body.mesh.triangles)
    assert body.mesh.volume_mm3 == pytest.approx(sum(b.mesh.volume_mm3 for b in bodies), rel=1e-5)


@pytest.mark.parametrize(
    ("unit", "mm"),
    [(None, 1), ("mm", 1), ("cm", 10), ("m", 1000), ("in", 25.4), ("ft", 304.8), ("micron", 0.001)],
)
def test_a_stated_unit_is_used(tmp_path, unit, mm):
    """A box of 2 x 3 x 4 units becomes that many millimeters."""
    path = written(tmp_path, "x.stl", stl_bytes([box(2, 3, 4)], title="x"))

    [body] = load_mesh(path, unit=unit)

    np.testing.assert_allclose(body.mesh.bounds_mm[1], np.array([2, 3, 4]) * mm, rtol=1e-6)


def test_binary_stl_that_begins_like_text_is_read(tmp_path):
    """The size tells the form, for some programs write "solid" into binary headers."""
    data = b"solid from another program".ljust(80) + stl_bytes([box(2, 3, 4)], title="x")[80:]

    [body] = load_mesh(written(tmp_path, "x.stl", data))
    [padded] = load_mesh(written(tmp_path, "y.stl", b"model".ljust(80) + data[80:] + b"\0\0"))

    assert body.mesh.volume_mm3 == pytest.approx(24)
    assert padded.mesh.volume_mm3 == pytest.approx(24)


# -- 3MF ------------------------------------------------------------------------------------


def test_the_cube_of_the_specification_stands_where_it_should(tmp_path):
    """Placed by its item's transform, the sample cube has the printed bounds and volume."""
    facts = {row["fact"]: row["value"] for row in published("threemf_cube_facts")}
    points = [[float(row[axis]) for axis in "xyz"] for row in published("threemf_cube_vertices")]
    triangles = [
        [int(row[v]) for v in ("v1", "v2", "v3")] for row in published("threemf_cube_triangles")
    ]
    cube = Mesh(np.array(points), np.array(triangles, dtype=np.int32))
    item = '<item objectid="1" transform="1 0 0 0 1 0 0 0 1 -19.999 -62.998 0"/>'

    [body] = load_mesh(written(tmp_path, "cube.3mf", threemf(mesh_object(cube), item)))

    assert len(body.mesh.points_mm) == int(facts["n_vertices"])
    assert len(body.mesh.triangles) == int(facts["n_triangles"])
    assert is_closed(body.mesh.triangles)
    printed = facts["volume_mm3"]
    assert body.mesh.volume_mm3 == pytest.approx(float(printed), abs=half_last_digit(printed))
    for end, row in (("least", 0), ("greatest", 1)):
        for axis, letter in enumerate("xyz"):
            value = facts[f"{letter}_{end}"]
            found = body.mesh.bounds_mm[row, axis]
            assert found == pytest.approx(float(value), abs=half_last_digit(value))


def test_the_cube_of_the_specification_can_tell_a_lost_transform(tmp_path):
    """Without its transform the sample cube misses the printed bounds."""
    facts = {row["fact"]: row["value"] for row in published("threemf_cube_facts")}
    points = [[float(row[axis]) for axis in "xyz"] for row in published("threemf_cube_vertices")]

    assert min(x for x, _, _ in points) != pytest.approx(float(facts["x_least"]), abs=1e-3)


@pytest.mark.parametrize("row", published("threemf_units"), ids=lambda row: row["unit"])
def test_3mf_units_are_honoured(tmp_path, row):
    """A box of 2 units is that many millimeters wide in each unit of the specification."""
    data = threemf(mesh_object(box(2, 3, 4)), ITEM, unit=row["unit"])

    [body] = load_mesh(written(tmp_path, "x.3mf", data))

    assert np.ptp(body.mesh.points_mm[:, 0]) == pytest.approx(2 * float(row["mm"]), rel=1e-9)


def test_published_units_can_tell_an_inch_from_a_centimeter():
    """No two units of the table have the same length."""
    assert len({row["mm"] for row in published("threemf_units")}) == 6


def test_components_are_placed_by_every_transform_on_the_way(tmp_path):
    """A quarter turn in the component, then a shift in the item, as row vectors."""
    parts = mesh_object(box(2, 3, 4)) + (
        '<object id="2" name="pair"><components>'
        '<component objectid="1"/>'
        '<component objectid="1" transform="0 1 0 -1 0 0 0 0 1 10 0 0"/>'
        "</components></object>"
    )
    item = '<item objectid="2" transform="1 0 0 0 1 0 0 0 1 0 100 0"/>'

    plain, turned = load_mesh(written(tmp_path, "x.3mf", threemf(parts, item)))

    np.testing.assert_allclose(plain.mesh.bounds_mm, [[0, 100, 0], [2, 103, 4]])
    # (x, y) -> (-y, x) + (10, 0): the box spans 7 to 10 and 0 to 2, then 100 further.
    np.testing.assert_allclose(turned.mesh.bounds_mm, [[7, 100, 0], [10, 102, 4]])
    assert turned.mesh.volume_mm3 == pytest.approx(24)


def test_a_mirrored_part_still_faces_outward(tmp_path):
    """A placement that mirrors turns the triangles round, so the volume stays positive."""
    item = '<item objectid="1" transform="-1 0 0 0 1 0 0 0 1 0 0 0"/>'

    [body] = load_mesh(written(tmp_path, "x.3mf", threemf(mesh_object(box(2, 3, 4)), item)))

    assert body.mesh.volume_mm3 == pytest.approx(24)


def test_supports_and_unbuilt_objects_are_left_out(tmp_path):
    """Only what the build names comes in, and no support structure."""
    parts = (
        mesh_object(box(2, 3, 4), 1, extra='name="sign"')
        + mesh_object(box(1, 1, 1), 2)
        + mesh_object(box(1, 1, 1), 3, extra='type="support"')
    )

    found = load_mesh(written(tmp_path, "x.3mf", threemf(parts, ITEM + '<item objectid="3"/>')))

    assert [body.name for body in found] == ["sign"]


def test_objects_in_other_parts_of_the_package_are_found(tmp_path):
    """A component may point into another model file, in a unit of its own."""
    resources = f"<resources>{mesh_object(box(2, 3, 4), 7)}</resources>"
    other = f'<model unit="inch" xmlns="{CORE}">{resources}</model>'
    parts = (
        '<object id="1"><components><component objectid="7" p:path="/3D/Objects/a.model"/>'
        "</components></object>"
    )
    data = threemf(parts, ITEM, parts=[("3D/Objects/a.model", other)])

    [body] = load_mesh(written(tmp_path, "x.3mf", data))

    assert np.ptp(body.mesh.points_mm[:, 1]) == pytest.approx(3 * 25.4)


# -- units in doubt -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("width", "words", "advice"),
    [
        (2, "unusually small", "it would be 50.8 mm in in, 20 mm in cm, 2000 mm in m"),
        (5000, "unusually large", "it would be 5 mm in micron"),
    ],
)
def test_a_doubtful_size_asks_which_unit(tmp_path, width, words, advice):
    """A part 2 mm or 5 m wide is read, and a finding asks what was meant."""
    path = written(tmp_path, "tray.stl", stl_bytes([box(width, 1, 1)], title="x"))
    bodies = load_mesh(path)

    [finding] = check_unit(path, bodies)

    assert finding.code == "unit-doubtful"
    assert finding.measured == pytest.approx(width)
    assert words in sentence(finding)
    assert advice in sentence(finding)


def test_no_question_where_the_unit_is_known_or_the_size_usual(tmp_path):
    """A stated unit, a file that carries its own, and a usual size raise no finding."""
    small = [Body("x", box(2, 1, 1))]

    assert check_unit("x.stl", small, unit="mm") == []
    assert check_unit("x.3mf", small) == []
    assert check_unit("x.glb", small) == []
    assert check_unit("x.stl", [Body("x", box(15, 1, 1))]) == []
    assert check_unit("x.stl", [Body("x", box(3000, 1, 1))]) == []


# -- what is refused ------------------------------------------------------------------------

STL = stl_bytes([box(2, 3, 4)], title="x")
NAN_STL = STL[:100] + struct.pack("<f", float("nan")) + STL[104:]
LOOP = (
    '<object id="1"><components><component objectid="2"/></components></object>'
    '<object id="2"><components><component objectid="1"/></components></object>'
)
SPIKE = mesh_object(box(2, 3, 4))

REFUSED = {
    "empty": ("x.stl", b"", "x.stl is empty"),
    "unknown ending": ("x.step", b"abc", "does not end like a mesh file. Give STL, 3MF"),
    "no ending": ("x", STL, "does not end like a mesh file"),
    "garbage stl": ("x.stl", b"\x07garbage" * 9, "is not an STL, neither the text nor"),
    "garbage long stl": ("x.stl", bytes(range(256)) * 9, "is not an STL, neither"),
    "cut binary stl": ("x.stl", STL[:-130], "is cut short: it promises 12 triangles and holds 9"),
    "no triangles stl": ("x.stl", STL[:80] + bytes(4), "holds no triangles"),
    "nan stl": ("x.stl", NAN_STL, "a corner whose place is not a finite number"),
    "cut text stl": ("x.stl", text_stl(box(1, 1, 1))[:-60], "is cut short: its last triangle"),
    "unended text stl": ("x.stl", text_stl(box(1, 1, 1))[:-15], "is cut short"),
    "nan text stl": (
        "x.stl",
        text_stl(box(1, 1, 1)).replace("vertex 1.0", "vertex nan"),
        "not a finite number",
    ),
    "word in text stl": (
        "x.stl",
        text_stl(box(1, 1, 1)).replace("vertex 1.0", "vertex one"),
        "cannot be read as STL",
    ),
    "empty text stl": ("x.stl", "solid nothing\nendsolid nothing\n", "holds no triangles"),
    "picture as stl": ("x.stl", b"\x89PNG\r\n\x1a\n" + bytes(200), "is a PNG picture, not a mesh"),
    "document as obj": ("x.obj", b"%PDF-1.7 ...", "is a PDF document, not a mesh"),
    "3mf as stl": ("x.stl", threemf(SPIKE, ITEM), "holds 3MF data. Rename it to end in .3mf"),
    "glb as ply": ("x.ply", glb_bytes([Body("x", box(1, 1, 1))]), "holds GLB data. Rename"),
    "garbage obj": ("x.obj", b"\x00\xff\xfe" * 40, "cannot be read as OBJ"),
    "corners missing obj": ("x.obj", "v 0 0 0\nv 1 0 0\nf 1 2 9\n", "cannot be read as OBJ"),
    "nan obj": ("x.obj", "v 0 0 nan\nv 1 0 0\nv 0 1 0\nf 1 2 3\n", "not a finite number"),
    "points only obj": ("x.obj", "v 0 0 0\nv 1 0 0\nv 0 1 0\n", "holds no triangles"),
    "garbage ply": ("x.ply", b"ply\nformat nonsense\nend_header\n", "x.ply holds no triangles"),
    "cut ply": ("x.ply", as_library_writes(box(1, 1, 1), "ply")[:-60], "cannot be read as PLY"),
    "garbage glb": ("x.glb", b"glTF" + bytes(60), "cannot be read as GLB"),
    "cut glb": ("x.glb", glb_bytes([Body("x", box(1, 1, 1))])[:-300], "cannot be read as GLB"),
    "garbage 3mf": ("x.3mf", b"PK\x03\x04" + bytes(90), "is not a whole 3MF package"),
    "not a zip 3mf": ("x.3mf", b"hello", "is not a whole 3MF package"),
    "cut 3mf": ("x.3mf", threemf(SPIKE, ITEM)[:-40], "is not a whole 3MF package"),
    "damaged xml 3mf": ("x.3mf", threemf("<object", ITEM), "holds a damaged 3MF model"),
    "unknown unit 3mf": ("x.3mf", threemf(SPIKE, ITEM, unit="cubit"), "no 3MF model in a known"),
    "object missing 3mf": ("x.3mf", threemf(SPIKE, '<item objectid="9"/>'), "lacks the object '9'"),
    "self-containing 3mf": ("x.3mf", threemf(LOOP, ITEM), "an object that contains itself"),
    "nothing built 3mf": ("x.3mf", threemf(SPIKE, ""), "holds no triangles"),
    "corner out of range 3mf": (
        "x.3mf",
        threemf(SPIKE.replace('v1="7"', 'v1="77"'), ITEM),
        "names corners that it does not hold",
    ),
    "nan 3mf": ("x.3mf", threemf(SPIKE.replace('x="2.0"', 'x="nan"'), ITEM), "not a finite number"),
    "word 3mf": ("x.3mf", threemf(SPIKE.replace('x="2.0"', 'x="two"'), ITEM), "as 3MF: it is"),
    "attribute missing 3mf": ("x.3mf", threemf(SPIKE.replace('z="4.0"', ""), ITEM), "as 3MF: it"),
    "short transform 3mf": (
        "x.3mf",
        threemf(SPIKE, '<item objectid="1" transform="1 0 0"/>'),
        "cannot be read as 3MF",
    ),
}


@pytest.mark.parametrize("case", REFUSED)
def test_unusable_files_are_refused_in_a_sentence(tmp_path, case):
    """Each broken file gives one sentence that names it and what to do."""
    name, data, words = REFUSED[case]
    path = written(tmp_path, name, data)

    with pytest.raises(FileError) as caught:
        load_mesh(path)

    told = str(caught.value)
    assert told.startswith(f"{path} ")
    assert words in told
    assert told.endswith(".")
    assert "\n" not in told


def test_missing_files_and_folders_are_told(tmp_path):
    """A missing file and a folder are named as such."""
    with pytest.raises(FileError, match=r"none\.stl does not exist\. Check the name"):
        load_mesh(tmp_path / "none.stl")
    (tmp_path / "d.stl").mkdir()
    with pytest.raises(FileError, match=r"d\.stl is a folder\. Name a mesh file inside it"):
        load_mesh(tmp_path / "d.stl")
    (tmp_path / "f").write_bytes(b"x")
    with pytest.raises(FileError, match="cannot be read: not a directory"):
        load_mesh(tmp_path / "f" / "x.stl")


def test_a_zip_without_a_model_is_told(tmp_path):
    """A package that is no 3MF says which part it lacks."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as package:
        package.writestr("letter.txt", "hello")

    with pytest.raises(FileError, match=r"lacks its part _rels/\.rels"):
        load_mesh(written(tmp_path, "x.3mf", stream.getvalue()))


def test_too_many_triangles_are_refused(tmp_path):
    """Beyond the limit the count is told instead of the memory filled."""
    few = Limits(triangles=11)

    with pytest.raises(FileError, match=r"has 12 triangles, more than the 11 that can be"):
        load_mesh(written(tmp_path, "x.stl", STL), limits=few)


def test_too_many_bytes_are_refused(tmp_path):
    """A file beyond the size limit is not even opened."""
    with pytest.raises(FileError, match=r"is larger than 100 bytes"):
        load_mesh(written(tmp_path, "x.stl", STL), limits=Limits(mesh_bytes=100))


def test_an_unfit_unit_is_refused(tmp_path):
    """An unknown unit, or one for a file that states its own, is told."""
    with pytest.raises(SpecError, match="unit must be micron, mm, cm, m, in or ft"):
        load_mesh(tmp_path / "x.stl", unit="furlong")
    with pytest.raises(SpecError, match=r"left out, for x\.3mf states its own"):
        load_mesh(tmp_path / "x.3mf", unit="in")


# -- what other programs write -----------------------------------------------------------------

CUBE_IN_THREE_COLORS = """
v 0 0 0\nv 10 0 0\nv 10 10 0\nv 0 10 0\nv 0 0 10\nv 10 0 10\nv 10 10 10\nv 0 10 10
usemtl red\nf 4 3 2 1\nf 5 6 7 8
usemtl blue\nf 1 2 6 5\nf 3 4 8 7
usemtl {0}\nf 2 3 7 6\nf 4 1 5 8
"""


def test_a_solid_in_several_colors_is_one_closed_body():
    """A surface for each color is a way to paint a solid, not several open ones."""
    data = CUBE_IN_THREE_COLORS.format("gray").encode()

    [body] = mesh_from_bytes(data, name="cube.obj")

    assert is_closed(body.mesh.triangles)
    assert body.mesh.volume_mm3 == pytest.approx(1000)


def test_surfaces_that_do_not_close_each_other_stay_apart():
    """Two squares side by side are two bodies; closed bodies beside open ones stay as they are."""
    corners = "v {0} 0 0\nv {1} 0 0\nv {1} 9 0\nv {0} 9 0\n"
    faces = "usemtl red\nf 1 2 3 4\nusemtl blue\nf 5 6 7 8\n"
    data = (corners.format(20, 30) + corners.format(40, 50) + faces).encode()

    assert [len(body.mesh.triangles) for body in mesh_from_bytes(data, name="two.obj")] == [2, 2]


@pytest.mark.parametrize(
    ("name", "encoding"),
    [("gr\N{LATIN SMALL LETTER U WITH DIAERESIS}n", "latin-1"), ("gray", "utf-16")],
)
def test_names_may_be_written_in_any_encoding(name, encoding):
    """An OBJ with a name in a code page, or in two bytes a letter, is read."""
    data = CUBE_IN_THREE_COLORS.format(name).encode(encoding)

    [body] = mesh_from_bytes(data, name="cube.obj")

    assert is_closed(body.mesh.triangles)


def test_a_mesh_of_lines_is_refused():
    """Triangles whose corners are in one line enclose nothing and cover nothing."""
    data = b"v 0 0 0\nv 1 2 3\nv -1 -2 -3\nf 1 2 3\n"

    with pytest.raises(FileError, match=r"rod\.obj holds only triangles without area"):
        mesh_from_bytes(data, name="rod.obj")


@pytest.mark.parametrize("faces", ["", "element face 0\nproperty list uchar int vertex_indices\n"])
def test_a_cloud_of_points_is_told(faces):
    """A PLY without faces holds no triangles, whatever else is amiss with it."""
    head = "ply\nformat ascii 1.0\nelement vertex 2\nproperty float x\nproperty float y\n"
    data = f"{head}property float z\n{faces}end_header\n0 0 0\n1 1 1\n".encode()

    with pytest.raises(FileError, match=r"cloud\.ply holds no triangles"):
        mesh_from_bytes(data, name="cloud.ply")
