"""What people bring: meshes, height maps, drawings; and what is refused."""

from __future__ import annotations

import json
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
import shapely
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from moldgen.cli.app import main
from moldgen.errors import OutlineError
from moldgen.export.mesh.threemf import threemf_bytes
from moldgen.finding import Finding, Severity
from moldgen.mold.underside.underside import Underside, UndersideSpec
from moldgen.outline.trace import TraceSpec, outline_from_gray, svg_of_traced
from moldgen.pipeline.brought.adapt import _at_air_notch
from moldgen.solid.height.direction import axes_of, best_direction, turned
from moldgen.solid.mesh import Body, Mesh


def disc_picture(size, middle, radius):
    """Return a dark disc on paper, each pixel the share of ink in it."""
    fine = 8
    at = (np.arange(size * fine) + 0.5) / fine
    inside = np.hypot(at[None] - middle[0], at[:, None] - middle[1]) <= radius
    return 0.9 - 0.8 * inside.reshape(size, fine, size, fine).mean(axis=(1, 3))


@settings(max_examples=15, deadline=None)
@given(st.floats(25, 35), st.floats(25, 35), st.floats(8, 20))
def test_disc_is_traced_between_the_pixels(x, y, radius):
    """A drawn circle comes back within a fifth of a pixel."""
    region = outline_from_gray(disc_picture(60, (x, y), radius), TraceSpec(spare_px=0.02)).region
    ring = shapely.get_coordinates(region.geoms[0].exterior)
    assert len(region.geoms) == 1
    assert np.abs(np.hypot(*(ring - (x, y)).T) - radius).max() < 0.2


def test_square_is_traced_and_a_shadow_does_no_harm():
    """Sides of a square come back within a fifth of a pixel, under a shadow across the sheet."""
    gray = np.full((90, 120), 0.9)
    gray[20:70, 30:95] = 0.15
    gray *= np.linspace(1.0, 0.55, 120)[None]
    region = outline_from_gray(gray, TraceSpec()).region
    assert region.bounds == pytest.approx((30, 20, 95, 70), abs=0.2)


@pytest.mark.parametrize("table", [0.25, 0.1])
def test_paper_on_a_dark_table_is_told_from_the_drawing(table):
    """The table along the border is no ink; the drawing on the paper is traced alone."""
    gray = np.full((240, 320), table)
    gray[20:215, 30:300] = 0.9
    gray[70:150, 100:220] = 0.1
    found = outline_from_gray(gray, TraceSpec())

    assert found.region.bounds == pytest.approx((100, 70, 220, 150), abs=0.3)
    assert found.around_share == pytest.approx(1 - 195 * 270 / (240 * 320), abs=0.02)
    assert not found.at_edge


def test_a_drawing_that_runs_off_is_kept_beside_a_dot():
    """What crosses the border in a short piece is the drawing, not its surroundings."""
    gray = np.full((120, 160), 0.9)
    gray[50:70, 40:] = 0.1
    gray[20:30, 20:30] = 0.1
    found = outline_from_gray(gray, TraceSpec())

    assert len(found.region.geoms) == 2
    assert (found.at_edge, found.around_share) == (True, 0.0)


def test_hole_is_kept_unless_filled_and_specks_are_left_out():
    """What a line encloses is a hole; ``fill`` raises it; grains of dirt are told."""
    gray = np.full((80, 80), 0.9)
    gray[20:60, 20:60] = 0.1
    gray[32:48, 32:48] = 0.9
    gray[5:8, 5:8] = 0.1
    open_, filled = (outline_from_gray(gray, TraceSpec(fill=f)) for f in (False, True))
    assert len(open_.region.geoms[0].interiors) == 1
    assert len(filled.region.geoms[0].interiors) == 0
    assert open_.n_specks == 1
    assert svg_of_traced(open_.region, width_mm=50).count(b"M") == 2


