"""Meshes made to hurt: refused by what they promise, before anything is made of it."""

import numpy as np
import pytest
from support.hostile import (
    box_triangles,
    components_of_components,
    ended_after,
    glb_of_nodes,
    model_of,
    solid_object,
    stl,
    threemf,
)

import moldgen as mg
from moldgen.errors import FileError
from moldgen.limits import Limits


def read(data, name, **limits):
    """Read a mesh within limits."""
    with ended_after(30):
        return mg.mesh_from_bytes(data, name=name, limits=Limits(**limits))


def test_components_of_components_are_counted():
    """2^24 placements from a kilobyte are refused at the limit."""
    with pytest.raises(FileError, match=r"a\.3mf places more than 2,000 bodies"):
        read(threemf(components_of_components()), "a.3mf")


def test_items_are_counted():
    """The one beyond the limit is refused, the last within it is read."""
    data = threemf(model_of(solid_object(), '<item objectid="0"/>' * 20))

    assert len(read(data, "a.3mf", placements=20)) == 20
    with pytest.raises(FileError, match="places more than 19 bodies"):
        read(data, "a.3mf", placements=19)


def test_triangles_count_as_often_as_they_are_placed():
    """Twenty placements of four triangles are eighty."""
    data = threemf(model_of(solid_object(), '<item objectid="0"/>' * 20))

    assert len(read(data, "a.3mf", triangles=80)) == 20
    with pytest.raises(FileError, match="80 triangles, more than the 79"):
        read(data, "a.3mf", triangles=79)


@pytest.mark.parametrize(
    ("limits", "says"),
    [
        ({"unpacked_bytes": 1000}, "unpacks to over 1 kB"),
        ({"unpacked_share": 1}, "far more than it takes packed"),
        ({"visits": 10}, "holds more than 10 objects and places"),
        ({"package_parts": 1}, "spread over too many models"),
    ],
)
def test_what_a_3mf_unpacks_to_is_limited(limits, says):
    """Bytes, their share of the packed size, elements and models are each counted."""
    data = threemf(model_of(solid_object(), "<item objectid='0'/>" * 3000))

    with pytest.raises(FileError, match=says):
        read(data, "a.3mf", **limits)


def test_vertices_are_counted_though_no_triangle_uses_them():
    """A mesh of vertices alone is as large as a mesh."""
    vertices = '<vertex x="0" y="0" z="0"/>' * 3000
    mesh = (
        f"<mesh><vertices>{vertices}</vertices>"
        '<triangles><triangle v1="0" v2="1" v3="2"/></triangles></mesh>'
    )
    data = threemf(model_of(f'<object id="0">{mesh}</object>', '<item objectid="0"/>'))

    with pytest.raises(FileError, match="1,000 triangles, more than the 100"):
        read(data, "a.3mf", triangles=100)


def test_a_document_type_in_a_3mf_is_refused():
    """Entities, which make a small file swell, cannot be defined."""
    data = threemf("<!DOCTYPE model [<!ENTITY a 'b'>]>" + model_of(solid_object(), ""))

    with pytest.raises(FileError, match="has a document type"):
        read(data, "a.3mf")


def test_an_accessor_without_data_is_refused():
    """A hundred million zeros that are only promised are not made."""
    data = glb_of_nodes([{"mesh": 0}], [0], count=100_000_000, view=False)

    with pytest.raises(FileError, match="promises more than it holds"):
        read(data, "a.glb")


def test_an_accessor_beyond_its_data_is_refused():
    """Four corners do not lie in the place of three."""
    assert read(glb_of_nodes([{"mesh": 0}], [0]), "a.glb")
    with pytest.raises(FileError, match="promises more than it holds"):
        read(glb_of_nodes([{"mesh": 0}], [0], count=4), "a.glb")


