"""What the log corrects is told alike everywhere, beside what is computed; solids stay as they are.

One mold, made with a log of every kind of note and without.
"""

from __future__ import annotations

import json
from dataclasses import replace
from math import hypot
from pathlib import Path
from typing import Any

import pytest

import moldgen as mg
from moldgen.job.command.chart import ChartCommand
from moldgen.job.command.heat import HeatCommand
from moldgen.job.formats import Format
from moldgen.lesson.class_work.build import built_of, order_for
from moldgen.lesson.log.job_facts import facts_of_numbers
from moldgen.lesson.log.learn import experience_of
from moldgen.lesson.log.shot_note import CaliperReading, ShotNote
from moldgen.memo import Memo
from moldgen.pipeline.heat.chart import chart_work
from moldgen.pipeline.heat.chart_files import wall_chart
from moldgen.pipeline.heat.files import steps_of
from moldgen.pipeline.heat.make import heat_sheet
from moldgen.pipeline.heat.work import heat_work
from moldgen.pipeline.mold import forming_pictures as maps
from moldgen.pipeline.mold.card import job_card
from moldgen.pipeline.mold.forming_tables import forming_tables
from moldgen.pipeline.mold.make import work_out
from moldgen.pipeline.mold.plan import drill_list
from moldgen.pipeline.stage import quiet
from moldgen.pool.piece import answer_of, carry_out
from moldgen.printing.estimate import spoken_time
from moldgen.stock import load_shop
from moldgen.wording import band_text, clock_text, span_s, span_text

SHOP = load_shop(user_file=None)
TABLE = "classroom-450x300"
N = 5
THIN = CaliperReading(place="thinnest", thickness_mm=0.8, computed_mm=1.0)
NOTES = [
    ShotNote(
        noted=f"2026-03-{day:02d}T10:20", job=f"PIER {day}", machine=TABLE, plastic="HIPS",
        thickness_mm=2.0, cycle=12, mold_ended=True, filament="PETG", cooled_s=40.0,
        told_cool_s=30.0, printed_h=5.0, told_print_h=4.0, readings=(THIN,),
    )
    for day in range(1, N + 1)
]  # fmt: skip
NOTED = replace(SHOP, experience=experience_of(NOTES, SHOP))
KNOWN = NOTED.experience.of(TABLE)
WANTED_MM = 1.8
PNG = b"\x89PNG\r\n\x1a\n"
JOB = mg.drawing(
    shape="anchor", width=60, height=8, gauge="2 mm", filament="PETG", forming="preview",
    least=f"{WANTED_MM} mm",
)  # fmt: skip


class Told:
    """A mold as it is made, with all that is told of it."""

    def __init__(self, shop, memo):
        self.work = work_out(JOB, folder=Path(), shop=shop, memo=memo, progress=quiet)
        self.files = self.work.output.render([Format.STL, Format.JSON]).files
        self.numbers = json.loads(self.files["findings.json"])["numbers"]
        self.rows = dict(self.work.output.told.summary)
        self.page = repr(replace(self.work.output.report(), pictures=()))
        design, mold = self.work.design, self.work.mold
        card = job_card(design.request, mold, design.setting, drilling=drill_list(mold),
                        day=self.work.day)  # fmt: skip
        self.steps = {step.name: step for step in card.steps}


@pytest.fixture(scope="module")
def both():
    """Return the mold without a log and with one; what is computed for both is computed once."""
    memo = Memo(2**28)
    return Told(SHOP, memo), Told(NOTED, memo)


def test_the_solid_is_the_same(both):
    """Not a byte of the mold that is printed depends on these notes, nor does its air."""
    plain, noted = both
    (name,) = [one for one in plain.files if one.endswith(".stl")]

    assert plain.files[name] == noted.files[name]
    assert plain.work.design.air is noted.work.design.air
    assert plain.work.day.thinnest == noted.work.day.thinnest


def test_without_a_log_nothing_of_it_is_told(both):
    """No number and no row of a log where there is none."""
    plain, noted = both
    more = {"cool_computed_s", "cool_notes", "cycles_stood", "formed_thin_computed_mm"}

    assert more <= set(noted.numbers)
    assert more.isdisjoint(plain.numbers)
    assert set(plain.numbers["print"]) < set(noted.numbers["print"])
    assert "Mold life by the log" not in plain.rows
    assert "of this table" not in plain.page


