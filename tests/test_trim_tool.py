"""The trim tool: every place that names one names the same, by plastic, gauge and line."""

import json
from dataclasses import replace
from functools import cache
from itertools import product
from pathlib import Path

import pytest
import shapely

from moldgen import pipeline
from moldgen.cli import main
from moldgen.export.stl import stl_bytes
from moldgen.fixture.made import Bench
from moldgen.fixture.trim_line import LineKind, LineSpec, Part, build_trim_lines, check_trim_line
from moldgen.fixture.trim_tool import Tool, is_brittle, steps_of, trim_tooling
from moldgen.job import job_from_words
from moldgen.job.fixture_words import TrimWords
from moldgen.job.names import with_names
from moldgen.job.spec import TrimShape
from moldgen.pipeline.design import design_mold
from moldgen.pipeline.trim import make_trim, trimming_of
from moldgen.pipeline.trim_fixtures import fixtures_for
from moldgen.pipeline.trim_parts import Source
from moldgen.pipeline.words import on_the_day
from moldgen.stock import Sheet, load_shop

SHOP = load_shop(user_file=None)
BENCH = Bench(station=SHOP.station("classroom-450x300"), printer=SHOP.printer("bed-220"), shop=SHOP)
CLEAT = {"name": "cleat", "outline": {"shape": "rounded-plaque", "width": 60}, "height": 6}
GAUGES_MM = (0.25, 0.5, 0.75, 1.0, 1.2, 1.5, 1.6, 1.8, 2.0, 2.5, 3.0, 3.2, 4.0, 6.0)
SAYS = {
    "a sharp knife": Tool.KNIFE,
    "Cut with snips": Tool.SNIPS,
    "Score along": Tool.SCORE,
    "fine-toothed saw": Tool.SAW,
}
"""What sentence tells of which first cut."""

JOB_FILE = """
title = "Cleat cover"
body = [
    { name = "cleat", height = 6, outline = { shape = "rounded-plaque", width = 60 } },
]
sheet = { plastic = "PMMA extruded", gauge = 1.5 }
forming = { look = "off" }
"""


def job_of(**words):
    """Return a job for a cleat's cover."""
    base = {"title": "Cleat cover", "body": [CLEAT], "forming": {"look": "off"}}
    return with_names(job_from_words(base | words))


@cache
def built(shape: TrimShape):
    """Return job, mold and setting of a cover whose plan has a line of some shape."""
    job = job_of(trim={"shape": shape.value})
    design = design_mold(job, folder=Path(), shop=SHOP, progress=lambda stage: None)
    return job, design.mold, design.setting


def report_step(shape, plastic, gauge_mm):
    """Return the step of a mold's report that tells how to trim."""
    job, mold, setting = built(shape)
    sheet = Sheet(plastic=plastic, gauge_mm=gauge_mm)
    return dict(on_the_day(job, mold, replace(setting, sheet=sheet), ()))["Trim"]


def trimming(shape, plastic, gauge_mm):
    """Return what the trim command finds out about the same mold's part."""
    _, mold, _ = built(shape)
    (plan,) = mold.plans
    part = Part(name=plan.name, foot=plan.outer.geoms[0], mesh=mold.bodies[0].mesh)
    source = Source(
        title="Cleat cover", parts=(part,), line=LineKind(shape.value),
        plastic=plastic.name, gauge_mm=gauge_mm,
    )  # fmt: skip
    return trimming_of(TrimWords(file="cleat.toml"), source, SHOP)


def tool_in(text):
    """Return the one tool for the first cut that a text names."""
    (tool,) = {tool for words, tool in SAYS.items() if words in text}
    return tool


@pytest.mark.parametrize("shape", TrimShape)
@pytest.mark.parametrize("plastic", SHOP.plastics.entries, ids=lambda plastic: plastic.name)
def test_report_and_trim_name_the_same_tool(plastic, shape):
    """For every gauge the mold's report has the very sentences that the trim command has."""
    named = set()
    for gauge_mm in GAUGES_MM:
        report = report_step(shape, plastic, gauge_mm)
        (tooling,) = trimming(shape, plastic, gauge_mm).tooling

        assert tool_in(report) is tooling.first
        for _, sentence in tooling.steps:
            assert sentence in report
        named.add(tooling.first)
    assert Tool.SAW in named
    assert len(named) >= 2


@pytest.mark.parametrize(("gauge_mm", "shape"), list(product(GAUGES_MM, TrimShape)))
def test_no_place_tells_snips_for_a_plastic_that_they_crack(gauge_mm, shape):
    """Of brittle sheet, snips are named only to say that they would crack it."""
    brittle = [plastic for plastic in SHOP.plastics.entries if is_brittle(plastic)]
    assert {"PMMA extruded", "PMMA cast"} <= {plastic.name for plastic in brittle}
    for plastic in brittle:
        report = report_step(shape, plastic, gauge_mm)

        assert "snips" not in report.lower().replace("snips would crack this plastic", "")


