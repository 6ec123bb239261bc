"""The command line: what it reads, shows, writes and returns."""

import io
import json
import os
import re
import subprocess
import sys
import threading
import time
from dataclasses import dataclass, field, replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from moldgen.cli.app import main
from moldgen.cli.commands import COMMANDS
from moldgen.cli.parser import parser_of
from moldgen.cli.progress import Progress, bar
from moldgen.cli.screen import Screen, wants_colors
from moldgen.errors import GeometryError, SpecError
from moldgen.finding import Finding, Making, Severity
from moldgen.job import Align, DrawDirection, Format, JobText, Paper, ReadAt, load_job
from moldgen.pipeline.file_name import file_name
from moldgen.pipeline.stage import Stage
from moldgen.units_text import Units


@dataclass(kw_only=True)
class FakeMade:
    """What a pipeline hands over, without making anything."""

    title: str = "HIGH TIDE"
    summary: tuple = (("size", "120 x 40 x 10 mm"), ("vents", "3 printed"))
    findings: tuple = ()
    files: dict = field(default_factory=lambda: {"high-tide.stl": b"solid", "findings.json": b"{}"})
    numbers: dict = field(default_factory=lambda: {"volume_mm3": 48000.0})
    choices: tuple = ()
    making: Making = Making.PRINT
    units: Units = Units.MM


@pytest.fixture
def pipeline(monkeypatch, tmp_path):
    """Stand in for the pipeline; keep what it was asked for."""
    fake = SimpleNamespace(made=FakeMade(), fails=None, job=None, told={})

    def make(job, **told):
        fake.job, fake.told = job, told
        told["progress"]("1/2 outlines")
        if fake.fails:
            raise fake.fails
        return fake.made

    def check(path, **told):
        fake.job, fake.told = path, told
        return fake.made

    monkeypatch.setattr("moldgen.pipeline.mold.make.make", make)
    monkeypatch.setattr("moldgen.pipeline.brought.check.check", check)
    monkeypatch.chdir(tmp_path)
    return fake


def finding(severity, says="the wall leans too little"):
    """Return a finding of that severity."""
    return Finding(
        code="draft-low", severity=severity, says=says, measured=2, limit=3, unit="°",
        subject="plaque", basis="common practice, no source", advice="Lean it more.",
    )  # fmt: skip


# --- what is typed ------------------------------------------------------------------------------


def test_a_sign_needs_one_word(pipeline, tmp_path, capsys):
    """The shortest command makes the files, in a folder of the title's name."""
    assert main(["sign", "HIGH TIDE"]) == 0

    assert (tmp_path / "outputs/high-tide/high-tide.stl").read_bytes() == b"solid"
    shown = capsys.readouterr()
    assert shown.err == ""
    assert shown.out == (
        "HIGH TIDE\n"
        "  size   120 x 40 x 10 mm\n"
        "  vents  3 printed\n"
        "\n"
        f"2 files in {Path('outputs/high-tide')}:\n"
        "  high-tide.stl, findings.json\n"
    )


def test_options_reach_the_job(pipeline):
    """Every option of a short command arrives where the job file would say it."""
    typed = (
        "sign GULL --letter-height 1in --relief 3 --plaque-height 7 --margin 9 --corner 4 "
        "--font Mono --align left --plastic PETG --gauge 1/16in --machine bench --printer big "
        "--filament PC --draft 6 --top-radius 2 --base-radius 3 --plan-radius 1 --flange 20 "
        "--shrinkage "
        "--title Bird --date 2031 --formats stl,3mf --formats pdf --paper letter --out here"
    )
    assert main(typed.split()) == 0

    job = pipeline.job
    [plaque] = job.body
    assert plaque.raised[0].outline == JobText(
        text="GULL", height_mm=25.4, font="Mono", align=Align.LEFT
    )
    assert (job.sheet.plastic, job.sheet.gauge_mm) == ("PETG", pytest.approx(1.5875))
    assert (job.machine, job.printer, job.filament) == ("bench", "big", "PC")
    for feature, height in ((plaque, 7), (plaque.raised[0], 3)):
        walls = (
            feature.draft_deg,
            feature.top_radius_mm,
            feature.base_radius_mm,
            feature.plan_radius_mm,
        )
        assert (feature.height_mm, *walls) == (height, 6, 2, 3, 1)
    assert (plaque.outline.around_mm, plaque.outline.corner_mm) == (9, 4)
    assert (job.trim.flange_mm, job.shrinkage, job.title, job.date) == (20, True, "Bird", "2031")
    assert job.output.formats == (Format.STL, Format.THREE_MF, Format.PDF)
    assert job.output.paper is Paper.LETTER
    assert Path("here/high-tide.stl").exists()


