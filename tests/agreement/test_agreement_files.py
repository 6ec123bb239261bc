"""Every command that makes files: the formats asked for, the paper, the findings, the names."""

import json
import re
import shutil
from functools import partial
from pathlib import Path

import jsonschema
import pytest
from conftest import ROOT
from manifold3d import CrossSection
from support.some import some

from moldgen.cli.app import main
from moldgen.cli.commands import COMMANDS
from moldgen.errors import SpecError
from moldgen.export.mesh.stl import stl_bytes
from moldgen.job import CheckCommand, JobOutput, SignCommand
from moldgen.job.command import printing
from moldgen.job.command.fixture import FixtureCommand, TrimCommand
from moldgen.job.command.heat import HeatCommand
from moldgen.job.command.letters import LettersCommand
from moldgen.job.command.printing import (
    MeasureCommand,
    RefitCommand,
    SplitCommand,
)
from moldgen.job.formats import Format
from moldgen.solid.sound import mesh_from_solid

EVERY = tuple(kind.value for kind in Format)
TOLD = ("png", "json", "html")
PRINTED = ("stl", "3mf", "glb", *TOLD)
DRAWN = ("glb", "svg", "dxf", "pdf", *TOLD)

LINES = {
    "sign": ("sign A --letter-height 12", EVERY),
    "tray": ("tray 30 20 6", EVERY),
    "nest": ("nest key,40x20x6", EVERY),
    "raise": ("raise --shape fish --width 40", EVERY),
    "make": ("make job.toml", EVERY),
    "make a strip": ("make strip.toml", EVERY),
    "adapt": ("adapt block.stl --cell 0.5", EVERY),
    "adapt a drawing": ("adapt boat.png --width 50", EVERY),
    "check": ("check block.stl", DRAWN),
    "check with a run": ("check block.stl --forming preview", ("3mf", *DRAWN)),
    "bend": ("bend --legs 60,80 --angles 90", EVERY),
    "bend with one jig": (
        "bend --legs 60,80 --angles 90 --jigs marking-gauge", EVERY),
    "heat": ("heat HIPS", TOLD),
    "chart": ("chart", ("html", "pdf", "json")),
    "fixture": ("fixture roller", PRINTED),
    "fixture of a plate": ("fixture frame", EVERY),
    "trim": ("trim block.stl --flange 20", EVERY),
    "letters": ("letters --characters I --common 1 --blanks 0", PRINTED),
    "measure": ("measure block.stl", TOLD),
    "refit": ("refit block.stl --length 30", PRINTED),
    "split": ("split block.stl", PRINTED),
    "test-piece": ("test-piece", PRINTED),
}  # fmt: skip
"""What is typed, and which formats it can write."""

OWN_FORMATS = {"compare", "class", "arrange"}
"""Commands that write tables, lists or a folder for each person: `tests/cli/test_cli_compare.py`,
`tests/cli/test_cli_arrange.py` and `tests/lesson/class_work/` hold them."""
BESIDES = {"bend": {"txt"}, "bend with one jig": {"txt"}, "make a strip": {"txt"}}
"""Endings that come along with a report."""
SAFE = re.compile(r"[a-z0-9]([a-z0-9-]*[a-z0-9])?(\.[a-z0-9]+)?")
DEVICE = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)(\..*)?")

every_line = pytest.mark.parametrize("line", LINES)


@pytest.fixture(scope="module")
def shed(tmp_path_factory):
    """Return a folder with a part, a drawing and job files, and the schema of the findings."""
    folder = tmp_path_factory.mktemp("shed")
    lower = CrossSection.square((40.0, 30.0)).extrude(12.0, scale_top=(0.9, 0.9))
    (folder / "block.stl").write_bytes(stl_bytes([mesh_from_solid(lower)], title="block"))
    shutil.copy(ROOT / "examples" / "drawings" / "rowing-boat.png", folder / "boat.png")
    typed = "bend --legs 50,50 --angles 90 --save-job"
    assert main([*typed.split(), str(folder / "strip.toml"), "--quiet"]) == 0
    (folder / "job.toml").write_text(
        'title = "Cleat"\n[[body]]\nheight = 6\n'
        "outline = { points = [[0, 0], [30, 0], [30, 20], [0, 20]] }\n",
        encoding="utf-8",
    )
    return folder


