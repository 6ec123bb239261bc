"""The recipe as a whole: jobs in, checked molds and files out."""

from __future__ import annotations

import io
import json
import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
import shapely
import trimesh
from conftest import ROOT
from manifold3d import CrossSection, Manifold
from support.some import some

from moldgen.errors import MoldgenError, SpecError
from moldgen.export.mesh.stl import stl_bytes
from moldgen.finding import Severity
from moldgen.job import CheckCommand, DrawDirection, Format, Job, JobOutput, load_job
from moldgen.job.feature_names import with_names
from moldgen.job.read import mold_from_words
from moldgen.mold.build import build_raw_mold, flat_region, outer_region
from moldgen.mold.choices import VentKind
from moldgen.mold.plan_radius import stroke_mm
from moldgen.pipeline import first_use
from moldgen.pipeline.brought.check import check
from moldgen.pipeline.mold.design import design_features
from moldgen.pipeline.mold.features import SPARE_MM, local_thickness_mm, resolve_features
from moldgen.pipeline.mold.make import make as make_all
from moldgen.pipeline.mold.plan import Drilling, _note, drill_list
from moldgen.pipeline.mold.steps import on_the_day
from moldgen.pipeline.setting import setting_of
from moldgen.pipeline.stage import Stage, quiet
from moldgen.solid.reading.mesh_file import load_mesh
from moldgen.solid.sound import mesh_from_solid
from moldgen.solid.topology import topology_of, welded
from moldgen.stock import load_shop

EXAMPLES = [
    path
    for path in sorted((ROOT / "examples").glob("*.toml"))
    if "[[body]]" in path.read_text(encoding="utf-8")
]
SHOP = load_shop(user_file=None)
PLATE = {"shape": "rounded-plaque", "width": 60, "height": 40, "corner": 0.1}


def job_of(**words) -> Job:
    """Return a small job: one plate unless told otherwise, nothing sunk underneath."""
    body = {"name": "plate", "outline": PLATE, "height": 6}
    base = {"title": "Bollard plate", "body": [body], "underside": {"insert": "none"}}
    return with_names(mold_from_words(base | words))


def resolved(job: Job, folder: Path = Path()):
    """Return the features of a job."""
    setting = setting_of(job, SHOP)
    return resolve_features(job, folder=folder, setting=setting)


def body_of(job: Job):
    return resolved(job).bodies[0]


def make(job: Job, folder: Path = Path()):
    return make_all(job, folder=folder, shop=SHOP, progress=lambda stage: None)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_every_example_makes_a_closed_drafted_mold(path, tmp_path):
    """Each example's meshes, read back from its 3MF, are closed and keep their stated draft."""
    loaded = load_job(path)
    assert isinstance(loaded, Job)
    job = with_names(loaded)
    made = make(replace(job, output=JobOutput(formats=(Format.THREE_MF,))), path.parent)
    assert not [f for f in made.findings if f.severity is Severity.STOP]
    name = next(name for name in made.files if name.endswith(".3mf"))
    (tmp_path / name).write_bytes(made.files[name])
    bodies = load_mesh(tmp_path / name)
    assert len(bodies) == made.numbers["bodies"]
    for body in bodies:
        topology = topology_of(welded(body.mesh))
        assert topology.closed
        assert body.mesh.volume_mm3 > 0
    assert made.numbers["least_draft_deg"] >= stated_deg(job) - 0.1


def stated_deg(job: Job) -> float:
    """Return the least draft that any feature of a job was settled with."""
    features = list(resolved(job, EXAMPLES[0].parent).bodies)
    drafts = []
    while features:
        feature = features.pop()
        drafts.append(feature.wall.draft_deg)
        features.extend(feature.children)
    return min(drafts)


def test_all_files_are_written_and_named_after_the_job():
    """A job without formats gets every kind of file."""
    made = make(job_of())
    endings = {name.rsplit(".", 1)[1] for name in made.files}
    assert endings == {"stl", "3mf", "glb", "svg", "dxf", "pdf", "png", "html", "json"}
    assert {"bollard-plate.stl", "report.html", "findings.json"} <= set(made.files)


def test_only_asked_formats_are_written():
    """Asked for STL only, nothing else is made."""
    assert list(make(job_of(output={"formats": ["stl"]})).files) == ["bollard-plate.stl"]


def test_same_job_gives_the_same_bytes():
    """Making twice gives equal files to the last byte."""
    words = {"outline": {"text": "PIER", "height": 20}, "height": 4, "name": "word"}
    job = job_of(body=[{"name": "plate", "outline": {"around": 8}, "height": 5, "raised": [words]}])
    assert make(job).files == make(job).files


