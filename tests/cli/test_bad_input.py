"""Bad input, end to end: one sentence, exit code 2, nothing written."""

import importlib.util
import re
import struct
from pathlib import Path

import pytest

from moldgen.cli.app import main

SQUARE = "M0 0H60V60H0Z"
HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="60mm" viewBox="0 0 60 60">'
SVG = HEAD + "{}</svg>"


def path(d):
    """Return a drawing of one path."""
    return SVG.format(f'<path d="{d}"/>')


def dxf(entities, header=""):
    """Return a DXF of some group codes."""
    sections = f"0\nSECTION\n2\nHEADER\n{header}0\nENDSEC\n" if header else ""
    return f"{sections}0\nSECTION\n2\nENTITIES\n{entities}0\nENDSEC\n0\nEOF\n"


def line(x0, y0, x1, y1, layer="cut"):
    """Return a line of a DXF."""
    return f"0\nLINE\n8\n{layer}\n10\n{x0}\n20\n{y0}\n11\n{x1}\n21\n{y1}\n"


MILLIMETERS = "9\n$INSUNITS\n70\n4\n"
TRIANGLE = line(0, 0, 50, 0) + line(50, 0, 0, 50) + line(0, 50, 0, 0)

DRAWINGS = {
    "good.svg": path(SQUARE),
    "empty.svg": "",
    "blank.svg": SVG.format(""),
    "binary.svg": b"\x00\x01\x02\xff" * 50,
    "truncated.svg": path(SQUARE)[:-20],
    "words.svg": SVG.format('<text x="5" y="20">TIDE</text>'),
    "nan.svg": path("M0 0H60VNaNH0Z"),
    "infinite.svg": path("M0 0H1e999V60H0Z"),
    "line.svg": path("M0 0H60Z"),
    "open.svg": SVG.format('<path d="M0 0H60V60H0" fill="none" stroke="black"/>'),
    "tiny.svg": path("M0 0H0.01V0.01H0Z"),
    "vast.svg": path("M0 0H900000V900000H0Z"),
    "bomb.svg": '<!DOCTYPE svg [<!ENTITY a SYSTEM "file:///etc/passwd">]>' + path(SQUARE),
    "good.dxf": dxf(TRIANGLE, MILLIMETERS),
    "no-unit.dxf": dxf(TRIANGLE),
    "open.dxf": dxf(line(0, 0, 50, 0) + line(50, 0, 0, 50), MILLIMETERS),
    "empty.dxf": "",
    "blank.dxf": dxf("", MILLIMETERS),
    "binary.dxf": b"\x00\xff\x80" * 90,
    "truncated.dxf": dxf(TRIANGLE, MILLIMETERS)[:150],
    "empty.stl": b"",
    "truncated.stl": b"\0" * 80 + struct.pack("<I", 1000) + b"\0" * 70,
    "no-triangles.stl": b"\0" * 80 + struct.pack("<I", 0),
    "not-a-mesh.stl": b"just words\n",
    "binary.obj": b"\x00\xff" * 60,
    "no-zip.3mf": b"PK\x03\x04 and then nothing",
    "part.doc": b"letter",
    "no-font.ttf": b"not a font at all",
    "empty.toml": "",
    "binary.toml": b"\xff\xfe\x00\x01",
    "truncated.toml": 'title = "A"\n[[body',
    "stock.toml": '[machine.ours]\nbased_on = "nowhere"\n',
}


def job(body='outline = { inset = 3 }', *, height="6", top="", more=""):  # fmt: skip
    """Return a job file of one body."""
    return f'title = "A"\n{top}\n[[body]]\nheight = {height}\n{body}\n{more}\n'


BOX = "outline = { points = [[0, 0], [80, 0], [80, 60], [0, 60]] }"
FAR_OUT = "{ points = [[0, 0], [20, 0], [20, 20], [0, 20]], x = 36 }"
SMALL = "{ points = [[0, 0], [20, 0], [20, 20], [0, 20]] }"