@pytest.mark.parametrize("gray", [np.full((60, 60), 0.8), np.full((60, 60), 0.0)])
def test_blank_picture_is_refused(gray):
    """White or black all over shows nothing to trace."""
    with pytest.raises(OutlineError, match="blank"):
        outline_from_gray(gray, TraceSpec())


@settings(max_examples=20, deadline=None)
@given(st.tuples(*[st.floats(-1, 1)] * 3).filter(lambda d: np.linalg.norm(d) > 0.1))
def test_pull_is_turned_up_without_mirroring(direction):
    """The axes are a turn, and take the draw direction to z."""
    axes = axes_of(direction)
    assert axes @ axes.T == pytest.approx(np.eye(3), abs=1e-9)
    assert np.linalg.det(axes) == pytest.approx(1.0)
    up = np.array(direction) / np.linalg.norm(direction)
    assert axes @ up == pytest.approx([0, 0, 1], abs=1e-9)


def test_best_pull_of_a_tilted_block_is_square_to_its_largest_face():
    """A block in any position needs no filling, and least draw lying flat."""
    made = trimesh.creation.box((40, 30, 8))
    made.apply_transform(trimesh.transformations.rotation_matrix(0.7, [1, 2, 0.5]))
    mesh = Mesh(np.array(made.vertices), np.array(made.faces, np.int32))
    score = best_direction(mesh, closed=True)
    assert np.ptp(turned(mesh, score.direction).bounds_mm[:, 2]) == pytest.approx(8, abs=0.05)
    assert score.filled < 0.03


def mesh_of(made):
    """Return a mesh made by the library that only tests and readers use."""
    return Mesh(np.array(made.vertices, float), np.array(made.faces, np.int32))


def flat_square(path):
    """Write a square without any height."""
    corners = [[0, 0, 0], [40, 0, 0], [40, 40, 0], [0, 40, 0]]
    trimesh.Trimesh(corners, [[0, 1, 2], [0, 2, 3]], process=False).export(path)


def run(folder, *words):
    """Carry out the adapt command into a folder."""
    return main(["adapt", *map(str, words), "--out", str(folder / "out"), "--formats", "stl"])


def test_block_and_height_map_become_molds(tmp_path):
    """A mesh and a gray-scale picture each become a closed mold that can be read again."""
    trimesh.creation.box((30, 24, 12)).export(tmp_path / "block.stl")
    ramp = np.linspace(40, 220, 80)[None].repeat(60, axis=0)
    Image.fromarray(ramp.astype(np.uint8)).save(tmp_path / "beach.png")
    # A second run would clear away what the first one wrote there.
    assert run(tmp_path, tmp_path / "block.stl", "--cell", "0.5") == 0
    assert trimesh.load_mesh(tmp_path / "out" / "block.stl").is_watertight
    beach = ("--as", "relief", "--width", "40", "--cell", "0.5")
    assert run(tmp_path, tmp_path / "beach.png", *beach) == 0
    assert trimesh.load_mesh(tmp_path / "out" / "beach.stl").is_watertight


BLOCK_MM = (30, 24, 12)


@pytest.mark.parametrize("ending", ["obj", "ply", "glb", "3mf"])
def test_every_kind_of_mesh_becomes_the_same_mold(tmp_path, ending):
    """A block of each format stands 12 mm high on a foot as wide as its draft asks."""
    block = trimesh.creation.box(BLOCK_MM)
    path = tmp_path / f"block.{ending}"
    if ending == "3mf":
        path.write_bytes(threemf_bytes([Body("block", mesh_of(block))], title="block"))
    elif ending == "glb":
        # Metres, and y is up.
        block.apply_transform(trimesh.transformations.rotation_matrix(-np.pi / 2, [1, 0, 0]))
        block.apply_scale(0.001).export(path)
    else:
        block.export(path)
    assert run(tmp_path, path, "--cell", "0.5", "--draft", "5") == 0
    made = trimesh.load_mesh(tmp_path / "out" / "block.stl")
    wide = 2 * 12 * np.tan(np.radians(5))
    assert made.extents == pytest.approx((30 + wide, 24 + wide, 12), abs=0.2)