def test_a_tray_takes_numbers_between_options(pipeline):
    """Numbers and options may be mixed, and numbers may carry units; the rib suits the sheet."""
    assert main(["tray", "12cm", "--gauge", "2", "80", "1in", "--compartments", "2x1"]) == 0

    assert pipeline.job.title == "Tray 120 x 80 x 25.4"
    assert [feature.outline.width_mm for feature in pipeline.job.body[0].sunk] == [55.25, 55.25]


@pytest.mark.parametrize(
    ("typed", "option", "quoted"),
    [
        (["sign", "BAIT", "--letter-height", "3", "1/2in"], "--letter-height", '"3 1/2in"'),
        (["sign", "BAIT", "--letter-height", "3", "1/2", "in"], "--letter-height", '"3 1/2 in"'),
        (["sign", "--letter-height=3", "in", "BAIT"], "--letter-height", '"3 in"'),
        (["sign", "BAIT", "--letter-height", "3", '1/2"'], "--letter-height", "'3 1/2\"'"),
        (["tray", "120", "80", "25", "--gap", "1", "1/2"], "--gap", '"1 1/2"'),
    ],
)
def test_a_measure_torn_by_the_shell_is_refused(pipeline, capsys, typed, option, quoted):
    """A fraction or unit that the shell parted from its number is no line of the sign."""
    assert main(typed) == 2

    shown = capsys.readouterr().err
    assert shown.startswith(f"moldgen: {option} takes one word, write {quoted} in quotes;")
    assert pipeline.job is None


@pytest.mark.parametrize(
    "typed",
    [
        ["sign", "1/2"],
        ["sign", "1/2", "--letter-height", "30"],
        ["sign", "--letter-height", "30mm", "1/2"],
        ["sign", "--letter-height", "30", "--", "1/2"],
        ["sign", "--", "--margin", "3", "1/2"],
        ["sign", "PIER", "1/2", "--letter-height", "3 1/2in"],
        ["sign", "--letter-height", "30", "4"],
        ["sign", "--title", "3", "1/2"],
        ["tray", "--gap", "3", "120mm", "80mm", "25mm"],
    ],
)
def test_words_that_only_look_like_measures_are_text(pipeline, typed):
    """A sign may read 1/2, and the numbers of a tray may follow an option."""
    assert main(typed) == 0


def test_raise_takes_layers_one_by_one(pipeline):
    """An option that may be repeated keeps every value, names with commas whole."""
    assert main(["raise", "a.dxf", "--layer", "cut", "--layer", "b, c", "--unit", "inch"]) == 0

    outline = pipeline.job.body[0].outline
    assert (outline.dxf, outline.layers, outline.unit) == ("a.dxf", ("cut", "b, c"), "inch")
    assert pipeline.told["folder"] == Path()


def test_make_reads_paths_from_the_job_file(pipeline, tmp_path):
    """Drawings and stock are looked for beside the job file, wherever one stands."""
    folder = tmp_path / "deep"
    folder.mkdir()
    (folder / "job.toml").write_text(SMALL + 'stock = "own.toml"\n' + BODY)
    (folder / "own.toml").write_text('[machine.ours]\nbased_on = "bench-250x250"\n')

    assert main(["make", "deep/job.toml"]) == 0
    assert pipeline.told["folder"] == Path("deep")
    assert "ours" in pipeline.told["shop"].names("machine")


def test_make_changes_sheet_and_machines_for_the_day(pipeline, tmp_path):
    """A job made for one sheet is made for another without touching its file."""
    (tmp_path / "job.toml").write_text(SMALL + BODY)

    typed = "make job.toml --plastic ABS --gauge 2 --machine bench --formats stl --date May"
    assert main(typed.split()) == 0
    job = pipeline.job
    assert (job.sheet.plastic, job.sheet.gauge_mm, job.machine) == ("ABS", 2, "bench")
    assert (job.output.formats, job.date, job.printer) == ((Format.STL,), "May", "small")
    assert job.output.paper is Paper.A4


