"""The bend command, and making the job files of bent strips."""

import json
from pathlib import Path

import pytest

from moldgen.cli.app import main
from moldgen.job import load_job

REST = ["bend", "--legs", "60,80", "--angles", "90"]
TOML = """\
title = "Tide table rest"
[strip]
width = 60
legs = [60, 80]
{strip}
[[strip.bend]]
angle = 90
{rest}
"""


@pytest.fixture(autouse=True)
def elsewhere(monkeypatch, tmp_path):
    """Work in an empty folder."""
    monkeypatch.chdir(tmp_path)


def run(*words):
    """Run a command with few files, to be quick."""
    return main([*words, "--formats", "json"])


def written(strip="", rest=""):
    """Write a job file."""
    Path("rest.toml").write_text(TOML.format(strip=strip, rest=rest), encoding="utf-8")
    return "rest.toml"


def test_a_strip_is_made_of_numbers(capsys):
    """The summary tells what a teacher needs, and the files are where it says."""
    assert run(*REST) == 0

    out = capsys.readouterr().out
    for label in (
        "Cut length",
        "Bend lines from the left end",
        "Heat",
        "Order",
        "Bent",
        "To print",
    ):
        assert label in out
    assert [path.name for path in Path("outputs").glob("*/[!.]*")] == ["findings.json"]


def test_inches_and_millimeters_make_the_same_strip(capsys):
    """3.5 in and 88.9 mm give the same marks."""
    numbers = []
    for legs in ("3.5in,2 in", "88.9,50.8", '3 1/2",5.08 cm'):
        assert run("bend", "--legs", legs, "--angles", "90", "--json") == 0
        numbers.append(json.loads(capsys.readouterr().out)["numbers"]["bend_lines_mm"])

    assert numbers[1] == pytest.approx(numbers[0], abs=1e-9)
    assert numbers[2] == pytest.approx(numbers[0], abs=1e-9)


@pytest.mark.parametrize("angles", [["--angles", "-90"], ["--angles=-90"], ["--angles", "90 down"]])
def test_a_minus_is_not_an_option(angles):
    """An angle downward can be typed with a minus sign."""
    assert main(["bend", "--legs", "60,80", *angles, "--save-job", "a.toml", "-q"]) == 0
    assert load_job("a.toml").strip.bend[0].turn.value == "down"


def test_marks_are_read_back(capsys):
    """Bend lines that were given come back as given."""
    words = ["--marks", "70,150", "--length", "220", "--angles", "90,-60", "--json"]

    assert run("bend", *words) == 0
    numbers = json.loads(capsys.readouterr().out)["numbers"]
    assert numbers["bend_lines_mm"] == pytest.approx([70, 150], abs=1e-6)
    assert numbers["flat_length_mm"] == pytest.approx(220, abs=1e-6)


def test_what_is_saved_makes_the_same(capsys):
    """A saved job, made, is the strip of the command."""
    words = [*REST, "--stand", "--width", "2in", "--jigs", "angle-gauge"]
    assert run(*words, "--json") == 0
    typed = json.loads(capsys.readouterr().out)["numbers"]
    assert main([*words, "--save-job", "a.toml", "-q"]) == 0
    assert not list(Path("outputs").glob("a*"))
    assert run("make", "a.toml", "--json") == 0

    assert json.loads(capsys.readouterr().out)["numbers"] == typed


def test_a_day_s_sheet_takes_the_place_of_the_job_s(capsys):
    """Plastic and gauge typed after make are the strip's."""
    assert run("make", written(), "--gauge", "2", "--plastic", "PETG") == 0
    assert "PETG (glycol-modified PET), 2 mm" in capsys.readouterr().out


def test_a_strip_that_cannot_be_bent_leaves_1(capsys):
    """A strip that would cross itself is drawn, and the exit code says that it cannot be made."""
    assert run("bend", "--legs", "80,60,60,80", "--angles", "90,90,90") == 1
    out = capsys.readouterr().out
    assert "Will not form as it stands" in out
    assert "none is possible" in out


def test_a_quiet_stop_is_told(capsys):
    """Being quiet does not hide that a strip cannot be bent."""
    assert run("bend", "--legs", "80,60,60,80", "--angles", "90,90,90", "-q") == 1
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err.startswith("moldgen: stop: ")


def test_the_schema_and_stock_name_strips(capsys):
    """Editors and people find strips and strip heaters."""
    assert main(["schema"]) == 0
    assert "strip_job" in json.loads(capsys.readouterr().out)["$defs"]
    assert main(["stock", "strip-heater"]) == 0
    assert "wire-600" in capsys.readouterr().out


