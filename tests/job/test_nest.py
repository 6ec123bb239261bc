"""Trays for things: each fits its nest, is taken out by hand, and ribs are wide enough."""

from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
import shapely
from conftest import ROOT
from PIL import Image
from shapely import MultiPolygon
from shapely.affinity import rotate
from support.some import some

import moldgen as mg
from moldgen.errors import OutlineError, SpecError
from moldgen.finding import Severity
from moldgen.job import Format, job_toml, load_job
from moldgen.job.command.nest import NestCommand, nest_job
from moldgen.job.command.nested import nested_thing
from moldgen.job.outline import JobPicture, JobSvg
from moldgen.outline.nest import grips_mm, nest_outline
from moldgen.outline.trace import silhouette_from_gray
from moldgen.pipeline.mold.design import design_mold
from moldgen.pipeline.mold.ground import Ground
from moldgen.pipeline.mold.outlines import lay_outline
from moldgen.stock import load_shop

SHOP = load_shop(user_file=None)
BED_MM = (214.0, 214.0)
BOAT_SHED = (
    ("horn cleat 120 x 30 x 25",),
    ("shackle key 90 x 25 x 6",),
    ("caulking iron 160 x 40 x 30",),
    ("pliers 180 x 55 x 20",),
    ("brush 170 x 60 x 18",),
    ("can 82 dia x 90",),
    ("cleat 110 x 30 x 25", "shackle key 90 x 25 x 6"),
    ("tin 60 dia x 40", "shackle key 60 x 20 x 6"),
    ("examples/drawings/rowing-boat.png 120 x 60 x 16",),
)


def job_of(*things, bed_mm=BED_MM, **more):
    """The job of a tray for things."""
    return nest_job(NestCommand(things=things, formats=(Format.JSON,), **more), bed_mm=bed_mm)


def laid(job):
    """The region of every nest, in its place. [mm]."""
    ground = Ground(None, (0.0, 0.0), ROOT)
    return [lay_outline(nest.outline, ground, name=nest.name).region for nest in job.body[0].sunk]


@pytest.mark.parametrize("things", BOAT_SHED, ids=lambda things: " and ".join(things)[:40])
def test_what_lies_about_a_boat_shed_forms_without_a_caution(things):
    """Nests for usual things need nothing to be changed, and print on the usual bed."""
    made = design_mold(job_of(*things), folder=ROOT, shop=SHOP).mold

    assert [str(one) for one in made.findings if one.severity is not Severity.NOTE] == []


@pytest.mark.parametrize(
    "words", ["cleat 120 x 30 x 25", "pliers 180 x 55 x 20", "box 60 x 60 x 30"]
)
def test_a_box_fits_its_nest_down_to_the_floor(words):
    """With walls that lean and corners that are round, the floor still has room for the box."""
    job = job_of(words, bed_mm=None)
    (nest,), (region,) = job.body[0].sunk, laid(job)
    thing = nested_thing(1, words)
    # The rules round the mouth and lean the wall; the plan of the floor lies inside by the lean.
    radius = nest.plan_radius_mm
    mouth = shapely.buffer(shapely.buffer(region, -radius), radius, quad_segs=48)
    floor = shapely.buffer(mouth, -0.08 * nest.height_mm, quad_segs=48)
    half = np.array([thing.wide_mm, thing.deep_mm]) / 2

    assert floor.buffer(0.06).contains(shapely.box(*-half, *half))


def test_the_play_is_what_was_asked_for():
    """A round thing has its play on the floor, all round."""
    plain, loose = (laid(job_of("can 82 dia x 20", play_mm=p, grip_mm=0))[0] for p in (1.5, 4.0))
    wide = [region.bounds[2] - region.bounds[0] for region in (plain, loose)]

    assert wide[0] == pytest.approx(82 + 2 * (1.5 + 0.08 * 10), abs=0.1)
    assert wide[1] - wide[0] == pytest.approx(5.0, abs=0.1)


def test_nests_are_half_as_deep_as_their_things():
    """Half of the thickness, at least 6 mm, no deeper than the sheet goes; or as it is said."""
    depths = {
        words: job_of(words).body[0].sunk[0].height_mm
        for words in ("a 120 x 60 x 30", "b 90 x 40 x 5", "c 60 dia x 200", "d 100 x 50")
    }
    assert list(depths.values()) == [13.0, 6.0, 13.0, 10.0]
    assert job_of("a 120 x 60 x 30", depth_mm=9).body[0].sunk[0].height_mm == 9
    assert job_of("a 120 x 60 x 30").body[0].height_mm == 17.0


@pytest.mark.parametrize("turn", [0.0, 30.0, 90.0])
def test_notches_lie_in_the_middle_of_the_long_sides(turn):
    """Both half rounds stick out across the middle, wherever the thing points."""
    thing = rotate(MultiPolygon([shapely.box(-60, -15, 60, 15)]), turn, origin=(0, 0))
    nest = nest_outline(thing, play_mm=1.5, grip_mm=22)
    back = rotate(nest, -turn, origin=(0, 0))
    places = sorted(map(tuple, grips_mm(rotate(thing, -turn, origin=(0, 0)))))

    assert back.bounds == pytest.approx((-61.5, -27.5, 61.5, 27.5), abs=0.05)
    assert np.asarray(places) == pytest.approx(np.array([(0, -15), (0, 15)]), abs=1e-6)
    assert nest.area > shapely.buffer(thing, 1.5).area + 0.9 * np.pi * 11**2