def test_check_hands_over_pull_and_unit(pipeline, tmp_path):
    """A foreign part is checked against the sheet and the machine named."""
    typed = "check part.stl --plastic ABS --gauge 2 --draw-direction -z --unit in --machine bench"
    assert main(typed.split()) == 0

    words = pipeline.told["command"]
    assert pipeline.job == Path("part.stl")
    assert (words.draw_direction, words.unit, words.plastic) == (DrawDirection.MINUS_Z, "in", "ABS")
    assert (tmp_path / "outputs/part-check").is_dir()


# --- the job file a command stands for ----------------------------------------------------------


def test_a_command_writes_the_job_it_stands_for(pipeline, tmp_path, capsys):
    """The saved job file, made, gives what the command would have given."""
    typed = ["tray", "90", "60", "20", "--compartments", "2 x 1"]
    assert main([*typed, "--save-job", "new/tray.toml"]) == 0
    assert pipeline.job is None
    assert "moldgen make new/tray.toml" in capsys.readouterr().out.replace("\\", "/")

    assert main(typed) == 0
    by_command = pipeline.job
    assert main(["make", "new/tray.toml"]) == 0
    saved: Any = pipeline.job
    assert (saved.filament, saved.sheet.gauge_mm) == ("PETG", 1.5)
    opened = replace(saved, filament="", sheet=replace(saved.sheet, gauge_mm=None))
    assert opened == by_command


def test_the_saved_job_is_told_to_programs_too(pipeline, capsys):
    """With --json stdout is JSON also when only the job file is written."""
    assert main(["sign", "A", "--json", "--save-job", "a.toml"]) == 0
    assert json.loads(capsys.readouterr().out) == {"job": "a.toml"}

    assert main(["sign", "A", "--json", "--save-job", "b.toml", "--also-make"]) == 0
    assert json.loads(capsys.readouterr().out)["title"] == "HIGH TIDE"


def test_also_make_does_both(pipeline, tmp_path):
    """With --also-make the job file is written and the mold is made."""
    assert main(["sign", "A", "--save-job", "a.toml", "--also-make"]) == 0

    assert load_job("a.toml") == pipeline.job
    assert (tmp_path / "outputs/a").is_dir()


def test_a_saved_job_finds_its_drawing(pipeline, tmp_path):
    """A path typed here is written as it is seen from the job file's folder."""
    assert main(["raise", "drawings/gull.svg", "--save-job", "jobs/gull.toml"]) == 0

    assert load_job("jobs/gull.toml").body[0].outline.svg == "../drawings/gull.svg"


def test_what_is_saved_and_made_finds_its_drawing(pipeline):
    """With --also-make the mold is made from where the job file stands."""
    typed = "raise drawings/gull.svg --save-job jobs/gull.toml --also-make"
    assert main(typed.split()) == 0

    assert pipeline.told["folder"] == Path("jobs")
    assert pipeline.job.body[0].outline.svg == "../drawings/gull.svg"


def test_stock_typed_here_is_found_from_here(pipeline, tmp_path):
    """A stock file on the command line is not looked for beside the job file."""
    (tmp_path / "deep").mkdir()
    (tmp_path / "deep/job.toml").write_text(SMALL + BODY)
    (tmp_path / "own.toml").write_text('[machine.ours]\nbased_on = "bench-250x250"\n')

    assert main(["make", "deep/job.toml", "--stock", "own.toml"]) == 0
    assert "ours" in pipeline.told["shop"].names("machine")


@pytest.mark.parametrize(
    ("font", "written"),
    [("DejaVu Sans", "DejaVu Sans"), ("my.ttf", "../my.ttf"), ("f/my.OTF", "../f/my.OTF")],
)
def test_a_saved_job_finds_its_font(pipeline, font, written):
    """A font file is a path; a font name stays a name."""
    assert main(["sign", "A", "--as", "word", "--font", font, "--save-job", "jobs/a.toml"]) == 0

    assert load_job("jobs/a.toml").body[0].outline.font == written


