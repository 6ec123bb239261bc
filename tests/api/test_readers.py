"""Drawings, pictures and meshes in hand: read as from files, within limits."""

import pytest
import shapely
from conftest import ROOT

import moldgen as mg
from moldgen.outline.dxf.read import outline_from_dxf
from moldgen.outline.svg.read import outline_from_svg
from moldgen.solid.reading.mesh_file import load_mesh

DRAWINGS = ROOT / "examples/drawings"
SVG, DXF = DRAWINGS / "gull-badge.svg", DRAWINGS / "oar-plate.dxf"
PICTURE = (DRAWINGS / "rowing-boat.png").read_bytes()
CORNERS = ((0, 0, 0), (20, 0, 0), (0, 20, 0), (0, 0, 20))
FACES = ((0, 2, 1), (0, 1, 3), (1, 2, 3), (2, 0, 3))
OBJ = (
    "".join("v {} {} {}\n".format(*corner) for corner in CORNERS)
    + "".join("f {} {} {}\n".format(*(i + 1 for i in face)) for face in FACES)
).encode()


@pytest.mark.parametrize("as_text", [False, True])
def test_an_svg_in_hand_is_that_of_the_file(as_text):
    """Bytes and text give the outlines that the file gives."""
    data = SVG.read_text(encoding="utf-8") if as_text else SVG.read_bytes()

    assert mg.outline_from_svg(data).region == outline_from_svg(SVG).region


def test_a_dxf_in_hand_is_that_of_the_file():
    """Bytes give the outlines that the file gives."""
    assert mg.outline_from_dxf(DXF.read_bytes()).region == outline_from_dxf(DXF).region


def test_a_drawing_in_hand_is_made_into_a_mold():
    """A job that names a drawing takes it from the hand in place of the disk."""
    drawn = mg.outline_from_svg(SVG.read_bytes())
    job = mg.drawing("nowhere.svg", height=6, formats="json")
    mold = mg.make(job, drawings={"nowhere.svg": drawn})
    filed = mg.make(mg.drawing("gull-badge.svg", height=6), folder=DRAWINGS)

    assert mold.mesh.volume_mm3 == filed.mesh.volume_mm3


def test_a_picture_in_hand_is_traced():
    """The outlines are as wide as is asked for."""
    x0, _, x1, _ = mg.outline_from_picture(PICTURE, width_mm=80).region.bounds

    assert x1 - x0 == pytest.approx(80)


def test_a_mesh_in_hand_is_read_and_checked(tmp_path):
    """Bytes give the bodies of the file, and the findings of the file but for its name."""
    (tmp_path / "wedge.obj").write_bytes(OBJ)
    (body,) = mg.mesh_from_bytes(OBJ, name="wedge.obj")
    (filed,) = load_mesh(tmp_path / "wedge.obj")

    assert body.mesh.volume_mm3 == pytest.approx(20**3 / 6)
    assert (body.mesh.points_mm == filed.mesh.points_mm).all()
    codes = [one.code for one in mg.check(tmp_path / "wedge.obj").findings]
    assert [one.code for one in mg.check([body]).findings] == codes
    assert codes


@pytest.mark.parametrize(
    ("read", "sentence"),
    [
        (lambda: mg.outline_from_svg(SVG.read_bytes(), limits=mg.Limits(drawing_bytes=100)),
         "more than 100 bytes; export only the outlines"),
        (lambda: mg.outline_from_svg(SVG.read_bytes(), limits=mg.Limits(points=5)),
         "corners, more than 5; simplify its outlines"),
        (lambda: mg.outline_from_dxf(DXF.read_bytes(), limits=mg.Limits(drawing_bytes=2000)),
         "more than 2 kB; export only the outlines"),
        (lambda: mg.outline_from_dxf(DXF.read_bytes(), limits=mg.Limits(points=3)),
         "corners, more than 3; simplify its outlines"),
        (lambda: mg.outline_from_picture(PICTURE, limits=mg.Limits(pixels=1000)),
         "pixels, more than the 1,000 that can be handled"),
        (lambda: mg.outline_from_picture(PICTURE, limits=mg.Limits(picture_bytes=1000)),
         "is larger than 1 kB"),
        (lambda: mg.outline_from_picture(b"GIF"), "is not a picture"),
        (lambda: mg.mesh_from_bytes(OBJ, name="a.obj", limits=mg.Limits(triangles=3)),
         "has 4 triangles, more than the 3"),
        (lambda: mg.mesh_from_bytes(OBJ, name="a.obj", limits=mg.Limits(mesh_bytes=20)),
         "is larger than 20 bytes"),
        (lambda: mg.mesh_from_bytes(b"", name="a.stl"), "a.stl is empty"),
        (lambda: mg.outline_from_svg(b" "), "drawing.svg is empty"),
        (lambda: mg.Limits(pixels=0), "pixels must be at least 1"),
    ],
)  # fmt: skip
def test_what_is_too_large_is_one_sentence(read, sentence):
    """Size, corners, pixels and triangles are each told, with the limit."""
    with pytest.raises(mg.MoldgenError) as told:
        read()

    assert sentence in str(told.value)


def test_usual_limits_are_those_of_files():
    """What passes for a file passes in hand."""
    assert shapely.get_num_coordinates(outline_from_svg(SVG).region) < mg.Limits().points
    assert mg.Limits() == mg.Limits(drawing_bytes=40_000_000, triangles=5_000_000)


@pytest.mark.parametrize(
    "read", [lambda **said: mg.outline_from_svg(SVG.read_bytes(), **said),
             lambda **said: mg.outline_from_dxf(DXF.read_bytes(), **said)],
)  # fmt: skip
def test_a_drawing_in_hand_is_read_at_the_size_asked_for(read):
    """With a width the region has it, and its corner stays; a width of nothing is refused."""
    drawn, sized = read(), read(width_mm=77.0)

    left, bottom, right, _ = sized.region.bounds
    assert right - left == pytest.approx(77, abs=0.02)
    assert (left, bottom) == pytest.approx(drawn.region.bounds[:2], abs=0.02)
    with pytest.raises(mg.SpecError, match="width_mm must be more than 0 mm"):
        read(width_mm=0.0)
