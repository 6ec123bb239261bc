"""Every command that needs the mold of a job works with the mold that make makes of it."""

from __future__ import annotations

import io
from dataclasses import replace

import ezdxf
import numpy as np
import pytest
import shapely
import trimesh
from conftest import ROOT
from PIL import Image

from moldgen.fixture.fixture import Bench
from moldgen.job import Format, FormingLook, JobBody, JobOutput, JobSvg, load_job
from moldgen.job.command.adapt import AdaptCommand
from moldgen.job.command.fixture import FixtureCommand, TrimCommand
from moldgen.job.command.letters import LettersCommand
from moldgen.job.spec import Job
from moldgen.mold.choices import VentKind
from moldgen.pipeline.brought.adapt import adapt
from moldgen.pipeline.fixture.make import make_fixture
from moldgen.pipeline.letters.mold import _job, letter_mold, rule_of_set
from moldgen.pipeline.mold.make import make
from moldgen.pipeline.stage import quiet
from moldgen.pipeline.trim.parts import source_of
from moldgen.solid.mesh import Mesh
from moldgen.solid.slices import section
from moldgen.stock import load_shop
from moldgen.table import stay
from moldgen.table.cool import cool

EXAMPLES = ROOT / "examples"
SHOP = load_shop(user_file=None)
BENCH = Bench(machine=SHOP.machine("classroom-450x300"), printer=SHOP.printer("bed-220"), shop=SHOP)
SEEN = JobOutput(formats=(Format.STL, Format.DXF))

# A job, what is changed in it, and how long its sheet stays soft: as computed, or hardly at all.
FILM = {"gauge = 2\n": "gauge = 0.25\n", "[trim]": "[vents]\nspacing = 100\n\n[trim]"}
JOBS = {
    "bait tray of film": ("bait-tray.toml", FILM, None),
    "tide sign": ("tide-sign.toml", {}, None),
    "hurried badge": ("life-ring-badge.toml", {}, 0.02),
}


def hurry(monkeypatch, stiff_s):
    """Let every sheet be stiff after a time, if one is given."""
    if stiff_s is not None:
        monkeypatch.setattr(stay, "cool", lambda *a, **k: replace(cool(*a, **k), stiff_s=stiff_s))


@pytest.fixture(scope="module", params=JOBS)
def written(request, tmp_path_factory):
    """Write a job that every command shall make, and what make makes of it."""
    example, changes, stiff_s = JOBS[request.param]
    words = (EXAMPLES / example).read_text()
    for before, after in changes.items():
        assert before in words
        words = words.replace(before, after)
    drilled = '[vents]\nkind = "drilled"\n'
    if "[vents]\n" in words:
        words = words.replace("[vents]\n", drilled)
    else:
        words = words.replace("[[body]]", drilled + "[[body]]", 1)
    path = tmp_path_factory.mktemp("job") / "job.toml"
    path.write_text(words)
    with pytest.MonkeyPatch.context() as monkeypatch:
        hurry(monkeypatch, stiff_s)
        job = load_job(path)
        assert isinstance(job, Job)
        wanted = replace(job, output=SEEN)
        return path, make(wanted, folder=path.parent, shop=SHOP, progress=quiet), stiff_s


@pytest.fixture
def job(written, monkeypatch):
    """Return a job's file and what make makes of it, its sheet as quick as it asks."""
    path, made, stiff_s = written
    hurry(monkeypatch, stiff_s)
    return path, made


def drawn_holes(made):
    """Return the holes to be drilled by the plan that was made, shape (n, 2). [mm]."""
    (name,) = [name for name in made.files if name.endswith(".dxf")]
    plan = ezdxf.read(io.StringIO(made.files[name].decode("cp1252")))
    circles = plan.modelspace().query("CIRCLE[layer=='drill']")
    return np.array([tuple(circle.dxf.center)[:2] for circle in circles]).reshape(-1, 2)