def test_a_job_file_is_never_overwritten(pipeline, tmp_path, capsys):
    """Somebody may have worked on the file of that name."""
    (tmp_path / "a.toml").write_text("mine")

    assert main(["sign", "A", "--save-job", "a.toml"]) == 2
    assert "a.toml is there already" in capsys.readouterr().err
    assert (tmp_path / "a.toml").read_text() == "mine"


# --- what is shown ------------------------------------------------------------------------------


def test_findings_are_grouped_gravest_first(pipeline, capsys):
    """What stops the mold is read first; each finding is the sentence used everywhere."""
    notes = [finding(Severity.NOTE, "n"), finding(Severity.STOP, "s"), finding(Severity.CAUTION)]
    pipeline.made.findings = tuple(notes)

    assert main(["sign", "A", "--no-colour"]) == 1
    shown = capsys.readouterr().out
    heads = re.findall(r"^(\S.*) \((\d+)\)$", shown, re.MULTILINE)
    assert heads == [
        ("Will not form as it stands", "1"),
        ("Look at this before printing", "1"),
        ("Worth knowing", "1"),
    ]
    assert "  2. plaque: the wall leans too little (2°, limit 3°). Lean it more.\n" in shown
    assert "no source" not in shown


def test_verbose_shows_the_basis_and_the_stages(pipeline, capsys):
    """With -v a person sees where limits come from, and stages as plain lines."""
    pipeline.made.findings = (finding(Severity.CAUTION),)

    assert main(["sign", "A", "-v"]) == 0
    shown = capsys.readouterr()
    assert "no source]" in " ".join(shown.out.split())
    assert shown.err == "1/2 outlines\n"


def test_a_long_list_is_cut_and_says_so(pipeline, capsys):
    """Thirty notes do not push the summary off the screen."""
    pipeline.made.findings = tuple(finding(Severity.NOTE, f"note {n}") for n in range(30))

    assert main(["sign", "A"]) == 0
    shown = capsys.readouterr().out
    assert len(re.findall(r"^ +\d+\. ", shown, re.MULTILINE)) == 12
    assert "and 18 more: -v shows them all" in shown


def test_quiet_says_nothing_but_what_stops(pipeline, capsys):
    """A quiet run does not hide that the mold is useless."""
    assert main(["sign", "A", "--quiet"]) == 0
    assert capsys.readouterr() == ("", "")

    pipeline.made.findings = (finding(Severity.STOP), finding(Severity.NOTE))
    assert main(["sign", "A", "--quiet"]) == 1
    shown = capsys.readouterr()
    assert shown.out == ""
    assert shown.err == (
        "moldgen: stop: plaque: the wall leans too little (2°, limit 3°). Lean it more.\n"
    )


def test_json_is_all_there_is_on_stdout(pipeline, capsys):
    """Another program reads the result, with the files' places, and nothing else."""
    pipeline.made.findings = (finding(Severity.NOTE), finding(Severity.STOP))

    assert main(["sign", "A", "--json"]) == 1
    result = json.loads(capsys.readouterr().out)
    assert result["title"] == "HIGH TIDE"
    assert (result["exit_code"], result["worst"]) == (1, "stop")
    assert result["numbers"] == {"volume_mm3": 48000.0}
    assert result["files"] == ["outputs/a/high-tide.stl", "outputs/a/findings.json"]
    assert [entry["severity"] for entry in result["findings"]] == ["stop", "note"]
    assert result["summary"]["vents"] == "3 printed"


@pytest.mark.parametrize(
    ("severity", "code"), [(None, 0), ("note", 0), ("caution", 0), ("stop", 1)]
)
def test_severity_decides_the_exit_code(pipeline, severity, code):
    """Only what will not form is a failure; its files are written all the same."""
    pipeline.made.findings = (finding(Severity(severity)),) if severity else ()

    assert main(["sign", "A", "--quiet"]) == code
    assert Path("outputs/a/high-tide.stl").exists()