NEW, HIGH = "new.toml", "9" * 400
COMMAND_LINES = {
    # command, option, number
    "unknown command": ("sing A", "'sing' is not a command. Did you mean sign?"),
    "unknown command, nothing near": ("xyzzy", "Choose sign, tray,"),
    "option before the command": ("--quiet sign A", "a command must come before --quiet"),
    "unknown option": ("sign A --fnot x", "--fnot is not an option .* Did you mean --font"),
    "option without a value": ("sign A --gauge", "--gauge must be followed by a value"),
    "one number too many": ("tray 1 2 3 4", "'4' is one word too many for moldgen tray"),
    "a number missing": ("tray 120 80", "DEPTH must be given"),
    "no words": ("sign", "WORDS must be given"),
    "blank words": (["sign", "   "], "words must be given"),
    "words of slashes": (["sign", " / "], "words must be given"),
    "a control character": (["sign", "A\x07"], "."),
    "a thousand letters": (["sign", "A" * 3000], "at most 2000 characters"),
    "not a number": ("tray 120 80 deep", "depth must be a number in mm"),
    "nan": ("tray 120 80 nan", "depth must be a number"),
    "infinite": ("tray 120 80 1e999", "depth must be more than 0 mm"),
    "negative": ("tray 120 80 -25", "depth must be more than 0 mm .*got -25 mm"),
    "zero": ("tray 0 80 25", "length must be more than 0 mm"),
    "absurd": (f"tray {HIGH} 80 25", "length must be a number|length must be more than 0"),
    "a kilometer": ("tray 1000m 80 25", r"at most 2000 mm \(got 1e\+06 mm\)"),
    "unit of another kind": ("tray 120deg 80 25", "length must be a number in mm.*Correct"),
    "unknown unit": ("tray 12hands 80 25", "Correct the unit"),
    "divided by zero": ("tray 1/0 80 25", "length must be a number"),
    "draft beyond the flat": ("sign A --draft 89", "--draft must be at least 0 ° and at most 60 °"),
    "gauge of a plank": ("sign A --gauge 40", "--gauge must be at least 0.1 mm and at most 12 mm"),
    "compartments": ("tray 120 80 25 --compartments six", "--compartments must be columns x rows"),
    "no compartments": ("tray 120 80 25 --compartments 0x2", "1 to 400 compartments"),
    "no room for compartments": ("tray 20 80 25 --compartments 6x1", "--compartments .* 1 mm wide"),
    "compartments of a male tray": (
        "tray 120 80 25 --side male --compartments 2x1",
        "--compartments .* left out with --side male",
    ),
    "unknown side": ("tray 120 80 25 --side mail", "--side must be male or female"),
    "unknown format": ("sign A --formats stl,gcode", "--formats must be stl, 3mf"),
    "no format": (["sign", "A", "--formats", ","], "formats must be at least one format"),
    "unknown paper": ("sign A --paper B5", "--paper must be A4 or Letter"),
    "unknown way to stand": ("sign A --as ward", "--as must be plaque, word or letters"),
    "quiet and verbose": ("sign A -q -v", "--quiet must be used without --verbose"),
    "a folder of 300 letters": (
        ["sign", "A", "--out", "a" * 300], "--out must be .* at most 255 bytes"
    ),
    "a folder deep down of 300 letters": (
        ["sign", "A", "--out", "deep/" + "ä" * 150 + "/a"], "--out must be .* at most 255 bytes"
    ),
    "a folder with a nul": (["sign", "A", "--out", "a\0b"], "--out must be plain text"),
    "a job file of 300 letters": (
        ["sign", "A", "--save-job", "a" * 300 + ".toml"], "--save-job must be .* at most 255 bytes"
    ),
    "a sheet of 300 letters": (
        ["shapes", "--sheet", "a" * 300 + ".svg"], "--sheet must be .* at most 255 bytes"
    ),
    "an unknown option of 100 000 letters": (
        ["sign", "A", "--" + "x" * 100_000], r"--x+\.\.\. is not an option"
    ),
    "an unknown command of 100 000 letters": (["x" * 100_000], r"'x+\.\.\. is not a command"),
    "100 000 letters too many": (["sign", "A", "B", "x" * 100_000], "words must be at most 2000"),
    "a word too many of 100 000 letters": (
        ["tray", "1", "2", "3", "x" * 100_000], r"'x+\.\.\. is one word too many"
    ),
    "an option of 100 000 letters before the command": (
        ["-" + "x" * 100_000], r"a command must come before -x+\.\.\.\."
    ),
    "unknown stock of 100 000 letters": (["stock", "x" * 100_000], r"got 'x+\.\.\.\)"),
    "also make what": ("sign A --also-make", "--also-make must be used with --save-job"),
    "two lines of title": (["sign", "A", "--title", "A\nB"], "--title must be one line"),
    "a saved job that is there": ("sign A --save-job empty.toml", "empty.toml is there already"),
    "a saved job below a file": ("sign A --save-job good.svg/a.toml", "good.svg"),
    "file and shape": ("raise good.svg --shape anchor", r"--shape must be given, .*got both"),
    "neither file nor shape": ("raise", "--shape must be given, or else a file"),
    "a drawing of another kind": ("raise part.doc", "file must be a drawing that ends in"),
    "layers of an SVG": ("raise good.svg --layer cut", "--layer must be left out with an SVG"),
    "part of a DXF": ("raise good.dxf --part wing", "--part must be left out with a DXF"),
    "unit of a shape": ("raise --shape anchor --unit mm", "--unit must be left out with --shape"),
    "pull nowhere": ("check good.stl --draw-direction up", "--draw-direction must be z, -z"),
    "unknown unit of a part": ("check good.stl --unit yard", "--unit must be micron, mm"),
    "check nothing": ("check", "FILE must be given|file must be given"),
    "unknown stock": ("stock sheep", "kind must be sheet, filament.*"),
    "missing own stock": ("stock --stock nowhere.toml", "nowhere.toml"),
    "sheet of another kind": ("shapes --sheet shapes.doc", "--sheet must be a file that ends in"),
    "sheet into a file": ("shapes --sheet good.svg/a.svg", "good.svg"),
    # job files
    "make nothing": ("make", "FILE must be given|file must be given"),
    "missing job": ("make nowhere.toml", "nowhere.toml cannot be read"),
    "job is a folder": ("make .", "cannot be read"),
    "empty job": ("make empty.toml", "empty.toml is empty"),
    "binary job": ("make binary.toml", "binary.toml is not text in UTF-8"),
    "truncated job": ("make truncated.toml", "truncated.toml is not TOML: Expected"),
    "job is a drawing": ("make good.svg", "good.svg is not TOML"),
    "change to nonsense": ("make good.toml --gauge thick", "--gauge must be a number"),
}  # fmt: skip