def test_nodes_are_counted():
    """50,000 nodes of one mesh are refused, and so are nodes that share their children."""
    with pytest.raises(FileError, match="places more than 2,000 bodies"):
        read(glb_of_nodes([{"mesh": 0}] * 50_000, list(range(50_000))), "a.glb")
    shared = [{"mesh": 0}] + [{"children": [k, k]} for k in range(25)]
    with pytest.raises(FileError, match="places more than 2,000 bodies"):
        read(glb_of_nodes(shared, [25]), "a.glb")


def test_a_node_that_contains_itself_is_refused():
    """A loop of nodes ends at the limit of nesting."""
    with pytest.raises(FileError, match="a node that contains itself"):
        read(glb_of_nodes([{"children": [0]}], [0]), "a.glb")


def test_a_long_description_is_refused():
    """What stands where in a GLB is limited by its length."""
    with pytest.raises(FileError, match="describes too many things"):
        read(glb_of_nodes([{"mesh": 0}], [0]), "a.glb", scene_bytes=100)


@pytest.mark.parametrize("folded", [False, True])
def test_a_face_of_thousands_of_corners_is_refused(folded):
    """It is counted before it is cut into triangles, also over several lines."""
    turn = np.linspace(0, 2 * np.pi, 5000, endpoint=False)
    corners = "".join(f"v {np.cos(t):.6f} {np.sin(t):.6f} 0\n" for t in turn)
    numbers = " ".join(map(str, range(1, 5001)))
    face = "f " + (numbers.replace("0 ", "0 \\\n") if folded else numbers)

    with pytest.raises(FileError, match=r"a face of 5,\d\d\d corners"):
        read((corners + face + "\n").encode(), "a.obj")


def test_faces_within_the_limit_are_read():
    """A face of 30 corners is 28 triangles."""
    turn = np.linspace(0, 2 * np.pi, 30, endpoint=False)
    corners = "".join(f"v {np.cos(t):.6f} {np.sin(t):.6f} 0\n" for t in turn)
    face = "f " + " ".join(map(str, range(1, 31))) + "\n"

    (body,) = read((corners + face).encode(), "a.obj", face_corners=30)

    assert len(body.mesh.triangles) == 28


def test_a_ply_that_promises_more_than_it_holds_is_refused():
    """A head of a hundred bytes promises a thousand million corners."""
    head = "ply\nformat ascii 1.0\nelement vertex 1000000000\nproperty float x\nend_header\n"

    with pytest.raises(FileError, match="promises more than it holds"):
        read(head.encode(), "a.ply")


@pytest.mark.parametrize("far", [1e15, 1e29])
def test_a_corner_farther_than_any_mold_is_refused(far):
    """One bad corner makes a grid that no memory holds."""
    triangles = box_triangles(60, 60, 30)
    triangles[triangles == 30] = far

    with pytest.raises(FileError, match=r"a\.stl has a corner .* km from the origin"):
        read(stl(triangles), "a.stl")


def test_a_text_stl_is_counted_before_its_corners_are_read():
    """The limit of triangles holds for both forms of STL."""
    facet = "facet normal 0 0 1 outer loop vertex 0 0 0 vertex 1 0 0 vertex 0 1 0 endloop endfacet"
    text = "solid a\n" + f"{facet}\n" * 50 + "endsolid a\n"

    with pytest.raises(FileError, match="50 triangles, more than the 49"):
        read(text.encode(), "a.stl", triangles=49)
    with pytest.raises(FileError, match="12 triangles, more than the 11"):
        read(stl(box_triangles(1, 1, 1)), "a.stl", triangles=11)


@pytest.mark.parametrize("numbers", ["0 0", "0"])
def test_corners_of_fewer_than_three_numbers_are_refused(numbers):
    """A corner in a plane or on a line is told as what it is."""
    text = "".join(f"v {numbers}{k}\n" for k in (1, 2, 3)) + "f 1 2 3\n"

    with pytest.raises(FileError, match="corners of fewer than three numbers"):
        mg.mesh_from_bytes(text.encode(), name="a.obj")