@pytest.mark.parametrize(
    ("failure", "code", "says"),
    [
        (SpecError("plastic", "a plastic in stock", "'x'", "Did you mean PP?"), 2,
         "moldgen: --plastic must be a plastic in stock (got 'x'). Did you mean PP?\n"),
        (SpecError("gauge_mm", "in stock", "7 mm"), 2,
         "moldgen: --gauge must be in stock (got 7 mm).\n"),
        (GeometryError("The modeler\nfailed."), 3, "moldgen: The modeler failed.\n"),
        (KeyboardInterrupt(), 130, "moldgen: interrupted.\n"),
        (ZeroDivisionError("x"), 3,
         "moldgen: a fault of moldgen itself (ZeroDivisionError: x). Report it; -v shows where.\n"),
    ],
    ids=["bad input", "bad number", "modeler", "interrupted", "our fault"],
)  # fmt: skip
def test_failures_are_one_line_and_a_code(pipeline, tmp_path, capsys, failure, code, says):
    """Whatever fails: one line, the right code, and nothing written."""
    pipeline.fails = failure

    assert main(["sign", "A"]) == code
    assert capsys.readouterr() == ("", says)
    assert list(tmp_path.iterdir()) == []


def test_verbose_shows_where_our_own_fault_is(pipeline, capsys):
    """Whoever mends moldgen needs the traceback, and scripts the code of a failure."""
    pipeline.fails = ZeroDivisionError("x")

    assert main(["sign", "A", "-v"]) == 3
    told = capsys.readouterr().err
    assert "Traceback (most recent call last)" in told
    assert told.endswith("raise fake.fails\nZeroDivisionError: x\n")


EVERY_COMMAND = {
    **{name: one for name, one in COMMANDS.items() if not one.parts},
    **{f"{name} {part}": one for name, c in COMMANDS.items() for part, one in c.parts.items()},
}


@pytest.mark.parametrize("name", sorted(EVERY_COMMAND))
def test_every_command_takes_what_a_fault_says(name):
    """A fault says that -v shows where: so each command has it."""
    told = parser_of(name, EVERY_COMMAND[name], all_options=True).format_help()

    assert "--verbose" in told
    assert re.search(r"(^|\s)-v[\s,]", told)


def test_a_fault_of_a_scheduler_is_shown_where_it_is(monkeypatch, capsys):
    """Commands that make nothing show it as well."""

    def fail(*_):
        raise ZeroDivisionError("x")

    monkeypatch.setattr("moldgen.cli.cluster.do_scheduler", fail)

    assert main(["scheduler", "-v"]) == 3
    assert "Traceback (most recent call last)" in capsys.readouterr().err


def test_a_failure_in_a_job_names_the_file(pipeline, tmp_path, capsys):
    """Of a job file the place is told, of an option the option."""
    (tmp_path / "job.toml").write_text(SMALL + BODY)
    pipeline.fails = SpecError("plastic", "a plastic in stock", "'x'")

    assert main(["make", "job.toml"]) == 2
    assert capsys.readouterr().err.startswith("moldgen: job.toml: plastic must be")
    assert main(["make", "job.toml", "--plastic", "x"]) == 2
    assert capsys.readouterr().err.startswith("moldgen: --plastic must be")


class Terminal(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self):
        """Say so."""
        return True


@pytest.mark.parametrize(
    ("stream", "environment", "colors"),
    [
        (Terminal(), {"TERM": "xterm"}, True),
        (Terminal(), {"TERM": "xterm", "NO_COLOR": ""}, True),
        (Terminal(), {"TERM": "xterm", "NO_COLOR": "1"}, False),
        (Terminal(), {"TERM": "dumb"}, False),
        (io.StringIO(), {"TERM": "xterm"}, False),
    ],
)
def test_colors_are_for_terminals_that_want_them(stream, environment, colors):
    """A file or a pipe gets none; neither does anybody who asked for none."""
    assert wants_colors(stream, environment) is colors


def test_painting_is_off_unless_asked_for():
    """The same words, with or without a color."""
    painted = [
        Screen(out=io.StringIO(), err=io.StringIO(), colors=colors).painted("stop", "31")
        for colors in (False, True)
    ]

    assert painted == ["stop", "\x1b[31mstop\x1b[0m"]