def test_findings_file_agrees_with_what_is_told():
    """findings.json holds every finding that is handed over."""
    made = make(job_of(output={"formats": ["json"]}))
    told = json.loads(made.files["findings.json"])
    assert [f["code"] for f in told["findings"]] == [f.code for f in made.findings]


def test_shrinkage_scales_the_mold_up():
    """A part of 60 mm in HIPS, shrinking 0.55 %, needs a mold of 60 / (1 - 0.0055) mm."""
    plain, larger = body_of(job_of()), body_of(job_of(shrinkage=True))
    share = SHOP.plastic("HIPS").shrinkage_male
    assert width(larger.region) == pytest.approx(width(plain.region) / (1 - share), rel=1e-6)
    assert larger.wall.height_mm == pytest.approx(6 / (1 - share))
    codes = [f.code for f in resolved(job_of(shrinkage=True)).findings]
    assert "shrinkage-added" in codes


def width(region) -> float:
    x0, _, x1, _ = region.bounds
    return x1 - x0


def test_inside_of_a_tray_is_read_on_the_far_side_of_the_sheet():
    """A recess that must hold 40 mm is cut wider by the sheet's mean thickness on both sides."""
    recess = {"outline": PLATE | {"width": 40, "height": 30}, "depth": 10, "name": "recess"}
    base = {"name": "block", "outline": {"around": 14}, "height": 16}
    on_mold = body_of(job_of(body=[base | {"sunk": [recess]}])).children[0]
    inside = body_of(job_of(body=[base | {"sunk": [recess | {"read_at": "part-inside"}]}]))
    local = local_thickness_mm(on_mold.region, 10, gauge_mm=1.5, sunk=True)
    assert width(inside.children[0].region) == pytest.approx(40 + 2 * local, abs=0.05)
    assert 0.4 < local < 1.5


def test_outside_of_a_raised_part_is_read_over_the_sheet():
    """A raised plate whose part shall be 60 mm outside is made smaller by the sheet."""
    body = {"name": "plate", "outline": PLATE, "height": 6, "read_at": "part-outside"}
    region = body_of(job_of(body=[body])).region
    assert 60 - 2 * 1.5 < width(region) < 60 - 2 * 0.8


def test_plaque_goes_round_its_letters():
    """A body around its children leaves the margin on every side."""
    word = {"name": "word", "outline": {"text": "TIDE", "height": 20}, "height": 3}
    body = {"name": "plaque", "outline": {"around": 9, "corner": 5}, "height": 6, "raised": [word]}
    plaque = body_of(job_of(body=[body]))
    letters = plaque.children[0].region.bounds
    gaps = np.abs(np.subtract(plaque.region.bounds, letters))
    np.testing.assert_allclose(gaps, 9, atol=0.1)


def test_border_follows_the_flat():
    """A border of 3 mm, 2 mm inside, keeps its distance from the plate's flat."""
    border = {"name": "border", "outline": {"border": 3, "inset": 2}, "height": 2, "plan_radius": 0}
    plate = body_of(job_of(body=[{"name": "p", "outline": PLATE, "height": 6, "raised": [border]}]))
    ring = plate.children[0].region
    assert len(ring.geoms[0].interiors) == 1
    assert ring.distance(flat_region(plate).boundary) == pytest.approx(2, abs=0.02)
    assert stroke_mm(ring) == pytest.approx(3, abs=0.1)


def test_grid_shares_the_flat_evenly():
    """Compartments 3 x 2 are six outlines of one size, a gap apart."""
    grid = {"name": "wells", "outline": {"grid": "3 x 2", "gap": 6, "inset": 3}, "depth": 3,
            "plan_radius": 0}  # fmt: skip
    block = body_of(job_of(body=[{"name": "b", "outline": PLATE | {"corner": 0}, "height": 9,
                                  "plan_radius": 0, "sunk": [grid]}]))  # fmt: skip
    cells = block.children[0].region.geoms
    assert len(cells) == 6
    assert np.ptp([cell.area for cell in cells]) < 1e-6
    assert cells[0].distance(cells[1]) == pytest.approx(6)


def test_each_letter_becomes_its_own_mold():
    """A word with each = true gives a body per letter, named after it."""
    body = {"name": "letters", "outline": {"text": "EBB", "height": 40}, "height": 10, "each": True}
    made = make(job_of(body=[body], output={"formats": ["stl"]}))
    assert sorted(made.files) == [
        "bollard-plate-letters-b-2.stl", "bollard-plate-letters-b.stl",
        "bollard-plate-letters-e.stl",
    ]  # fmt: skip


