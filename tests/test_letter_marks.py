"""Letters with dots and accents: one piece, formable, on feet that fit the rail; formed trays."""

import json
import tomllib
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from moldgen.cli import main
from moldgen.errors import SpecError
from moldgen.finding import Severity
from moldgen.fixture.letter_foot import BLANK, FOOT_MM, RAIL_MM, FootRule, rule_for
from moldgen.fixture.letter_marks import least_gap_between_pieces_mm, place_marks, rows_of
from moldgen.fixture.letter_tray import DEEP_MM, PLAY_MM
from moldgen.fixture.made import Bench
from moldgen.fixture.rail import build_rail
from moldgen.fixture.spec import RailSpec
from moldgen.job.letter_words import LettersWords, letter_counts
from moldgen.job.read import mold_from_words
from moldgen.mold.checks.outlines import section
from moldgen.mold.checks.stroke import EXTRA_MM
from moldgen.pipeline.design import design_mold
from moldgen.pipeline.letter_mold import PLAY_MM as GROOVE_PLAY_MM
from moldgen.pipeline.letter_mold import cut_groove, foot_findings, letter_mold, rule_of_set
from moldgen.pipeline.letter_storage import UNDER_MM, formed_trays
from moldgen.printing.bed_fit import MARGIN_MM
from moldgen.solid.sound import solid_from_mesh
from moldgen.solid.topology import topology_of, welded
from moldgen.stock import load_shop

SHOP = load_shop(user_file=None)
BENCH = Bench(station=SHOP.station("classroom-450x300"), printer=SHOP.printer("bed-220"), shop=SHOP)
RULE = FootRule(letter_height_mm=40)


def said(**typed):
    """Return what is typed for a set."""
    return LettersWords(**typed)


# Letters of several pieces, and marks above the capitals.


@pytest.fixture(scope="module")
def marked():
    """Return the feet of a set with accents, and some of its letters with their molds."""
    words = said()
    rule = rule_of_set("LÄÉj!?Ķ", words)
    return rule, {one: letter_mold(one, rule, words, SHOP)[1] for one in "LÄj!"}


def pieces(letter, rule):
    """Return the pieces of a letter as it stands on its foot, lowest first."""
    placed = place_marks(rule.drawn(letter), gap_mm=rule.gap_mm)
    return sorted(placed.geoms, key=lambda one: one.bounds[1])


@pytest.mark.parametrize("letter", "ij!?:;=ÉÀÊéÑñÖöÜäŐűĶț÷ÅåĖ¡")
def test_marks_stand_a_gap_apart(letter):
    """Every piece is as far from the next as the relief asks, and the letter keeps its width."""
    rule = rule_of_set(letter, said())
    drawn = rule.drawn(letter)
    placed = place_marks(drawn, gap_mm=rule.gap_mm)

    assert rule.gap_mm == pytest.approx(rule.relief_mm)
    assert least_gap_between_pieces_mm(placed) >= rule.gap_mm - 1e-3
    assert placed.bounds[0] == pytest.approx(drawn.bounds[0])
    assert placed.bounds[2] == pytest.approx(drawn.bounds[2])
    assert placed.area == pytest.approx(drawn.area)


@pytest.mark.parametrize("letter", 'ALg%"…8')
def test_letters_without_marks_stay_as_drawn(letter):
    """Pieces side by side, and letters of one piece, are not moved."""
    drawn = RULE.drawn(letter)

    assert place_marks(drawn, gap_mm=6.0) is drawn


def test_what_stands_on_the_baseline_stays():
    """Dots go up over an i, a comma goes down under a K, the dot of an exclamation mark stays."""
    for letter, moves in (("i", 1), ("É", 1), ("!", 1), ("Ķ", 0), ("ț", 0)):
        rule = rule_of_set(letter, said())
        drawn = sorted(rule.drawn(letter).geoms, key=lambda one: one.bounds[1])
        placed = pieces(letter, rule)
        shifts = [b.bounds[1] - a.bounds[1] for a, b in zip(drawn, placed, strict=True)]

        assert shifts[1 - moves] == pytest.approx(0.0, abs=1e-9)
        assert (shifts[moves] > 0.1) if moves else (shifts[moves] < -0.1)