def two_blocks(*, apart):
    """Return two blocks beside or through one another."""
    other = trimesh.creation.box(BLOCK_MM)
    other.apply_translation([apart, 0, 0])
    return trimesh.util.concatenate([trimesh.creation.box(BLOCK_MM), other])


def open_block():
    """Return a block without its underside."""
    block = trimesh.creation.box(BLOCK_MM)
    block.update_faces(block.face_normals[:, 2] > -0.5)
    return block


def torn_block():
    """Return a block with one triangle turned over."""
    block = trimesh.creation.box(BLOCK_MM)
    faces = np.array(block.faces)
    faces[0] = faces[0][::-1]
    return trimesh.Trimesh(block.vertices, faces, process=False)


def inside_out():
    """Return a block that faces inward."""
    block = trimesh.creation.box(BLOCK_MM)
    return trimesh.Trimesh(block.vertices, np.array(block.faces)[:, ::-1], process=False)


@pytest.mark.parametrize(
    ("brought", "volume_mm3", "words"),
    [
        (open_block(), 8640, "the mesh is not closed"),
        (inside_out(), 8640, "the mesh is inside out and was turned"),
        (torn_block(), 8640, "touches itself or faces both ways"),
        (two_blocks(apart=40), 17280, "several pieces, which became one mold"),
        (two_blocks(apart=11), 41 * 24 * 12, "several pieces, which became one mold"),
    ],
    ids=["open", "inside-out", "torn", "two", "crossing"],
)
def test_faulty_meshes_become_molds_and_are_told(tmp_path, capsys, brought, volume_mm3, words):
    """What can be read from above is made all the same: closed, and told in one sentence."""
    path = tmp_path / "brought.stl"
    brought.export(path)
    assert run(tmp_path, path, "--cell", "0.5", "--most-added", "5") == 0
    assert words in " ".join(capsys.readouterr().out.split())
    made = [trimesh.load_mesh(stl) for stl in (tmp_path / "out").glob("*.stl")]
    assert all(body.is_watertight for body in made)
    assert sum(body.volume for body in made) > 0.9 * volume_mm3


def finding(code, x, y, z):
    """Return a finding at a place."""
    return Finding(code=code, severity=Severity.NOTE, says="edge", where_mm=(x, y, z), basis="")


def test_only_the_rims_of_gates_go_untold():
    """An edge at an air notch is left out; one elsewhere as low, above it or hollow is not."""
    air_notch = shapely.MultiPolygon([shapely.box(0, 0, 4, 2)])
    under = Underside(shapely.MultiPolygon(), air_notch, UndersideSpec(air_notch_mm=0.6))
    mold: Any = SimpleNamespace(undersides=(under,))
    assert _at_air_notch(finding("edge-convex", 0.0, 1.0, 0.6), mold)
    assert not _at_air_notch(finding("edge-convex", 20.0, 1.0, 0.2), mold)
    assert not _at_air_notch(finding("edge-convex", 2.0, 1.0, 3.0), mold)
    assert not _at_air_notch(finding("edge-concave", 2.0, 1.0, 0.2), mold)


def test_sphere_is_stopped_for_what_was_added(tmp_path, capsys):
    """A ball gains more than a quarter: exit code 1, and the share is told."""
    trimesh.creation.icosphere(3, 10.0).export(tmp_path / "float.stl")
    assert run(tmp_path, tmp_path / "float.stl", "--cell", "0.5") == 1
    assert "more was added than the job allows" in " ".join(capsys.readouterr().out.split())