BAD_WORDS = {
    "no angles": (["--legs", "60,80"], "--angles must be given"),
    "no legs": (["--angles", "90"], "--legs must be given, or else marks (got neither)"),
    "legs and marks": (
        ["--legs", "60,80", "--marks", "3", "--angles", "90"],
        "--legs must be given",
    ),
    "too many legs": (
        ["--legs", "1,2,3", "--angles", "90"],
        "--legs must be one more than the bends",
    ),
    "a leg in stone": (
        ["--legs", "60,3 stone", "--angles", "90"],
        "--legs 2 must be a number in mm",
    ),
    "no number": (["--legs", "60,,80", "--angles", "90,90"], "--legs 2 must be a number"),
    "angle too large": (["--legs", "60,80", "--angles", "200"], "--angles 1 must be at least -180"),
    "angle in words": (["--legs", "60,80", "--angles", "right"], "--angles 1 must be a number"),
    "gap without fold": (["--legs", "60,80", "--angles", "90", "--gap", "3"], "--gap must be used"),
    "short leg": (["--legs", "5,80", "--angles", "90"], "leg 1 must be at least 8.00 mm"),
    "marks fall": (
        ["--marks", "90,40", "--length", "200", "--angles", "90,90"],
        "--marks must be rising",
    ),
    "marks beyond": (
        ["--marks", "90", "--length", "80", "--angles", "90"],
        "--marks must be rising",
    ),
    "no length": (["--marks", "90", "--angles", "90"], "--length must be given with marks"),
    "no such plastic": ([*REST[1:], "--plastic", "brass"], "--plastic must be"),
    "no such heater": ([*REST[1:], "--strip-heater", "candle"], "--strip-heater must be"),
    "no such printer": ([*REST[1:], "--printer", "press"], "--printer must be"),
    "no such jig": ([*REST[1:], "--jigs", "hammer"], "--jigs must be block, press"),
    "no such format": ([*REST[1:], "--formats", "doc"], "--formats must be"),
    "facing too thick": ([*REST[1:], "--facing", "9"], "--facing must be at least 0 mm"),
    "too thick": ([*REST[1:], "--thickness", "2in"], "--thickness must be at least 0.1 mm"),
    "unknown option": ([*REST[1:], "--lenght", "9"], "--lenght is not an option"),
    "a word too many": ([*REST[1:], "blue"], "'blue' is one word too many"),
    "cold heater": ([*REST[1:], "--strip-heater", "bar-450", "--plastic", "PC"], "able to bring"),
    "13 bends": (
        ["--legs", ",".join(["50"] * 14), "--angles", ",".join(["9"] * 13)],
        "--angles must be given 1 to 12 times",
    ),
}


def test_the_list_of_filaments_shows_what_values_lie_between(capsys):
    """A value with a band is told with it, one without is not; a rubbery modulus is among them."""
    assert main(["stock", "filament"]) == 0
    told = " ".join(capsys.readouterr().out.split())

    assert "132 (130 to 135) °C" in told
    assert "0.13 (0.13 to 0.267) W/(m·K)" in told
    assert "1.2 MPa <- Polymers 2024, 16(11), 1526: printed PLA (published)" in told


@pytest.mark.parametrize(("words", "says"), BAD_WORDS.values(), ids=BAD_WORDS)
def test_bad_words_are_told_in_one_sentence(words, says, capsys):
    """Exit code 2, one line that names the option, and nothing written."""
    assert main(["bend", *words]) == 2

    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err.startswith("moldgen: ")
    assert captured.err.count("\n") == 1
    assert says in captured.err
    assert not list(Path().iterdir())


BAD_FILES = {
    "gap at an angle": ("", "gap = 3", "rest.toml: strip, bend 1: gap must be given for a closed"),
    "radius too large": ("", "radius = 70", "rest.toml: strip: leg 1 must be at least 73.00 mm"),
    "hole off the strip": (
        "", "[[strip.hole]]\nalong = 10\nacross = 59\ndiameter = 8",
        "rest.toml: strip: hole 1 across",
    ),
    "no such drawing": ('svg = "gull.svg"', "", "gull.svg"),
    "no such leg": ("", "[stand]\nlying = 7", "rest.toml: stand: lying must be"),
    "no such face": ("", "[stand]\nread = 7", "rest.toml: stand: read must be"),
    "unknown thing": (
        "", '[[stand.load]]\nname = "anchor"\nleg = 1',
        "rest.toml: stand, load 1: mass must be given for 'anchor'",
    ),
    "load on no leg": (
        "", '[[stand.load]]\nname = "phone"\nleg = 9', "rest.toml: stand, load 1: leg must be",
    ),
    "test strip that closed": (
        "", "[test_strip]\npressed = 90\ncame_out = 99", "rest.toml: test_strip must be open",
    ),
    "test strip of rubber": (
        "", "[test_strip]\nflat = 150\nlegs = [53, 53]\nradius = 6",
        "rest.toml: test_strip must be measured",
    ),
    "too quick to be true": (
        "", "[test_strip]\nside = 0.1", "rest.toml: test_strip: side must be long enough",
    ),
    "not TOML": ("", "[[[", "rest.toml is not TOML"),
}  # fmt: skip


@pytest.mark.parametrize(("strip", "rest", "says"), BAD_FILES.values(), ids=BAD_FILES)
def test_bad_files_are_told_in_one_sentence(strip, rest, says, capsys):
    """Exit code 2, one line that names file and place, and nothing written."""
    assert main(["make", written(strip, rest)]) == 2

    captured = capsys.readouterr()
    assert captured.err.count("\n") == 1
    assert says in captured.err
    assert [path.name for path in Path().iterdir()] == ["rest.toml"]


def test_a_forming_table_is_not_for_strips(capsys):
    """An option of molds is refused by name."""
    assert main(["make", written(), "--machine", "classroom-450x300"]) == 2
    assert "--machine must be left out for a bent strip" in capsys.readouterr().err
