"""Results: figures and solids at hand, files as the command line writes them."""

import json
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from matplotlib.figure import Figure

import moldgen as mg
from moldgen.cli.app import main
from moldgen.finding import sentence
from moldgen.pipeline.output import Output


@cache
def sign() -> mg.MoldResult:
    """A small sign, made once."""
    return mg.make(mg.sign("PIER", letter_height=20, gauge="1 mm"))


@cache
def strip() -> mg.StripResult:
    """A small strip, made once."""
    return mg.make(mg.strip(legs=[60, 80], angles=[90]))


def test_a_mold_is_at_hand():
    """Bodies, mesh, foot, figures and findings are there without a file being made."""
    mold = sign()

    assert mold.bodies[0].mesh.points_mm.dtype == np.float64
    assert mold.mesh is mold.mesh
    assert mold.mesh.volume_mm3 == pytest.approx(mold.numbers["volume_mm3"])
    x0, _, x1, _ = mold.foot.bounds
    assert x1 - x0 == pytest.approx(mold.numbers["width_mm"], abs=0.01)
    assert mold.design.setting.sheet.gauge_mm == 1
    assert mold.day is not None
    assert mold.formed is None
    assert ("Mold" in dict(mold.summary)) or len(mold.summary) > 3


def test_findings_print_as_their_sentences():
    """A finding turned into text is its sentence."""
    deep = mg.make(mg.sign("PIER", letter_height=20, gauge="1 mm", relief=9))
    assert deep.findings
    assert [str(one) for one in deep.findings] == [sentence(one) for one in deep.findings]
    assert deep.worst is max(
        (one.severity for one in deep.findings),
        key=[mg.Severity.NOTE, mg.Severity.CAUTION, mg.Severity.STOP].index,
    )


def test_files_are_those_of_the_command_line(tmp_path):
    """Every format gives the same names and bytes as the command of the same words."""
    words = "sign PIER --letter-height 20 --gauge 1mm --quiet --out"
    assert main([*words.split(), str(tmp_path)]) == 0

    typed = {path.name: path.read_bytes() for path in tmp_path.glob("[!.]*")}
    assert len(typed) >= 9
    assert sign().files() == typed


def test_only_what_is_asked_for_is_drawn(monkeypatch):
    """No picture is taken for a mesh, and formats may be told in any way."""
    monkeypatch.setattr(
        "moldgen.pipeline.mold.files.mold_pictures", lambda *a: pytest.fail("a picture was taken")
    )

    assert list(sign().files("stl")) == ["pier.stl"]
    assert list(sign().files("STL, 3mf")) == list(sign().files([mg.Format.STL, "3mf"]))


def test_files_are_written_together(tmp_path):
    """The paths written are told, and they hold what was made."""
    paths = sign().write(tmp_path / "new" / "pier", formats=["stl", "json"])

    assert [path.name for path in paths] == ["pier.stl", "findings.json"]
    assert all(path.read_bytes() for path in paths)
    told = json.loads(paths[1].read_text(encoding="utf-8"))
    assert [one["sentence"] for one in told["findings"]] == [str(f) for f in sign().findings]


@pytest.mark.parametrize(
    ("given", "sentence"),
    [
        ({"formats": "stp"}, "formats must be stl, 3mf, glb, svg, dxf, pdf, png, html or json"),
        ({"paper": "A5"}, "paper must be A4 or Letter (got 'A5')"),
    ],
)
def test_wrong_formats_write_nothing(tmp_path, given, sentence):
    """A wrong word is one sentence, and the folder is not made."""
    with pytest.raises(mg.SpecError) as told:
        sign().write(tmp_path / "pier", **given)

    assert str(told.value).startswith(sentence)
    assert not (tmp_path / "pier").exists()


def test_paper_is_chosen_when_files_are_made():
    """The plan to print differs with the paper, the mesh does not."""
    a4, letter = (sign().files("pdf, stl", paper=paper) for paper in ("A4", "letter"))

    assert a4["pier.stl"] == letter["pier.stl"]
    assert a4["pier-plan.pdf"] != letter["pier-plan.pdf"]


def test_a_forming_run_gives_a_new_result():
    """The mold formed is that of the job that asks for the run; the first is as it was."""
    formed = sign().form("preview")
    asked = mg.make(mg.sign("PIER", letter_height=20, gauge="1 mm", forming="preview"))

    assert sign().formed is None
    assert formed.formed is not None
    assert formed.numbers == asked.numbers
    assert formed.form_again is sign().form_again


def test_a_forming_run_has_two_qualities():
    """Another word, and none at all, is refused."""
    for word in ("off", "best"):
        with pytest.raises(mg.SpecError, match="quality must be preview or fine"):
            sign().form(word)


