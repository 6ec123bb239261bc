"""Letter sets: counts, feet that fit the rail, plates, trays, and the commands beside the mold."""

import json
from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from moldgen.bend.prism import raised
from moldgen.cli import main
from moldgen.errors import SpecError
from moldgen.fixture.kinds import KINDS
from moldgen.fixture.letter_foot import BLANK, FOOT_MM, RAIL_MM, FootRule, in_order
from moldgen.fixture.letter_tray import (
    DEEP_MM,
    FLOOR_MM,
    PLAY_MM,
    WALL_MM,
    build_letter_tray,
    place_mm,
)
from moldgen.fixture.made import Bench
from moldgen.fixture.spec import DrillGuideSpec, PlugSpec
from moldgen.job.fixture_words import FixtureWords, spec_from_words
from moldgen.job.letter_words import LettersWords, letter_counts
from moldgen.mold.checks.outlines import section
from moldgen.outline.text import TextSpec, outline_from_text
from moldgen.pipeline.letter_mold import PLAY_MM as GROOVE_PLAY_MM
from moldgen.pipeline.letter_mold import cut_groove, letter_mold
from moldgen.solid.sound import solid_from_mesh
from moldgen.solid.topology import topology_of, welded
from moldgen.stock import load_shop

ROOT = Path(__file__).parent.parent
SHOP = load_shop(user_file=None)
BENCH = Bench(station=SHOP.station("classroom-450x300"), printer=SHOP.printer("bed-220"), shop=SHOP)
RULE = FootRule(letter_height_mm=40)


def said(**typed):
    """Return what is typed for a set."""
    return LettersWords(**typed)


# Which letters.


def test_the_usual_set_is_an_alphabet():
    """26 letters, ten figures, six signs, blanks; two of each common letter."""
    counts = letter_counts(said())

    assert len(counts) == 26 + 10 + 6 + 1
    assert {c for c, n in counts.items() if n == 2} == set("ETAOINSRHL") | {BLANK}
    assert list(counts)[:3] == ["A", "B", "C"]


@pytest.mark.parametrize(
    ("characters", "letters"),
    [
        ("A-D", "ABCD"),
        ("A-C 7-9", "ABC789"),
        ("A-C7-9", "ABC789"),
        ("?-&", "?-&"),
        ("PIER 4", "PIER4"),
        ("a-c - Z", "abc-Z"),
        ("AAB", "AB"),
    ],
)
def test_ranges_and_signs_are_told_apart(characters, letters):
    """A minus between letters or figures is a range, any other is a sign."""
    counts = letter_counts(said(characters=characters, common=0, blanks=0))

    assert "".join(counts) == letters


def test_counts_go_before_the_common_ones():
    """What is counted by name is made in that number; none leaves it out."""
    counts = letter_counts(said(characters="A-F", common=3, counts="E=5, B=0, F=2", blanks=0))

    assert counts == {"A": 3, "C": 1, "D": 1, "E": 5, "F": 2}


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"characters": "Z-A"}, "characters must be ranges such as A-Z"),
        ({"characters": " ", "blanks": 0}, "characters must be given"),
        ({"counts": "E:3"}, r"counts must be like \"E=4, S=3\""),
        ({"counts": "e=3"}, r"counts must be for letters of the set \(got 'e'\)"),
        ({"counts": "E=600"}, "counts must be at most 600 pieces in all"),
        ({"common": 1.5}, r"common must be a whole number \(got 1\.5\)"),
    ],
)
def test_a_set_that_is_none_is_refused(typed, sentence):
    """One sentence that says what to write."""
    with pytest.raises(SpecError, match=sentence):
        letter_counts(said(**typed))


@pytest.mark.parametrize("characters", ["", " "])
def test_a_set_without_letters_is_refused_before_anything_is_made(characters, tmp_path, capsys):
    """Blank feet alone are no letter set, whatever else is asked for."""
    out = tmp_path / "set"
    assert main(["letters", "--characters", characters, "--out", str(out)]) == 2

    assert "--characters must be given (got nothing)" in capsys.readouterr().err
    assert not out.exists()


# Feet and groove.


@pytest.fixture(scope="module")
def molds():
    """Return the grooved molds of L, plain and mirrored."""
    made = {}
    for mirrored in (False, True):
        name, mold = letter_mold("L", RULE, said(mirrored=mirrored), SHOP)
        made[mirrored] = name, mold, cut_groove(mold.bodies[0], RULE)
    return made


def test_a_letter_is_a_closed_vented_mold(molds):
    """One piece, as high as foot and relief, with vents through it."""
    _, mold, letter = molds[False]
    low, high = letter.mesh.bounds_mm

    assert topology_of(welded(letter.mesh)).closed
    assert len(solid_from_mesh(letter.mesh, doing="testing").decompose()) == 1
    assert mold.vents.vents
    assert high[2] - low[2] == pytest.approx(FOOT_MM + RULE.relief_mm)