def test_a_drawing_that_runs_off_is_told_in_every_file(tmp_path):
    """The screen, the findings file and the report warn alike; the traced outline comes as SVG."""
    gray = np.full((120, 160), 255, np.uint8)
    gray[40:80, 60:] = 0
    Image.fromarray(gray).save(tmp_path / "float.png")
    words = ["adapt", str(tmp_path / "float.png"), "--width", "30", "--out", str(tmp_path / "out")]
    assert main([*words, "--formats", "json,html,svg"]) in (0, 1)

    told = json.loads((tmp_path / "out" / "findings.json").read_text(encoding="utf-8"))
    page = (tmp_path / "out" / "report.html").read_text(encoding="utf-8")
    assert "drawing-at-edge" in {finding["code"] for finding in told["findings"]}
    assert "runs off the picture" in page
    assert (tmp_path / "out" / "float-outline.svg").exists()


def test_a_step_far_too_small_is_refused(tmp_path, capsys):
    """A part of 2 m read every 0.1 mm: the least step that can be handled is told."""
    trimesh.creation.box((2000, 1500, 20)).export(tmp_path / "hull.stl")
    assert run(tmp_path, tmp_path / "hull.stl", "--cell", "0.1") == 2
    assert "--cell must be at least" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("name", "write", "words"),
    [
        ("a.png", lambda p: p.write_bytes(b"no picture"), "not a picture"),
        ("b.png", lambda p: Image.new("L", (8, 8)).save(p), "only 8 x 8 pixels"),
        ("c.png", lambda p: Image.new("L", (60, 60), 200).save(p), "blank"),
        ("d.png", lambda p: None, "does not exist"),
        ("e.stl", lambda p: p.write_bytes(b""), "empty"),
        ("f.stl", lambda p: trimesh.creation.box((2, 2, 2)).export(p), "--unit must be stated"),
        ("h.stl", lambda p: trimesh.creation.box((1e-3, 5, 5)).export(p), "--unit must be stated"),
        ("i.png", lambda p: Image.new("RGB", (60, 60)).save(p), "blank"),
        ("j.obj", lambda p: p.write_text("v 0 0 0\n"), "j.obj"),
        ("k.stl", flat_square, "flat"),
        ("l.txt", lambda p: p.write_text("tide"), "l.txt"),
        ("g.stl", lambda p: trimesh.creation.box((5e3, 9, 9)).export(p), "--unit must be stated"),
    ],
)
def test_bad_files_are_refused_in_one_sentence(tmp_path, capsys, name, write, words):
    """Exit code 2, one line, nothing written."""
    path = tmp_path / name
    write(path)
    assert run(tmp_path, path, *(["--as", "relief"] if name[0] in "abcdi" else [])) == 2
    told = capsys.readouterr().err
    assert words in told
    assert told.count("\n") == 1
    assert not (tmp_path / "out").exists()


def test_a_part_in_meters_is_laid_down_as_one_in_millimeters_is(tmp_path):
    """The search for the best pull looks at the size asked for, not at the numbers of the file."""
    slab = trimesh.creation.box((0.025, 0.006, 0.051))
    slab.export(tmp_path / "thwart.stl")
    out = tmp_path / "out"
    words = ["--width", "100", "--pull", "best", "--formats", "json", "--out", str(out), "-q"]

    assert main(["adapt", str(tmp_path / "thwart.stl"), *words]) in {0, 1}
    numbers = json.loads((out / "findings.json").read_text())["numbers"]
    assert numbers["height_mm"] < 40
    assert numbers["added_share"] < 0.3


def test_an_upright_wall_alone_is_refused_with_a_way_out(tmp_path, capsys):
    """A surface that is not seen from above has no height field; laid down it would have."""
    wall = tmp_path / "wall.obj"
    wall.write_text("v 0 0 0\nv 40 30 0\nv 40 30 30\nv 0 0 30\nf 1 2 3 4\n")

    assert main(["adapt", str(wall), "--width", "80", "--out", str(tmp_path / "out")]) == 2
    said = capsys.readouterr().err
    assert "wall.obj is only upright walls, nothing of which is seen from above" in said
    assert "--pull best" in said