def test_progress_waits_a_second(monkeypatch):
    """What is quick shows nothing; what is slow shows its stage, and cleans up."""
    monkeypatch.setattr("moldgen.cli.progress._PATIENCE_S", 0.05)
    screens = [Terminal(), Terminal()]
    quick, slow = (Screen(out=io.StringIO(), err=screen) for screen in screens)
    with Progress(quick) as progress:
        progress(Stage(1, 2, "outlines"))
    assert not [thread for thread in threading.enumerate() if isinstance(thread, threading.Timer)]
    with Progress(slow) as progress:
        progress(Stage(1, 2, "outlines"))
        time.sleep(0.3)
        progress(Stage(2, 2, "vents"))

    assert screens[0].getvalue() == ""
    assert screens[1].getvalue() == (
        "\r\x1b[K[....................] outlines"
        "\r\x1b[K[##########..........] vents"
        "\r\x1b[K"
    )  # fmt: skip


@pytest.mark.parametrize(
    ("screen", "shown"),
    [
        (Screen(out=io.StringIO(), err=io.StringIO(), verbose=True), "1/3 vents\n"),
        (Screen(out=io.StringIO(), err=io.StringIO()), ""),
        (Screen(out=io.StringIO(), err=io.StringIO(), quiet=True, verbose=True), ""),
    ],
)
def test_progress_elsewhere_is_plain(screen, shown):
    """In a log, stages are lines, and only with -v."""
    with Progress(screen) as progress:
        progress(Stage(1, 3, "vents"))
        progress(Stage(1, 3, "vents", 0.5))

    assert screen.err.getvalue() == shown


@pytest.mark.parametrize(
    ("stage", "filled"),
    [
        (Stage(1, 2, "vents"), 0),
        (Stage(1, 2, "vents", 0.5), 5),
        (Stage(2, 2, "vents"), 10),
        (Stage(2, 2, "vents", 1.0), 20),
        (Stage(3, 3, "vents", 0.3), 15),
    ],
)
def test_a_bar_shows_what_is_done(stage, filled):
    """Stages before, and the share of this one; a stage that begins is not done."""
    assert bar(stage) == f"[{'#' * filled}{'.' * (20 - filled)}] vents"


@pytest.mark.parametrize(
    ("title", "name"),
    [
        ("High tide sign", "high-tide-sign"),
        ("Crêperie  №7 / ß", "creperie-no7-ss-73c257"),
        ("../../etc", "etc"),
        ("CON", "con-mold"),
        ("lpt1", "lpt1-mold"),
        ("***", "mold-596f41"),
        ("港", "gang-1151db"),
        ("x" * 200, "x" * 53 + "-aa20c2"),
    ],
)
def test_folders_are_named_for_every_system(title, name):
    """A title becomes one plain folder name, never a path and never a device."""
    assert file_name(title) == name


# --- lists and help -----------------------------------------------------------------------------


@pytest.mark.parametrize("typed", [[], ["--help"], ["-h"], ["help"]])
def test_help_names_every_command(typed, capsys):
    """Whoever knows nothing types nothing, and sees what there is."""
    assert main(typed) == 0

    shown = capsys.readouterr().out
    rows = [re.escape(name) + " +" + re.escape(command.about) for name, command in COMMANDS.items()]
    assert all(re.search(rf"^  {row}$", shown, re.MULTILINE) for row in rows)


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_explains_itself(name, capsys):
    """Help of a command ends in an example that begins with that command."""
    assert main([name, "--help"]) == 0
    shown = capsys.readouterr().out
    assert main(["help", name]) == 0

    assert capsys.readouterr().out == shown
    assert shown.startswith(f"usage: moldgen {name}")
    assert f"Example: moldgen {name}" in shown


def test_help_tells_units_and_what_is_usual(capsys):
    """Options come from the specification, with unit and usual value."""
    main(["sign", "--help-all"])

    shown = " ".join(capsys.readouterr().out.split())
    assert (
        "--letter-height MM height of the capital H; 30, or as there is room, if left out" in shown
    )
    assert (
        "--margin MM plaque round the letters; 12, or what a border takes, if left out [mm]"
        in shown
    )
    assert "--draft DEG draft of the walls; by the rules if left out [°]" in shown
    assert "--plastic TEXT plastic of the sheet: moldgen stock sheet lists them (usual: HIPS)" in (
        shown
    )


