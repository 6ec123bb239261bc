"""Vents are set closer together where the air would take too long, and it is told."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from support.days import air_of

import moldgen as mg
from moldgen.job import Format, FormingLook, JobForming, JobOutput
from moldgen.mold.air.evacuation import measure_evacuation
from moldgen.pipeline.mold import checking, cutting, stages
from moldgen.pipeline.mold import day as working
from moldgen.pipeline.mold import vent_spacing as in_time
from moldgen.pipeline.mold.design import design_mold
from moldgen.pipeline.mold.make import make
from moldgen.pipeline.mold.vent_spacing import too_few
from moldgen.stock import load_shop
from moldgen.stock.infill import USUAL_INFILL

TRAY = mg.tray(70, 50, 20, compartments="2 x 1")
SHOP = load_shop(user_file=None)


def _job(spacing_mm=100.0):
    return replace(TRAY, vents=replace(TRAY.vents, spacing_mm=spacing_mm))


def _designed(job, progress=lambda stage: None):
    return design_mold(job, folder=Path(), shop=SHOP, progress=progress)


@cache
def _usual():
    """Return the design of the tray with vents near each other."""
    return _designed(_job(25.0))


@pytest.fixture
def hurried(monkeypatch):
    """Let the sheet have just three quarters of the time that the slowest recess takes."""
    plain = measure_evacuation
    limits = []

    def hurry(ways, **given):
        air = plain(ways, **given)
        if not limits:
            limits.append(max(one.seconds for one in air.pockets) * 0.75)
        pockets = tuple(replace(one, vents_needed=len(one.pocket.vents) + 1) for one in air.pockets)
        return replace(air, stiff_s=limits[0], pockets=pockets)

    monkeypatch.setattr(in_time, "measure_evacuation", hurry)
    return limits


@pytest.fixture
def counted(monkeypatch):
    """Count how often each stage of a mold is gone through."""
    counts = Counter()

    def count(module, name):
        plain = getattr(module, name)

        def counting(*args, **given):
            counts[name] += 1
            return plain(*args, **given)

        monkeypatch.setattr(module, name, counting)

    for module, name in (
        (stages, "build_raw_mold"), (stages, "run_forming"), (stages, "relief_for_ball"),
        (stages, "cut_bodies"), (stages, "survey_of"), (stages, "check_survey"),
        (checking, "check_airways"), (cutting, "settle_bores"), (cutting, "build_underside"),
        (working, "mold_life"), (stages, "readiness_of"),
    ):  # fmt: skip
        count(module, name)
    return counts


def test_vents_move_closer_until_the_air_is_out(hurried):
    """A tray whose sheet would be stiff too soon gets more vents, and a note says so."""
    said = []

    design = _designed(_job(), said.append)

    assert max(one.seconds for one in design.air.pockets) <= hurried[0]
    (told,) = [finding for finding in design.mold.findings if finding.code == "vents-closer"]
    assert told.measured is not None
    assert told.measured < told.limit == 100.0
    assert any("closer together" in stage.name for stage in said)


def test_vents_that_are_enough_stay_as_they_are():
    """With the usual time nothing is changed and nothing told."""
    design = _usual()

    assert not too_few(design.air)
    assert "vents-closer" not in [finding.code for finding in design.mold.findings]


@pytest.mark.parametrize("recess", [True, False], ids=["recess", "smaller pocket"])
def test_a_smaller_pocket_is_no_reason_for_closer_vents(monkeypatch, recess):
    """A pocket with one last place keeps one vent however close they stand: nothing is moved."""
    plain = in_time.measure_evacuation

    def slow(ways, **given):
        air = plain(ways, **given)
        pockets = tuple(
            replace(one, pocket=replace(one.pocket, recess=recess), seconds=9.0, vents_needed=99)
            for one in air.pockets
        )
        return replace(air, stiff_s=1.0, pockets=pockets)

    monkeypatch.setattr(in_time, "measure_evacuation", slow)
    said = []

    design = _designed(_job(25.0), said.append)

    codes = [finding.code for finding in design.mold.findings]
    assert [one.seconds > 1.0 for one in design.air.pockets] == [True] * len(design.air.pockets)
    assert len(design.air.pockets) > 0
    assert ("vents-closer" in codes) is recess
    assert any("closer together" in stage.name for stage in said) is recess


def test_a_job_without_vents_gets_none(hurried):
    """Who wants no vents gets none, however long the air takes."""
    job = _job()

    design = _designed(replace(job, vents=replace(job.vents, place=False)))

    assert design.mold.vents.vents == ()
    assert "vents-closer" not in [finding.code for finding in design.mold.findings]


def test_closer_vents_repeat_vents_alone(hurried, counted):
    """Walls, formed sheet, cuts, checks and day come once, and stages only go on."""
    said = []
    output = JobOutput(formats=(Format.STL,))
    job = replace(_job(), forming=JobForming(look=FormingLook.PREVIEW), output=output)

    made = make(job, folder=Path(), shop=SHOP, progress=said.append)

    rounds = 1 + sum("closer together" in stage.name for stage in said)
    assert rounds > 2
    assert [one.code for one in made.findings].count("vents-closer") == 1
    assert {name for name, n in counted.items() if n == rounds} == {
        "settle_bores", "build_underside",
    }  # fmt: skip
    assert {name for name, n in counted.items() if n == 1} == {
        "build_raw_mold", "run_forming", "relief_for_ball", "check_survey", "check_airways",
        "readiness_of", "cut_bodies",
    }  # fmt: skip
    assert counted["survey_of"] == 2  # the bare walls and the finished mold
    # Filament and infill are chosen once each: with the usual, and with what was chosen.
    assert counted["mold_life"] == 4
    assert [stage.done for stage in said] == sorted(stage.done for stage in said)
    assert {stage.number for stage in said} == {1, 2, 3, 4, 5, 6} == set(range(1, said[0].of + 1))


def test_vents_are_set_by_the_print_that_the_day_tells():
    """Where more infill is chosen, the sheet is stiff as soon for the vents as for the day."""
    design = mg.design(mg.tray(180, 120, 25, compartments="3 x 2"), quality="final")

    assert design.day.printed.infill > USUAL_INFILL
    assert design.day.printed.infill == design.day.ready.spec.infill
    assert design.air.stiff_s == design.day.thinnest.stiff_s


def test_the_day_of_a_mold_has_the_air_its_vents_were_set_by():
    """What the loop measured last is what the day tells, and the same as measured anew."""
    design = _usual()
    mold, day = design.mold, design.day

    anew = air_of(design.checked, design.setting, design.raw.meshes)
    assert day.evacuation is design.air
    assert design.air.stiff_s == day.thinnest.stiff_s == anew.stiff_s
    assert design.air.pockets == anew.pockets
    assert {one.code for one in mold.findings} >= {one.code for one in day.findings}
