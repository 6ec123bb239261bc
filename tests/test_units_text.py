"""Inches where people wish so: every sentence of many runs, tables, plans, screens, the room."""

import json
import re
from functools import cache
from tempfile import TemporaryDirectory

import pytest

import moldgen as mg
from moldgen.cli.app import main
from moldgen.errors import SpecError
from moldgen.export.plan.items import Dimension, Hole, Note
from moldgen.export.plan.plan import Plan, plan_as_read
from moldgen.export.report.table import Table, table_as_read
from moldgen.finding import Finding, Severity, sentence
from moldgen.quantity import Quantity
from moldgen.units_text import (
    Units,
    as_read,
    column_in_inches,
    drawn_scale,
    in_inches,
    read_in,
    units_now,
)

SAID = {
    "12.3 mm": "0.484 in",
    "149.6 x 76.2 x 10.0 mm": "5.890 x 3.000 x 0.394 in",
    "217 × 50 mm": "8.54 × 1.97 in",
    "3 to 5 mm": "0.12 to 0.20 in",
    "between 3 and 5 mm": "between 0.12 and 0.20 in",
    "9-12 mm or 3": "0.35-0.47 in or 3",
    "-17.8 °C": "-0.0 °F",
    "1.44 ± 0.12 mm": "0.0567 ± 0.0047 in",
    "thin here (± 0.02 mm; 0.21 mm)": "thin here (± 0.0008 in; 0.0083 in)",
    "(45.9 mm, limit 84 mm)": "(1.807 in, limit 3.31 in)",
    "x -39.9, y -4.2, z 6.1 mm": "x -1.571, y -0.165, z 0.240 in",
    "5 mm at bend 1, 3.5 mm at bend 2": "0.20 in at bend 1, 0.138 in at bend 2",
    "10, 8 mm deep": "10, 0.31 in deep",
    "0 mm": "0 in",
    "3.175 mm": "0.1250 in",
    "3.176 mm": "0.12504 in",
    "0.001 mm": "0.00004 in",
    "ridges of 16 µm": "ridges of 0.00063 in",
    "151 cm²": "23.4 in²",
    "12 mm² hang over": "0.019 in² hang over",
    "1.02 cm³": "0.0622 in³",
    "19.1 m of filament, 58 g": "62.7 ft of filament, 58 g",
    "about 55 °C": "about 131 °F",
    "127 to 182 °C": "261 to 360 °F",
    "61 of 63 °C": "142 of 145 °F",
    "each ±8 °C, edges to about 10 °C": "each ±14 °F, edges to about 18 °F",
    "and 10 °C for warming up": "and 18 °F for warming up",
    "cut 245.2 mm (9 21/32 in) long": "cut 9 21/32 in (9.654 in) long",
    "77.1 mm, 3 1/32 in": "3 1/32 in, 3.035 in",
    "drill 1 mm (#61)": "drill #61 (0.04 in)",
    "2 of 5 mm (13/64)": "2 of 13/64 (0.20 in)",
    "50.8 mm (2 in)": "2 in",
    "5 mm, 2 in the middle": "0.20 in, 2 in the middle",
    "x [mm]": "x [in]",
    "Height, mm": "Height, in",
    "all in mm": "all in inches",
    "thickness in mm; red": "thickness in inches; red",
}


@pytest.mark.parametrize(("text", "told"), SAID.items())
def test_a_text_is_told_in_inches(text, told):
    """Lists, bands, doubts, areas and degrees, each to the digits that are known."""
    assert in_inches(text) == told
    assert in_inches(told) == told


@pytest.mark.parametrize(
    "text",
    [
        "0.2 mm layers, 45 mm/s along walls, 70 in skins, 1000 mm/s²",
        "0.19 to 0.21 W/(m·K), 500 W/(m²·K), 5 kW/m², 1050 kg/m³",
        "68 kPa, 746 N, 58 g, 3 min, 4.5°, 1:1",
        'Write it like --seen "HIPS 0.75mm 30s".',
        "the mold for the slicer, in millimeters",
        "1/32 in",
    ],
)
def test_what_is_no_length_stays(text):
    """So do speeds and layers, which a slicing program is told in millimeters."""
    assert in_inches(text) == text


@cache
def outputs():
    """Runs of many kinds, with everything they say."""
    sign = mg.make(mg.sign("HIGH TIDE", letter_height_mm=25, forming="preview"))
    tray = mg.make(mg.tray(120, 80, 25, compartments="3 x 2"))
    with TemporaryDirectory() as folder:
        (path,) = sign.write(folder, "stl")
        trimmed, measured = mg.trim(path), mg.measure(path)
    return (
        sign,
        tray,
        mg.make(mg.drawing(shape="gull", height=12, vents="drilled")),
        mg.make(mg.strip(legs="80,120,60", angles="90,110", width=60)),
        mg.heat("HIPS", gauge=0.75, filament="PLA"),
        mg.check(sign.bodies),
        trimmed,
        measured,
        *(mg.make_fixture(name) for name in ("plug", "frame", "sheet-gauge", "handle", "standoff")),
        mg.print_test_pieces(),
    )