@pytest.fixture(scope="module")
def everything(shed, tmp_path_factory):
    """Return what a line writes that names no format, and what it prints as JSON; made once."""
    made = {}

    def once(line):
        if line not in made:
            made[line] = typed_in(shed, LINES[line][0], tmp_path_factory.mktemp("all"), "--json")
        return made[line]

    return once


def typed_in(shed, words, folder, *more):
    """Carry out a command in the shed; return its files by name, and what it printed."""
    import contextlib
    import io

    out = io.StringIO()
    with pytest.MonkeyPatch.context() as patch, contextlib.redirect_stdout(out):
        patch.chdir(shed)
        code = main([*words.split(), *more, "--out", str(folder)])
    assert code in (0, 1)
    return {path.name: path.read_bytes() for path in folder.glob("[!.]*")}, out.getvalue()


def endings(files):
    """Return the kinds of the files."""
    return {name.rpartition(".")[2] for name in files}


def test_every_command_that_makes_files_is_here():
    """A new command must agree with the others as well."""
    assert {words.split()[0] for words, _ in LINES.values()} | OWN_FORMATS == {
        name for name, command in COMMANDS.items() if command.makes
    }


# --- formats ------------------------------------------------------------------------------------


@every_line
def test_without_formats_all_there_are_come(line, everything):
    """Who names no format gets each kind of file that the command can write."""
    files, _ = everything(line)

    assert endings(files) == set(LINES[line][1]) | BESIDES.get(line, set())


@every_line
@pytest.mark.parametrize("half", [0, 1])
def test_formats_asked_for_are_those_written(line, half, shed, everything, tmp_path):
    """Each format that is named is written, no other is, and the files are the same."""
    words, possible = LINES[line]
    asked = possible[half::2]
    files, _ = typed_in(shed, words, tmp_path, "--formats", ",".join(asked))

    assert endings(files) - BESIDES.get(line, set()) == set(asked)
    whole, _ = everything(line)
    # A report lists the files beside it, and a 3MF holds the job, which names its formats.
    told = {name for name in files if not name.endswith((".html", ".3mf"))}
    assert told
    assert {name: files[name] for name in told} == {name: whole[name] for name in told}


@pytest.mark.parametrize(
    ("line", "odd"),
    [(line, odd) for line, (_, possible) in LINES.items() for odd in EVERY if odd not in possible],
)
def test_a_format_that_cannot_be_written_is_refused(line, odd, shed, tmp_path, capsys, monkeypatch):
    """One sentence names what can be had, even if the other formats could be written."""
    words, possible = LINES[line]
    monkeypatch.chdir(shed)
    code = main([*words.split(), "--formats", f"json,{odd}", "--out", str(tmp_path / "out")])

    shown = capsys.readouterr()
    assert code == 2
    assert shown.err.count("\n") == 1
    assert shown.err.startswith("moldgen: --formats must be ")
    assert f"(got {odd})" in shown.err
    assert all(kind in shown.err for kind in possible)
    assert not (tmp_path / "out").exists()


@every_line
def test_no_format_at_all_is_refused(line, shed, tmp_path, capsys, monkeypatch):
    """An empty list of formats is a slip, not a wish for nothing."""
    monkeypatch.chdir(shed)
    code = main([*LINES[line][0].split(), "--formats", ",", "--out", str(tmp_path / "out")])

    assert code == 2
    assert "formats must be at least one format" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("spec", "told"),
    [
        (SignCommand, {"words": ("A",)}), (CheckCommand, {"file": "a.stl"}),
        (TrimCommand, {"file": "a.stl"}), (FixtureCommand, {}), (LettersCommand, {}),
        (printing.TestPieceCommand, {}),
        (MeasureCommand, {"file": "a.stl"}), (RefitCommand, {"file": "a.stl", "vents": True}),
        (SplitCommand, {"file": "a.stl"}), (HeatCommand, {"plastic": "HIPS"}), (JobOutput, {}),
    ],
)  # fmt: skip
def test_formats_are_looked_at_before_anything_is_made(spec, told):
    """A wish for nothing, or for what is never made, does not wait for the work."""
    with pytest.raises(SpecError, match="formats must be at least one format"):
        spec(**told, formats=())
    possible = {kind.value for kind in spec(**told).formats}
    assert possible
    for odd in set(EVERY) - possible:
        with pytest.raises(SpecError, match=f"formats must be .*got {odd}"):
            spec(**told, formats=(Format(odd),))