def test_the_dots_of_one_accent_move_alike():
    """Both dots of an Ä leave their middle by half of what is lacking, and rise together."""
    rule = rule_of_set("Ä", said())
    _, *before = sorted(rule.drawn("Ä").geoms, key=lambda one: one.bounds[1])
    _, *after = pieces("Ä", rule)
    before, after = (sorted(one, key=lambda dot: dot.bounds[0]) for one in (before, after))
    moves = [np.subtract(b.bounds[:2], a.bounds[:2]) for a, b in zip(before, after, strict=True)]
    lack = rule.gap_mm - shapely.distance(*before)

    assert moves[0] == pytest.approx([-lack / 2, moves[0][1]], abs=1e-3)
    assert moves[1] == pytest.approx([lack / 2, moves[0][1]], abs=1e-3)


def test_dots_as_wide_as_their_letter_are_not_opened():
    """The dots of an Ï are its widest part: opened they would need a wider foot."""
    rule = rule_of_set("Ï", said())
    first, *dots = pieces("Ï", rule)

    assert shapely.distance(*dots) < 5
    assert min(shapely.distance(first, dot) for dot in dots) == pytest.approx(6.0, abs=1e-3)


@given(st.sampled_from("ijÄÉÑŐ!?;Ķ÷"), st.floats(0.0, 12.0))
@settings(max_examples=30)
def test_apart_once_is_apart(letter, gap_mm):
    """Placing marks twice moves nothing more, and loses no piece."""
    drawn = RULE.drawn(letter)
    placed = place_marks(drawn, gap_mm=gap_mm)
    again = place_marks(placed, gap_mm=gap_mm)

    assert len(placed.geoms) == len(drawn.geoms)
    assert again.bounds == pytest.approx(placed.bounds, abs=2e-3)
    assert len(rows_of(placed)) == len(rows_of(drawn))


def test_small_letters_keep_their_marks_near():
    """Where the sheet asks for more than 15 % of the height, marks stay near; the check tells."""
    words = said(letter_height_mm=12.0)

    assert rule_of_set("i", words).gap_mm == pytest.approx(0.15 * 12)
    assert rule_of_set("i", said(gauge_mm=2.5, letter_height_mm=30.0)).gap_mm == pytest.approx(4.5)
    assert rule_of_set("i", said(gauge_mm=2.5, letter_height_mm=34.0)).gap_mm == pytest.approx(5.1)


@pytest.mark.parametrize("letter", "LÄj!")
def test_a_letter_of_pieces_is_one_printed_piece(marked, letter):
    """Foot and all marks are one closed solid, and gaps between the marks are wide enough."""
    rule, made = marked
    (body,) = made[letter].bodies
    solid = solid_from_mesh(cut_groove(body, rule).mesh, doing="testing")
    cut = section(body.mesh, FOOT_MM + 0.9 * rule.relief_mm)

    assert len(solid.decompose()) == 1
    assert topology_of(welded(body.mesh)).closed
    assert len(shapely.get_parts(cut)) == len(rule.drawn(letter).geoms)
    assert np.ptp(body.mesh.points_mm[:, 1]) == pytest.approx(rule.depth_mm, abs=2e-3)
    assert not {one.code for one in made[letter].findings} & {"gap-narrow", "bodies-near"}


def test_the_mold_has_its_marks_where_the_rule_has_them(marked):
    """The pieces of a mold stand where they were placed, counted from the baseline of the foot."""
    rule, made = marked
    for letter in "Äj!":
        (plan,) = (one for one in made[letter].plans if one.parent)
        stood = sorted(plan.region.geoms, key=lambda one: one.bounds[1])
        for there, here in zip(stood, pieces(letter, rule), strict=True):
            assert there.bounds[1] == pytest.approx(here.bounds[1] + rule.baseline_mm, abs=0.4)