def test_feet_set_side_by_side_space_the_word(molds):
    """The foot is as wide as the letter's ink and its share of the gap on either side."""
    _, _, letter = molds[False]
    width, depth, _ = np.ptp(letter.mesh.points_mm, axis=0)
    ink = outline_from_text(TextSpec(text="L", height_mm=40)).region.bounds

    assert width == pytest.approx(ink[2] - ink[0] + 2 * RULE.side_mm, abs=2e-3)
    assert width == pytest.approx(RULE.width_mm("L"), abs=2e-3)
    assert depth == pytest.approx(RULE.depth_mm, abs=2e-3)
    gap = 2 * RULE.side_mm / 40
    assert 0.10 <= gap <= 0.35


@pytest.mark.parametrize("mirrored", [False, True])
def test_the_rail_fits_the_groove(molds, mirrored):
    """The rail passes with its play, one a little wider does not, nor turned by half a turn."""
    solid = solid_from_mesh(molds[mirrored][2].mesh, doing="testing")
    wide, high = RAIL_MM
    bar = raised(shapely.box(-200, -wide / 2, 200, wide / 2), 0.0, high)
    lying = bar.translate((0, RULE.groove_mm, 0))

    assert (solid ^ lying).volume() == pytest.approx(0.0, abs=1e-9)
    for move in (GROOVE_PLAY_MM - 0.01, 0.01 - GROOVE_PLAY_MM):
        assert (solid ^ lying.translate((0, move, 0))).volume() < 1e-9
    for move in (GROOVE_PLAY_MM + 0.05, -GROOVE_PLAY_MM - 0.05):
        assert (solid ^ lying.translate((0, move, 0))).volume() > 0.1
    assert (solid.rotate((0, 0, 180)) ^ lying).volume() > 10


def test_a_mirrored_letter_is_the_other_hand(molds):
    """The foot bar of an L reaches to the left when it is read from the other side."""
    arms = []
    for mirrored in (False, True):
        cut = section(molds[mirrored][2].mesh, FOOT_MM + 3.0)
        upper = shapely.intersection(cut, shapely.box(-99, 10, 99, 99)).centroid.x
        arms.append(cut.centroid.x - upper)

    assert arms[0] > 2
    assert arms[1] == pytest.approx(-arms[0], abs=1e-3)
    volumes = [molds[mirrored][1].bodies[0].mesh.bounds_mm for mirrored in (False, True)]
    assert volumes[0] == pytest.approx(volumes[1], abs=1e-3)


def test_letters_share_their_baseline(molds):
    """The lower edge of an L and that of a dot lie at one height of the foot."""
    _, mold = letter_mold(".", RULE, said(), SHOP)
    lows = [
        section(body.mesh, FOOT_MM + RULE.relief_mm / 2).bounds[1]
        for body in (molds[False][2], mold.bodies[0])
    ]

    assert lows[0] == pytest.approx(lows[1], abs=0.4)
    assert lows[0] == pytest.approx(RULE.baseline_mm, abs=1.0)


@given(st.text(alphabet="HARBOUTIDE", min_size=1, max_size=12), st.booleans())
@settings(max_examples=20)
def test_order_on_the_table(word, mirrored):
    """Mirrored words are set backward; twice backward is forward."""
    order = in_order(word, mirrored=mirrored)

    assert "".join(reversed(order) if mirrored else order) == word


# The tray.


def test_a_tray_has_a_place_for_every_letter():
    """Volume of a box less its places and the letters sunk in their floors."""
    counts = {"A": 2, "I": 1, BLANK: 3}
    made = build_letter_tray(counts, RULE, BENCH)
    (tray,) = made.shown
    sizes = [place_mm(letter, RULE) for letter, n in counts.items() for _ in range(n)]
    cut = section(tray.mesh, FLOOR_MM + 1.0)
    places = [shapely.Polygon(ring) for ring in cut.geoms[0].interiors]
    width, depth, high = np.ptp(tray.mesh.points_mm, axis=0)
    plain = (width * depth - (4 - np.pi) * 4) * high - sum(w * d for w, d in sizes) * DEEP_MM

    assert high == pytest.approx(FLOOR_MM + DEEP_MM)
    assert sorted(one.area for one in places) == pytest.approx(sorted(w * d for w, d in sizes))
    assert plain - 60 < tray.mesh.volume_mm3 < plain
    walls = [shapely.distance(a, b) for k, a in enumerate(places) for b in places[k + 1 :]]
    assert min(walls) == pytest.approx(WALL_MM, abs=1e-6)


def test_a_letter_lies_in_its_place_with_play(molds):
    """Every place is larger than the foot by its play all round."""
    _, _, letter = molds[False]
    foot = np.ptp(letter.mesh.points_mm, axis=0)[:2]

    assert place_mm("L", RULE) == pytest.approx(tuple(foot + 2 * PLAY_MM), abs=5e-3)


def test_large_letters_need_a_large_printer():
    """A place beyond the bed is refused, naming the printer."""
    with pytest.raises(SpecError, match="letter_height_mm must be small enough for a tray on bed"):
        build_letter_tray({"W": 1}, FootRule(letter_height_mm=150), BENCH)