def test_jigs_that_are_not_made_are_not_written(shed, tmp_path, capsys, monkeypatch):
    """A strip without jigs has no 3MF: it is left out, or refused if it is named."""
    words = "bend --legs 60,80 --angles 90 --jigs press"
    files, _ = typed_in(shed, words, tmp_path / "all")
    assert "3mf" not in endings(files)
    assert "stl" in endings(files)

    monkeypatch.chdir(shed)
    assert main([*words.split(), "--formats", "3mf", "--out", str(tmp_path / "one")]) == 2
    assert "--formats must be stl, glb, svg" in capsys.readouterr().err


# --- paper --------------------------------------------------------------------------------------

POINTS = {"A4": (595, 842), "Letter": (612, 792)}
"""Width and height of the papers: 210 x 297 mm and 8.5 x 11 in, at 72 points to the inch."""


def pages(pdf):
    """Return the sizes of the pages of a PDF, the shorter side first. [points]."""
    boxes = re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", pdf)
    return {tuple(sorted((round(float(a)), round(float(b))))) for a, b in boxes}


@pytest.mark.parametrize("paper", POINTS)
@pytest.mark.parametrize("line", [line for line, (_, kinds) in LINES.items() if "pdf" in kinds])
def test_the_plan_is_on_the_paper_asked_for(line, paper, shed, tmp_path):
    """Every page of the plan is of the paper that was named, and that of the risk form."""
    files, _ = typed_in(shed, LINES[line][0], tmp_path, "--formats", "pdf", "--paper", paper)

    papers = [data for name, data in files.items() if name.endswith(".pdf")]
    whole = [data for name, data in files.items() if name.endswith(".pdf") and "-card" not in name]
    assert 1 <= len(whole) <= 2
    assert len(papers) - len(whole) <= 1
    assert all(pages(pdf) == {POINTS[paper]} for pdf in whole)


@every_line
def test_only_plans_ask_for_paper(line, capsys):
    """A command that draws no plan does not offer the paper for one."""
    command = LINES[line][0].split()[0]
    draws = any("pdf" in kinds for words, kinds in LINES.values() if words.split()[0] == command)
    assert main([command, "--help-all"]) == 0

    assert ("--paper" in capsys.readouterr().out) is draws


# --- findings -----------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def schema():
    """Return the schema that the command prints."""
    import contextlib
    import io

    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        assert main(["schema", "findings"]) == 0
    return json.loads(out.getvalue())


def test_the_schema_is_one_and_is_strict(schema):
    """It obeys its standard, and refuses rows in the place of numbers and words it lacks."""
    jsonschema.Draft202012Validator.check_schema(schema)
    good = {
        "schema_version": 3, "title": "Cleat", "summary": {"Size": "30 mm"},
        "numbers": {"width_mm": 30.0}, "worst": None,
        "counts": {"stop": 0, "caution": 0, "note": 0}, "findings": [],
    }  # fmt: skip
    jsonschema.validate(good, schema)
    for bad in (
        {"summary": {"width_mm": 30.0}}, {"numbers": {"Size": object}}, {"worst": "grave"},
        {"numbers": {"To print": "1 plate"}}, {"other": 1}, {"schema_version": 1},
    ):  # fmt: skip
        with pytest.raises(jsonschema.ValidationError, match=r"."):
            jsonschema.validate(good | bad, schema)


@every_line
def test_findings_follow_the_schema(line, everything, schema):
    """Rows in words are the summary, measures are the numbers, in every command's file."""
    files, _ = everything(line)
    told = json.loads(files["findings.json"])

    jsonschema.validate(told, schema)
    assert told["summary"]
    assert told["numbers"]


@every_line
def test_the_screen_says_the_same_to_programs(line, everything, schema):
    """What --json prints is the file's own words, with the exit code and the places of files."""
    files, printed = everything(line)
    said, told = json.loads(printed), json.loads(files["findings.json"])

    jsonschema.validate(said, schema)
    assert {Path(name).name for name in said.pop("files")} == set(files)
    assert said.pop("exit_code") == int(told["worst"] == "stop")
    assert said == told


@every_line
def test_the_report_tells_the_same(line, everything):
    """Each row and each finding of the file is in the report, and what every file is for."""
    from html import escape

    files, _ = everything(line)
    page, told = files["report.html"].decode(), json.loads(files["findings.json"])

    for label, value in some(told["summary"].items()):
        assert f"<dt>{escape(label)}</dt><dd>{escape(value)}</dd>" in page
    for finding in told["findings"]:
        assert escape(finding["advice"]) in page
    for name in some(files):
        assert re.search(rf"<code>{re.escape(name)}</code> \w", page), name