def test_a_thing_without_room_for_fingers_gets_no_notch():
    """Notches are chosen where they fit, and left out or enlarged as is said."""
    grips = [
        job_of(words, **more).body[0].sunk[0].outline.grip_mm
        for words, more in (
            ("knob 40 x 30 x 20", {}), ("cleat 120 x 30 x 25", {}),
            ("cleat 120 x 30 x 25", {"grip_mm": 0}), ("cleat 120 x 30 x 25", {"grip_mm": 25}),
        )
    ]  # fmt: skip
    assert grips == [0.0, 22.0, 0.0, 25.0]


@pytest.mark.parametrize("n_things", [2, 3, 4, 5])
def test_ribs_between_nests_are_as_wide_as_the_sheet_needs(n_things):
    """No two nests come nearer than two gauges and what the sheet takes, and notches count."""
    job = job_of(*[f"key {k} {60 + 10 * k} x 25 x 6" for k in range(n_things)])
    regions = laid(job)

    for a, b in some(list(combinations(regions, 2))):
        assert a.distance(b) >= 7.5 - 1e-6


def test_a_long_thing_lies_across_the_corners_if_it_fits_only_so():
    """On a bed that is too short it is turned by 45°; on a longer one, or without, it is not."""
    turns = [
        job_of("pliers 180 x 55 x 20", bed_mm=bed).body[0].sunk[0].outline.turn_deg
        for bed in (BED_MM, (294.0, 294.0), None)
    ]
    assert turns == [45.0, 0.0, 0.0]


@pytest.mark.parametrize("dark", [True, False])
def test_a_photograph_is_traced_whichever_is_lighter(dark, tmp_path):
    """A thing on an even ground, its hole filled, comes out at the size that was measured."""
    ground, thing = (230, 40) if dark else (40, 230)
    gray = np.full((120, 200), ground, np.uint8)
    gray[30:90, 40:160] = thing
    gray[50:70, 80:120] = ground
    Image.fromarray(gray).save(tmp_path / "a.png")
    outline = JobPicture(picture="a.png", width_mm=100.0, height_mm=50.0)
    region = lay_outline(outline, Ground(None, (0.0, 0.0), tmp_path), name="a").region

    assert region.bounds == pytest.approx((-50, -25, 50, 25), abs=0.3)
    # Corners are rounded by about a pixel.
    assert region.area == pytest.approx(5000, rel=0.012)


def test_a_photograph_that_cuts_the_thing_off_is_refused():
    """What runs off the picture, light or dark, has no outline."""
    gray = np.full((100, 100), 0.9)
    gray[:, :50] = 0.1
    with pytest.raises(OutlineError, match="runs off its edge"):
        silhouette_from_gray(gray)


def test_the_job_file_keeps_the_nests(tmp_path):
    """Written and read back it is the same job, with play and grip in plain words."""
    job = job_of("cleat 110 x 30 x 25", "can 60 dia x 20")
    path = tmp_path / "a.toml"
    path.write_text(job_toml(job), encoding="utf-8")
    text = path.read_text(encoding="utf-8")

    assert load_job(path) == job
    assert "grip = 22" in text
    assert 'shape = "oval-plaque"' in text


def test_python_says_the_same_as_the_command():
    """mg.nest takes things in a row and the options of the command."""
    assert mg.nest("pliers 180 x 55 x 20", formats="json") == job_of("pliers 180 x 55 x 20")


def test_files_start_in_the_folder_of_the_job():
    """A saved job finds the drawing from where it lies itself."""
    command = NestCommand(things=("boat.PNG 120 x 60 x 16", "arrow.svg 80 x 40"))
    nests = nest_job(command, from_folder=lambda file: str(Path("..") / file)).body[0].sunk

    assert [nest.name for nest in nests] == ["boat", "arrow"]
    first, second = (nest.outline for nest in nests)
    assert isinstance(first, JobPicture)
    assert isinstance(second, JobSvg)
    assert first.picture == str(Path("../boat.PNG"))
    assert second.svg == str(Path("../arrow.svg"))


@pytest.mark.parametrize(
    ("words", "sizes"),
    [
        ("pliers 180x55x20", (180, 55, 20)), ("mug 82 dia", (82, 82, 20)),
        ("mug 3 in dia x 90", (76.2, 76.2, 90)), ("180 × 55", (180, 55, 20)),
        ("key 7 60 x 25 x 6", (60, 25, 6)), ("bar 1 1/2 in x 2 in", (38.1, 50.8, 20)),
        ("tin ø", None), ("pliers", None), ("pliers 180", None), ("pliers 1 x 2 x 3 x 4", None),
    ],
)  # fmt: skip
def test_things_are_read_with_their_sizes(words, sizes):
    """Two sizes or a diameter, and how thick; anything else is told in one sentence."""
    if sizes is None:
        with pytest.raises(SpecError, match="things 1 must be"):
            nested_thing(1, words)
        return
    thing = nested_thing(1, words)
    assert (thing.wide_mm, thing.deep_mm, thing.thick_mm) == pytest.approx(sizes)