def texts(run):
    """All that a run says, sentence by sentence, but for names that a person gave."""
    told, report = run.output.told, run.output.report()
    for label, value in told.summary:
        yield f"{label}: {value}"
    for one in told.findings:
        yield from (sentence(one), one.basis)
    for one in told.choices:
        yield one.text
    for table in report.tables:
        yield from (table.title, table.note)
        for row in table.rows:
            yield from row
    yield from (f"{word}. {text}" for word, text in report.steps)
    yield from (text for one in report.trust for text in (one.text, one.checked))
    yield from report.cautions


@cache
def corpus():
    """Every sentence of all runs once."""
    return tuple(sorted({text for run in outputs() for text in texts(run)}))


LEFT = re.compile(r"(?<=\d )(?:mm|cm|m|mm²|cm²|cm³)(?![\w²³/·])(?! layer)|°C|µm")
FACTOR = {"mm": 25.4, "µm": 25400.0, "cm²": 6.4516, "mm²": 645.16, "cm³": 16.387064, "m": 0.3048}
ONE = re.compile(r"([-+−]?\d+(?:\.\d+)?) (mm|µm|cm²|mm²|cm³|m|°C)(?![\w²³/·])(?! layer)")
TOLD = re.compile(r"([-+−]?\d+(?:\.\d+)?) (in|in²|in³|ft|°F)(?![\w²³/·])")


def test_no_sentence_of_many_runs_keeps_a_millimeter():
    """Nor degrees Celsius, square centimeters or meters of filament; and nothing else changes."""
    changed = [(text, in_inches(text)) for text in corpus() if in_inches(text) != text]

    assert len(changed) > 300
    assert [told for _, told in changed if LEFT.search(told)] == []
    assert [text for text in corpus() if ONE.search(text) and in_inches(text) == text] == []


def test_every_value_agrees_with_its_millimeters():
    """Within the last digit of the text in millimeters, read by another grammar than that."""
    n_read = 0
    for text in corpus():
        if re.search(r"\d/\d+|#\d| in\b(?<=\d in)", text):
            continue
        pairs = zip(ONE.findall(text), TOLD.findall(in_inches(text)), strict=True)
        for (mm, unit), (told, _) in pairs:
            digit = 10.0 ** -len(mm.partition(".")[2])
            if unit != "°C":
                assert float(told) * FACTOR[unit] == pytest.approx(float(mm), abs=0.51 * digit), (
                    text
                )
                n_read += 1
            elif not re.search(r"±|to about|warming", text):
                assert (float(told) - 32) / 1.8 == pytest.approx(float(mm), abs=0.51 * digit), text
                n_read += 1
    assert n_read > 300


def test_words_beside_numbers_stay():
    """But for numbers and units a sentence is the same, unless a fraction goes first."""
    plain = [text for text in corpus() if not re.search(r"\d/\d+ in|#\d", text)]

    assert len(plain) > 300
    assert [text for text in plain if skeleton(in_inches(text)) != skeleton(text)] == []


def skeleton(text):
    """A text with numbers and units of length as marks."""
    number = re.sub(r"[-+−]?\d+(?:\.\d+)?", "9", text)
    return re.sub(r"(?:\b(?:mm|cm|m|µm|in|ft)|°[CF])[²³]?(?![\w/·])", "U", number)


def test_a_column_is_told_by_its_head():
    """Bare numbers under ``Height, mm``, and cells with their unit."""
    assert column_in_inches("Height, mm", ["29.0", "-", "8 mm"]) == (
        "Height, in", ["1.142", "-", "0.31 in"],
    )  # fmt: skip
    assert column_in_inches("Filling", ["20"]) == ("Filling", ["20"])


def test_a_table_is_read_in_the_units_of_now():
    """Head, cells and note; the table itself stays as it was composed."""
    table = Table(title="Lids", header=("Lid", "Area, cm²"), rows=(("1", "12"),), note="To 2 mm.")
    with read_in(Units.INCH):
        told = table_as_read(table)
    assert (told.header, told.rows, told.note) == (
        ("Lid", "Area, in²"), (("1", "1.9"),), "To 0.08 in.",
    )  # fmt: skip
    assert table_as_read(table) is table


def test_names_that_a_person_gave_stay():
    """The subject of a finding and its place are names, what it says is not."""
    finding = Finding(
        code="low", severity=Severity.NOTE, subject="SHELF 20 mm", says="is low", measured=5.0,
        unit="mm", where_mm=(0, 0, 0), place="the A in RACK 3 mm", advice="Take 8 mm.",
    )  # fmt: skip
    told = sentence(finding, words=in_inches)
    assert told == "SHELF 20 mm: is low (0.20 in) at the A in RACK 3 mm. Take 0.31 in."


def test_units_hold_within_the_statement_only():
    """Outside of it all is in millimeters again, whatever went wrong within."""
    with read_in(Units.INCH):
        assert as_read("1 mm") == "0.04 in"
    with pytest.raises(SpecError), read_in(Units.INCH):
        Quantity("mm", "width", above=0).check("width", -1.0)
    assert units_now() is Units.MM
    assert as_read("1 mm") == "1 mm"