JOB_FILES = {
    "unknown key": (job(top='mashine = "x"'), "key must be .*'mashine'.* Did you mean machine"),
    "unknown key far down": (
        job(more="[[body.raised]]\nheight = 3\ndarft = 4\noutline = { inset = 3 }"),
        "body 1, raised 1: key must be .*'darft'.* Did you mean draft?",
    ),
    "unknown table": (job(more="[vent]\nplace = true"), "Did you mean vents?"),
    "no title": ("[[body]]\nheight = 6\noutline = { inset = 3 }", "title must be given"),
    "no body": ('title = "A"', r"a mold with a \[\[body\]\]"),
    "no outline": ('title = "A"\n[[body]]\nheight = 6', "body 1: outline must be given"),
    "a height in quotes": (job(height='"tall"'), "body 1: height must be a number"),
    "height nan": (job(height="nan"), "body 1: height must be at least 0.05 mm"),
    "height inf": (job(height="inf"), "body 1: height must be at least 0.05 mm"),
    "height negative": (job(height="-1"), r"body 1: height must be .*\(got -1 mm\)"),
    "height of a table": (job(height="{ mm = 3 }"), r"body 1: height must be .*\(got a table\)"),
    "height of a mast": (job(height="99999"), "body 1: height must be .* at most 1000 mm"),
    "two kinds of outline": (job('outline = { text = "A", svg = "a.svg" }'), "of one kind"),
    "no kind of outline": (job("outline = { width = 3 }"), "outline must be told by text"),
    "corners that are none": (job("outline = { points = [1, 2, 3] }"), "points 1 must be a pair"),
    "two corners": (job("outline = { points = [[0, 0], [1, 1]] }"), "points must be 3 to 20000"),
    "a corner of nan": (
        job("outline = { points = [[0, 0], [nan, 0], [9, 9]] }"), "points 2 must be .*nan"
    ),
    "text of two sizes": (
        job('outline = { text = "A", height = 3, width = 4 }'),
        "height must be given, or else width",
    ),
    "an insert of glue": (job(more='[underside]\ninsert = "glue"'), "underside: insert must be"),
    "names twice": (
        job('name = "a"\noutline = { inset = 3 }',
            more='[[body]]\nname = "a"\nheight = 3\noutline = { inset = 3 }'),
        "body 2: name must be another",
    ),
    "a switch of words": (job(top='shrinkage = "yes"'), "shrinkage must be true or false"),
    "a date of numbers": (job(top="date = 2031"), "date must be a text in quotes"),
    "a date for a height": (job(height="1979-05-27"), r"height must be .*\(got 1979-05-27\)"),
    "a time for a name": (job(top="machine = 07:32:00"), r"text in quotes \(got 07:32:00\)"),
    "a date for a corner": (
        job("outline = { points = [[1979-05-27, 0], [1, 1], [2, 0]] }"), r"\(got 1979-05-27\)"
    ),
    "too many features": (
        job() + "[[body]]\nheight = 3\noutline = { inset = 3 }\n" * 2000, "at most 2000 features"
    ),
    "stock that is not there": (job(top='stock = "nowhere.toml"'), "nowhere.toml"),
    "stock with a mistake": (job(top='stock = "stock.toml"'), "stock.toml.*nowhere"),
}  # fmt: skip