@pytest.mark.parametrize("name", COMMANDS)
def test_help_is_short_and_all_of_it_on_request(name, capsys):
    """Short help shows each usual option of a command; --help-all shows these and all others."""
    command = COMMANDS[name]
    main([name, "--help"])
    short = shown_options(capsys.readouterr().out)
    assert main([name, "anything", "--help-all"]) == 0
    whole = shown_options(capsys.readouterr().out)

    assert short <= whole
    if command.usual:
        assert short == {"--help", *(f"--{word}" for word in command.usual.split())}
        assert len(short) <= 13
        assert whole > short
    assert len(short) <= 14 or name == "fixture"


def shown_options(shown):
    """The options that a help text lists, without what switches words to a number."""
    lines = [line for line in shown.splitlines() if line.startswith("  -")]
    names = [re.findall(r"(--[a-z-]+)", line.split("   ")[0] + " ") for line in lines]
    return {name[0] for name in names if name} - {"--no-colour", "--help-all"}


def test_version(capsys):
    """The version is one line."""
    assert main(["--version"]) == 0
    assert re.fullmatch(r"moldgen \d+\.\d+\.\d+\n", capsys.readouterr().out)


def test_shapes_are_listed(capsys):
    """Every shape of the library is there, with its own proportions."""
    from moldgen.outline.library.shapes import list_shapes

    assert main(["shapes"]) == 0
    shown = capsys.readouterr().out
    assert all(f"\n{shape.name} " in f"\n{shown}" for shape in list_shapes())
    assert "corner 0.15 (corner radius over" in " ".join(shown.split())


@pytest.mark.parametrize(("ending", "begins"), [("svg", b"<?xml"), ("png", b"\x89PNG")])
def test_a_picture_of_all_shapes(tmp_path, capsys, ending, begins):
    """One command draws the library; the drawing holds every name."""
    path = tmp_path / f"shapes.{ending}"
    assert main(["shapes", "--sheet", str(path)]) == 0

    assert path.read_bytes().startswith(begins)
    if ending == "svg":
        assert all(f">{name}<" in path.read_text() for name in ("anchor", "wave-plaque", "star"))


def test_shapes_stand_apart_on_their_picture():
    """No shape of the picture sheet lies on another, and each has its name below."""
    import shapely

    from moldgen.cli.lists import shape_plan
    from moldgen.export.plan.plan import Note, PlanRegion

    items = shape_plan().items
    outlines = [
        shapely.Polygon(i.rings[0], i.rings[1:]) for i in items if isinstance(i, PlanRegion)
    ]
    names = [item for item in items if isinstance(item, Note)]
    together = shapely.union_all(outlines).area

    assert together == pytest.approx(sum(outline.area for outline in outlines), rel=1e-9)
    assert len({(name.x_mm, name.y_mm) for name in names}) == len(names) >= 24


def test_stock_is_listed_by_kind(capsys):
    """Without a kind the names; with one, its values and their sources."""
    assert main(["stock"]) == 0
    assert re.search(r"^machine +bench-250x250, classroom-450x300", capsys.readouterr().out, re.M)

    assert main(["stock", "Machines"]) == 0
    shown = " ".join(capsys.readouterr().out.split())
    assert "table, left to right 450 mm <- a generic table of this size, no citable source" in shown


@pytest.mark.parametrize(
    "kind", ["sheet", "plastic", "filament", "printer", "gauge", "insert", "drills", "dowels"]
)
def test_every_kind_of_stock_is_shown_with_sources(kind, capsys):
    """No value without a word on where it comes from."""
    assert main(["stock", kind]) == 0
    assert re.search(r"memory|practice|published|derived", capsys.readouterr().out)


def test_every_dowel_is_listed_with_its_lengths(capsys):
    """Names as `moldgen split --dowel` takes them, standard lengths and the table they are from."""
    from moldgen.stock.dowel import load_dowels

    assert main(["stock"]) == 0
    listed = " ".join(capsys.readouterr().out.split())
    assert ", ".join(dowel.name for dowel in load_dowels()) in listed

    assert main(["stock", "dowel"]) == 0
    shown = " ".join(capsys.readouterr().out.split())
    assert "steel 5 5 mm 10, 12, 14, 16, 18, 20, 22, 24, 26, 28, 30, 32, 35, 40, 45, 50 mm" in shown
    assert "mm long <- ISO 2338, parallel pins" in shown
    assert "wood 10 10 mm 40, 45, 50 mm long <- grooved beech dowels" in shown


