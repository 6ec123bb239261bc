"""The day at the forming table, as every made mold tells it."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from math import isfinite
from pathlib import Path

import numpy as np
import pytest
from support.days import (
    BOARD,
    SHOP,
    THIN,
    built,
    changed,
    codes,
    day_at_table,
    job_of,
    worked,
    worked_with,
)

from moldgen.finding import Severity
from moldgen.mold.air.evacuation import measure_evacuation
from moldgen.mold.air.passages import air_ways
from moldgen.mold.air.swept import swept_most_L
from moldgen.mold.load.load import measure_load
from moldgen.mold.release.hold import MoldHold, ReleaseSpec, insert_holds_N
from moldgen.mold.release.release import force_text
from moldgen.pipeline.mold.day import WANTED_CYCLES, with_day_findings
from moldgen.pipeline.mold.day_rows import day_numbers, day_rows, day_text, short_time
from moldgen.pipeline.mold.day_tables import day_tables
from moldgen.pipeline.mold.make import make
from moldgen.pipeline.mold.rows import numbers_of, summary_of
from moldgen.pipeline.mold.steps import on_the_day
from moldgen.pipeline.mold.thickness import thickness_ratios, thicknesses_mm
from moldgen.table.cool import cool
from moldgen.table.heat_up import heat_up
from moldgen.table.mold_life import mold_life, rank_filaments
from moldgen.table.printed_mold import PrintedMold
from moldgen.table.run import Run
from moldgen.table.stay import part_cooling, usual_run
from moldgen.wording import about_text, band_text, earliest_text


def test_the_day_asks_heating_cooling_and_pulls_for_its_own_sheet_and_table():
    """Heating, both coolings, cycles and ranking are what the table itself says of this job."""
    _, mold, setting = built()
    day, sheet = worked(), setting.sheet
    line_mm = 1.1 * setting.printer.nozzle_mm
    printed = PrintedMold(filament=setting.filament, height_mm=mold.height_mm, line_mm=line_mm)
    heated = heat_up(sheet, setting.machine)
    thin = min(draw.mean_thickness_mm for draw in mold.checked.draws)
    assert day.heated.forming_s == heated.forming_s
    assert day.heated.band_s == heated.band_s
    vacuum_kPa = setting.machine.vacuum_kPa
    run = Run(
        sheet=sheet, heat_s=heated.forming_s, leaves_degC=heated.mean_degC, vacuum_kPa=vacuum_kPa
    )
    thinnest = cool(
        sheet, printed, thickness_ratio=thin / sheet.gauge_mm, from_degC=run.arrival_degC
    )
    assert day.thinnest == thinnest
    life = mold_life(run, printed, n_cycles=WANTED_CYCLES)
    assert (day.life.in_a_row, day.life.pause_s) == (life.in_a_row, life.pause_s)
    assert day.cool_s == cool(sheet, printed, from_degC=run.arrival_degC).stiff_s
    assert day.cool_s == pytest.approx(life.contact_s[0], rel=0.06)
    assert day.warm_s / day.cool_s == pytest.approx(life.contact_s[-1] / life.contact_s[0])
    names = [one.mold.filament.name for one in rank_filaments(run, printed, SHOP.filaments.entries)]
    assert [one.mold.filament.name for one in day.ranked] == names


def test_the_day_asks_air_and_load_for_the_mold_as_built():
    """Vacuum, pockets and load are what the mold's own vents, channels and relief give."""
    _, mold, setting = built()
    day, machine = worked(), setting.machine
    ways = air_ways(mold.vents, mold.undersides, mold.plans, machine=machine, bore=mold.bore)
    found = measure_evacuation(
        ways,
        swept_L=swept_most_L([body.mesh for body in mold.bodies], machine),
        time_to_stiff_s=day.thinnest.stiff_s,
    )
    assert day.evacuation.stiff_s == day.thinnest.stiff_s
    assert day.evacuation.reached_s == found.reached_s
    assert day.evacuation.pockets == found.pockets
    load = measure_load(
        mold.plans, mold.undersides, mold.vents.vents, mold.relief,
        machine=machine, printer=setting.printer, filament=setting.filament,
    )  # fmt: skip
    assert day.load == load