def test_a_scale_goes_both_ways():
    """What is plotted is told, and what is told is plotted there again."""
    with read_in(Units.INCH):
        for unit, plotted, told in (("mm", 50.8, 2.0), ("°C", 100.0, 212.0), ("cm²", 6.4516, 1.0)):
            scale = drawn_scale(unit)
            assert scale.told(plotted) == pytest.approx(told)
            assert scale.plotted(told) == pytest.approx(plotted)
    assert drawn_scale("mm").told(5.0) == 5.0


def test_a_plan_changes_its_words_and_no_line():
    """Dimensions, notes and what stands behind the title; places stay in millimeters."""
    plan = Plan(
        title="PIER 4 mm",
        about="flat strip, 3 mm PMMA",
        items=(
            Dimension(start_mm=(0, 0), end_mm=(50, 0), offset_mm=5, text="50.0"),
            Note(x_mm=1, y_mm=2, text="77.1 mm, 3 1/32 in"),
            Hole(x_mm=3, y_mm=4, diameter_mm=1, note="v1 1 mm"),
        ),
    )
    with read_in(Units.INCH):
        told = plan_as_read(plan)
    length, note, hole = told.items
    assert told.title == "PIER 4 mm: flat strip, 0.12 in PMMA"
    assert (length.text, length.end_mm) == ("1.969", (50, 0))
    assert (note.text, note.x_mm) == ("3 1/32 in, 3.035 in", 1)
    assert (hole.note, hole.diameter_mm) == ("v1 0.04 in", 1)
    assert plan_as_read(plan).title == "PIER 4 mm: flat strip, 3 mm PMMA"


def test_files_for_programs_stay_in_millimeters():
    """Meshes and findings.json are the same bytes; report, plan and directions are not."""
    strip = outputs()[3]
    formats = "stl, json, svg, html, dxf"
    plain, inch = strip.files(formats), strip.files(formats, units="inch")

    assert plain.keys() == inch.keys()
    same = {name for name in plain if plain[name] == inch[name]}
    assert "findings.json" in same
    assert {name for name in plain if name.endswith(".stl")} <= same
    drawn = next(name for name in plain if name.endswith(".svg"))
    assert re.findall(rb' d="[^"]*"', plain[drawn])[0] == re.findall(rb' d="[^"]*"', inch[drawn])[0]
    assert b"9 21/32 in (9.654 in)" in inch[drawn]
    text = next(inch[name] for name in inch if name.endswith("directions.txt")).decode()
    assert "9 21/32 in (9.654 in)" in " ".join(text.split())
    assert not LEFT.search(" ".join(text.split()))
    page = re.sub(r"<pre.*?</pre>|data:[^\"]*", "", inch["report.html"].decode(), flags=re.DOTALL)
    assert not LEFT.search(re.sub(r"<[^>]*>", " ", page))


def test_pictures_are_told_in_inches():
    """Other pictures than in millimeters, of the same names."""
    heat = outputs()[4]
    plain, inch = heat.files("png"), heat.files("png", units="inch")
    assert plain.keys() == inch.keys()
    assert all(plain[name] != inch[name] for name in plain)


@pytest.fixture
def home(monkeypatch, tmp_path):
    """An empty folder for the room, in which the commands run."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("MOLDGEN_HOME", str(tmp_path / "home"))
    return tmp_path


def test_a_command_tells_inches_on_wish(home, capsys):
    """The screen does, with a line on what stays; JSON for programs does not."""
    command = ["fixture", "spacer", "--units", "inch"]
    assert main([*command, "--formats", "stl"]) == 0
    told = capsys.readouterr().out
    assert " in\n" in told
    assert "STL, 3MF and drawings stay in millimeters" in told
    assert not LEFT.search(told)

    assert main([*command, "--formats", "stl", "--json"]) == 0
    record = json.loads(capsys.readouterr().out)
    assert " mm" in json.dumps(record["summary"])


def test_the_room_keeps_its_units(home, capsys):
    """Every command then tells inches, unless it is told otherwise; a number stays what it was."""
    assert main(["setup", "--units", "inch"]) == 0
    assert "inch" in capsys.readouterr().out

    assert main(["heat", "HIPS", "--gauge", "2"]) == 0
    assert "0.08 in" in capsys.readouterr().out
    assert main(["heat", "HIPS", "--gauge", "2", "--units", "mm"]) == 0
    assert ", 2 mm" in capsys.readouterr().out


def test_a_job_file_says_its_units(home, capsys):
    """Written where the command says them, in force when it is made, changed by what is typed."""
    assert main(["bend", "--legs", "80,60", "--angles", "90", "--units", "inch",
                 "--save-job", "rack.toml"]) == 0  # fmt: skip
    assert 'units = "inch"' in (home / "rack.toml").read_text()
    assert main(["make", "rack.toml", "--formats", "json"]) == 0
    assert "Cut length" in (told := capsys.readouterr().out)
    assert not LEFT.search(told)
    assert main(["make", "rack.toml", "--formats", "json", "--units", "mm"]) == 0
    assert LEFT.search(capsys.readouterr().out)