def test_cooling_is_told_alike(both):
    """Card, summary, report, findings.json tell the corrected time and how many notes it is by."""
    plain, noted = both
    computed_s = plain.work.day.cool_s
    cooled = noted.work.day.thickest
    told = band_text(cooled.stiff_s, *cooled.band_s)

    assert cooled.stiff_s == pytest.approx(KNOWN.cooling.value * computed_s)
    assert KNOWN.cooling.value > 1.2
    assert noted.numbers["cool_s"] == pytest.approx(cooled.stiff_s, rel=1e-3)
    assert noted.numbers["cool_band_s"] == pytest.approx(list(cooled.band_s), rel=1e-3)
    assert noted.numbers["cool_computed_s"] == pytest.approx(computed_s, rel=1e-3)
    assert noted.numbers["cool_notes"] == N
    assert noted.numbers["cool_warm_s"] == pytest.approx(
        KNOWN.cooling.value * plain.numbers["cool_warm_s"], rel=1e-3
    )
    assert noted.steps["Cool"].value == span_text(cooled.stiff_s, *cooled.band_s)
    rests = f"By {N} notes of this table; computed: {clock_text(computed_s)}."
    assert noted.steps["Cool"].words.endswith(rests)
    assert noted.rows["Heat and cool"].endswith(f"cool {told}, {N} notes of this table")
    assert (
        f"Keep the vacuum {told} by {N} notes of this table, computed {clock_text(computed_s)}, "
        "on a cold mold"
    ) in noted.page


def test_heat_chart_and_class_tell_the_factor_of_the_mold():
    """The heat command, its steps and the wall chart go by the same notes, and say so."""
    words: dict[str, Any] = {"plastic": "HIPS", "gauge_mm": 2.0}
    plain, noted = (heat_work(HeatCommand(**words), shop) for shop in (SHOP, NOTED))
    rows = dict(heat_sheet(HeatCommand(**words), shop=NOTED, with_files=False).summary)
    chart = chart_work(ChartCommand(sheets=("HIPS 2",)), NOTED)

    for name in ("whole", "blown"):
        assert getattr(noted, name).stiff_s == pytest.approx(
            KNOWN.cooling.value * getattr(plain, name).stiff_s
        )
    assert noted.thinnest == plain.thinnest
    told = band_text(noted.whole.stiff_s, *noted.whole.band_s)
    assert rows["Cool for"].startswith(f"{told}, with a fan")
    assert rows["Cooling by the log"] == (
        f"{KNOWN.cooling.value:.2f} times the computed {clock_text(plain.whole.stiff_s)}, by {N} "
        "notes of this table"
    )
    assert f"{told} by {N} notes of this table" in dict(steps_of(noted))["Cool"]
    assert chart.times["HIPS", 2.0].cool_band_s == span_s(noted.whole.stiff_s, *noted.whole.band_s)
    assert any(f"Cooling by {N} notes of this table." in part for part in wall_chart(chart).foot)


def test_print_time_is_told_alike(both):
    """Summary, report and findings.json tell the corrected hours beside the estimate."""
    plain, noted = both
    time_s = KNOWN.printing.value * plain.numbers["print"]["time_s"]
    estimated = spoken_time(plain.numbers["print"]["time_s"])

    assert KNOWN.printing.value > 1.15
    assert noted.numbers["print"]["time_s"] == pytest.approx(time_s, rel=1e-3)
    assert noted.numbers["print"]["computed_time_s"] == plain.numbers["print"]["time_s"]
    assert noted.numbers["print"]["mass_g"] == plain.numbers["print"]["mass_g"]
    assert (
        f"{spoken_time(time_s)} (by {N} notes of the log; estimated: {estimated})"
        in (noted.rows["Print"])
    )
    assert f"by {N} notes of the log" in noted.page
    assert spoken_time(time_s) in noted.page