def test_the_day_asks_release_for_thicknesses_by_feature_and_the_jobs_insert():
    """Each grip counts with its feature's own sheet; the insert asked for is what is pulled by."""
    _, mold, setting = built()
    means = {draw.name: draw.mean_thickness_mm for draw in mold.checked.draws}
    assert thicknesses_mm(mold) == means
    (body,) = worked().release
    assert [grip.thickness_mm for grip in body.grips] == [means["bait box"]]
    screw = {"body": [BOARD], "underside": {"insert": "heat-set M4"}}
    wanted = built(**screw)[0].underside.insert_wanted
    (screwed,) = worked(json.dumps(screw)).release
    assert screwed.hold is MoldHold.HEAT_SET
    assert screwed.holds_N == pytest.approx(
        insert_holds_N(SHOP.insert(wanted[1], wanted[0]), setting.filament, ReleaseSpec())
    )
    (bare,) = worked(json.dumps({"body": [BOARD], "underside": {"insert": "none"}})).release
    assert bare.hold is MoldHold.HAND


def test_the_day_takes_thicknesses_from_a_forming_run():
    """With a forming run its thin places and greatest thickness count, and its means by feature."""
    _, mold, setting = built(forming={"look": "preview"})
    thin, thick = thickness_ratios(mold, setting.sheet.gauge_mm)
    own = mold.formed.thickness_mm[mold.formed.part]
    assert thin == pytest.approx(mold.formed.thinnest.thin_mm / setting.sheet.gauge_mm)
    assert thick == pytest.approx(own.max() / setting.sheet.gauge_mm)
    assert thin < thick < 1.2
    day = worked('{"forming": {"look": "preview"}}')
    assert day.thinnest.thickness_mm == pytest.approx(mold.formed.thinnest.thin_mm)
    assert thicknesses_mm(mold)["well"] == mold.formed.thinned[-1].mean_mm
    assert mold.formed.thinned[-1].name == "well"


def test_thinner_sheet_is_hot_and_stiff_sooner():
    """Half the gauge takes less heat, less cooling and pulls less hard."""
    thick = worked('{"sheet": {"plastic": "HIPS", "gauge": 2}}')
    thin = worked(json.dumps({"filament": "PETG", "sheet": THIN}))
    assert thin.heated.forming_s < 0.7 * thick.heated.forming_s
    assert thin.cool_s < 0.6 * thick.cool_s
    assert thin.thinnest.stiff_s < thin.cool_s
    assert thin.hardest.force_N < thick.hardest.force_N


def test_a_machine_too_cool_is_a_caution_and_the_mold_is_made_all_the_same():
    """Where the heater cannot, that is told with a way out; air, load and release still are."""
    job, mold, setting = built()
    cold = changed(setting, heater_degC=100.0)
    day = day_at_table(job, mold, cold)
    assert day.heated is None
    assert day.life is None
    assert day.ranked == ()
    (told,) = [finding for finding in day.findings if finding.code == "sheet-stays-cool"]
    assert told.severity is Severity.CAUTION
    assert "hotter heater" in told.advice
    assert "None" not in str(day_rows(day)) + str(day_text(day))
    assert dict(day_rows(day))["Heat and cool"].startswith("not hot enough on this table; cool")
    assert "does not bring the sheet to" in day_text(day)["heat"]
    assert day_numbers(day)["heat_s"] is None
    usual = usual_run(setting.sheet, setting.machine, None)
    assert day_numbers(day)["cool_s"] == part_cooling(usual, day.printed).stiff_s
    titles = [table.title for table in day_tables(day)]
    assert "What makes the heating time uncertain" not in titles
    assert "How the vacuum comes" in titles


