"""One rule for what fits the printer: exact turns, and the same verdict from every command."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import affinity
from support.check_solids import box as box_mesh
from support.check_solids import case, mesh
from support.strips import strip

from moldgen.bend.jig.jig import JigSpec, build_jig
from moldgen.bend.strip.layout import build_layout
from moldgen.cli.app import main
from moldgen.errors import SpecError
from moldgen.export.mesh.stl import stl_bytes
from moldgen.finding import Severity, sentence
from moldgen.fixture.fixture import check_prints, finished
from moldgen.mold.checks import check_all
from moldgen.outline.rectangle_fit import fit_deg, lack_of
from moldgen.printing.bed import check_printable
from moldgen.printing.bed_fit import (
    BEYOND_BED,
    MARGIN_MM,
    TURNED,
    bed_fit,
    bed_fit_of_mesh,
    check_beds,
    fits_bed,
    usable_bed_mm,
)
from moldgen.printing.orient import orientations
from moldgen.printing.pack import pack, packed_on_plates
from moldgen.printing.planes import place_cuts
from moldgen.printing.split import split_to_bed
from moldgen.solid.mesh import Body
from moldgen.solid.sound import solid_from_mesh
from moldgen.stock import load_shop

SHOP = load_shop(user_file=None)
PRINTER = SHOP.printer("bed-220")
LONG = SHOP.printer("bed-250")


# Turning an outline into a rectangle.


def sizes_mm(outline, turns_deg):
    """Return width and depth of an outline at each turn, by turning its corners one by one."""
    corners = shapely.get_coordinates(outline)
    t = np.radians(turns_deg)[:, None]
    x = corners[:, 0] * np.cos(t) - corners[:, 1] * np.sin(t)
    y = corners[:, 0] * np.sin(t) + corners[:, 1] * np.cos(t)
    return np.stack([np.ptp(x, axis=1), np.ptp(y, axis=1)], axis=1)


outlines = st.lists(
    st.tuples(st.floats(-150, 150), st.floats(-60, 60)), min_size=3, max_size=12, unique=True
).map(shapely.MultiPoint)
rooms = st.tuples(st.floats(60, 320), st.floats(60, 320))


@given(outlines, rooms)
@settings(max_examples=300)
def test_the_turn_is_true_and_none_is_missed(outline, room):
    """What is said to fit lies within; else no turn of a hundred to the degree does."""
    assume(shapely.convex_hull(outline).area > 1.0)
    turn = fit_deg(outline, *room)
    tried = np.arange(-90, 90, 0.01)
    fitting = tried[(sizes_mm(outline, tried) <= room).all(axis=1)]

    if turn is None:
        assert len(fitting) == 0
        return
    x0, y0, x1, y1 = affinity.rotate(outline, turn).bounds
    assert -90 < turn <= 90
    assert x1 - x0 <= room[0] + 1e-5
    assert y1 - y0 <= room[1] + 1e-5
    if turn not in (0.0, 90.0):
        assert np.abs(fitting).min(initial=90.0) >= abs(turn) - 1.0


@given(outlines, rooms)
@settings(max_examples=200)
def test_what_an_outline_lacks_is_told_truly(outline, room):
    """At the scale that is told it fits, a thousandth larger it does not."""
    assume(shapely.convex_hull(outline).area > 1.0)
    lack = lack_of(outline, *room)
    smaller, larger = (
        affinity.scale(outline, lack.scale * k, lack.scale * k) for k in (0.999, 1.001)
    )

    assert fit_deg(smaller, *room) is not None
    assert fit_deg(larger, *room) is None


def test_a_bar_is_turned_by_the_known_angle():
    """L cos t + W sin t = room has the root t = acos(room / hypot(L, W)) + atan(W / L)."""
    length, width, room = 240.0, 10.0, 214.0
    root = np.degrees(np.arccos(room / np.hypot(length, width)) + np.arctan(width / length))
    bar = shapely.box(0, 0, length, width)

    assert fit_deg(bar, room, room) == np.ceil(root)
    assert root == pytest.approx(29.4, abs=0.05)


def test_the_turn_has_a_hand():
    """A bar drawn askew is turned back clockwise, its mirror image counter-clockwise."""
    askew = affinity.rotate(shapely.box(0, 0, 200, 10), 20)
    mirrored = affinity.scale(askew, 1, -1)

    assert fit_deg(askew, 205, 30) == -15
    assert fit_deg(mirrored, 205, 30) == -fit_deg(askew, 205, 30)


def test_a_turn_that_leaves_no_room_is_told_to_its_last_digit():
    """Where no whole degree fits, nor a tenth, the exact turn is told."""
    askew = affinity.rotate(shapely.box(0, 0, 200, 100), -12.345)

    assert fit_deg(askew, 200.0001, 100.0001) == pytest.approx(12.345, abs=1e-3)
    assert fit_deg(askew, 200.5, 100.5) == pytest.approx(12.345, abs=0.15)
    assert fit_deg(askew, 203, 105) == 11


# The bed.


def test_the_usable_bed_keeps_a_margin_along_every_edge():
    """3 mm at either side, none above."""
    assert MARGIN_MM == 3.0
    assert usable_bed_mm(LONG) == (244.0, 204.0, 220.0)


@pytest.mark.parametrize(
    ("size_mm", "turn_deg"),
    [((244, 204), 0.0), ((204, 244), 90.0), ((244.1, 204), None), ((260, 20), 26.0)],
)
def test_a_bed_takes_a_block_either_way_round(size_mm, turn_deg):
    """As it lies, by a quarter turn, askew, or not at all."""
    fit = bed_fit(shapely.box(0, 0, *size_mm), 220.0, LONG)

    assert fit.turn_deg == turn_deg
    assert fit.fits == (turn_deg is not None)
    assert fit.straight == (turn_deg in (0.0, 90.0))


def test_height_is_a_side_like_the_others():
    """The side that lacks most is told, and whatever else is to be taken off."""
    (tall,) = check_beds([Body("buoy", box_mesh(300, 100, 260))], PRINTER)
    (taller,) = check_beds([Body("buoy", box_mesh(216, 100, 260))], PRINTER)

    assert (tall.measured, tall.limit) == (300, 214)
    assert tall.says.endswith("its width")
    assert "86.0 mm off its width and 10.0 mm off its height" in tall.advice
    assert f"or scale it to {int(100 * 250 / 260)} %;" in taller.advice
    assert (taller.measured, taller.limit) == (260, 250)
    assert taller.says.endswith("its height")


def test_only_the_outline_itself_counts():
    """A triangle fits turned where the box round it does not."""
    corners = np.array([(0, 0), (236, 0), (236, 20)], float)
    flat, raised = (np.column_stack([corners, np.full(3, z)]) for z in (0.0, 5.0))
    triangles = [(0, 2, 1), (3, 4, 5), (0, 1, 3), (1, 4, 3), (1, 2, 4), (2, 5, 4), (2, 0, 5),
                 (0, 3, 5)]  # fmt: skip
    wedge = mesh(np.concatenate([flat, raised]), triangles)

    assert bed_fit_of_mesh(wedge, PRINTER).turn_deg == fit_deg(shapely.Polygon(corners), 214, 214)
    assert fits_bed(wedge, PRINTER)
    assert bed_fit_of_mesh(wedge, PRINTER).turn_deg < bed_fit_of_mesh(
        box_mesh(236, 20, 5), PRINTER
    ).turn_deg  # fmt: skip


# Every command.

BLOCKS_MM = {
    "fits": (214.0, 214.0, 30.0),
    "just not": (214.2, 214.0, 30.0),
    "a bed without its margins": (219.0, 219.0, 30.0),
    "a hair long": (219.0, 100.0, 30.0),
    "long": (219.0, 20.0, 30.0),
    "longer": (20.0, 250.0, 30.0),
    "longest": (270.0, 28.0, 30.0),
    "too long": (285.0, 28.0, 30.0),
    "tall": (60.0, 60.0, 250.0),
    "too tall": (60.0, 60.0, 251.0),
}
TURNS_DEG = {"long": 19.0, "longer": 37.0, "longest": 44.0}
FITS = ("fits", "tall")
STOCK = '[printer.tiny]\nbased_on = "bed-180"\nbed_width_mm = 30\nbed_depth_mm = 30\n'


def expected(name):
    """Return code and turn that a block gives; neither where it fits."""
    if name in FITS:
        return None
    return (TURNED, TURNS_DEG[name]) if name in TURNS_DEG else (BEYOND_BED, None)


def verdict(findings):
    """Return code and turn of the one finding about the bed."""
    told = [one for one in findings if one["code"] in {BEYOND_BED, TURNED}]
    if not told:
        return None
    (one,) = told
    return one["code"], one["measured"] if one["code"] == TURNED else None


def told_by(findings):
    return verdict([finding.as_dict() for finding in findings])


def run(capsys, *typed):
    """Run a command and return what it tells as JSON."""
    assert main([*typed, "--formats", "json", "--json"]) in {0, 1}
    return json.loads(capsys.readouterr().out)


@pytest.fixture
def stl(tmp_path, monkeypatch):
    """Return a function that writes a block into an empty folder."""
    monkeypatch.chdir(tmp_path)

    def write(name):
        Path("block.stl").write_bytes(stl_bytes([box_mesh(*BLOCKS_MM[name])], title="block"))
        return "block.stl"

    return write


@pytest.mark.parametrize("name", BLOCKS_MM)
def test_what_is_expected_follows_from_the_geometry(name):
    """The table of this test: fits by its sides, or is turned by the root of L cos t + W sin t."""
    width, depth, height = BLOCKS_MM[name]
    long, short = max(width, depth), min(width, depth)
    fits = long <= 214 and height <= 250
    turns = np.radians(np.arange(0, 46))
    across, along = (
        long * np.cos(turns) + short * np.sin(turns),
        long * np.sin(turns) + short * np.cos(turns),
    )
    turn = np.degrees(turns[(across <= 214) & (along <= 214)]).round()

    assert fits == (name in FITS)
    if not fits and height <= 250 and len(turn):
        assert TURNS_DEG[name] == turn[0]
    elif not fits:
        assert name not in TURNS_DEG


@pytest.mark.parametrize("name", BLOCKS_MM)
def test_underlying_functions_agree(name):
    """Mold, jig and fixture give one verdict, one code, one angle, in the same sentence."""
    block = Body("A", box_mesh(*BLOCKS_MM[name]))
    mold = [one for one in check_all(case(block.mesh)).findings if "print" in one.code]
    jig = [one for one in check_printable([block], PRINTER) if "print" in one.code]
    fixture = [one for one in check_prints([block], PRINTER) if "print" in one.code]

    assert told_by(mold) == told_by(jig) == told_by(fixture) == expected(name)
    assert [*map(sentence, mold)] == [*map(sentence, jig)] == [*map(sentence, fixture)]
    grave = {BEYOND_BED: Severity.STOP, TURNED: Severity.NOTE}
    assert all(one.severity is grave[one.code] for one in mold)


@pytest.mark.parametrize("name", BLOCKS_MM)
def test_commands_for_brought_parts_agree(stl, capsys, name):
    """check, measure and refit tell the same of the same block, split cuts just what lacks room."""
    file = stl(name)
    findings = {
        command: run(capsys, command, file, *more)["findings"]
        for command, more in (
            ("check", ("--forming", "off")),
            ("measure", ()),
            ("refit", ("--mirror", "x")),
        )
    }
    split = run(capsys, "split", file)

    assert {command: verdict(told) for command, told in findings.items()} == dict.fromkeys(
        findings, expected(name)
    )
    whole = expected(name) is None or expected(name)[0] == TURNED
    assert (split["numbers"]["pieces"] == 1) == whole
    assert verdict(split["findings"]) == (expected(name) if whole else None)


def test_a_mold_is_told_what_check_tells_of_its_file(tmp_path, monkeypatch, capsys):
    """The turn that make tells is the one that check and measure tell of the mesh it wrote."""
    monkeypatch.chdir(tmp_path)
    Path("plank.toml").write_text(
        'title = "Name plank"\nbody = [{ name = "plank", height = 8, outline = '
        '{ shape = "rounded-plaque", width = 226, height = 30 } }]\nforming = { look = "off" }\n'
    )
    assert main(["make", "plank.toml", "--formats", "stl", "--json", "--out", "made"]) in {0, 1}
    made = verdict(json.loads(capsys.readouterr().out)["findings"])
    (file,) = Path("made").glob("*.stl")

    assert made is not None
    assert made[0] == TURNED
    assert made == verdict(run(capsys, "check", str(file))["findings"])
    assert made == verdict(run(capsys, "measure", str(file))["findings"])


@pytest.mark.parametrize(
    "typed",
    [
        ["sign", "OAR", "--letter-height", "30", "--forming", "off"],
        ["check", "block.stl"],
        ["measure", "block.stl"],
        ["refit", "block.stl", "--mirror", "x"],
        ["adapt", "block.stl", "--cell", "1"],
        ["bend", "--legs", "90,80", "--angles", "90", "--jigs", "block"],
        ["fixture", "handle"],
        ["letters", "--characters", "A", "--storage", "none"],
    ],
    ids=lambda typed: typed[0],
)
def test_every_command_asks_the_rule(stl, capsys, typed):
    """On a printer with a tiny bed each of them stops with the one code."""
    stl("fits")
    Path("stock.toml").write_text(STOCK)
    assert main([*typed, "--printer", "tiny", "--stock", "stock.toml", "--formats", "json",
                 "--json"]) == 1  # fmt: skip
    told = json.loads(capsys.readouterr().out)["findings"]

    assert BEYOND_BED in {finding["code"] for finding in told if finding["severity"] == "stop"}


# What is laid out, and what is cut, on the same bed.


def test_jigs_and_fixtures_that_lie_askew_are_not_cut():
    """A long piece that fits turned stays whole, with the note; beyond that it is cut."""
    spec = strip([130.0, 90.0], [90.0], width_mm=40.0)
    small = replace(PRINTER, bed_width_mm=106.0, bed_depth_mm=106.0)
    jig = build_jig(spec, build_layout(spec), 1, JigSpec(label=False), small)
    x, y, _ = np.ptp(jig.whole.mesh.points_mm, axis=0)
    bar, long = (
        finished("bar", "Bar", [("bar", solid_from_mesh(box_mesh(length, 20, 5), doing="testing"))],
                 PRINTER, facts=(), splits=True)
        for length in (240, 300)
    )  # fmt: skip

    assert max(x, y) > 100
    assert [one.name for one in jig.bodies] == ["jig 1"]
    assert told_by(jig.findings)[0] == TURNED
    assert len(bar.bodies) == 1
    assert told_by(bar.findings) == (TURNED, 33.0)
    assert len(long.bodies) == 2
    assert told_by(long.findings) is None


@given(st.floats(150, 500), st.floats(10, 300), st.floats(5, 400))
@settings(max_examples=60)
def test_cuts_are_placed_where_the_rule_says_it_does_not_fit(width, depth, height):
    """A block is left whole just if it fits; what is cut fits straight."""
    mesh = box_mesh(width, depth, height)
    cuts = place_cuts(mesh, PRINTER)

    assert (cuts == ()) == fits_bed(mesh, PRINTER)


def test_pieces_lie_within_the_usable_bed():
    """Pieces of a split fit straight, and packed ones keep the margin on every side."""
    pieces = split_to_bed(Body("keel", box_mesh(500, 300, 20)), PRINTER).pieces
    plates = packed_on_plates(
        [Body("plate", box_mesh(w, d, 4)) for w, d in ((214, 100), (100, 105), (90, 105))], PRINTER
    )

    assert len(pieces) == 6
    assert all(bed_fit_of_mesh(piece.mesh, PRINTER).straight for piece in pieces)
    (plate,) = plates
    low = np.min([one.mesh.bounds_mm[0] for one in plate], axis=0)
    high = np.max([one.mesh.bounds_mm[1] for one in plate], axis=0)
    assert (low[:2] >= MARGIN_MM - 1e-9).all()
    assert (high[:2] <= 220 - MARGIN_MM + 1e-6).all()


def test_ways_up_are_tried_on_the_same_bed():
    """A block that stands askew on the bed fits; one that lacks its margin does not."""
    askew, tight = (
        {one.name: one.fits for one in orientations(box_mesh(*size), PRINTER)}
        for size in ((230, 20, 30), (219, 100, 100))
    )

    assert askew["as it stands"]
    assert not tight["as it stands"]


@pytest.mark.parametrize(("over_mm", "fits"), [(0.0, True), (0.1, False), (1.9, False)])
def test_what_is_a_little_too_wide_does_not_fit(over_mm, fits):
    """A tenth of a millimeter over the side of a rectangle is over it."""
    assert (fit_deg(shapely.box(0, 0, 400 + over_mm, 399), 400, 400) is not None) is fits


def test_a_rectangle_is_turned_where_only_that_fits():
    """The long side goes along the long side of the plate; what fits neither way is refused."""
    assert [spot.turned for spot in pack([(140, 190)], (200, 150))] == [True]
    assert [spot.turned for spot in pack([(190, 140)], (200, 150))] == [False]
    with pytest.raises(SpecError, match="size must be at most 200 x 150 mm"):
        pack([(160, 190)], (200, 150))