def test_a_step_that_can_hurt_keeps_its_caution():
    """A knife goes away from the hand, a sander turns down and wants no gloves."""
    hips = SHOP.plastic("HIPS")
    knife, saw = (report_step(TrimShape.OFFSET, hips, gauge_mm) for gauge_mm in (1.0, 3.0))

    assert "away from yourself and from the hand that holds" in knife
    assert "down-going half" in saw
    assert "No gloves" in saw
    for step in (knife, saw):
        assert "never on the bend itself" in step
        assert "common practice, no source" in step


@pytest.mark.parametrize(("plastic", "gauge_mm", "words"), [
    ("HIPS", 1.0, "draw the knife along the outer edge"),
    ("HIPS", 2.0, "cut outside the line with snips"),
    ("PMMA extruded", 1.5, "saw outside the line"),
    ("PMMA extruded", 0.5, "draw the knife along the outer edge"),
])  # fmt: skip
def test_the_template_is_used_with_the_tool_of_the_line(plastic, gauge_mm, words):
    """What is printed to trim by speaks of the tool that cuts this sheet, and of no other."""
    found = trimming(TrimShape.OFFSET, SHOP.plastic(plastic), gauge_mm)
    used, _ = fixtures_for(found, BENCH)
    (use,) = (use for use, _, fixture in used if fixture.name == "template")

    assert words in use
    assert ("knife" in use) == (found.tooling[0].first is Tool.KNIFE)


@pytest.mark.parametrize("tool", Tool)
def test_an_inside_corner_is_cut_with_the_tool_of_the_line(tool):
    """Only where snips cut the line are snips advised for its corners."""
    ell = shapely.Polygon([(0, 0), (90, 0), (90, 30), (35, 30), (35, 70), (0, 70)])
    shape = shapely.buffer(shapely.buffer(ell, 8.0, quad_segs=64), -8.0, quad_segs=64)
    (line,) = build_trim_lines(
        [Part(name="ell", foot=shape)], LineSpec(kind=LineKind.OFFSET, flange_mm=0.0)
    )
    (finding,) = check_trim_line(line, tool)

    assert ("snips" in finding.advice + finding.says) == (tool is Tool.SNIPS)


def test_parts_cut_with_two_tools_have_a_cut_for_each():
    """Every cut is told, gentlest edge work last, and no step twice."""
    acrylic = SHOP.plastic("PMMA extruded")
    score, saw = (trim_tooling(acrylic, 2.0, straight=straight) for straight in (True, False))
    steps = steps_of((score, saw, score))

    assert [label for label, _ in steps] == [
        "Cut: score and snap", "Cut: saw", "Sand", "Burr", "Deburr",
    ]  # fmt: skip
    assert steps_of((saw, saw)) == saw.steps


def page_of(made):
    return made.files["report.html"].decode()


def test_commands_agree_about_a_sheet_of_extruded_acrylic(tmp_path, monkeypatch, capsys):
    """Reports of make and adapt, and the trim command, all say saw, and none to use snips."""
    monkeypatch.chdir(tmp_path)
    sheet = {"plastic": "PMMA extruded", "gauge": 1.5}
    job = job_of(sheet=sheet, output={"formats": ["html"]})
    Path("cleat.toml").write_text(JOB_FILE)
    made = pipeline.make(job, folder=Path(), shop=SHOP, progress=lambda stage: None)
    Path("cleat.stl").write_bytes(stl_bytes([built(TrimShape.OFFSET)[1].bodies[0].mesh], title=""))
    typed = ["--plastic", "PMMA extruded", "--gauge", "1.5", "--cell", "0.5", "--formats", "html"]
    main(["adapt", "cleat.stl", *typed, "--out", "adapted"])
    adapted = Path("adapted/report.html").read_text(encoding="utf-8")
    trimmed = make_trim(
        TrimWords(file="cleat.toml", formats=("html",)), shop=SHOP, progress=lambda stage: None
    )
    cut = "Saw outside the line with a fine-toothed saw"

    for page in (page_of(made), adapted, page_of(trimmed)):
        assert cut in page
        assert "Snips would crack this plastic" in page
        assert "a sharp knife" not in page
    assert dict(trimmed.summary)["Cut with"].startswith("saw")
    assert trimmed.numbers["tools"] == ["saw"]


def test_trim_follows_the_line_of_the_plan_unless_told(tmp_path, monkeypatch, capsys):
    """A job whose plan has a straight line is trimmed along a straight one, and scored."""
    monkeypatch.chdir(tmp_path)
    Path("cleat.toml").write_text(JOB_FILE + "trim = { shape = 'straight' }\n")
    tools = []
    for typed in ([], ["--line", "offset"]):
        assert main(["trim", "cleat.toml", *typed, "--formats", "json", "--json"]) == 0
        tools.append(json.loads(capsys.readouterr().out)["numbers"]["tools"])

    assert tools == [["score and snap"], ["saw"]]
    step = report_step(TrimShape.STRAIGHT, SHOP.plastic("PMMA extruded"), 1.5)
    assert tool_in(step) is Tool.SCORE