def test_a_sheet_that_never_cools_is_told_once(monkeypatch):
    """Where neither place gets stiff there is one caution, and nothing is held against the air."""
    from moldgen.errors import SpecError
    from moldgen.table import stay

    def hot(*_, **__):
        raise SpecError("mold", "able to cool it", "one that stays hot", "Take a thinner sheet.")

    monkeypatch.setattr(stay, "cool", hot)
    job, mold, setting = built()
    day = day_at_table(job, mold, setting)
    assert codes(day).count("part-stays-hot") == 1
    assert day.evacuation.stiff_s is None
    assert not {"vacuum-slow", "pocket-slow", "pocket-shut"} & set(codes(day))
    assert "until the part is below" in day_text(day)["cool"]
    assert "cool " not in dict(day_rows(day))["Heat and cool"]


def test_a_well_without_vents_is_told_as_shut():
    """Vents left out: the well keeps its air, and that is a caution with its name."""
    assert "pocket-shut" not in codes(worked())
    day = worked('{"vents": {"place": false}}')
    (told,) = [finding for finding in day.findings if finding.code == "pocket-shut"]
    assert (told.subject, told.severity) == ("well", Severity.CAUTION)
    assert day_numbers(day)["slowest_pocket_s"] is None
    (table,) = [one for one in day_tables(day) if one.title.startswith("Recesses")]
    assert table.rows[0][2:4] == ("0", "never")


def test_vacuum_comes_in_order_and_ends_with_the_share_that_was_waited_for():
    """More of the vacuum never comes sooner, and 90 % when the evacuation says."""
    day = worked()
    shares = np.linspace(0.05, 0.9, 18)
    times = [day.evacuation.vacuum_s(share) for share in shares]
    assert times == sorted(times)
    assert times[-1] == pytest.approx(day.evacuation.reached_s)
    assert all(time >= day.evacuation.down_s for time in times)
    at_half = day.evacuation.vacuum_at_kPa(day.evacuation.vacuum_s(0.5))
    assert at_half == pytest.approx(0.5 * day.evacuation.vacuum_kPa)


def test_a_tank_too_small_never_gets_there():
    """Without a pump, a tank of a quarter of a liter holds half the vacuum at no time."""
    setting = changed(built()[2], tank_L=0.25, pump_L_min=0.01)
    day = worked_with(setting)
    assert not isfinite(day.evacuation.vacuum_s(0.9))
    assert day_numbers(day)["vacuum_90_s"] is None
    assert "never (the tank)" in dict(day_rows(day))["Air"]
    assert "vacuum-slow" in codes(day)
    json.dumps(day_numbers(day), allow_nan=False)


def test_rows_are_told_and_fit_a_terminal():
    """Heat and cool, air and release stand in the summary, each short, with their own numbers."""
    job, mold, setting = built()
    day = worked()
    rows = dict(summary_of(job, mold, setting, (), day))
    assert list(rows)[-5:] == ["Heat and cool", "Mold life", "Air", "Release", "Trim"]
    for name in ("Print", "Heat and cool", "Mold life", "Air", "Release"):
        assert len(rows[name]) <= 100
    heat = band_text(day.heated.forming_s, *day.heated.band_s)
    assert rows["Heat and cool"].startswith(f"{heat}, forming window ")
    assert rows["Heat and cool"].endswith(f"; cool {band_text(day.cool_s, *day.thickest.band_s)}")
    assert rows["Mold life"].startswith("PETG: ")
    forms_s = day.evacuation.vacuum_s(0.7)
    assert f"vacuum 70 % after {short_time(forms_s)}, 90 % after" in rows["Air"]
    assert f"90 % after {day.evacuation.reached_s:.1f} s" in rows["Air"]
    assert rows["Release"].startswith(f"{force_text(day.hardest.force_N)} release force; ")