def test_each_cannot_carry_features():
    """What stands on a body that falls apart has nowhere to stand."""
    word = {"name": "w", "outline": {"text": "A", "height": 9}, "height": 2}
    body = {"name": "b", "outline": PLATE, "height": 6, "each": True, "raised": [word]}
    with pytest.raises(SpecError, match=r"^each of b must be false where features stand"):
        resolved(job_of(body=[body]))


def test_even_lowers_a_thin_stroke():
    """With even, a stroke too narrow for its height is lowered until it keeps a flat top."""
    body = {"name": "fin", "outline": {"points": [[0, 0], [60, 0], [60, 4], [0, 4]]}, "height": 40,
            "draft": 5, "top_radius": 0.5, "plan_radius": 0, "read_at": "foot",
            "even": True}  # fmt: skip
    fin = body_of(job_of(body=[body]))
    # Half the stroke less the rim's run and half a line of 0.4 mm, over the lean (plane geometry).
    lean, top_run = np.tan(np.radians(5)), 0.5 * np.tan(np.radians(42.5))
    assert fin.wall.height_mm == pytest.approx((2 - top_run - 0.2) / lean, abs=0.4)
    raw = build_raw_mold([fin])
    assert raw.meshes[0].points_mm[:, 2].max() == pytest.approx(fin.wall.height_mm)
    assert not flat_region(fin).is_empty


def test_child_counts_from_its_parents_middle():
    """A feature at x = 5 stands 5 mm right of the middle of a plate that itself was moved."""
    dot = {"name": "dot", "outline": PLATE | {"width": 10, "height": 8, "x": 5}, "height": 2}
    plate = body_of(job_of(body=[{"name": "p", "outline": PLATE | {"x": 100}, "height": 6,
                                  "raised": [dot]}]))  # fmt: skip
    assert plate.children[0].region.centroid.x == pytest.approx(105, abs=SPARE_MM / 4)


def test_turned_and_mirrored_outlines():
    """Turning by 90 degrees swaps the sides; mirroring keeps them."""
    turned = body_of(job_of(body=[{"name": "p", "outline": PLATE | {"turn": 90}, "height": 6}]))
    assert width(turned.region) == pytest.approx(40, abs=0.02)
    points = [[0, 0], [30, 0], [0, 20]]
    plain = {"name": "p", "outline": {"points": points}, "height": 6, "plan_radius": 0}
    flipped = plain | {"outline": {"points": points, "mirror": True}}
    a, b = body_of(job_of(body=[plain])).region, body_of(job_of(body=[flipped])).region
    assert b.equals(shapely.affinity.scale(a, -1, 1, origin=(0, 0)))


def test_vents_can_be_left_out_and_it_is_told():
    """Without vents there are none, and a caution says so."""
    made = make(job_of(vents={"place": False}, output={"formats": ["json"]}))
    assert made.numbers["vents"] == 0
    assert "no-vents" in [finding.code for finding in made.findings]


def test_every_vent_lies_in_the_mold_and_is_named_in_the_summary():
    """A recess is vented; the summary counts slits, or holes where those are asked for."""
    recess = {"name": "recess", "outline": PLATE | {"width": 40, "height": 26}, "depth": 8}
    job = job_of(
        body=[{"name": "block", "outline": {"around": 12}, "height": 16, "sunk": [recess]}]
    )
    setting = setting_of(job, SHOP)
    design = design_features(
        job, resolved(job), setting=setting, shop=SHOP, progress=lambda stage: None
    )
    mold = design.mold
    assert len(mold.vents.vents) >= 4
    assert all(outer_region(resolved(job).bodies[0]).covers(shapely.Point(v.x_mm, v.y_mm))
               for v in mold.vents.vents)  # fmt: skip
    count = len(mold.vents.vents)
    assert dict(make(job).summary)["Vents"] == f"{count} printed slits 0.4 mm wide, none to drill"
    steps = dict(on_the_day(job, mold, setting, drill_list(mold), design.day))
    assert "Drill" not in steps
    assert "a blade of 0.3 mm" in steps["Vents"]
    drilled = make(replace(job, vents=replace(job.vents, kind=VentKind.DRILLED)))
    assert f"{count} to drill with 0.8 mm" in dict(drilled.summary)["Vents"]