def drawn_slits(made):
    """Return the middles of the slits by the plan that was made, shape (n, 2). [mm]."""
    (name,) = [name for name in made.files if name.endswith(".dxf")]
    plan = ezdxf.read(io.StringIO(made.files[name].decode("cp1252")))
    lines = plan.modelspace().query("LINE[layer=='vent']")
    ends = [(tuple(line.dxf.start)[:2], tuple(line.dxf.end)[:2]) for line in lines]
    return np.array(ends).reshape(-1, 2, 2).mean(axis=1)


def guided_holes(made):
    """Return the round holes of the drill guides that were made, shape (n, 2). [mm]."""
    meshes = [trimesh.load_mesh(io.BytesIO(data), file_type="stl")
              for name, data in made.files.items() if name.endswith(".stl")]  # fmt: skip
    cuts = [section(Mesh(np.array(m.vertices), np.array(m.faces, np.int32)), 3.0) for m in meshes]
    rings = [ring for cut in cuts for part in shapely.get_parts(cut) for ring in part.interiors]
    small = [shapely.Polygon(ring) for ring in rings if shapely.Polygon(ring).area < 20]
    return np.array([hole.centroid.coords[0] for hole in small])


def laid_alike(places):
    """Return places from their own middle, in order of their x, then y."""
    moved = np.round(places - places.mean(axis=0), 1)
    return moved[np.lexsort(moved.T[::-1])]


def test_a_drill_guide_fits_the_mold_of_its_job(job):
    """The guide has a hole for every pilot of the mold that make makes, in the same places."""
    path, made = job
    wanted = drawn_holes(made)
    words = FixtureCommand(fixture="drill-guide", file=str(path), formats=(Format.STL,))
    found = guided_holes(make_fixture(words, shop=SHOP, progress=quiet))

    assert len(wanted) == len(found) > 0
    assert laid_alike(found) == pytest.approx(laid_alike(wanted), abs=0.11)


def meshes_made(made):
    """Return the meshes of the STL files that were made."""
    return [trimesh.load_mesh(io.BytesIO(data), file_type="stl")
            for name, data in made.files.items() if name.endswith(".stl")]  # fmt: skip


def test_a_part_is_trimmed_on_the_mold_of_its_job(job):
    """The mold that trim draws its lines round is the one make makes, corner for corner.

    A part that hangs in recesses has no such mold; its line goes round the mouths of the mold.
    """
    path, made = job
    wanted = meshes_made(made)
    parts = source_of(TrimCommand(file=str(path)), BENCH).parts
    found = {id(part.mesh): part.mesh for part in parts}.values()

    assert len(wanted) == len(found) > 0
    for ours in found:
        if ours is None:
            (part,), (mold,) = parts, wanted
            assert shapely.hausdorff_distance(part.foot, mouths_of(mold)) < 0.3
            continue
        corners = ours.corners_mm.astype(np.float32)
        assert any(np.array_equal(corners, one.triangles.astype(np.float32)) for one in wanted)


def mouths_of(mold):
    """Return the smallest convex outline round the mouths of a block's recesses. [mm]."""
    mesh = Mesh(np.array(mold.vertices), np.array(mold.faces, np.int32))
    top = section(mesh, float(mesh.points_mm[:, 2].max()) - 0.005)
    rings = [ring for part in shapely.get_parts(top) for ring in part.interiors]
    return shapely.convex_hull(shapely.MultiLineString(rings))


@pytest.mark.parametrize("stiff_s", [None, 0.03])
def test_a_letter_has_the_vents_of_its_job(stiff_s, monkeypatch):
    """A letter without marks is the mold make makes of it as a job of its own."""
    hurry(monkeypatch, stiff_s)
    words = LettersCommand(letter_height_mm=100.0, gauge_mm=1.0)
    rule = rule_of_set("D", words)
    name, mold = letter_mold("D", rule, words, SHOP)
    job = replace(_job("D", name, rule, words), output=SEEN)
    made = make(job, folder=ROOT, shop=SHOP, progress=quiet)

    found = np.array([(vent.x_mm, vent.y_mm) for vent in mold.vents.vents])
    assert len(found) > 0
    assert found == pytest.approx(drawn_slits(made), abs=1e-6)
    assert closest_mm(mold) == closest_mm(made)


