"""What could hurt somebody is said alike everywhere: times, signs, acrylic, no window."""

import json
import re

import pytest

import moldgen as mg
from moldgen.export.mesh.stl import stl_bytes
from moldgen.export.report.cautions import cautions
from moldgen.job.command.heat import HeatCommand
from moldgen.pipeline.heat.files import steps_of
from moldgen.pipeline.heat.rows import summary_of, timing_text, window_text
from moldgen.pipeline.heat.work import heat_work
from moldgen.stock import Sheet, load_shop
from moldgen.table.heat_up import heat_up
from moldgen.table.ready_signs import STICK

SHOP = load_shop(user_file=None)
MACHINE = SHOP.machine("classroom-450x300")
SHEETS = [
    Sheet(plastic=plastic, gauge_mm=gauge_mm)
    for plastic in SHOP.plastics.entries
    for gauge_mm in sorted({gauge.gauge_mm for gauge in SHOP.gauges_for(plastic.name)})
]
WAYS_OUT = ("turn the heat down", "turn the sheet over", "both sides", "thinner sheet")
"""What is told where no time is right."""


def seconds(words):
    """Return a told time in seconds, such as of ``1 min 20 s``."""
    found = re.fullmatch(r"(?:(\d+) min)? ?(?:(\d+) s)?", words)
    return 60 * int(found[1] or 0) + int(found[2] or 0)


def test_nobody_is_told_to_look_later_than_it_may_be_ready():
    """For every sheet of the stock, watching begins no later than the earliest time told."""
    watched = 0
    for sheet in SHEETS:
        heated = heat_up(sheet, MACHINE)
        text = timing_text(heated)
        assert text.endswith("Never leave it.")
        if heated.usable.forming_s is None:
            assert "Watch" not in text
            continue
        (told,) = re.findall(r"Watch it from (.*?) on\.", text)
        assert 1 <= seconds(told) <= max(1.0, heated.usable.band_s[0])
        watched += 1
    assert watched > 40


@pytest.mark.parametrize("gauge_mm", [4.0, 6.0])
def test_where_no_time_is_right_the_way_out_is_told_in_its_place(gauge_mm):
    """Rows, steps and numbers have no time at this heat, and the finding says what to do."""
    work = heat_work(HeatCommand(plastic="HIPS", gauge_mm=gauge_mm), SHOP, others=False)
    result = mg.heat("HIPS", gauge_mm=gauge_mm)
    rows, (finding,) = dict(result.summary), [
        one for one in result.findings if one.code == "face-too-hot"
    ]  # fmt: skip
    written = json.loads(result.files("json")["findings.json"])["numbers"]

    assert work.heated.forming_s is None
    assert rows["Heat for"].startswith("no time is right at this heat")
    assert window_text(work.heated).startswith("none")
    assert not re.search(r"\d", window_text(work.heated))
    assert dict(steps_of(work))["Heat"].startswith("No time is right at this heat")
    assert written["heat_s"] is written["heat_band_s"] is None
    assert sum(way in finding.advice.lower() for way in WAYS_OUT) >= 3
    if work.heated.lower is None:
        assert not {"When formed", "Toward the clamp"} & rows.keys()


def test_acrylic_to_form_is_extruded_and_to_bend_is_cast(tmp_path):
    """Every command that forms takes the one, the strip heater the other."""
    fish = mg.drawing(shape="fish", width=60, height=5, plastic="acrylic")
    made = mg.design(fish)
    stl = tmp_path / "fish.stl"
    stl.write_bytes(stl_bytes([made.raw.meshes[0]], title="fish"))
    jobs = (
        mg.sign("PIER", plastic="acrylic"), mg.tray(90, 60, 10, plastic="acrylic"), fish,
    )  # fmt: skip
    formed = [mg.design(job).setting.sheet.plastic.name for job in jobs]
    told = [
        dict(one.summary)["Sheet"]
        for one in (
            mg.heat("acrylic"),
            mg.check(stl, plastic="acrylic"),
            mg.adapt(stl, plastic="acrylic"),
        )
    ]
    bent = mg.make(mg.strip(angles="90", legs="60, 60", plastic="acrylic"))

    assert formed == ["PMMA extruded"] * 3
    assert [one.startswith("Acrylic, extruded") for one in told] == [True] * 3
    assert dict(bent.summary)["Strip"].startswith("Acrylic, cast")


@pytest.mark.parametrize("plastic", SHOP.plastics.entries, ids=lambda plastic: plastic.name)
def test_signs_are_those_of_the_stock_in_every_place(plastic):
    """The row of the heat command and the step of its report have the entry's own words."""
    work = heat_work(HeatCommand(plastic=plastic.name, gauge_mm=1.0), SHOP, others=False)
    rows, steps = dict(summary_of(work)), dict(steps_of(work))

    assert rows["Ready when"].startswith(plastic.ready)
    assert rows["Too hot when"] == plastic.too_hot
    assert steps["Ready"].startswith(f"It is ready when {plastic.ready}. {STICK}")
    assert plastic.caution in steps["Heat"]
    assert ("Sticking" in rows) == (plastic.name in {"PETG", "APET"})


def test_directions_of_a_mold_say_each_caution_once():
    """Stick, heater, PVC, holding hand, chips and dust stand in the report, each one time."""
    text = " ".join(cautions())
    for words in (
        "never with a finger", "Never leave a heater", "PVC gives off", "hand that holds. Close",
        "Brittle sheet", "Dust of acrylic and polycarbonate", "Local rules come first", "Supervise",
        "ABS, polystyrene and acrylic",
    ):  # fmt: skip
        assert text.count(words) == 1, words
