"""Signs to be read by touch: asked for by a job or a command, checked on what is felt."""

import json
from dataclasses import replace
from math import radians, tan
from pathlib import Path

import pytest
from conftest import published
from shapely import MultiPolygon
from shapely import box as rectangle
from support.check_solids import case

from moldgen.cli.app import main
from moldgen.finding import Severity
from moldgen.job import SignCommand, job_from_words, sign_job
from moldgen.mold.build import build_raw_mold
from moldgen.mold.checks import check_all
from moldgen.mold.checks.tactile import (
    LEAST_FOOT_GAP_MM,
    LEAST_TOP_GAP_MM,
    MOST_STROKE,
    check_tactile,
)
from moldgen.mold.features import Direction, Feature, Wall
from moldgen.mold.width_rule import least_stroke_mm

WALL = Wall(height_mm=1.5, draft_deg=5, top_radius_mm=0.3, base_radius_mm=0.3)


def stem(x_mm, *, width_mm=3.0, height_mm=30.0, y_mm=0.0):
    """Return the outline of a capital I, its left edge at x."""
    return rectangle(x_mm, y_mm, x_mm + width_mm, y_mm + height_mm)


def plaque(*stems, direction=Direction.RAISED, wall=WALL, gauge_mm=0.5, **more):
    """Return a case of letters on a plaque, in thin sheet."""
    letters = Feature(
        name="letters", region=MultiPolygon(list(stems)), direction=direction, wall=wall
    )
    carrier = Feature(
        name="plaque", region=MultiPolygon([rectangle(-60, -40, 80, 60)]),
        wall=Wall(height_mm=6, draft_deg=5, top_radius_mm=1, base_radius_mm=0), children=(letters,),
    )  # fmt: skip
    raw = build_raw_mold([carrier])
    return case(*raw.meshes, plan=raw.plans, gauge_mm=gauge_mm, tactile=True, **more)


def told(made):
    return {finding.code: finding for finding in check_tactile(made)}


# The figures of the standard.


def test_gaps_and_strokes_are_the_published_ones():
    """Both gaps digit by digit, the stroke in percent."""
    printed = {row["quantity"]: row["mm"] for row in published("raised_characters")}
    (stroke,) = published("raised_character_strokes")

    assert LEAST_TOP_GAP_MM == float(printed["gap_top_least"])
    assert LEAST_FOOT_GAP_MM == float(printed["gap_base_least"])
    assert 100 * MOST_STROKE == float(stroke["percent"])


# Strokes.


@pytest.mark.parametrize(("width_mm", "told_so"), [(3.5, False), (3.6, True)])
def test_strokes_are_felt_with_the_sheet_on_either_side(width_mm, told_so):
    """30 mm letters in 0.5 mm sheet: 15 % are 4.5 mm, of which the sheet takes 1 mm."""
    found = told(plaque(stem(0, width_mm=width_mm), stem(20, width_mm=width_mm)))

    assert ("tactile-stroke" in found) == told_so
    if told_so:
        assert found["tactile-stroke"].measured == pytest.approx(width_mm + 1.0)
        assert found["tactile-stroke"].limit == pytest.approx(4.5)
        assert "strokes of at most 3.5 mm" in found["tactile-stroke"].advice


def test_the_side_of_the_mold_is_felt_without_the_sheet():
    """Sunk letters of a female mold stand out of the part, as thick as they are cut."""
    stems = (stem(0, width_mm=4.4), stem(20, width_mm=4.4))
    female = plaque(*stems, direction=Direction.SUNK, side="female")
    male = plaque(*stems)

    assert told(female) == {}
    assert set(told(male)) == {"tactile-stroke"}


@pytest.mark.parametrize(
    ("gauge_mm", "relief_mm", "letter_mm", "advice"),
    [
        (0.5, 1.5, 40.0, "Take a lighter font, with strokes of at most 5.0 mm."),
        (1.0, 1.5, 30.0, "Take letters of 40 mm, in a font with strokes of 4.0 mm."),
        (0.5, 8.0, 40.0, "Make the relief 6.6 mm or lower, then take larger, lighter ones."),
        (1.5, 1.5, 40.0, "Take a sheet of at most 1.4 mm and larger, lighter letters"),
    ],
)
def test_the_advice_on_strokes_can_be_followed(gauge_mm, relief_mm, letter_mm, advice):
    """Lighter, larger, lower or thinner: whatever leaves a stroke that forms and reads."""
    wide = 0.3 * letter_mm
    made = plaque(
        *(stem(x, width_mm=wide, height_mm=letter_mm) for x in (-20, 30)),
        wall=replace(WALL, height_mm=relief_mm), gauge_mm=gauge_mm,
    )  # fmt: skip

    assert told(made)["tactile-stroke"].advice.startswith(advice)