@pytest.mark.parametrize("outline", [{"inset": 3}, {"border": 3}, {"grid": "2 x 2"}])
def test_parents_flat_is_needed(outline):
    """What is cut from a parent's flat cannot stand on the table."""
    with pytest.raises(
        SpecError, match=r"since it stands on the table \(got (inset|border|grid)\)"
    ):
        resolved(job_of(body=[{"name": "b", "outline": outline, "height": 6}]))


def test_around_needs_something_to_go_round():
    """A plaque around nothing is refused."""
    with pytest.raises(SpecError, match=r"^outline of b must be round children"):
        resolved(job_of(body=[{"name": "b", "outline": {"around": 6}, "height": 6}]))


def test_a_part_that_somebody_brings_is_checked(tmp_path):
    """An STL of our own comes back without a stop, with its size and low places."""
    made = make(job_of(output={"formats": ["stl"]}))
    path = tmp_path / "plate.stl"
    path.write_bytes(made.files["bollard-plate.stl"])
    words = CheckCommand(file=str(path))
    checked = check(path, command=words, shop=SHOP, progress=lambda stage: None)
    assert not [f for f in checked.findings if f.severity is Severity.STOP]
    assert checked.numbers["least_draft_deg"] == pytest.approx(
        made.numbers["least_draft_deg"], abs=0.05
    )
    assert "report.html" in checked.files


def test_the_plan_of_a_part_shows_where_vents_are_wanted(tmp_path):
    """A block with a pit gets a plan with a hole for each low place, the told one among them."""
    pit = CrossSection.square((30.0, 30.0), True).extrude(16.0, scale_top=(1.3, 1.3))
    block = Manifold.cube((80.0, 80.0, 20.0), True) - pit.translate((5.0, 0.0, -5.0))
    path = tmp_path / "plate.stl"
    path.write_bytes(stl_bytes([mesh_from_solid(block)], title="block"))
    words = CheckCommand(file=str(path), formats=(Format.SVG, Format.JSON))
    checked = check(path, command=words, shop=SHOP, progress=lambda stage: None)

    assert set(checked.files) == {"plate-plan.svg", "findings.json"}
    drawing = checked.files["plate-plan.svg"].decode()
    holes = re.findall(r'<circle cx="([-\d.]+)" cy="([-\d.]+)"', drawing)
    places = [f.where_mm for f in checked.findings if f.code == "low-place"]
    assert len(holes) == checked.numbers["low_places"] > 0
    assert places
    assert all(
        any(np.allclose((float(a), -float(b)), place[:2], atol=1e-3) for a, b in holes)
        for place in places
    )


@pytest.mark.parametrize("direction", DrawDirection)
def test_a_part_is_checked_the_way_it_comes_off(direction, tmp_path):
    """A drafted plate that lies any way has its draft along the direction named, and no other."""
    flat = {"insert": "none", "kind": "flat", "label": False, "arrow": False}
    made = make(job_of(output={"formats": ["stl"]}, underside=flat))
    mesh = trimesh.load(io.BytesIO(made.files["bollard-plate.stl"]), file_type="stl")
    toward = {"x": (1, 0, 0), "y": (0, 1, 0), "z": (0, 0, 1)}[direction.value[-1]]
    side = np.array(toward, float) * (-1 if direction.value.startswith("-") else 1)
    mesh.apply_transform(trimesh.geometry.align_vectors((0, 0, 1), side))
    mesh.export(tmp_path / "plate.stl")

    def undercuts(way):
        words = CheckCommand(file="plate.stl", draw_direction=way, formats=(Format.JSON,))
        found = check(tmp_path / "plate.stl", command=words, shop=SHOP, progress=quiet)
        return found.numbers["undercuts"], found.numbers["least_draft_deg"]

    assert undercuts(direction) == (0, pytest.approx(made.numbers["least_draft_deg"], abs=0.05))
    assert max(undercuts(way)[1] for way in DrawDirection if way is not direction) < 1.0


def test_a_missing_part_is_one_sentence(tmp_path):
    """A file that is not there is told by name."""
    words = CheckCommand(file="nothing.stl")
    with pytest.raises(MoldgenError, match=r"nothing\.stl"):
        check(tmp_path / "nothing.stl", command=words, shop=SHOP, progress=print)


@pytest.mark.parametrize(("kept", "told"), [(False, ["1/6 x (first use"]), (True, ["1/6 x"])])
def test_first_use_is_told(kept, told, tmp_path, monkeypatch):
    """While nothing compiled is kept on the machine, every stage says why it takes so long."""
    if kept:
        (tmp_path / "ball.touch-1.py311.nbi").write_bytes(b"")
    monkeypatch.setattr(first_use, "usual_folder", lambda: tmp_path)
    stages = []
    first_use.telling_first_use(stages.append)(Stage(1, 6, "x"))
    assert [str(stage).split(":")[0] for stage in stages] == told