def test_an_adapted_drawing_is_the_job_it_hands_out(tmp_path):
    """The drawing that adapt writes, raised by make, gives the same files, byte for byte."""
    gray = np.full((120, 160), 230, np.uint8)
    y, x = np.mgrid[:120, :160]
    gray[np.hypot(x - 60, y - 60) < 45] = 25
    gray[np.hypot(x - 60, y - 60) < 25] = 230
    Image.fromarray(gray).save(tmp_path / "buoy.png")
    formats = (*SEEN.formats, Format.SVG)
    words = AdaptCommand(file="buoy.png", width_mm=90.0, formats=formats)
    ours = adapt(tmp_path / "buoy.png", command=words, shop=SHOP, progress=quiet).files
    (tmp_path / "buoy-outline.svg").write_bytes(ours["buoy-outline.svg"])
    outline = JobSvg(svg="buoy-outline.svg", width_mm=90.0)
    body = JobBody(name="drawing", outline=outline, height_mm=12.0)
    job = Job(title="buoy", output=replace(SEEN, formats=formats), body=(body,))
    made = make(job, folder=tmp_path, shop=SHOP, progress=quiet).files

    assert len(made) == 3
    assert ours == made | {"buoy-outline.svg": ours["buoy-outline.svg"]}


@pytest.fixture(scope="module")
def well(tmp_path_factory):
    """Write a block with a well in it, as somebody may bring it."""
    path = tmp_path_factory.mktemp("brought") / "well.stl"
    block, well = trimesh.creation.box((90, 70, 16)), trimesh.creation.box((66, 46, 16))
    well.apply_translation((0, 0, 6))
    trimesh.boolean.difference([block, well], engine="manifold").export(path)
    return path


def adapted(path, **words):
    """Return what adapt makes of a mesh."""
    asked = AdaptCommand(file=str(path), cell_mm=0.5, draft_deg=5.0, formats=SEEN.formats, **words)
    return adapt(path, command=asked, shop=SHOP, progress=quiet)


def test_an_adapted_shape_is_told_when_its_air_is_not_out_in_time(well, monkeypatch):
    """With too little time its pocket is told, as that of a job is; with enough it is not."""
    calm = adapted(well, vents=VentKind.DRILLED)
    hurry(monkeypatch, 0.001)
    hurried = adapted(well, vents=VentKind.DRILLED)

    assert "pocket-slow" not in {finding.code for finding in calm.findings}
    assert "pocket-slow" in {finding.code for finding in hurried.findings}
    assert len(drawn_holes(hurried)) == len(drawn_holes(calm)) > 0


def test_a_sheet_is_formed_over_an_adapted_shape_if_that_is_asked_for(well):
    """The run tells the thickness and where the vents go, within the well; unasked it does not."""
    plain = adapted(well)
    followed = adapted(well, forming=FormingLook.PREVIEW, least_mm=1.4)
    slits = drawn_slits(followed)

    assert "formed_least_mm" not in plain.numbers
    assert 0 < followed.numbers["formed_least_mm"] < 1.4
    (thin,) = [finding for finding in followed.findings if finding.code == "formed-thin"]
    assert (thin.measured, thin.limit) == (followed.numbers["formed_thin_mm"], 1.4)
    assert len(slits) >= len(drawn_slits(plain)) > 0
    assert np.all(np.abs(slits) < (33, 23))


def closest_mm(told):
    """Return the spacing that vents were brought to, by the findings; None if as asked."""
    found = [one.measured for one in told.findings if one.code == "vents-closer"]
    assert len(found) <= 1
    return found[0] if found else None
