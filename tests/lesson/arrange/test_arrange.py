"""Jobs arranged from Python: shots by sheet, distances that do not web, plates, holes, files."""

import csv
import io
import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from support.some import some

import moldgen as mg
from moldgen.export.mesh.threemf import package_bytes
from moldgen.job.command.arrange import ArrangeCommand
from moldgen.lesson.arrange.holes import table_holes
from moldgen.lesson.arrange.make import arrange_molds
from moldgen.lesson.arrange.molds import moved_mesh
from moldgen.lesson.arrange.told import numbers_of, told_of
from moldgen.lesson.layout.piece import Placing
from moldgen.lesson.layout.verify import faults_of
from moldgen.mold.choices import FormingLook
from moldgen.solid.mesh import Mesh
from moldgen.solid.reading.threemf import parts_from_threemf
from moldgen.stock import load_shop

WORDS = ("PIER", "QUAY", "BUOY")


@pytest.fixture(scope="module")
def tags():
    """Three tags of one sheet, and one of another."""
    jobs = [mg.sign(word, letter_height_mm=14, plastic="HIPS", gauge=1) for word in WORDS]
    return [*jobs, mg.sign("KNOT", letter_height_mm=14, plastic="PETG", gauge=1)]


@pytest.fixture(scope="module")
def arranged(tags):
    """The four tags, with stock to cut their blanks from."""
    return mg.arrange(tags, stock_sheet="1220 x 610", kerf=3)


def test_each_sheet_has_its_own_shots(arranged):
    """What is formed in another plastic is another shot, and all molds lie on one of them."""
    found = [[mold.piece.name for mold in one.molds] for one in arranged.arrangement.shots]

    assert found == [["PIER", "QUAY", "BUOY"], ["KNOT"]]
    assert [len(one.layout.shots) for one in arranged.arrangement.shots] == [1, 1]


def test_all_places_are_sound(arranged):
    """Shots and plates keep their distances, measured on the outlines."""
    layouts = [one.layout for one in arranged.arrangement.shots]
    for layout in some([*layouts, arranged.arrangement.plates[0].layout]):
        assert faults_of(layout) == ()
        assert layout.left_out == ()


def test_trim_lines_of_neighbors_do_not_meet(arranged):
    """Each part keeps its whole flange: what is cut out of the sheet is apart."""
    shots = arranged.arrangement.shots[0]
    trims = [shots.molds[p.piece].trim_at(p) for p in shots.layout.shots[0].placings]

    assert len(trims) == 3
    assert shapely.union_all(trims).area == pytest.approx(sum(t.area for t in trims), abs=1e-3)


def test_walls_stand_within_their_outline(arranged):
    """The foot that was laid out is that of the walls, turned and moved the same way."""
    shots = arranged.arrangement.shots[0]
    for placing in some(shots.layout.shots[0].placings):
        mold = shots.molds[placing.piece]
        low, high = mold.mesh_at(placing).bounds_mm
        x0, y0, x1, y1 = placing.region(mold.piece).bounds
        assert (low[0], low[1], high[0], high[1]) == pytest.approx((x0, y0, x1, y1), abs=0.11)


def test_a_turned_mesh_keeps_its_volume_and_stands_where_it_is_told(arranged):
    """A quarter turn counter-clockwise takes x to y."""
    mesh = arranged.arrangement.molds[0].walls()
    placing = Placing(piece=0, x_mm=100.0, y_mm=50.0, turn_deg=90.0)

    moved = moved_mesh(mesh, placing)

    assert moved.volume_mm3 == pytest.approx(mesh.volume_mm3)
    x, y, z = mesh.points_mm.T
    assert np.allclose(moved.points_mm, np.column_stack([100 - y, 50 + x, z]), atol=1e-12)


def test_files_are_the_same_bytes_each_time(tags, arranged):
    """Templates, lists and numbers do not depend on the day or the run."""
    formats = ["pdf", "svg", "json"]
    again = mg.arrange(tags, stock_sheet="1220 x 610", kerf=3)

    files = arranged.files(formats)
    assert files == again.files(formats)
    assert {"shot-1.pdf", "shot-2.svg", "placings.csv", "cut-list.csv", "findings.json"} <= set(
        files
    )


def test_lists_hold_every_mold_and_every_piece_of_stock(arranged):
    """The list of places has a row for each mold, and the areas of the cut list add up."""
    files = arranged.files(["json"])
    places = list(csv.DictReader(io.StringIO(files["placings.csv"].decode())))
    cuts = list(csv.DictReader(io.StringIO(files["cut-list.csv"].decode())))

    assert [row["name"] for row in places] == ["PIER", "QUAY", "BUOY", "KNOT"]
    hips = [row for row in cuts if row["sheet"] == "HIPS 1 mm"]
    area = sum(float(row["width_mm"]) * float(row["depth_mm"]) for row in hips)
    assert [row["what"] for row in hips if row["what"] != "offcut"] == ["shot 1"]
    assert 1220 * 610 - 3 * (1220 + 610) <= area < 1220 * 610


