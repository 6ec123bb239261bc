"""Bent strips from the job to the files: what is drawn, told and printed is the strip asked for."""

import json
import re
import zipfile
from functools import cache
from io import BytesIO
from math import atan2, cos, degrees, radians
from pathlib import Path

import ezdxf
import numpy as np
import pytest
import shapely
from conftest import ROOT
from hypothesis import given, settings
from hypothesis import strategies as st
from support.some import some

from moldgen.bend.heat.dwell_text import clock
from moldgen.export.picture.side_view import side_view_png
from moldgen.export.plan.plan import Dimension, Layer, Line, Note
from moldgen.export.plan.svg import svg_bytes
from moldgen.export.report.cautions import strip_cautions
from moldgen.finding import Severity
from moldgen.job import BendCommand, Format, JobLoad, StripJob, job_from_words, load_job, strip_job
from moldgen.job.strip_spec import JigKind
from moldgen.pipeline.strip.make import make_strip
from moldgen.pipeline.strip.pictures import bodies_png
from moldgen.pipeline.strip.plan import build_strip_plan, inches
from moldgen.pipeline.strip.rows import numbers_of, strip_tables, summary_of
from moldgen.pipeline.strip.side_view import LeaningThing, side_view_of
from moldgen.pipeline.strip.steps import directions_text, steps_of
from moldgen.pipeline.strip.work import build_work, thing_of
from moldgen.solid.reading.mesh_file import load_mesh
from moldgen.solid.topology import topology_of, welded
from moldgen.stock import load_shop

FOLDER = ROOT / "examples"
EXAMPLES = ("logbook-stand", "leaflet-holder", "tool-hook")
SHOP = load_shop(user_file=None)


def example(name) -> StripJob:
    """Return the job of an example."""
    job = load_job(FOLDER / f"{name}.toml")
    assert isinstance(job, StripJob)
    return job


def strip_of(words) -> StripJob:
    """Return the job of a strip that nested words describe."""
    job = job_from_words(words)
    assert isinstance(job, StripJob)
    return job


@cache
def made(name):
    """What an example makes, once for all tests."""
    job = example(name)
    return make_strip(job, folder=FOLDER, shop=SHOP, progress=lambda stage: None)


@cache
def work(name):
    """What is known about an example."""
    return build_work(example(name), folder=FOLDER, shop=SHOP)


def worked(**words):
    """What is known about a strip typed as a command."""
    given = {"legs_mm": (80, 120, 60), "angles": "90,110"} | words
    return build_work(strip_job(BendCommand(**given)), folder=Path(), shop=SHOP)


# --- the examples, end to end -------------------------------------------------------------------


@pytest.mark.parametrize("name", EXAMPLES)
def test_examples_can_be_made_without_a_caution(name):
    """An example is something to begin with, not something to worry about."""
    assert {finding.severity for finding in made(name).findings} <= {Severity.NOTE}


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_file_of_an_example_has_a_purpose(name):
    """All kinds of file are there, and the report says what each is for."""
    files = made(name).files
    endings = {file.rsplit(".", 1)[1] for file in files}

    assert endings == {"stl", "3mf", "glb", "svg", "dxf", "pdf", "png", "html", "json", "txt"}
    page = files["report.html"].decode()
    assert all(re.search(f"<code>{re.escape(file)}</code> \\w", page) for file in files)


@pytest.mark.parametrize("name", EXAMPLES)
def test_all_meshes_are_closed_and_fit_the_printer(name, tmp_path):
    """The bent strip and every jig, read back from their files, are closed; jigs fit the bed."""
    files = made(name).files
    printer = work(name).bench.printer
    bed = sorted((printer.bed_width_mm, printer.bed_depth_mm))
    for file in some(files):
        if file.endswith((".stl", ".3mf")):
            (tmp_path / file).write_bytes(files[file])
            for body in some(load_mesh(tmp_path / file)):
                low, high = body.mesh.bounds_mm
                assert topology_of(welded(body.mesh)).closed
                if file.endswith(".3mf"):
                    assert sorted((high - low)[:2]) <= bed
                    assert high[2] - low[2] <= printer.bed_height_mm
                    assert low[2] == pytest.approx(0, abs=1e-4)