NEEDS_PIPELINE = {
    "unknown plastic": ("sign A --plastic HIPPS", "--plastic .*'HIPPS'.* Did you mean HIPS?"),
    "unknown machine": ("sign A --machine bench", "--machine .*'bench'"),
    "unknown printer": ("sign A --printer medum", "--printer .*Did you mean medium"),
    "unknown filament": ("sign A --filament PTEG", "--filament .*Did you mean PETG"),
    "unknown font": ("sign A --font Nosuchfont", "Nosuchfont"),
    "a font that is none": ("sign A --font no-font.ttf", "no-font.ttf"),
    "a missing font file": ("sign A --font nowhere.ttf", "nowhere.ttf"),
    "a letter its font has not": (
        ["sign", "\U00012345", "--font", "DejaVu Sans Bold"],
        "U\\+12345",
    ),
    "unknown shape": ("raise --shape anchr", "anchor"),
    "missing drawing": ("raise nowhere.svg", "nowhere.svg"),
    "drawing is a folder": ("raise folder.svg", "folder.svg"),
    "empty SVG": ("raise empty.svg", "empty.svg"),
    "blank SVG": ("raise blank.svg", "blank.svg"),
    "binary SVG": ("raise binary.svg", "binary.svg"),
    "truncated SVG": ("raise truncated.svg", "truncated.svg"),
    "words in an SVG": ("raise words.svg", "paths"),
    "nan in an SVG": ("raise nan.svg", "NaN"),
    "infinity in an SVG": ("raise infinite.svg", "infinit|finite|large|1e999"),
    "outline without area": ("raise line.svg", "line.svg"),
    "open outline": ("raise open.svg", "open|closed"),
    "outline like a crumb": ("raise tiny.svg", "tiny.svg"),
    "outline like a town": ("raise vast.svg", "vast.svg"),
    "entities in an SVG": ("raise bomb.svg", "bomb.svg"),
    "unknown part": ("raise good.svg --part wing", "wing"),
    "unknown layer": ("raise good.dxf --layer cuts", "cut"),
    "unknown unit of a DXF": ("raise good.dxf --unit parsec", "parsec"),
    "DXF without a unit": ("raise no-unit.dxf", "unit"),
    "open DXF": ("raise open.dxf", "open"),
    "empty DXF": ("raise empty.dxf", "empty.dxf"),
    "blank DXF": ("raise blank.dxf", "blank.dxf"),
    "binary DXF": ("raise binary.dxf", "binary.dxf"),
    "truncated DXF": ("raise truncated.dxf", "truncated.dxf"),
    "missing part": ("check nowhere.stl", "nowhere.stl"),
    "empty part": ("check empty.stl", "empty.stl"),
    "truncated part": ("check truncated.stl", "truncated.stl"),
    "part without triangles": ("check no-triangles.stl", "no-triangles.stl"),
    "part of words": ("check not-a-mesh.stl", "not-a-mesh.stl"),
    "binary part": ("check binary.obj", "binary.obj"),
    "broken 3MF": ("check no-zip.3mf", "no-zip.3mf"),
    "part of another kind": ("check part.doc", "part.doc"),
    "out is a file": ("sign A --out good.svg", "good.svg is a file"),
    "out below a file": ("sign A --out good.svg/deeper", "good.svg"),
    "rim that eats the letters": (
        "sign I --as word --relief 60 --top-radius 20",
        "top radius|flat|narrow",
    ),
}