def test_numbers_say_where_everything_lies(arranged):
    """A program can lay the molds down from the numbers alone."""
    numbers = json.loads(json.dumps(numbers_of(arranged.arrangement)))

    first = numbers["shots"][0]["placings"]
    there = arranged.arrangement.shots[0].layout.shots[0].placings
    assert [(one["x_mm"], one["y_mm"], one["turn_deg"]) for one in first] == [
        (round(one.x_mm, 3), round(one.y_mm, 3), one.turn_deg) for one in there
    ]


def test_copies_are_printed_as_often_as_they_stand_on_one_sheet(tags):
    """Two dozen of a tag take several shots, and as many prints as the fullest of them."""
    work = mg.arrange([tags[0]] * 24, forming="off").arrangement

    counts = [len(shot.placings) for shot in work.shots[0].layout.shots]
    assert sum(counts) == 24
    assert len(counts) > 1
    assert len(work.plates[0].layout.task.pieces) == max(counts)


def test_neighbors_that_web_are_moved_apart_and_it_is_told():
    """Blocks that stand by the rule for low molds web; they are laid wider until they do not."""
    blocks = [mg.tray(90, 60, 14, side="male", gauge=1, flange=1)] * 2

    made = mg.arrange(blocks, share_flange=True)
    unformed = mg.arrange(blocks, share_flange=True, forming="off")

    (gap,) = made.arrangement.shots[0].wider
    assert gap.rule_mm == unformed.arrangement.shots[0].layout.task.gaps_mm[0][1] == 14.0
    assert gap.gap_mm == made.arrangement.shots[0].layout.task.gaps_mm[0][1] > 14.0
    assert made.arrangement.shots[0].left == ()
    assert [one.code for one in made.findings] == ["moved-apart"]
    assert unformed.findings == ()
    assert dict(unformed.summary)["Webs"] == "not looked for (--forming off)"


def test_a_deep_tray_has_a_sheet_of_its_own(tags):
    """From 25 mm on it stands alone, in the middle, 50 mm from the clamp."""
    tray = mg.tray(90, 60, 30, side="male", plastic="HIPS", gauge=1)

    shots = mg.arrange([tray, tags[0]], forming="off").arrangement.shots[0]

    assert [shot.pieces for shot in shots.layout.shots] == [(0,), (1,)]
    assert shots.layout.task.edges_mm[0] == 50.0
    middle = shots.layout.regions(shots.layout.shots[0])[0].centroid
    assert (middle.x, middle.y) == pytest.approx((225, 150), abs=0.1)


def test_what_finds_no_room_is_a_stop(tags):
    """A mold larger than the opening is left out, and the sentence says by what."""
    made = mg.arrange([mg.tray(500, 60, 10, side="male", plastic="HIPS", gauge=1), tags[0]])

    assert made.worst is mg.Severity.STOP
    (finding,) = [one for one in made.findings if one.code == "no-room-on-sheet"]
    assert "find no room in 400 x 250 mm" in str(finding)
    assert [shot.pieces for shot in made.arrangement.shots[0].layout.shots] == [(1,)]


def test_kept_out_places_stay_free(tags):
    """No mold stands where a screw of the table is."""
    shots = mg.arrange(tags[:3], forming="off", keep_out="225 x 300 at 0 x 0").arrangement.shots

    regions = shots[0].layout.regions(shots[0].layout.shots[0])
    assert len(regions) == 3
    assert min(region.bounds[0] for region in regions) >= 225 - 1e-9


def test_holes_are_sorted_by_what_lies_over_them():
    """Of the holes in the opening those under the mold, those under its part, and the others."""
    machine = replace(
        load_shop([]).machine("classroom-450x300"), hole_pitch_mm=50.0, hole_diameter_mm=2.0
    )
    foot = shapely.box(200, 100, 250, 200)

    holes = table_holes(machine, [foot], [foot.buffer(30, join_style="mitre")])

    # A row of 9 along 450 mm with one in the middle at 225, six along 300 mm from 25 on.
    assert set(holes.under) == {(225.0, 125.0), (225.0, 175.0)}
    assert set(holes.plugged) == {(225.0, 75.0), (225.0, 225.0)} | {
        (x, y) for x in (175.0, 275.0) for y in (75.0, 125.0, 175.0, 225.0)
    }
    assert len(holes.under) + len(holes.plugged) + len(holes.free) == 9 * 6