@pytest.mark.parametrize("name", EXAMPLES)
def test_no_two_jigs_lie_in_one_place(name, tmp_path):
    """In the file of all jigs each has a place of its own."""
    file = next(file for file in made(name).files if file.endswith(".3mf"))
    (tmp_path / file).write_bytes(made(name).files[file])
    boxes = [shapely.box(*b.mesh.bounds_mm[:, :2].ravel()) for b in load_mesh(tmp_path / file)]

    assert len(boxes) >= 3
    assert not any(a.intersects(b) for k, a in enumerate(boxes) for b in boxes[:k])


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_bent_strip_holds_the_plastic_of_the_flat_one(name):
    """Bending at the middle keeps the volume: flat area times thickness."""
    strip, layout, body = work(name).part.strip, work(name).layout, work(name).body
    holes = sum(np.pi / 4 * size**2 for _, _, size in strip.holes)
    flat = (layout.developed_mm * strip.width_mm - holes) * strip.thickness_mm
    # Off the middle, the neutral line of the test strip gives some length more or less.
    slack = abs(strip.neutral - 0.5) * strip.thickness_mm * 4 / layout.developed_mm

    assert body.mesh.volume_mm3 == pytest.approx(flat, rel=2e-3 + slack)


@pytest.mark.parametrize("name", EXAMPLES)
def test_same_job_same_bytes(name):
    """Making twice gives the same files, to the byte."""
    job = example(name)
    again = make_strip(job, folder=FOLDER, shop=SHOP, progress=lambda stage: None)

    assert list(again.files) == list(made(name).files)
    assert again.files == made(name).files


def test_files_are_those_asked_for():
    """A job that asks for two formats gets no other."""
    job = strip_job(BendCommand(legs_mm=(60, 80), angles="90", formats=(Format.SVG, Format.JSON)))
    names = make_strip(job, folder=Path(), shop=SHOP, progress=lambda stage: None).files

    assert {name.rsplit(".", 1)[1] for name in names} == {"svg", "json"}


def test_stages_are_told_in_order():
    """Progress counts up to its last stage."""
    told = []
    job = strip_job(BendCommand(legs_mm=(60, 80), angles="90"))
    make_strip(job, folder=Path(), shop=SHOP, progress=told.append)

    assert [(stage.number, stage.of) for stage in told] == [(k, 6) for k in range(1, 7)]


def test_the_3mf_holds_its_job():
    """The file of all jigs carries the job that makes it again."""
    data = made("tool-hook").files["tool-hook-jigs.3mf"]
    model = zipfile.ZipFile(BytesIO(data)).read("3D/3dmodel.model").decode()

    assert "[[strip.bend]]" in model


# --- the layout drawing -------------------------------------------------------------------------


def test_bend_lines_are_drawn_where_they_are():
    """Bend lines of 80, 120, 60 at 90 and 110 degrees, worked by hand from the bend allowance."""
    plan = build_strip_plan(worked(radius_mm=6).layout)
    lines = [item for item in plan.on(Layer.BEND) if isinstance(item, Line)]

    assert [line.start_mm[0] for line in lines] == pytest.approx([76.8905, 188.1271], abs=1e-3)
    assert all(line.start_mm[0] == line.end_mm[0] for line in lines)


@settings(max_examples=25, deadline=None)
@given(
    st.lists(st.floats(40, 150), min_size=2, max_size=6),
    st.floats(20, 120),
    st.floats(20, 120),
)
def test_nothing_but_the_strip_is_on_the_line_that_is_cut(legs, angle, width):
    """Ticks stay off the strip; only the strip is on the layer of its edge."""
    angles = ",".join(f"{angle if k % 2 else -angle:.3f}" for k in range(len(legs) - 1))
    job = strip_job(BendCommand(legs_mm=tuple(legs), angles=angles, width_mm=width, jigs=()))
    known = build_work(job, folder=Path(), shop=SHOP)
    plan = build_strip_plan(known.layout)
    [edge] = plan.on(Layer.STRIP)
    flat = shapely.Polygon(edge.rings[0])
    ticks = [shapely.LineString([t.start_mm, t.end_mm]) for t in plan.on(Layer.TICK)]

    assert flat.bounds == pytest.approx((0, 0, known.layout.developed_mm, width), abs=1e-9)
    assert len(ticks) == 2 * len(known.layout.lines)
    assert min(tick.distance(flat) for tick in ticks) >= 0.99
    chain = [d for d in plan.items if isinstance(d, Dimension) and d.start_mm[1] == d.end_mm[1]]
    assert sum(d.length_mm for d in chain[:-1]) == pytest.approx(chain[-1].length_mm)