NEEDS_PIPELINE_JOBS = {
    "self-crossing corners": (
        job("outline = { points = [[0, 0], [60, 60], [60, 0], [0, 60]] }"), "cross"
    ),
    "corners in a row": (
        job("outline = { points = [[0, 0], [30, 0], [60, 0]] }"), "area|line|small|nothing"
    ),
    "a feature off its parent": (
        job(BOX, more=f'[[body.raised]]\nname = "arm"\nheight = 3\noutline = {FAR_OUT}'),
        "arm",
    ),
    "features on each other": (
        job(BOX, more=f'[[body.raised]]\nname = "left"\nheight = 3\noutline = {SMALL}\n'
            f'[[body.raised]]\nname = "right"\nheight = 3\noutline = {SMALL[:-1]}, x = 9 }}'),
        "left|right",
    ),
    "a well through the floor": (
        job(BOX, more=f'[[body.sunk]]\nname = "well"\ndepth = 30\noutline = {SMALL}'), "well"
    ),
    "radii too big for the height": (job(f"{BOX}\ntop_radius = 20\nbase_radius = 20"), "radius"),
    "draft that leaves no flat": (
        job(f'{BOX}\ndraft = 45\nread_at = "foot"', height="60",
            more=f'[[body.raised]]\nname = "top"\nheight = 3\noutline = {SMALL}'),
        "flat|draft",
    ),
    "an inset beyond the middle": (
        job(BOX, more='[[body.raised]]\nname = "top"\nheight = 3\noutline = { inset = 45 }'),
        "top|inset",
    ),
    "an inset of the table": (job("outline = { inset = 3 }"), "inset|parent|table"),
    "a border of the table": (job("outline = { border = 3 }"), "border|parent|table"),
    "a grid too fine": (
        job(BOX, more='[[body.sunk]]\ndepth = 3\noutline = { grid = "9 x 9", gap = 9 }'),
        "grid|room|sunk 1",
    ),
    "around nothing": (job("outline = { around = 3 }"), "around|nothing"),
    "plan radius that eats the shape": (job(f"{BOX}\nplan_radius = 190"), "radius|outline"),
    "a missing drawing": (job('outline = { svg = "nowhere.svg" }'), "nowhere.svg"),
    "a proportion unknown": (job('outline = { shape = "ring", width = 60, waves = 3 }'), "waves"),
    "a proportion out of range": (
        job('outline = { shape = "star", width = 60, points = 2 }'), "points"
    ),
    "a thread not in stock": (job(BOX, more='[underside]\ninsert = "nut M47"'), "M47"),
    "bodies on each other": (job(BOX, more=f"[[body]]\nheight = 6\n{BOX}"), "body"),
}  # fmt: skip


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """Give a folder with every bad file in it, and work there."""
    for name, content in DRAWINGS.items():
        data = content if isinstance(content, bytes) else content.encode()
        (tmp_path / name).write_bytes(data)
    (tmp_path / "folder.svg").mkdir()
    (tmp_path / "good.toml").write_text(job(BOX))
    monkeypatch.chdir(tmp_path)
    return tmp_path