def test_plates_hold_finished_bodies(tags):
    """The bodies of a plate are those that are printed: vented, on the bed, off each other."""
    work = mg.arrange(tags[:2], forming="off").arrangement

    (plates,) = work.plates
    shot = plates.layout.shots[0]
    packed = package_bytes(plates.bodies(shot, work.printed), title="Plate 1")
    bodies = parts_from_threemf(Path("plate.3mf"), packed)

    assert [name for name, *_ in bodies] == ["PIER", "QUAY"]
    meshes = [Mesh(points, triangles) for _, points, triangles in bodies]
    raw = [mold.walls().volume_mm3 for mold in work.printed]
    assert all(0 < one.volume_mm3 < whole for one, whole in zip(meshes, raw, strict=True))
    low = np.min([mesh.bounds_mm[0] for mesh in meshes], axis=0)
    assert low[:2].min() >= 3.0 - 0.06
    assert low[2] == 0.0
    for placing, mesh in zip(shot.placings, meshes, strict=True):
        foot = placing.region(plates.layout.task.pieces[placing.piece])
        seen = shapely.box(*mesh.bounds_mm[:, :2].ravel())
        assert np.allclose(seen.bounds, foot.bounds, atol=0.2)


REFUSED: dict[str, dict[str, Any]] = {
    "stock_sheet must be a width and a depth (got '1220'). Write it like": {"stock_sheet": "1220"},
    "stock_sheet must be given with kerf or keep_grain (got nothing). Write": {"kerf": 3},
    "keep_out must be a size and the place of its corner (got '40 x 40'). Write it like": {
        "keep_out": "40 x 40"
    },
    "turns must be none, quarter or any (got 'half').": {"turns": "half"},
    "formats must be 3mf, svg, dxf, pdf, png, html or json (got stl).": {"formats": "stl"},
    "machine must be a machine in stock (got 'nowhere').": {"machine": "nowhere"},
    "kerf must be at least 0 mm and at most 20 mm (got -1 mm)": {
        "kerf": -1, "stock_sheet": "1220 x 610"
    },
}  # fmt: skip
"""What is said, and of which arguments."""


@pytest.mark.parametrize("says", REFUSED)
def test_wrong_words_are_refused(tags, says):
    """One sentence: field, rule, value, and what to do."""
    with pytest.raises(mg.SpecError) as refused:
        mg.arrange(tags[:1], **REFUSED[says])

    assert str(refused.value).startswith(says)


def test_what_differs_in_printer_or_filament_has_plates_of_its_own(arranged):
    """No plate is of two filaments, and each lies on the bed of its own printer."""
    first, second, third, fourth = arranged.arrangement.molds
    large, pla = load_shop([]).printer("large"), load_shop([]).filaments.find("PLA")
    molds = [
        first,
        replace(second, setting=replace(second.setting, printer=large)),
        replace(third, setting=replace(third.setting, filament=pla)),
        fourth,
    ]

    work = arrange_molds(molds, ArrangeCommand(files=("in hand",), forming=FormingLook.OFF))

    assert [
        (one.printer.name, one.filament, [piece.name for piece in one.layout.task.pieces])
        for one in work.plates
    ] == [("medium", "PETG", ["PIER", "KNOT"]), ("large", "PETG", ["QUAY"]),
          ("medium", "PLA", ["BUOY"])]  # fmt: skip
    assert work.plates[1].layout.task.area.width_mm == large.bed_width_mm
    told = [(one["number"], one["printer"], one["filament"]) for one in numbers_of(work)["plates"]]
    assert told == [(1, "medium", "PETG"), (2, "large", "PETG"), (3, "medium", "PLA")]
    assert [row for row in told_of(work).summary if row[0] == "Plates"] == [
        ("Plates", "1 on the printer medium (PETG), 2 prints"),
        ("Plates", "1 on the printer large (PETG), 1 prints"),
        ("Plates", "1 on the printer medium (PLA), 1 prints"),
    ]


def test_another_printer_takes_what_its_own_has_no_room_for(arranged):
    """The first of the others that has room; where none has, it is left out and told once."""
    (first, *_), shop = arranged.arrangement.molds, load_shop([])
    small = replace(shop.printer("small"), bed_width_mm=50.0, bed_depth_mm=50.0)
    mold = replace(first, setting=replace(first.setting, printer=small))
    command = ArrangeCommand(files=("in hand",), forming=FormingLook.OFF)

    moved = arrange_molds([mold], command, printers=[small, shop.printer("large")])
    lone = arrange_molds([mold], command)

    assert [(one.printer.name, len(one.layout.shots)) for one in moved.plates] == [("large", 1)]
    assert [(one.printer.name, len(one.layout.shots)) for one in lone.plates] == [("small", 0)]
    (finding,) = told_of(lone).findings
    assert str(finding) == (
        "PIER: does not fit the bed of the printer small in any turn. "
        "Split it, or take a larger printer."
    )


def test_jobs_on_two_tables_are_refused(tags):
    """Which table it is must be said."""
    other = replace(tags[0], machine="bench-250x250")

    with pytest.raises(mg.SpecError, match="machine must be the same for all molds"):
        mg.arrange([tags[1], other])
    assert mg.arrange([tags[1], other], machine="bench-250x250", forming="off").findings == ()


@pytest.mark.parametrize("jobs", [[], ["tag.toml"], [None]])
def test_only_jobs_are_taken(jobs):
    """Nothing, a file name or nothing at all is refused in a sentence."""
    with pytest.raises(mg.SpecError, match=r"^jobs must be"):
        mg.arrange(jobs)