def test_what_must_be_soft_is_drawn_around_its_line():
    """The two edges of the soft strip are as far apart as it is wide, its line in the middle."""
    known = worked()
    edges = [line.start_mm[0] for line in build_strip_plan(known.layout).on(Layer.HOT)]

    for line, low, high in zip(some(known.layout.lines), edges[::2], edges[1::2], strict=True):
        assert high - low == pytest.approx(line.heated_width_mm)
        assert (high + low) / 2 == pytest.approx(line.center_mm)


def test_holes_are_cut_and_crossed():
    """Holes are rings of the edge, of their diameter, with a cross to drill by."""
    plan = build_strip_plan(work("leaflet-holder").layout)
    [edge] = plan.on(Layer.STRIP)
    hole = shapely.Polygon(edge.rings[1])
    crosses = [item for item in plan.on(Layer.MARK) if isinstance(item, Line)]

    assert len(edge.rings) == 3
    assert hole.area == pytest.approx(np.pi / 4 * 25, rel=0.01)
    assert len(crosses) == 4
    middles = [np.mean([line.start_mm, line.end_mm], axis=0) for line in crosses]
    assert middles[0] == pytest.approx(middles[1])
    assert hole.contains(shapely.Point(middles[0]))


def test_every_bend_is_named_on_the_drawing():
    """Number, angle, turn, place and the place on a tape stand beside each bend line."""
    words = " ".join(
        note.text
        for note in build_strip_plan(worked(radius_mm=6).layout).items
        if isinstance(note, Note)
    )

    assert "bend 1: 90° up" in words
    assert "76.9 mm, 3 1/32 in" in words
    assert "LEFT END" in words


def test_the_drawing_is_true_to_size_in_svg_and_dxf(tmp_path):
    """A strip of known length is that long in both files, on its own layer."""
    files = made("tool-hook").files
    svg = files["tool-hook-layout.svg"].decode()
    (tmp_path / "a.dxf").write_bytes(files["tool-hook-layout.dxf"])
    drawing = ezdxf.readfile(tmp_path / "a.dxf")
    edge = drawing.modelspace().query('LWPOLYLINE[layer=="strip"]')
    xs = [x for x, *_ in edge[0].get_points()]
    path = re.search(r'id="strip".*? d="M(.*?) Z', svg, re.DOTALL)[1]

    assert max(xs) - min(xs) == pytest.approx(195, abs=1e-3)
    assert max(float(pair.split(",")[0]) for pair in path.split()) == pytest.approx(195, abs=1e-3)
    assert {"bend", "hot", "tick"} <= {layer.dxf.name for layer in drawing.layers}


@given(st.floats(0, 2000))
def test_a_tape_shows_the_nearest_32nd(length):
    """Inches on a tape are within 1/64 in of the length."""
    whole, _, part = inches(length).removesuffix(" in").rpartition(" ")
    top, _, below = part.partition("/")
    told = float(whole or 0) + float(top) / float(below or 1)

    assert abs(told * 25.4 - length) <= 25.4 / 64 + 1e-9
    assert not below or int(below) in (2, 4, 8, 16, 32)


# --- what is told -------------------------------------------------------------------------------


def test_the_summary_says_what_the_numbers_say():
    """Length, marks, order and size in the summary are those for programs."""
    known = work("logbook-stand")
    rows, numbers = dict(summary_of(known)), numbers_of(known)
    first, *rest = numbers["order"]

    assert rows["Cut length"].startswith(f"{numbers['flat_length_mm']:.1f} mm")
    assert rows["Order"] == f"bend {first}, then {rest[0]}"
    assert rows["Bent"].startswith(f"{numbers['bent_length_mm']:.1f} mm long")
    assert f"{numbers['tip_left_deg']:.0f}° to the left" in rows["Tips at"]


def test_findings_json_is_what_was_found():
    """The file for programs holds the numbers and the findings."""
    told = json.loads(made("logbook-stand").files["findings.json"])

    assert told["numbers"]["order"] == made("logbook-stand").numbers["order"]
    assert len(told["findings"]) == len(made("logbook-stand").findings)