@pytest.mark.parametrize("gauge_mm", [0.5, 1.0])
def test_a_stroke_as_advised_forms_and_reads(gauge_mm):
    """Letters as high, and strokes as wide, as the advice says break neither rule."""
    height = -(-(least_stroke_mm(gauge_mm, 1.5) + 2 * gauge_mm) // MOST_STROKE)
    width = least_stroke_mm(gauge_mm, 1.5)
    made = plaque(
        *(stem(x, width_mm=width, height_mm=height) for x in (-20, 20)), gauge_mm=gauge_mm
    )

    assert {one.code for one in check_all(made).findings} & {
        "tactile-stroke", "tactile-spacing", "stroke-narrow"
    } == set()  # fmt: skip


# Spacing.


@pytest.mark.parametrize(("gap_mm", "told_so"), [(4.21, False), (4.19, True)])
def test_gaps_are_felt_without_the_sheet_on_either_side(gap_mm, told_so):
    """3.2 mm between tops take 4.2 mm on the mold in 0.5 mm sheet."""
    found = told(plaque(stem(0), stem(3.0 + gap_mm)))

    assert ("tactile-spacing" in found) == told_so
    if told_so:
        finding = found["tactile-spacing"]
        assert finding.says.endswith("their tops")
        assert (finding.measured, finding.limit) == (pytest.approx(3.19), pytest.approx(3.2))
        assert finding.advice == "Set letters 0.1 mm farther apart."
        assert finding.where_mm[0] == pytest.approx(3.0 + gap_mm / 2)


def test_gaps_at_the_feet_count_where_walls_lean():
    """High walls of 25° eat the gap below: 1.6 mm must be left there."""
    wall = replace(WALL, height_mm=3.0, draft_deg=25.0)
    foot = 4.5 - 1.0 - 2 * 3.0 * tan(radians(25.0))
    found = told(plaque(stem(0), stem(7.5), wall=wall))

    assert 0 < foot < 1.6
    finding = found["tactile-spacing"]
    assert finding.says.endswith("their feet")
    assert (finding.measured, finding.limit) == (pytest.approx(foot), pytest.approx(1.6))


def test_accents_and_dots_are_near_their_letters():
    """A dot above a letter is no neighbor, and does not make the letter smaller."""
    dotted = (stem(0), stem(20), rectangle(0, 31, 3, 34), rectangle(20, 31, 23, 34))

    assert told(plaque(*dotted)) == {}


def test_lines_of_letters_are_as_high_as_one():
    """Two lines of 30 mm letters, 78 mm in all, are not too high."""
    lines = (stem(0, y_mm=-30), stem(20, y_mm=-30), stem(0, y_mm=18), stem(20, y_mm=18))

    assert told(plaque(*lines)) == {}


# Asked for.


def test_nothing_raised_is_told():
    """Letters sunk into a mold that the sheet is drawn over are dents in the part."""
    found = told(plaque(stem(0), stem(20), direction=Direction.SUNK))

    assert set(found) == {"tactile-none"}


def test_a_word_on_the_table_is_read_as_well():
    """Without a plaque the letters themselves are asked, the flange being the ground."""
    letters = Feature(name="letters", region=MultiPolygon([stem(0), stem(5)]), wall=WALL)
    raw = build_raw_mold([letters])
    made = case(*raw.meshes, plan=raw.plans, gauge_mm=0.5, tactile=True)

    assert set(told(made)) == {"tactile-spacing"}


def test_a_job_says_so_in_one_word():
    """In a job file, and for the command; without the word nothing is asked."""
    words = {"title": "Pier", "body": [{"outline": {"text": "P", "height": 30}, "height": 4}]}

    assert job_from_words(words | {"tactile": True}).tactile
    assert not job_from_words(words).tactile
    assert sign_job(SignCommand(words=("PIER",), tactile=True)).tactile
    assert not sign_job(SignCommand(words=("PIER",))).tactile


def test_the_command_checks_what_it_is_asked_to(tmp_path, monkeypatch, capsys):
    """The option tells of strokes, and its job file asks again; without it there is none."""
    monkeypatch.chdir(tmp_path)
    codes = {}
    for name, typed in {
        "asked": ["sign", "PIER 4", "--tactile", "--save-job", "pier.toml", "--also-make"],
        "again": ["make", "pier.toml"],
        "not": ["sign", "PIER 4"],
    }.items():
        assert main([*typed, "--formats", "json", "--json"]) == 0
        findings = json.loads(capsys.readouterr().out)["findings"]
        found = [one for one in findings if one["code"].startswith("tactile")]
        codes[name] = {one["code"] for one in found}
        assert {one["severity"] for one in found} <= {Severity.NOTE}

    assert "tactile = true" in Path("pier.toml").read_text()
    assert "tactile-stroke" in codes["asked"]
    assert codes["again"] == codes["asked"]
    assert codes["not"] == set()