def test_without_moving_the_gaps_are_too_narrow():
    """The partner: an i as its font draws it has a gap that the sheet does not go down."""
    _, mold = letter_mold("i", RULE, said(), SHOP)

    assert "gap-narrow" in {one.code for one in mold.findings}


def test_sets_with_and_without_accents_stand_in_line():
    """Deeper feet keep baseline, groove and, without tails, the lower edge where they were."""
    high = rule_of_set("LÉ", said())

    assert high.above_mm > 5
    assert high.below_mm == 0
    assert high.baseline_mm - high.groove_mm == pytest.approx(RULE.baseline_mm - RULE.groove_mm)
    assert high.groove_mm + high.depth_mm / 2 == pytest.approx(RULE.groove_mm + RULE.depth_mm / 2)
    low = rule_for("ĶÉ", replace(RULE, gap_mm=14.0))
    assert low.below_mm > 0
    assert low.baseline_mm - low.groove_mm == pytest.approx(RULE.baseline_mm - RULE.groove_mm)
    assert rule_of_set("AZaz09.,", said()).depth_mm == RULE.depth_mm
    assert rule_of_set(("A", BLANK), said()).depth_mm == RULE.depth_mm


def test_feet_are_never_deepened_more_below_than_above():
    """The groove stays nearer to the lower edge, so that no letter goes on upside down."""
    rule = rule_for("Ķ", replace(RULE, gap_mm=14.0))

    assert rule.below_mm > 0
    assert rule.above_mm >= rule.below_mm
    assert rule.groove_mm <= RULE.groove_mm


def test_all_letters_of_a_set_share_foot_and_groove(marked):
    """L and Ä of one set have their groove and their baseline at one height."""
    rule, made = marked
    cuts = [section(cut_groove(made[one].bodies[0], rule).mesh, 1.5) for one in "LÄ"]
    edges = [[round(y, 3) for y in np.ravel([g.bounds[1::2] for g in shapely.get_parts(cut)])
              if abs(y) < rule.depth_mm / 2 - 1] for cut in cuts]  # fmt: skip
    tops = [section(made[one].bodies[0].mesh, FOOT_MM + 3).bounds[1] for one in "LÄ"]
    wide = RAIL_MM[0] / 2 + GROOVE_PLAY_MM

    for side in (-wide, wide):
        for found in edges:
            assert np.min(np.abs(np.subtract(found, rule.groove_mm + side))) < 2e-3
    assert tops[0] == pytest.approx(tops[1], abs=0.2)


@pytest.mark.parametrize("font", ["", "Bitter Bold"])
def test_latin_has_room(font):
    """A third of the letters of two Latin blocks: feet that their walls and fillets fit."""
    words = said(font=font)
    letters = [
        chr(code) for code in (*range(0x21, 0x7F, 3), *range(0xC0, 0x180, 3)) if code != 0x149
    ]
    rule = rule_of_set(letters, words)
    for letter in letters:
        _, low, _, high = place_marks(rule.drawn(letter), gap_mm=rule.gap_mm).bounds
        assert high + rule.baseline_mm + rule.spread_mm <= rule.depth_mm / 2 + 1e-6
        assert low + rule.baseline_mm - rule.spread_mm >= -rule.depth_mm / 2 - 1e-6


@pytest.mark.parametrize("letter", "ÅŰĶ§")
def test_the_deepest_letters_are_made(letter):
    """Rings, double accents and commas below stand on feet of their own depth."""
    words = said()
    _, mold = letter_mold(letter, rule_of_set(letter, words), words, SHOP)

    assert len(mold.bodies) == 1