@pytest.mark.parametrize("name", EXAMPLES)
def test_directions_go_bend_by_bend_in_order(name):
    """Every bend has its step, in the order found, with its heat and hold."""
    known = work(name)
    bends = [word for word, _ in steps_of(known) if word.startswith("Bend ")]
    text = directions_text(known).decode()

    assert [int(re.match(r"Bend (\d+)", word)[1]) for word in bends] == list(known.order.numbers)
    assert text.index("Cut\n") < text.index("Mark\n") < text.index(bends[0])
    assert max(len(line) for line in text.splitlines()) <= 78
    assert "until it is stiff" in text


def test_directions_follow_the_order_that_was_found():
    """Where the right bend comes first, so does its step."""
    known = worked(legs_mm=(110, 190, 45), angles="-110,90", width_mm=150)
    bends = [word for word, _ in steps_of(known) if word.startswith("Bend ")]

    assert known.order.numbers == (2, 1)
    assert [word[:6] for word in bends] == ["Bend 2", "Bend 1"]


def test_the_strip_lies_in_its_jig_with_earlier_bends_made():
    """In the first jig the rest of the strip is straight, in the second it is bent already."""
    known = worked(angles="90,-110")
    flat = known.layout.developed_mm - known.layout.lines[0].center_mm
    first, second = (
        float(np.ptp(known.jigs.for_bend(number).strip.mesh.points_mm[:, 2])) for number in (1, 2)
    )

    assert known.order.numbers == (1, 2)
    assert first == pytest.approx(flat, abs=15)
    assert second < known.layout.lines[1].center_mm * 0.85


def test_a_line_that_lies_one_way_only_is_not_turned_over():
    """Where a bent leg forbids turning over, the directions do not ask for it."""
    known = worked(angles="90,110")
    step = next(step for step in known.order.steps if not (step.marks_up and step.marks_down))
    text = dict(steps_of(known))[f"Bend {step.number}: {(90, 110)[step.number - 1]}° up"]

    assert "Turn it over" not in text
    assert "the face without the marks down" in text


def test_a_bend_heated_from_one_face_is_told_alike_everywhere():
    """Summary, table, numbers and directions give the time in all, and nobody turns it over."""
    known = worked(angles="90,110")
    number = next(s.number for s in known.order.steps if not (s.marks_up and s.marks_down))
    turned, one = (known.dwells[place] for place in (2 - number, number - 1))
    low_s, high_s = one.band_s
    words = f"about {clock(one.side_s)} ({clock(low_s)} to {clock(high_s)})"
    numbers = numbers_of(known)
    row = next(t for t in strip_tables(known) if t.title.startswith("Heat on")).rows[number - 1]

    assert turned.n_sides == 2
    assert (
        f"bend {number}: {words} from one side, in steps of 1 min"
        in dict(summary_of(known))["Heat"]
    )
    assert row[1] == clock(one.side_s)
    assert (row[3], row[4], row[6]) == ("1", "not turned, in steps of 1 min", "not followed")
    assert f"{words} in all" in directions_text(known).decode()
    assert numbers["side_s"][number - 1] == one.total_s == pytest.approx(2 * turned.side_s, rel=0.1)
    assert numbers["n_sides"][number - 1] == 1
    assert numbers["step_s"] == [None, 60.0]
    assert one.band_s[0] < one.side_s < one.band_s[1]


def test_a_strip_without_an_order_stops():
    """A strip that hits itself gets no bending steps and no jigs, and no solid."""
    known = worked(legs_mm=(80, 60, 60, 80), angles="90,90,90")

    assert known.findings[0].severity is Severity.STOP
    assert known.jigs.printed == ()
    assert known.body is None
    assert [word for word, _ in steps_of(known)][-1] == "Stop"


def test_the_cautions_name_what_can_hurt():
    """Burns, fumes, film, PVC, eyes, supervision and local rules are all there."""
    words = " ".join(strip_cautions()).lower()

    for danger in ("burn", "fumes", "film off", "pvc", "glasses", "supervise", "local rules"):
        assert danger in words