@pytest.mark.parametrize(
    ("filament", "says"),
    [
        ("PC", "PC stays hard"),
        ("PLA", r"PLA: (about [0-9]+ to|top sinks)"),
        ("PETG", r"PETG: (any number of cycles|.* top probably never sinks)"),
    ],
)
def test_row_tells_what_the_filament_stands(filament, says):
    """A filament that stays hard is told so, one that softens with its cycles and pauses."""
    day = worked(json.dumps({"filament": filament, "sheet": THIN}))
    assert re.search(says, dict(day_rows(day))["Mold life"])
    words = day_text(day)["print"]
    assert ("What would last" in words) == (filament != "PC")


def test_steps_tell_times_and_keep_signs_and_caution():
    """Heat and cool have their seconds; signs to watch and the plastic's caution stay."""
    job, mold, setting = built()
    day = worked()
    steps = dict(on_the_day(job, mold, setting, (), day))
    assert list(steps) == [
        "Print", "Vents", "Place", "Clamp", "Heat", "Form", "Cool", "Release", "Trim",
    ]  # fmt: skip
    heated = day.heated
    heat = band_text(heated.forming_s, *heated.band_s)
    assert steps["Heat"].startswith(f"A{heat[1:]}, until it has")
    assert f"Watch it from {earliest_text(heated.band_s[0])} on. Never leave it." in steps["Heat"]
    assert "a dent springs back. Dent it with a wooden stick, never with a finger." in steps["Heat"]
    assert setting.sheet.plastic.caution in steps["Heat"]
    cool_text = band_text(day.cool_s, *day.thickest.band_s)
    assert f"Keep the vacuum {cool_text} on a cold mold" in steps["Cool"]
    assert f"{about_text(day.warm_s)} on one that has warmed up" in steps["Cool"]
    assert f"the release force is {force_text(day.hardest.force_N)}" in steps["Release"]


def test_a_pull_that_is_too_hard_is_not_advised():
    """Where the part holds harder than it can be pulled, the step says to ease it off."""
    day = worked()
    (body,) = day.release
    hard = replace(day, release=(replace(body, force_N=2 * body.holds_N),))
    easy = replace(day, release=(replace(body, force_N=0.5 * body.holds_N),))
    assert "edge by edge" in day_text(hard)["release"]
    assert "edge by edge" not in day_text(easy)["release"]
    loose = replace(day, release=(replace(body, force_N=0.0, grips=()),))
    assert "shrinks away" in day_text(loose)["release"]
    assert dict(day_rows(loose))["Release"] == "nothing shrinks onto it"


def test_the_hardest_body_is_the_one_nearest_to_what_it_can_be_pulled_by():
    """Of several bodies the one that uses most of its hold is told, not the strongest grip."""
    day = worked()
    (body,) = day.release
    strong = replace(body, body="strong", force_N=300.0, holds_N=1000.0)
    weak = replace(body, body="weak", force_N=150.0, holds_N=200.0)
    assert replace(day, release=(strong, weak)).hardest is weak
    assert replace(day, release=()).hardest is None
    assert "Release" not in dict(day_rows(replace(day, release=())))
    assert day_text(replace(day, release=()))["release"] == ""


def test_tables_hold_the_numbers_of_the_day():
    """Doubts, filaments, vacuum, pockets, load and release are all there, worst first."""
    day = worked()
    tables = {table.title: table for table in day_tables(day)}
    assert len(tables) == 9
    filaments = tables["What to print the mold from"]
    assert [row[0] for row in filaments.rows] == [one.mold.filament.name for one in day.ranked]
    vacuum = tables["How the vacuum comes"]
    assert [row[0] for row in vacuum.rows[1:]] == [
        f"{share} % of the vacuum" for share in (50, 70, 90)
    ]
    assert [row[2] for row in vacuum.rows[1:]] == [
        short_time(day.evacuation.vacuum_s(share)) for share in (0.5, 0.7, 0.9)
    ]
    pockets = tables["Recesses and pockets, the slowest first"]
    slowest = max(day.evacuation.pockets, key=lambda one: one.seconds)
    assert pockets.rows[0][0] == slowest.pocket.name
    assert len(tables["What the print bears under the vacuum"].rows) == len(day.load.borne)
    assert tables["Release force"].rows[0][0] == "bait box"