VERDICTS = (
    ("stop", re.compile(r"^Do not print this yet: (\d+) findings? says? stop\.$")),
    ("caution", re.compile(r"^It can be printed; read (\d+) cautions? first\.$")),
    (
        "good",
        re.compile(
            r"^(?:Ready to print: every check passed"
            r"|Not made: [^.]+\. The rest is ready to print)\.$"
        ),
    ),
)
"""The three levels of a verdict, the gravest first, and what each says; of several things some may
not be worth making."""

CROWDED = ("sign", "SCIENCE LAB", "--letter-height", "15", "--relief", "4", "--gauge", "1.5")
FAR_TOO_LARGE = ("sign", "OAR", "--letter-height", "110", "--machine", "bench-250x250")


def verdict_of(files):
    """Return level and sentence of the report's verdict."""
    page = files["report.html"].decode()
    [(level, sentence)] = re.findall(
        r'<section class="verdict (\w+)".*?\n<p>(.*?)</p>', page, re.DOTALL
    )
    return level, sentence


def assert_agrees(files, exit_code):
    """Assert that verdict, counts, gravest finding and exit code are of one mind."""
    told = json.loads(files["findings.json"])
    counts = told["counts"]
    expected = next(
        number for number, word in enumerate(("stop", "caution", "")) if not word or counts[word]
    )
    level, pattern = VERDICTS[expected]
    assert verdict_of(files)[0] == level
    found = pattern.match(verdict_of(files)[1])
    assert found is not None
    assert [int(number) for number in found.groups()] == [counts[level] for _ in found.groups()]
    assert counts == {
        word: sum(one["severity"] == word for one in told["findings"]) for word in counts
    }
    assert told["worst"] == (told["findings"][0]["severity"] if told["findings"] else None)
    assert exit_code == (counts["stop"] > 0)


@every_line
def test_no_finding_contradicts_the_verdict(line, everything):
    """Three levels: stop, read first, ready; the gravest finding decides, of the exit code too."""
    files, printed = everything(line)

    assert_agrees(files, json.loads(printed)["exit_code"])


@pytest.fixture(scope="module")
def crowded(tmp_path_factory):
    """Return the files of a sign with a caution, and what the screen shows of it."""
    import contextlib
    import io

    folder, out = tmp_path_factory.mktemp("crowded"), io.StringIO()
    with contextlib.redirect_stdout(out):
        code = main([*CROWDED, "--out", str(folder), "--formats", "json,html,svg"])
    return {path.name: path.read_bytes() for path in folder.iterdir()}, out.getvalue(), code


def test_a_caution_is_read_first(crowded):
    """A sign whose letters stand too close can be printed, once its caution is read."""
    files, _, code = crowded

    assert verdict_of(files)[0] == "caution"
    assert_agrees(files, code)


def test_a_stop_is_not_to_be_printed(tmp_path, capsys):
    """A sign wider than its table is not ready, whatever else there is to say of it."""
    code = main([*FAR_TOO_LARGE, "--out", str(tmp_path), "--formats", "json,html"])
    capsys.readouterr()
    files = {path.name: path.read_bytes() for path in tmp_path.iterdir()}

    assert (verdict_of(files)[0], code) == ("stop", 1)
    assert_agrees(files, code)


def test_a_ring_has_one_number_everywhere(crowded):
    """Screen, findings, report and plan call a place by the same words and the same ring."""
    files, screen, _ = crowded
    findings = json.loads(files["findings.json"])["findings"]
    shown = " ".join(screen.split())
    page, plan = files["report.html"].decode(), files["science-lab-plan.svg"].decode()

    ringed = [one for one in findings if one["ring"] is not None]
    assert ringed
    for one in ringed:
        words = f"{one['place']} (ring {one['ring']})"
        assert f"in {one['place'].rpartition(' in ')[2]}" in one["place"]
        assert words in one["sentence"]
        assert f" at {words}" in shown
        assert f" {one['ring']}. " in shown
        assert words in page
        assert f'<span class="count">{one["ring"]}</span>' in page
    layer = re.search(r'<g id="finding".*?</g>', plan, re.DOTALL)
    assert layer is not None
    assert re.findall(r"<text[^>]*>(\d+)</text>", layer[0]) == [str(one["ring"]) for one in ringed]