def test_the_report_tells_all_of_it():
    """The report has its tables, its steps and the job that makes it again."""
    page = made("logbook-stand").files["report.html"].decode()
    titles = [table.title for table in strip_tables(work("logbook-stand"))]

    assert len(titles) == 7
    assert all(title.replace("'", "&#x27;") in page for title in titles)
    assert "[[strip.bend]]" in page
    assert "http" not in page.replace("http-equiv", "")


# --- a test strip, a stand, jigs ----------------------------------------------------------------


def test_a_test_strip_settles_what_was_habit():
    """A 100 mm strip of 3 mm, R 6, that measures 106.22 over both legs has K = 0.5, by hand."""
    words = {
        "title": "Rest",
        "strip": {"width": 40, "legs": [60, 80], "bend": [{"angle": 90}]},
        "test_strip": {
            "flat": 100, "legs": [53.11, 53.11], "radius": 6, "pressed": 92, "came_out": 90.5,
        },
    }  # fmt: skip
    known = build_work(strip_of(words), folder=Path(), shop=SHOP)

    assert known.part.strip.neutral == pytest.approx(0.5, abs=0.003)
    assert known.pressed_deg(1) == pytest.approx(91.5)
    assert "test strip" in known.part.neutral_basis


def test_a_timed_strip_sets_the_heater():
    """A side time that was right for a right angle comes back as the dwell of a right angle."""
    words = {
        "title": "Rest",
        "strip": {"width": 40, "legs": [60, 80], "bend": [{"angle": 90}]},
        "test_strip": {"side": 150},
    }
    known = build_work(strip_of(words), folder=Path(), shop=SHOP)

    assert known.dwells[0].side_s == pytest.approx(150, rel=0.05)


def test_a_timed_strip_halves_the_doubt_and_the_report_says_whose_it_was():
    """Untimed the heater is in doubt, and how to end that is told; timed, the band is narrower."""
    words = {"title": "Rest", "strip": {"width": 40, "legs": [60, 80], "bend": [{"angle": 90}]}}
    untimed = build_work(strip_of(words), folder=Path(), shop=SHOP)
    timed = build_work(strip_of(words | {"test_strip": {"side": 110}}), folder=Path(), shop=SHOP)
    spans = []
    for known in (untimed, timed):
        low_s, high_s = known.dwells[0].band_s
        assert low_s < known.dwells[0].side_s < high_s
        spans.append((high_s - low_s) / known.dwells[0].side_s)
    notes = [
        next(t.note for t in strip_tables(known) if t.title.startswith("Heat on"))
        for known in (untimed, timed)
    ]

    assert spans[1] < 0.5 * spans[0]
    assert "the heater's: nobody has timed it" in notes[0]
    assert "side in [test_strip]" in notes[0]
    assert "your timed strip" in notes[1]
    assert "side in [test_strip]" in directions_text(untimed).decode().replace("\n     ", " ")
    assert "side in [test_strip]" not in directions_text(timed).decode()


def test_a_stand_stands_on_the_leg_it_lies_on_and_says_so():
    """An angle of two legs lies on one of them; the summary, directions and solid are of that."""
    known = worked(legs_mm=(110, 190, 45), angles="105 down,90", width_mm=150, stand=True)
    leg = known.shape.legs[0]
    points = known.body.mesh.points_mm

    assert dict(summary_of(known))["Stands on"] == "leg 1, marks down"
    assert dict(steps_of(known))["Stand"] == "It stands on leg 1, marks down, as in the pictures."
    assert (leg.start_mm[1], leg.end_mm[1]) == pytest.approx((1.5, 1.5))
    assert points[:, 2].min() == pytest.approx(0, abs=0.01)
    assert np.ptp(points[points[:, 2] < 0.01][:, 0]) > 0.8 * leg.length_mm


def test_a_stand_that_is_read_is_put_down_for_its_reader_first():
    """The logbook's stand is on the end of its prop and on its lower bend, as its back asks."""
    known = work("logbook-stand")

    assert dict(summary_of(known))["Stands on"] == "the end of leg 1 and bend 2"


def test_a_stand_stands_with_its_reader_s_face_up():
    """The stand is put down so that the leg that is read, and loaded, looks up."""
    known = work("logbook-stand")
    leg = known.shape.legs[1]

    assert cos(radians(leg.heading_deg)) > 0
    assert known.standing.loads[0].height_mm > known.standing.strip_middle_mm[1]