def test_many_pockets_are_cut_to_the_slowest():
    """A table of pockets shows twelve, and says how many more there are."""
    day = worked()
    one = day.evacuation.pockets[0]
    many = tuple(replace(one, seconds=float(n)) for n in range(30))
    more = replace(day, evacuation=replace(day.evacuation, pockets=many))
    (table,) = [one for one in day_tables(more) if one.title.startswith("Recesses")]
    assert len(table.rows) == 12
    assert table.rows[0][3] == "29 s"
    assert "18 more are emptied sooner" in table.note


def test_findings_of_the_day_stand_among_the_molds_by_rank():
    """Cautions of the day come before the mold's notes; many pockets alike are told as one."""
    _, mold, _ = built()
    day = worked('{"vents": {"place": false}}')
    shut = next(finding for finding in day.findings if finding.code == "pocket-shut")
    crowd = replace(day, findings=(*day.findings, shut, shut))
    told = with_day_findings(mold, crowd).findings
    ranks = [list(Severity).index(finding.severity) for finding in told]
    assert ranks == sorted(ranks, reverse=True)
    assert [finding.code for finding in told].count("pocket-shut") == 1
    assert {finding.code for finding in mold.findings} <= {finding.code for finding in told}


def test_make_tells_the_day_in_summary_findings_numbers_and_report():
    """What is handed over, findings.json and the report all speak of the same day."""
    job = job_of(output={"formats": ["html", "json"]}, vents={"place": False})
    made = make(job, folder=Path(), shop=SHOP, progress=lambda stage: None)
    day = worked('{"vents": {"place": false}}')
    assert made.numbers["heat_s"] == day.heated.forming_s
    assert "pocket-shut" in [finding.code for finding in made.findings]
    written = json.loads(made.files["findings.json"])
    assert written["numbers"]["heat_s"] == pytest.approx(day.heated.forming_s)
    assert "pocket-shut" in [finding["code"] for finding in written["findings"]]
    page = made.files["report.html"].decode()
    for words in ("What to print the mold from", "How the vacuum comes", "on a cold mold"):
        assert words in page
    assert dict(made.summary)["Air"] in page


def test_filaments_are_ranked_only_for_a_report(monkeypatch):
    """Without a report nobody ranks filaments, which takes as long as heating the sheet."""
    from moldgen.pipeline.mold import day as working

    asked = []

    def rank(*inputs):
        asked.append(inputs)
        return ()

    monkeypatch.setattr(working, "rank_filaments", rank)
    job = job_of(output={"formats": ["json"]})
    make(job, folder=Path(), shop=SHOP, progress=lambda stage: None)
    assert asked == []


def test_numbers_are_kept_for_programs():
    """The measures of the day stand beside those of the mold and none is lost."""
    _, mold, _ = built()
    full = numbers_of(mold, (), worked())
    assert full["bodies"] == len(mold.bodies)
    assert day_numbers(worked()).items() <= full.items()
    assert full["release_N"] == worked().hardest.force_N
    assert full["load_used"] == worked().load.borne[0].used
    assert full["vacuum_50_s"] < full["vacuum_90_s"]


@pytest.mark.parametrize(
    ("time_s", "words"),
    [(0.0, "less than 0.1 s"), (0.06, "0.1 s"), (6.84, "6.8 s"), (9.96, "10 s"),
     (125.0, "2 min 5 s"), (float("inf"), "never")],
)  # fmt: skip
def test_short_times_are_told_as_a_person_would(time_s, words):
    """Tenths matter below ten seconds only, and what never comes is told so."""
    assert short_time(time_s) == words