def test_what_the_foot_does_is_told():
    """Pieces joined, marks moved and feet deepened, each with its letter and measure."""
    rule = rule_of_set("LÉ%", said())
    told = {(letter, one.code): one for letter, one in foot_findings("LÉ%" + BLANK, rule)}

    assert set(told) == {
        ("É", "foot-joins"), ("É", "marks-apart"), ("É", "foot-deeper"), ("%", "foot-joins"),
    }  # fmt: skip
    assert told["É", "foot-joins"].measured == 2
    assert told["%", "foot-joins"].measured == 3
    drawn = shapely.distance(*rule.drawn("É").geoms)
    assert told["É", "marks-apart"].measured == pytest.approx(drawn)
    assert told["É", "foot-deeper"].measured == pytest.approx(rule.above_mm)


def test_a_character_that_the_font_lacks_is_named():
    """One sentence with the character, before anything is made."""
    with pytest.raises(SpecError, match=r"characters must be .* has \(got '漢' U\+6F22"):
        rule_of_set("AB漢", said())


def test_a_rail_counts_an_accent_with_its_letter():
    """A word has the same rail however its accents are written."""
    whole, apart = (build_rail(RailSpec(word=word), BENCH) for word in ("ÉN", "E\u0301N"))

    assert dict(whole.facts)["Length"] == dict(apart.facts)["Length"]


def test_an_accent_written_as_its_own_sign_is_joined():
    """E and a combining acute are one letter, in the set and in its counts."""
    counts = letter_counts(
        said(characters="AE\u0301", counts="E\u0301=3", common=0, blanks=0),
    )

    assert counts == {"A": 1, "É": 3}


# Formed trays.


@pytest.fixture(scope="module")
def formed():
    """Return the jobs of formed trays for more letters than one tray holds."""
    files = formed_trays({"A": 3, "W": 8, ".": 1, BLANK: 2}, RULE, said(), BENCH)
    return {name: mold_from_words(tomllib.loads(text.decode())) for name, text in files.items()}


def test_formed_trays_have_a_place_for_every_letter(formed):
    """Places as large as foot, play and sheet on both sides, apart by a stroke, on the bed."""
    places = [one for job in formed.values() for one in job.body[0].sunk]
    names = [one.name.removeprefix("letter ").split()[0] for one in places]

    assert list(formed) == [f"letter-tray-{k}.toml" for k in range(1, len(formed) + 1)]
    assert len(formed) > 1
    assert sorted(names) == sorted(["A"] * 3 + ["W"] * 8 + ["."] + ["blank"] * 2)
    for place in places:
        letter = place.name.split()[1] if place.name.startswith("letter") else BLANK
        x0, y0, x1, y1 = shapely.Polygon(place.outline.points).bounds
        sheet = 2 * (PLAY_MM + 1.5)
        assert sorted([x1 - x0, y1 - y0]) == pytest.approx(
            sorted([RULE.width_mm(letter) + sheet, RULE.depth_mm + sheet]), abs=0.021
        )


def test_a_formed_tray_is_a_mold_without_cautions(formed):
    """The job that is written makes a mold that fits the bed and forms: nothing to look at."""
    for job in list(formed.values())[:2]:
        mold = design_mold(job, folder=Path(), shop=SHOP, progress=lambda stage: None).mold
        size = np.ptp(mold.bodies[0].mesh.points_mm, axis=0)

        assert [one.code for one in mold.findings if one.severity is not Severity.NOTE] == []
        assert size[2] == pytest.approx(DEEP_MM + UNDER_MM)
        assert max(size[:2]) <= BENCH.printer.bed_width_mm - 2 * MARGIN_MM
        places = [plan for plan in mold.plans if plan.parent]
        assert {plan.z_parent_mm - plan.z_flat_mm for plan in places} == {DEEP_MM}
        mouths = [plan.outer for plan in places]
        ribs = [a.distance(b) for k, a in enumerate(mouths) for b in mouths[k + 1 :]]
        assert min(ribs) >= 2 * 1.5 + EXTRA_MM - 1e-6
        edge = section(mold.bodies[0].mesh, DEEP_MM + UNDER_MM - 0.01).convex_hull.exterior
        assert min(edge.distance(mouth) for mouth in mouths) >= 8