def test_what_a_fixture_says_of_itself_is_told(everything):
    """The findings of what is printed are among those of the file."""
    files, _ = everything("fixture of a plate")
    codes = {finding["code"] for finding in json.loads(files["findings.json"])["findings"]}

    assert {"frame-softens", "fixture-in-pieces"} <= codes


# --- names --------------------------------------------------------------------------------------

TITLES = ("con", "Søren", "Łukasz", "ЖЩ", "李明")
TITLED = {
    "make": ("make {}.toml", "stl"),
    "sign": ("sign A --letter-height 12 --title {}", "stl"),
    "tray": ("tray 30 20 6 --title {}", "stl"),
    "bend": ("bend --legs 60,80 --angles 90 --title {}", "svg"),
    "adapt": ("adapt {}.stl --cell 0.5", "stl"),
    "check": ("check {}.stl", "svg"),
    "trim": ("trim {}.stl", "svg"),
    "measure": ("measure {}.stl", "png"),
    "refit": ("refit {}.stl --length 30", "stl"),
    "split": ("split {}.stl", "stl"),
}


LABELED = ("sign", "tray", "adapt")
"""Commands that cut the title into the mold, in a font that has no Chinese."""


def make_titled(line, title, shed, monkeypatch, tmp_path):
    """Carry out a command for a title or a file so called; return folder and files' names."""
    words, kind = TITLED[line]
    monkeypatch.chdir(tmp_path)
    shutil.copy(shed / "block.stl", tmp_path / f"{title}.stl")
    job = (shed / "job.toml").read_text(encoding="utf-8").replace("Cleat", title)
    job = job.replace("[[body]]", "underside = {label = false}\n[[body]]")
    (tmp_path / f"{title}.toml").write_text(job, encoding="utf-8")
    typed = [word.format(title) for word in words.split()]
    assert main([*typed, "--formats", kind, "--quiet"]) in (0, 1)
    return {path: [one.name for one in path.glob("[!.]*")] for path in Path("outputs").iterdir()}


@pytest.mark.parametrize(
    ("title", "line"),
    [(title, line) for title in TITLES for line in TITLED
     if title != "李明" or line not in LABELED],
)  # fmt: skip
def test_names_are_safe_on_every_system(title, line, shed, monkeypatch, tmp_path):
    """Whatever a job is called, its folder and files are plain, and no device of Windows."""
    [(folder, files)] = make_titled(line, title, shed, monkeypatch, tmp_path).items()

    assert files
    for name in (folder.name, *files):
        assert SAFE.fullmatch(name), name
        assert not DEVICE.fullmatch(name), name
        assert len(name) <= 100


@every_line
def test_usual_names_are_safe_on_every_system(line, everything):
    """Files without a title of a person's choice are as plain."""
    files, _ = everything(line)

    assert all(SAFE.fullmatch(name) and not DEVICE.fullmatch(name) for name in files)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Søren", "Soren"),
        ("李明", "李鸣"),
        ("Łukasz", "Lukasz"),
        ("été", "ete"),
        ("ЖЩ", "ЖШ"),
        ("***", "###"),
    ],
)
def test_two_titles_are_two_folders(one, other, shed, monkeypatch, tmp_path):
    """Titles that differ in their letters, be it an accent, do not overwrite one another."""
    folders = {}
    for title in (one, other):
        folders |= make_titled("bend", title, shed, monkeypatch, tmp_path)

    assert len(folders) == 2
    assert len({files[0] for files in folders.values()}) == 2


@pytest.mark.parametrize("letters", ["ЖЩ", "EÉ", "Ss", "ΩОO"])
def test_each_piece_of_a_set_has_a_file(letters, shed, tmp_path):
    """As many molds as pieces, as many files, even where capitals do not count."""
    words = "--as letters --letter-height 20 --formats stl"
    files, printed = typed_in(shed, f"sign {letters} {words}", tmp_path, "--json")

    bodies = json.loads(printed)["numbers"]["bodies"]
    assert bodies >= len(letters)
    assert len({name.casefold() for name in files}) == bodies
    assert all(SAFE.fullmatch(name) for name in files)


def test_the_same_title_gives_the_same_name(shed, monkeypatch, tmp_path):
    """However an accent is typed, and whenever: a second run replaces the first."""
    run = partial(make_titled, "refit", shed=shed, monkeypatch=monkeypatch, tmp_path=tmp_path)

    assert run("\u00e9t\u00e9").keys() == run("e\u0301te\u0301").keys()
