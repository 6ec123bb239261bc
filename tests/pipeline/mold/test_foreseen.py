"""A deep mold is followed by a quick forming run that nobody asks for, and is left as it is."""

from dataclasses import replace
from functools import cache

import pytest

import moldgen as mg
from moldgen.export.mesh.stl import stl_bytes
from moldgen.finding import Remedy
from moldgen.job import FormingLook, JobForming, load_job
from moldgen.pipeline.mold import forming
from moldgen.pipeline.mold.cured import cured_jobs
from moldgen.stock import load_shop

SHOP = load_shop(user_file=None)


def tray(**words):
    """Return a bait tray of 90 mm by 70 mm, 30 mm deep, of 1 mm HIPS."""
    said = {"gauge_mm": 1.0} | words
    return mg.tray(90, 70, said.pop("depth_mm", 30), **said)


@cache
def made(look="auto", least_mm=None):
    """Return the mold of the tray, followed as closely as that."""
    job = tray()
    asked = JobForming(look=FormingLook(look), least_mm=least_mm)
    return mg.design(replace(job, forming=asked), quality="final")


def told(findings, code="formed-thin"):
    return [one for one in findings if one.code == code]


@pytest.fixture
def no_run(monkeypatch):
    """Let every forming run fail."""

    def run(*args, **words):
        raise AssertionError("a forming run")

    monkeypatch.setattr(forming, "run_forming", run)


def test_a_deep_tray_is_told_where_it_is_thin():
    """Unasked, corners under a quarter of the gauge are a caution with a cure."""
    (thin,) = told(made().mold.findings)

    assert thin.measured == made().mold.foreseen.thinnest.thin_mm < thin.limit == 0.25
    assert thin.subject == "recess"
    (cure,) = thin.cures
    assert (cure.field, cure.least < 30) == (Remedy.HEIGHT, True)


def test_the_cure_that_is_told_cures():
    """A tray as shallow as the finding says is told of nothing thin, and is still a tray."""
    (thin,) = told(made().mold.findings)
    ((job, change),) = cured_jobs(made().request, thin, thin.cures[0], shop=SHOP)
    cured = mg.design(job, quality="final").mold

    assert change.name == "recess.height"
    assert thin.cures[0].least > 15
    assert told(cured.findings) == []


def test_a_thickness_that_is_wanted_takes_the_place_of_the_share():
    """0.1 mm is there; of 0.5 mm the finding says which sheet would leave it."""
    (thin,) = told(made(least_mm=0.5).mold.findings)
    gauge = next(cure.least for cure in thin.cures if cure.field is Remedy.GAUGE)

    assert told(made(least_mm=0.1).mold.findings) == []
    assert thin.limit == 0.5
    assert gauge == pytest.approx(0.5 / made().mold.foreseen.thin_share)


def test_the_quick_run_changes_nothing_of_the_mold():
    """Solids, vents and day are those of a tray that is not followed; it is no asked-for run."""
    quick, off = made(), made("off")

    assert off.mold.foreseen is None
    assert told(off.mold.findings) == []
    assert quick.formed is None
    assert quick.mold.vents == off.mold.vents
    assert quick.day.cool_s == off.day.cool_s
    one, other = (
        [stl_bytes([body.mesh], title="tray") for body in design.mold.bodies]
        for design in (quick, off)
    )
    assert one == other


def test_an_asked_for_run_takes_its_place():
    """A preview that is asked for is the only run, and tells the same thickness."""
    asked = made("preview").mold

    assert asked.foreseen is None
    assert asked.formed.thinnest.thin_mm == made().mold.foreseen.thinnest.thin_mm


@pytest.mark.usefixtures("no_run")
@pytest.mark.parametrize(
    "job",
    [mg.sign("PIER 4"), mg.tray(150, 110, 9), tray(forming="off"), mg.drawing(shape="dinosaur")],
    ids=["sign", "shallow tray", "off", "drawing"],
)
def test_nothing_is_followed_that_is_shallow_or_off(job):
    """No run, for no mold that is shallow, and for none that says off."""
    assert mg.design(job).mold.foreseen is None


def test_a_mold_that_does_not_fit_its_clamp_is_made_all_the_same():
    """The check of sizes tells it; the quick run is left out."""
    mold = mg.design(mg.tray(230, 200, 86, machine="bench-250x250")).mold

    assert mold.foreseen is None
    assert "opening-small" in {one.code for one in mold.findings}


def test_screen_and_report_say_that_it_was_run_and_why():
    """One row of the summary says so, the report has the tables of thickness."""
    result = mg.make(tray())
    row = dict(result.summary)["Formed sheet"]
    thinnest = result.mold.foreseen.thinnest

    assert row.startswith(f"{thinnest.thin_mm:.2f} ± ")
    assert "a quick run, made by itself since recess is drawn 2.2 times" in row
    assert result.numbers["formed_thin_mm"] == thinnest.thin_mm
    assert result.formed is None
    page = result.files("html")["report.html"].decode()
    assert "Thickness of the formed sheet" in page
    assert "the formed sheet is thin here" in page


def test_a_tray_that_is_brought_is_told_the_same(tmp_path):
    """Check and adapt follow a deep shape too, unless they are told not to."""
    stl = tmp_path / "tray.stl"
    stl.write_bytes(stl_bytes([made().raw.meshes[0]], title="tray"))
    checked, adapted = (call(stl, gauge="1 mm") for call in (mg.check, mg.adapt))
    wanted_mm = made().mold.foreseen.thinnest.thin_mm

    for brought in (checked, adapted):
        (thin,) = told(brought.findings)
        assert thin.measured == pytest.approx(wanted_mm, abs=0.04)
        assert "made by itself" in dict(brought.summary)["Formed sheet"]
    for call in (mg.check, mg.adapt):
        off = call(stl, gauge="1 mm", forming="off")
        assert told(off.findings) == []
        assert dict(off.summary)["Formed sheet"].startswith("not followed")


def test_a_job_file_that_says_off_stays_off(tmp_path):
    """What is written in the job is kept; without a word it is auto."""
    body = 'name = "a"\nheight = 5\noutline = { shape = "fish", width = 60 }\n'
    text = f'title = "Tray"\n[[body]]\n{body}'
    (tmp_path / "a.toml").write_text(text)
    (tmp_path / "b.toml").write_text(f'{text}[forming]\nlook = "off"\n')

    assert load_job(tmp_path / "a.toml").forming.look is FormingLook.AUTO
    assert load_job(tmp_path / "b.toml").forming.look is FormingLook.OFF