def test_a_command_ends_without_a_last_search():
    """At its end a process sets aside all it holds, so that nothing is searched any more."""
    asked = (
        "import atexit, gc; atexit.register(lambda: print(gc.get_freeze_count() > 0));"
        "import moldgen.pipeline.first_use; print(gc.get_freeze_count())"
    )
    told = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True)
    assert told.stdout.split() == ["0", "True"]


def test_a_drawing_of_parts_that_touch_their_neighbors_closes(tmp_path):
    """The gull badge, whose rim and swell come close, makes closed pieces in one go."""
    gull = {"svg": "examples/drawings/gull-badge.svg"}
    job = job_of(
        body=[{"name": "badge", "outline": gull, "height": 8}], output={"formats": ["3mf"]}
    )
    made = make(job, EXAMPLES[0].parents[1])
    (name,) = [name for name in made.files if name.endswith(".3mf")]
    (tmp_path / name).write_bytes(made.files[name])
    pieces = [topology_of(welded(body.mesh)) for body in load_mesh(tmp_path / name)]

    assert all(piece.closed for piece in some(pieces))
    volumes_mm3 = [float(np.sum(piece.volumes_mm3)) for piece in pieces]
    assert min(volumes_mm3) > 0
    assert sum(volumes_mm3) == pytest.approx(made.numbers["volume_mm3"], rel=1e-4)


def test_a_mold_that_falls_apart_at_a_point_is_told_as_pieces(tmp_path):
    """A path that crosses itself meets in a point: two pieces, and no word of vents."""
    path = '<path d="M10 10 L90 90 L90 10 L10 90 Z"/>'
    size = 'width="100mm" height="100mm" viewBox="0 0 100 100"'
    (tmp_path / "bow.svg").write_text(
        f'<svg xmlns="http://www.w3.org/2000/svg" {size}>{path}</svg>', encoding="utf-8"
    )
    body = {"name": "bow", "outline": {"svg": "bow.svg"}, "height": 8}
    made = make(job_of(body=[body]), tmp_path)
    told = {finding.code: finding for finding in made.findings}

    assert "drawing-path-crosses" in told
    assert told["pieces-unforeseen"].measured == made.numbers["bodies"] == 2
    assert "surface-unforeseen" not in told


def test_printed_vents_are_holes_that_may_mark():
    """Printed vents are as small as the printer makes them; the table tells which leave marks."""
    recess = {"name": "recess", "outline": PLATE | {"width": 40, "height": 26}, "depth": 8}
    body = [{"name": "block", "outline": {"around": 12}, "height": 16, "sunk": [recess]}]
    made = make(job_of(body=body, vents={"kind": "printed"}))

    assert made.numbers["vents"] > 0
    assert made.numbers["vents_to_drill"] == made.numbers["vent_slits"] == 0
    assert dict(made.summary)["Vents"].endswith("printed holes, none to drill")
    page = made.files["report.html"].decode()
    assert "printed hole 1.5 mm</td>" in page
    told = re.search(r"What is wider than ([\d.]+) mm may leave a mark, .*: V1[,. ]", page)
    assert told is not None
    assert float(told[1]) < SHOP.printer("bed-220").least_hole_mm == 1.5


def test_a_diameter_asks_for_round_vents():
    """A job that says how wide its vents are gets holes of that diameter, as ever."""
    recess = {"name": "recess", "outline": PLATE | {"width": 40, "height": 26}, "depth": 8}
    body = [{"name": "block", "outline": {"around": 12}, "height": 16, "sunk": [recess]}]
    made = make(job_of(body=body, vents={"diameter": 1.0}))

    assert made.numbers["vent_slits"] == 0
    assert made.numbers["vents_to_drill"] == made.numbers["vents"] > 0


def test_drill_sizes_are_marked_on_the_plan_where_there_are_two():
    """With one size the list says it; with two every vent to drill says its own."""
    vents: list[Any] = [SimpleNamespace(name=f"V{k}") for k in (1, 2, 3)]
    sizes = {"V1": "1 mm", "V2": "2 mm"}
    two = {name: Drilling(vent=None, metric=size, inch="") for name, size in sizes.items()}
    one = {name: replace(drilling, metric="1 mm") for name, drilling in two.items()}

    assert [_note(vent, two) for vent in vents] == ["V1 1 mm", "V2 2 mm", "V3"]
    assert [_note(vent, one) for vent in vents] == ["V1", "V2", "V3"]