def test_the_thinnest_place_is_told_alike(both, monkeypatch):
    """Finding, numbers, summary, both tables and the map's mark tell the corrected thickness."""
    plain, noted = both
    formed, drawn = noted.work.mold.formed, []

    def draw(shown):
        drawn.append(shown)
        return PNG

    monkeypatch.setattr(maps, "sheet_map_png", draw)
    told, run = formed.thinnest, plain.work.mold.formed.thinnest
    computed_mm, factor = run.thin_mm, KNOWN.thickness
    (finding,) = [one for one in noted.work.mold.findings if one.code == "formed-thin"]
    features, gauges = forming_tables(formed, SHOP.gauges_for("HIPS"), WANTED_MM)
    maps.forming_pictures(formed, noted.work.design.trim_line, "anchor")

    assert told.thin_mm == pytest.approx(KNOWN.thickness.value * computed_mm)
    assert told.least_mm == pytest.approx(factor.value * run.least_mm)
    open_mm = (factor.high - factor.low) / 2 * computed_mm
    assert told.thin_doubt_mm == pytest.approx(hypot(factor.value * run.thin_doubt_mm, open_mm))
    assert finding.measured == told.thin_mm
    assert f"by {N} notes of this table" in finding.says
    assert noted.numbers["formed_thin_mm"] == pytest.approx(told.thin_mm, rel=1e-3)
    assert noted.numbers["formed_thin_computed_mm"] == plain.numbers["formed_thin_mm"]
    assert noted.rows["Formed sheet"].startswith(
        f"{told.thin_mm:.2f} ± {told.thin_doubt_mm:.2f} mm where it is thin "
        f"({KNOWN.thickness.value:.2f} times the computed {computed_mm:.2f} mm, by {N} notes"
    )
    (row,) = [row for row in gauges.rows if row[0] == "2 mm"]
    assert row[1] == f"{told.thin_mm:.2f} mm"
    assert f"the thinnest has {told.thin_mm:.2f} ± {told.thin_doubt_mm:.2f} mm" in features.note
    marks = [mark.words for shown in drawn for mark in shown.marks]
    assert f"thin: {told.thin_mm:.2f} mm by notes" in marks


def test_the_map_stays_as_computed(both):
    """Every triangle, feature and mean is that of the run."""
    plain, noted = (told.work.mold.formed for told in both)

    assert (noted.thickness_mm == plain.thickness_mm).all()
    assert noted.thinned == plain.thinned
    assert noted.computed_thinnest == plain.thinnest


def test_how_long_the_mold_lasts_is_told_alike(both):
    """Summary, card, report and findings.json tell the cycles that such molds stood."""
    _, noted = both
    stood = noted.work.day.stood
    about = f"about {stood.cycles.value:.0f} cycles"

    assert noted.rows["Mold life by the log"].startswith(f"{about} (")
    assert noted.rows["Mold life by the log"].endswith(f"by {N} molds of this table, {N} given up")
    assert noted.steps["Release"].words.endswith(
        f"Such molds stand {about}, by {N} molds of this table."
    )
    assert f"At this table such molds stand {about} (" in noted.page
    assert noted.numbers["cycles_stood"] == pytest.approx(stood.cycles.value, rel=1e-3)
    assert noted.numbers["cycles_stood_molds"] == N
    heat = heat_work(HeatCommand(plastic="HIPS", gauge_mm=2.0, filament="PETG"), NOTED)
    assert heat.stood.n_cycles == stood.n_cycles == 12 * N


def test_what_the_log_takes_from_a_mold_is_what_was_computed(both):
    """Told and computed are noted apart, so that a correction is never learned from."""
    plain, noted = (facts_of_numbers("anchor", told.numbers) for told in both)

    assert noted.computed_cool_s == plain.told_cool_s
    assert noted.computed_print_h == plain.told_print_h
    assert noted.thinnest_mm == plain.thinnest_mm
    assert noted.told_cool_s > plain.told_cool_s
    assert (plain.computed_cool_s, plain.computed_print_h) == (None, None)
    assert plain.printer == SHOP.printer(plain.printer).name


def test_a_worker_of_a_class_tells_the_same():
    """A mold built for a class has the numbers that make tells of it."""
    job = mg.sign("I", letter_height=20, gauge=2, filament="PETG", forming="off")
    order = order_for(job, folder=Path(), stock={}, formats=[Format.STL],
                      experience=NOTED.experience)  # fmt: skip
    built = built_of(answer_of(carry_out(order.piece()))).record.numbers
    alone = work_out(job, folder=Path(), shop=NOTED, progress=quiet).output.told.numbers

    for name in ("cool_s", "cool_notes", "cycles_stood", "cycles_stood_molds"):
        assert built[name] == pytest.approx(alone[name], rel=1e-3)
    assert built["print"]["time_s"] == pytest.approx(alone["print"]["time_s"], rel=1e-3)
    assert built["print"]["notes"] == N


def test_the_gauge_is_chosen_by_the_corrected_thickness():
    """A sheet that is thick enough as computed, and too thin as measured, gives way to another."""
    job = mg.tray(80, 80, depth=30, forming="off", least=0.6)
    chosen = [mg.design(job, stock=shop).setting.sheet.gauge_mm for shop in (SHOP, NOTED)]

    assert chosen[0] < chosen[1]
