"""One sheet on one table has one heating time and one cooling time, whoever is asked."""

import json
from pathlib import Path

import pytest
from support.days import SHOP, job_of, mold_of

import moldgen as mg
from moldgen.cli.app import main
from moldgen.pipeline.mold.make import make
from moldgen.wording import band_text

SAME = ("heat_s", "heat_band_s", "forming_window_s", "cool_s", "cool_band_s", "cool_warm_s",
        "cool_thinnest_s", "lower_heat_s", "lower_heat_power")  # fmt: skip
SHEETS = {"usual": 1.5, "thick": 4.0}


@pytest.fixture(scope="module", params=list(SHEETS.values()), ids=list(SHEETS))
def asked(request):
    """Return what make tells of a mold, and the words that ask the heat command the same."""
    sheet = {"plastic": "HIPS", "gauge": request.param}
    words = {"sheet": sheet, "output": {"formats": ["html", "json"]}}
    made = make(job_of(**words), folder=Path(), shop=SHOP, progress=lambda stage: None)
    _, mold, setting = mold_of(json.dumps({"sheet": sheet}))
    thinnest = min(draw.mean_thickness_mm for draw in mold.checked.draws) / request.param
    return made, {
        "gauge_mm": request.param,
        "machine": setting.machine.name,
        "filament": setting.filament.name,
        "height_mm": mold.height_mm,
        "thinnest": thinnest,
    }


@pytest.fixture
def elsewhere(monkeypatch, tmp_path):
    """Work in an empty folder, without anybody's own stock."""
    monkeypatch.chdir(tmp_path)


def known(numbers):
    """Return those of a run's times that are known, ends of bands apart."""
    flat = {}
    for name in SAME:
        value = numbers[name]
        ends = value if isinstance(value, list) else [value]
        flat |= {f"{name} {n}" if n else name: end for n, end in enumerate(ends)}
    return {name: value for name, value in flat.items() if value is not None}


def by_command(capsys, words):
    """Return the numbers of the heat command."""
    options = [f"--{name.removesuffix('_mm').replace('_', '-')}={value}"
               for name, value in words.items()]  # fmt: skip
    assert main(["heat", "HIPS", *options, "--json"]) in (0, 1)
    return json.loads(capsys.readouterr().out)["numbers"]


def test_make_heat_and_python_tell_the_same_times(asked, elsewhere, capsys):
    """Every heating and cooling number of make, of the heat command and of Python is the same."""
    made, words = asked
    command = by_command(capsys, words)
    python = mg.heat("HIPS", **words).numbers
    written = json.loads(made.files["findings.json"])["numbers"]

    wanted = known(made.numbers)
    assert known(command) == pytest.approx(wanted, rel=1e-6)
    assert known(python) == pytest.approx(wanted, rel=1e-6)
    assert known(written) == pytest.approx(wanted, rel=1e-3)
    assert {"cool_s", "cool_band_s 1", "cool_warm_s"} <= wanted.keys()
    assert made.numbers["cool_thinnest_s"] < 0.9 * made.numbers["cool_s"]
    other = by_command(capsys, words | {"gauge_mm": 1.2 * words["gauge_mm"]})
    assert other["cool_s"] != pytest.approx(made.numbers["cool_s"], rel=0.05)


def test_screen_report_and_steps_say_the_same_cooling_time(asked, elsewhere):
    """Summary, report and the heat command's rows round one number in one way."""
    made, words = asked
    told = band_text(made.numbers["cool_s"], *made.numbers["cool_band_s"])
    rows = dict(mg.heat("HIPS", **words).summary)

    assert dict(made.summary)["Heat and cool"].endswith(f"cool {told}")
    assert rows["Cool for"].startswith(f"{told}, with a fan")
    page = made.files["report.html"].decode()
    assert f"Keep the vacuum {told} on a cold mold" in page
    heat_page = mg.heat("HIPS", **words).files("html")["report.html"].decode()
    assert f"Keep the vacuum {told} on a cold mold" in heat_page


def test_no_time_is_told_where_none_is_right(asked, elsewhere):
    """4 mm at full heat: no seconds in numbers or rows, the lower setting in their place."""
    made, words = asked
    numbers, row = made.numbers, dict(made.summary)["Heat and cool"]
    heating = dict(mg.heat("HIPS", **words).summary)["Heat for"]

    if words["gauge_mm"] < 3:
        assert row.startswith(band_text(numbers["heat_s"], *numbers["heat_band_s"]))
        assert heating == band_text(numbers["heat_s"], *numbers["heat_band_s"])
        assert numbers["lower_heat_s"] is None
    else:
        assert (numbers["heat_s"], numbers["heat_band_s"]) == (None, None)
        percent = f"{100 * numbers['lower_heat_power']:.0f} %"
        assert row.startswith("no forming window at full heat; 5 min")
        assert heating.startswith("no time is right at this heat; at about ")
        assert percent in row
        assert "face-too-hot" in {finding.code for finding in made.findings}