def test_the_tipping_angle_is_that_of_its_center_of_mass():
    """Arctangent of foot over height, with the load in it."""
    standing = work("logbook-stand").standing
    (x, z), (left, _) = standing.middle_mm, standing.contact_mm

    assert standing.tip_left_deg == pytest.approx(degrees(atan2(x - left, z)))
    assert sum(load.mass_kg for load in standing.loads) == pytest.approx(0.45)


def test_a_phone_needs_no_sizes():
    """Usual things are known by name; what is given takes the place of the usual."""
    phone = thing_of(JobLoad(name="Phone", leg=1, mass_g=300))

    assert (phone.mass_kg, phone.tall_mm) == (0.3, 150.0)


def test_a_drawing_gives_the_strip_its_shape(tmp_path):
    """A strip of its own outline is drawn as in its file, wherever it stands on the page."""
    (tmp_path / "tab.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="100mm" '
        'viewBox="0 0 300 100"><path d="M20 20 h150 l20 20 v20 h-170 z"/></svg>'
    )
    words = {
        "title": "Tab",
        "strip": {
            "width": 40, "marks": [60], "length": 170, "svg": "tab.svg", "bend": [{"angle": 90}],
        },
    }  # fmt: skip
    known = build_work(strip_of(words), folder=tmp_path, shop=SHOP)
    [edge] = build_strip_plan(known.layout).on(Layer.STRIP)

    assert shapely.Polygon(edge.rings[0]).area == pytest.approx(170 * 40 - 200, rel=1e-4)
    assert known.body.mesh.volume_mm3 == pytest.approx((6800 - 200) * 3, rel=2e-3)


def test_a_gauge_serves_all_bends_that_are_alike():
    """Two bends of the same angle and radius need one angle gauge."""
    known = worked(angles="90,-90")
    names = [one.name for one in known.jigs.printed]

    assert names == ["marking-gauge", "block-1", "block-2", "angle-gauge-1"] or names == [
        "marking-gauge", "block-2", "block-1", "angle-gauge-1",
    ]  # fmt: skip
    assert known.jigs.for_bend(2).name == "block-2"


def test_a_jig_that_cannot_be_printed_is_told():
    """A sharp bend without a gauge is a caution, not the end of the job."""
    known = worked(legs_mm=(150, 150), angles="168")

    assert "jig-left-out" in {finding.code for finding in known.findings}


def test_folds_get_a_press_and_other_bends_a_block():
    """Only a closed fold is pressed."""
    known = worked(legs_mm=(70, 120, 60), angles="180,-90", gap_mm=4)

    assert {one.bend: one.name for one in known.jigs.printed if one.bend} == {
        1: "press-1", 2: "block-2",
    }  # fmt: skip


# --- pictures -----------------------------------------------------------------------------------


def test_pictures_are_pictures_and_the_same_each_time():
    """The side view and the jigs are PNG files of a fixed width, the same bytes twice."""
    known = work("logbook-stand")
    laid = [LeaningThing(leg=2, marks=True, thing=thing_of(JobLoad(name="book", leg=2)))]
    view = side_view_of(known.shape, standing=known.standing, laid=laid)
    side = [side_view_png(view) for _ in range(2)]
    jig = known.jigs.for_bend(1)
    pictures = [bodies_png(jig.shown, strip=jig.strip, title="block") for _ in range(2)]

    assert side[0] == side[1]
    assert pictures[0] == pictures[1]
    assert {int.from_bytes(png[16:20], "big") for png in (side[0], pictures[0])} == {1400}
    assert side[0] != side_view_png(side_view_of(known.shape, standing=known.standing))