def test_stages_are_told_in_order():
    """Progress hears of each stage of the work, and of none of writing."""
    heard = []
    mg.make(mg.sign("A", date="told"), progress=heard.append)

    assert [stage.done for stage in heard] == sorted(stage.done for stage in heard)
    assert [stage.number for stage in heard] == [1, 2, 3, 4]
    assert {stage.of for stage in heard} == {6}


def test_a_result_shows_itself_in_a_notebook():
    """Picture, summary and findings in one piece that asks nothing of the network."""
    shown = sign()._repr_html_()

    assert shown.count("data:image/png;base64,") == 1
    assert "http" not in shown
    assert all(one.says.split()[0] in shown for one in sign().findings)
    assert shown.startswith("<div>")
    assert repr(sign()).startswith("<MoldResult 'PIER': 1 body, ")


def test_what_is_shown_is_escaped():
    """A title with marks of HTML in it stays text."""
    heated = mg.heat("HIPS", formats="json")
    told = mg.RunResult(
        output=Output(
            told=type(heated.output.told)(title="<b>", summary=(("<i>", "&"),), findings=()),
            bodies=(), files=lambda paper: (), pictures=tuple,
            report=lambda: pytest.fail("no report"), formats=(),
        )
    )  # fmt: skip

    assert "<b>" not in told._repr_html_()
    assert "<th>&lt;i&gt;</th><td>&amp;</td>" in told._repr_html_()


@pytest.mark.parametrize("make", [sign, strip])
def test_a_plan_is_drawn_on_given_axes(make):
    """Lines lie where the foot or the strip lies, to scale, each kind once in the legend."""
    axes = Figure().subplots()
    make().plot(axes)

    labels = axes.get_legend_handles_labels()[1]
    assert len(axes.lines) > 5
    assert len(labels) == len(set(labels)) > 2
    assert axes.get_aspect() == 1
    assert "mm" in axes.get_xlabel()


def test_the_foot_is_drawn_where_it_stands():
    """The line of the foot on the axes has its bounds."""
    axes = Figure().subplots()
    sign().plot(axes)
    (foot,) = [one for one in axes.lines if str(one.get_label()).startswith("foot")]

    x0, y0, x1, y1 = sign().foot.bounds
    x, y = np.asarray(foot.get_xdata()), np.asarray(foot.get_ydata())
    assert (x.min(), y.min(), x.max(), y.max()) == pytest.approx((x0, y0, x1, y1))


def test_a_strip_is_at_hand(tmp_path):
    """A bent strip and its jigs are bodies, its files those of the command line."""
    out = ["--quiet", "--out", str(tmp_path)]
    assert main(["bend", "--legs", "60,80", "--angles", "90", *out]) == 0

    assert strip().strip.body is strip().bodies[0]
    assert len(strip().bodies) > 1
    assert strip().job.strip.legs_mm == (60, 80)
    typed = {path.name: path.read_bytes() for path in Path(tmp_path).glob("[!.]*")}
    assert strip().files() == typed


def test_a_part_from_elsewhere_is_checked(tmp_path):
    """A mold that was written is read, checked, measured, adapted by the same names."""
    (path,) = sign().write(tmp_path, "stl")
    check = mg.check(path, gauge="1 mm")
    measured = mg.measure(path)

    assert check.mesh.volume_mm3 == pytest.approx(sign().mesh.volume_mm3, rel=1e-6)
    assert "findings.json" in check.files("json")
    assert measured.numbers["volume_mm3"] == pytest.approx(sign().mesh.volume_mm3, rel=1e-6)


def test_a_check_writes_what_the_command_writes(tmp_path):
    """Findings of a check are the same from a program and from the command line."""
    (path,) = sign().write(tmp_path, "stl")
    out = tmp_path / "out"
    words = ["check", str(path), "--formats", "json,svg", "--quiet", "--out", str(out)]
    main(words)

    typed = {one.name: one.read_bytes() for one in out.glob("[!.]*")}
    assert len(typed) == 2
    assert mg.check(path).files("json, svg") == typed


def test_a_fixture_has_bodies():
    """A fixture is made by name, and its pieces are there."""
    plug = mg.make_fixture("plug")

    assert plug.bodies
    assert any(name.endswith(".3mf") for name in plug.files("3mf"))
    with pytest.raises(mg.SpecError, match="Did you mean plug"):
        mg.make_fixture("plugg")


def test_times_of_a_sheet_have_no_solid():
    """Heating has figures and no bodies; asking for a mesh is one sentence."""
    heated = mg.heat("HIPS", gauge="1 mm")

    assert heated.bodies == ()
    assert "findings.json" in heated.files("json")
    with pytest.raises(mg.GeometryError, match="has no solid"):
        heated.mesh  # noqa: B018