# Words of the fixture command.


def test_words_become_the_fixtures_own_numbers():
    """What is typed is taken, the rest is usual."""
    words = FixtureWords(fixture="plug", count=7.0, clearance_mm=0.2)
    kind, spec = spec_from_words(words)

    assert kind.name == "plug"
    assert spec == PlugSpec(count=7, clearance_mm=0.2)
    assert spec_from_words(FixtureWords(fixture="Drill Guide"))[1] == DrillGuideSpec()


def test_words_of_another_fixture_are_refused():
    """An option that would do nothing is never taken in silence."""
    with pytest.raises(SpecError, match=r"span_mm must be left out for plug \(got 40 mm\)"):
        spec_from_words(FixtureWords(fixture="plug", span_mm=40.0))
    with pytest.raises(SpecError, match="mirrored must be left out for handle"):
        spec_from_words(FixtureWords(fixture="handle", mirrored=True))
    with pytest.raises(SpecError, match="file must be left out for plug"):
        spec_from_words(FixtureWords(fixture="plug", file="a.toml"))


# The commands.


@pytest.fixture
def elsewhere(tmp_path, monkeypatch):
    """Work in an empty folder."""
    monkeypatch.chdir(tmp_path)


def test_the_list_names_every_fixture(elsewhere, capsys):
    """Name, use and safety of each, and nothing is written."""
    assert main(["fixture"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    for kind in KINDS:
        assert kind.use in out
        assert kind.safety in out
    assert main(["fixture", "--json"]) == 0
    assert [row["name"] for row in json.loads(capsys.readouterr().out)] == [k.name for k in KINDS]
    assert not Path("outputs").exists()


def test_a_fixture_is_made_with_its_sheet_of_use(elsewhere, capsys):
    """Meshes, picture and one page that says how to use it and what can hurt."""
    assert main(["fixture", "roller", "--offset", "15", "--formats", "stl,3mf,png,html"]) == 0
    folder = Path("outputs/scribing-roller")
    page = (folder / "report.html").read_text(encoding="utf-8")

    assert {path.name for path in folder.iterdir()} == {
        "roller.stl", "roller.3mf", "roller.png", "report.html",
    }  # fmt: skip
    assert "roll it along the part on the flange" in page
    # In the summary, and among the cautions.
    assert page.count("It marks only") == 2
    assert "Local rules come first" in page
    assert "15 mm from the wall" in capsys.readouterr().out


def test_a_plate_comes_with_its_drawing(elsewhere):
    """The frame's outline at 1:1, to be cut from plywood."""
    assert main(["fixture", "frame", "--formats", "svg,dxf"]) == 0
    names = {path.name for path in Path("outputs/reducing-frame").iterdir()}

    assert names == {"reducing-frame-plan.svg", "reducing-frame-plan.dxf"}


def test_a_guide_takes_the_vents_of_a_job(elsewhere, capsys):
    """The places are those that the job's mold has drilled."""
    job = ROOT / "examples" / "tide-sign.toml"
    assert main(["fixture", "drill-guide", str(job), "--formats", "json", "--bushing", "3"]) == 0
    out = capsys.readouterr().out

    assert "High tide sign" in out
    assert "for drills of 0.6 mm" in out


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        (["fixture", "plu"], "fixture must be a fixture that moldgen has (got 'plu')"),
        (["fixture", "plug", "--count", "0"], "--count must be at least 1 and at most 200"),
        (["fixture", "plug", "--word", "X"], "--word must be left out for plug"),
        (["fixture", "handle", "--thread", "M7"], "--thread must be a thread with a nut in stock"),
        (["fixture", "plug", "--station", "none"], "--station"),
        (["letters", "--characters", "Z-A"], "--characters must be ranges such as A-Z"),
        (["letters", "--common", "1.5"], "--common must be a whole number"),
    ],
)
def test_bad_words_get_one_sentence(elsewhere, capsys, typed, sentence):
    """Exit code 2, one line on stderr, no file."""
    assert main(typed) == 2
    told = capsys.readouterr().err

    assert sentence in told
    assert told.count("\n") == 1
    assert not Path("outputs").exists()


def test_a_small_set_from_the_command_line(elsewhere, capsys):
    """Plates, tray and rail; what the set lacks for the word is told."""
    typed = ["letters", "--characters", "IL", "--common", "1", "--blanks", "0", "--word", "ILL"]
    assert main([*typed, "--formats", "stl,3mf", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    names = {Path(name).name for name in told["files"]}

    assert names == {
        f"{one}.{end}" for one in ("letters", "rail", "tray") for end in ("stl", "3mf")
    }
    assert told["numbers"]["counts"] == {"I": 1, "L": 1}
    short = next(one for one in told["findings"] if one["code"] == "letters-short")
    assert '"L=2"' in short["advice"]
    assert "feet-sharp" in {one["code"] for one in told["findings"]}