def test_own_stock_is_told_where_to_go(capsys):
    """One option prints the place of a person's own entries, and nothing else."""
    assert main(["stock", "--user-file"]) == 0
    assert capsys.readouterr().out.replace("\\", "/").endswith("moldgen/stock.toml\n")


def test_the_schema_is_printed(capsys):
    """The schema command prints the schema, and nothing else."""
    from moldgen.job import job_schema

    assert main(["schema"]) == 0
    assert json.loads(capsys.readouterr().out) == json.loads(json.dumps(job_schema()))


def test_fonts_begin_with_the_usual_one(capsys):
    """The font that is taken when none is named comes first."""
    assert main(["fonts"]) == 0
    assert "(usual)" in capsys.readouterr().out.splitlines()[0]


# --- as a program -------------------------------------------------------------------------------

SMALL = 'title = "A"\nprinter = "bed-180"\n'
BODY = '[[body]]\nheight = 6\noutline = { text = "A", height = 30 }\n'


def program(*typed, **kept):
    """Run moldgen as its own process."""
    return subprocess.run(
        [sys.executable, *typed], capture_output=True, timeout=60, check=False, **kept
    )


def test_help_imports_nothing_heavy():
    """Help appears at once because nothing that computes is imported for it."""
    shown = program("-X", "importtime", "-m", "moldgen", "--help").stderr.decode()

    imported = {line.split("|")[-1].strip() for line in shown.splitlines() if "|" in line}
    assert "moldgen.cli.app" in imported
    assert not imported & {"numpy", "shapely", "manifold3d", "numba", "matplotlib", "moldgen.job"}


def test_help_of_a_command_imports_no_geometry():
    """The options come from plain specifications."""
    shown = program("-X", "importtime", "-m", "moldgen", "sign", "--help").stderr.decode()

    imported = {line.split("|")[-1].strip() for line in shown.splitlines() if "|" in line}
    assert "moldgen.job.spec" in imported
    assert not imported & {"numpy", "shapely", "manifold3d", "numba", "matplotlib"}


@pytest.mark.parametrize(("formats", "drawn"), [("stl,3mf,glb,svg,json", False), ("png", True)])
def test_only_diagrams_import_the_drawing_library(tmp_path, formats, drawn):
    """A mold without pictures pays nothing for them; one with pictures has no pyplot."""
    words = (
        "sign",
        "I",
        "--letter-height",
        "20",
        "--formats",
        formats,
        "--out",
        str(tmp_path / "o"),
    )

    done = program("-X", "importtime", "-m", "moldgen", *words)

    imported = {line.split("|")[-1].strip() for line in done.stderr.decode().splitlines()}
    assert done.returncode == 0
    assert "moldgen.pipeline.mold.pictures" in imported
    assert ("matplotlib.figure" in imported) == drawn
    assert ("matplotlib" in imported) == drawn
    assert "matplotlib.pyplot" not in imported


def test_a_closed_pipe_is_no_fault():
    """``moldgen schema | head -1`` ends without complaint."""
    reader, writer = os.pipe()
    os.close(reader)
    done = subprocess.run(
        [sys.executable, "-m", "moldgen", "schema"], stdout=writer, stderr=subprocess.PIPE,
        timeout=60, check=False,
    )  # fmt: skip
    os.close(writer)

    assert (done.returncode, done.stderr) == (0, b"")


def test_a_console_that_lacks_a_letter_still_shows_the_rest():
    """On a console of one-byte letters help still appears, the degree sign included."""
    environment = os.environ | {"PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"}
    done = program("-m", "moldgen", "sign", "--help-all", env=environment)

    assert (done.returncode, done.stderr) == (0, b"")
    assert b"[\\xb0]" in done.stdout


def test_bad_words_are_one_line_and_code_two():
    """The whole program, not just its function, says one sentence and returns 2."""
    done = program("-m", "moldgen", "tray", "120", "80", "nan")

    assert done.returncode == 2
    assert done.stdout == b""
    assert done.stderr.startswith(b"moldgen: depth must be a number in mm")
    assert done.stderr.count(b"\n") == 1


def test_read_at_text():
    """The words of the job file and of the shop floor agree."""
    assert [str(word) for word in ReadAt] == ["top", "foot", "part-outside", "part-inside"]