def test_letter_and_sheet_fit_a_formed_place(formed):
    """Half way up, a place is wider than at its floor: no wall leans over the letter."""
    job = formed["letter-tray-1.toml"]
    mold = design_mold(job, folder=Path(), shop=SHOP, progress=lambda stage: None).mold
    cut = section(mold.bodies[0].mesh, UNDER_MM + DEEP_MM / 2)
    holes = [shapely.Polygon(ring) for part in shapely.get_parts(cut) for ring in part.interiors]
    for place in job.body[0].sunk:
        floor = shapely.Polygon(place.outline.points).bounds
        hole = min(holes, key=lambda one: one.centroid.distance(shapely.box(*floor).centroid))
        out = np.subtract(hole.bounds, floor) * (-1, -1, 1, 1)
        assert out == pytest.approx(np.full(4, out.mean()), abs=0.02)
        assert 0.15 < out.mean() < 0.6


def test_places_are_turned_where_the_bed_is_shallow():
    """On a shallow bed letters lie on their side, and so do their places."""
    shallow = replace(BENCH, printer=replace(BENCH.printer, bed_depth_mm=120.0))
    rule = FootRule(letter_height_mm=60)
    (text,) = formed_trays({"I": 2}, rule, said(letter_height_mm=60.0), shallow).values()
    for place in mold_from_words(tomllib.loads(text.decode())).body[0].sunk:
        x0, y0, x1, y1 = shapely.Polygon(place.outline.points).bounds
        assert x1 - x0 == pytest.approx(rule.depth_mm + 2 * (PLAY_MM + 1.5), abs=0.021)
        assert y1 - y0 == pytest.approx(rule.width_mm("I") + 2 * (PLAY_MM + 1.5), abs=0.021)


def test_large_letters_have_no_formed_tray():
    """A place beyond bed or table is refused, naming both."""
    with pytest.raises(SpecError, match=r"small enough for a tray formed on .* printed on"):
        formed_trays({"W": 1}, FootRule(letter_height_mm=150), said(), BENCH)


# The command.


@pytest.fixture
def elsewhere(tmp_path, monkeypatch):
    """Work in an empty folder."""
    monkeypatch.chdir(tmp_path)


def test_a_set_with_accents_and_formed_trays(elsewhere, capsys):
    """A set with lower case, accents and signs is made; trays come as job files."""
    typed = ["letters", "--characters", "Éj!", "--blanks", "0", "--storage", "formed"]
    assert main([*typed, "--formats", "stl,html", "--json", "--word", "E\u0301!"]) == 0
    told = json.loads(capsys.readouterr().out)
    names = {Path(name).name for name in told["files"]}
    deeper = next(one for one in told["findings"] if one["code"] == "foot-deeper")
    joined = next(one for one in told["findings"] if one["code"] == "foot-joins")

    assert names == {"letters.stl", "rail.stl", "letter-tray-1.toml", "report.html"}
    apart = next(one for one in told["findings"] if one["code"] == "marks-apart")
    gaps = [least_gap_between_pieces_mm(RULE.drawn(letter)) for letter in "Éj!"]

    assert apart["measured"] == pytest.approx(min(gaps))
    assert max(gaps) > min(gaps) + 0.1
    assert deeper["subject"] == "letter É"
    assert joined["subject"] == "letters Éj!"
    assert "letters-short" not in {one["code"] for one in told["findings"]}
    assert "moldgen make letter-tray-1.toml" in (
        Path("outputs/letter-set/report.html").read_text(encoding="utf-8")
    )


def test_a_missing_character_is_one_line(elsewhere, capsys):
    """Exit code 2, the option and the character."""
    assert main(["letters", "--characters", "A漢"]) == 2
    told = capsys.readouterr().err

    assert "--characters must be written in characters that" in told
    assert "'漢' U+6F22" in told
    assert told.count("\n") == 1