def test_the_side_view_tells_what_was_asked_for():
    """Every leg and bend has its label with units, at its place; what leans lies on its leg."""
    known = work("logbook-stand")
    laid = [LeaningThing(leg=2, marks=True, thing=thing_of(JobLoad(name="book", leg=2)))]

    view = side_view_of(known.shape, standing=known.standing, laid=laid, title="stand")

    strip = known.shape.strip
    bends = [label.words for label in view.labels if label.is_bend]
    legs = [label.words for label in view.labels if not label.is_bend]
    assert bends == [
        f"bend {k}: {bend.angle_deg:g}°, R {arc.inner_mm:g} mm"
        for k, (bend, arc) in enumerate(zip(strip.bends, known.shape.arcs, strict=True), start=1)
    ]
    assert legs == [f"leg {k}: {leg:g} mm" for k, leg in enumerate(strip.legs_mm, start=1)]
    for label in view.labels:
        assert view.strip.exterior.distance(shapely.Point(label.spot_mm)) < 0.05
        if not label.is_bend:
            from_middle = np.array(label.spot_mm) - known.shape.bounds_mm.mean(axis=0)
            assert from_middle @ label.out > 0
    ((name, book),) = view.things
    assert name == "book"
    assert book.distance(view.strip) < 0.01
    assert book.intersection(view.strip).area < 1.0
    assert view.strip.exterior.distance(shapely.Point(view.start_mm)) < 0.01
    assert view.balance.middle_mm == known.standing.middle_mm
    assert view.balance.contact_mm == known.standing.contact_mm
    assert f"left at {known.standing.tip_left_deg:.0f}°" in view.balance.words


def test_a_strip_has_line_kinds_of_its_own():
    """The drawing of a strip has lines that a mold's has not, and each has a title in the file."""
    svg = svg_bytes(build_strip_plan(worked().layout)).decode()

    assert "<title>bend line, over the element</title>" in svg
    assert 'id="foot"' not in svg


# --- what is left open is chosen ----------------------------------------------------------------

SOFTENED = {"jig-too-hot", "band-narrow"}


def codes(made):
    """The codes of what was found."""
    return {finding.code for finding in made.findings}


@pytest.mark.parametrize("plastic", ["PMMA cast", "PETG", "ABS", "HIPS"])
@pytest.mark.parametrize("angles", ["90", "60", "120", "90,110", "45,-90"])
def test_what_is_left_open_gives_no_caution_that_could_be_avoided(plastic, angles):
    """Jigs of the usual filament are faced, and radii are as round as the heater makes them."""
    legs = (80.0, 120.0, 60.0)[: angles.count(",") + 2]
    made = worked(legs_mm=legs, angles=angles, plastic=plastic)

    assert not codes(made) & SOFTENED
    assert made.job.jigs.facing_mm == 3.0
    assert "jigs" in {choice.what for choice in made.choices}
    assert all(bend.radius_mm >= 3.0 for bend in made.job.strip.bend if bend.radius_mm)


def test_what_is_said_stays_and_is_judged():
    """No facing and a radius that are asked for are taken, and told to be too hot and too round."""
    made = worked(facing_mm=0.0, radius_mm=6.0)

    assert codes(made) >= SOFTENED
    assert made.job.jigs.facing_mm == 0.0
    assert {bend.radius_mm for bend in made.job.strip.bend} == {6.0}
    assert made.choices == ()


def test_a_filament_that_stands_the_strip_needs_no_facing():
    """Jigs of polycarbonate are printed at full size."""
    made = worked(filament="PC")

    assert made.job.jigs.facing_mm == 0.0
    assert not codes(made) & SOFTENED
    assert "jigs" not in {choice.what for choice in made.choices}


def test_gauges_alone_need_no_facing():
    """Where nothing is pressed on a hot strip, nothing is glued on."""
    made = worked(jigs=(JigKind.MARKING_GAUGE, JigKind.ANGLE_GAUGE))

    assert made.job.jigs.facing_mm == 0.0
    assert "jigs" not in {choice.what for choice in made.choices}


def test_the_press_of_a_fold_is_faced_too():
    """A closed fold is pressed between faces of wood, over a board."""
    made = worked(legs_mm=(75, 150), angles="180", gap_mm=9.0, thickness_mm=2.0)
    use = made.jigs.printed[1].use

    assert "jig-too-hot" not in codes(made)
    assert made.job.jigs.facing_mm == 3.0
    assert "a board 9 mm thick" in use


def test_the_chosen_values_are_told_and_kept(tmp_path):
    """The report has a table of them, and the job that comes with it holds them."""
    made = make_strip(
        strip_job(BendCommand(legs_mm=(80, 120), angles="90", formats=(Format.HTML,))),
        folder=tmp_path, shop=SHOP, progress=lambda stage: None,
    )  # fmt: skip
    page = made.files["report.html"].decode()

    assert "What was chosen, and why" in page
    assert "facing = 3" in page
    assert [choice.what for choice in made.choices] == ["inside radius", "jigs"]