def inventory(folder: Path):
    """Return every file below a folder with its content."""
    return {
        found.relative_to(folder): found.read_bytes() if found.is_file() else None
        for found in folder.rglob("*")
    }


def refused(argv, says, folder, capsys):
    """Run a command and assert that it is refused as bad input must be."""
    before = inventory(folder)

    code = main(argv)
    shown = capsys.readouterr()
    assert (code, shown.out) == (2, ""), shown
    assert shown.err.startswith("moldgen: ")
    assert shown.err.count("\n") == 1
    assert len(shown.err) < 600
    assert not re.search(r"Traceback|Error\b|0x[0-9a-f]{6}|<class", shown.err), shown.err
    assert re.search(says, shown.err), shown.err
    assert inventory(folder) == before


def typed(words):
    """Return a command line as words."""
    return words.split() if isinstance(words, str) else words


@pytest.mark.parametrize(("words", "says"), COMMAND_LINES.values(), ids=COMMAND_LINES)
def test_bad_command_lines_are_refused(words, says, folder, capsys):
    """A slip on the command line is told in one sentence that names it."""
    refused(typed(words), says, folder, capsys)


@pytest.mark.parametrize(("content", "says"), JOB_FILES.values(), ids=JOB_FILES)
def test_bad_job_files_are_refused(content, says, folder, capsys):
    """A slip in a job file is told in one sentence that names file and place."""
    (folder / NEW).write_text(content)
    refused(["make", NEW], says, folder, capsys)


pipeline = pytest.mark.skipif(
    importlib.util.find_spec("moldgen.pipeline") is None, reason="nothing makes molds yet"
)


@pipeline
@pytest.mark.parametrize(("words", "says"), NEEDS_PIPELINE.values(), ids=NEEDS_PIPELINE)
def test_what_cannot_be_made_is_refused(words, says, folder, capsys):
    """Unknown names, broken drawings and folders that cannot be written to."""
    refused(typed(words), says, folder, capsys)


@pipeline
@pytest.mark.parametrize(("content", "says"), NEEDS_PIPELINE_JOBS.values(), ids=NEEDS_PIPELINE_JOBS)
def test_jobs_that_cannot_be_made_are_refused(content, says, folder, capsys):
    """Features that do not fit each other, and outlines that are none."""
    (folder / NEW).write_text(content)
    refused(["make", NEW], says, folder, capsys)


def test_there_are_enough_of_them():
    """Sixty cases are the least; a case lost in an edit is noticed."""
    tables = (COMMAND_LINES, JOB_FILES, NEEDS_PIPELINE, NEEDS_PIPELINE_JOBS)

    assert [len(table) for table in tables] == [70, 28, 43, 18]
