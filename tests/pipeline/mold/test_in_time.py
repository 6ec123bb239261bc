"""Vents are set closer together where the air would take too long, and it is told."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest
from conftest import ROOT

from moldgen.job import Format, FormingLook, Job, JobForming, JobOutput, load_job
from moldgen.pipeline.mold import checking, cutting, walls
from moldgen.pipeline.mold import day as working
from moldgen.pipeline.mold import vent_spacing as in_time
from moldgen.pipeline.mold.day import evacuation_of
from moldgen.pipeline.mold.design import design_mold
from moldgen.pipeline.mold.make import make
from moldgen.pipeline.mold.vent_spacing import too_few
from moldgen.stock import load_shop

TRAY = ROOT / "examples" / "screw-tray.toml"
SHOP = load_shop(user_file=None)


def _job(spacing_mm=100.0):
    job = load_job(TRAY)
    assert isinstance(job, Job)
    return replace(job, vents=replace(job.vents, spacing_mm=spacing_mm))


def _designed(job, progress=lambda stage: None):
    return design_mold(job, folder=TRAY.parent, shop=SHOP, progress=progress)


@pytest.fixture
def hurried(monkeypatch):
    """Let the sheet have just three quarters of the time that the slowest recess takes."""
    plain = evacuation_of
    limits = []

    def hurry(mold, setting, stiff_s):
        air = plain(mold, setting, stiff_s)
        if not limits:
            limits.append(max(one.seconds for one in air.pockets) * 0.75)
        pockets = tuple(replace(one, vents_needed=len(one.pocket.vents) + 1) for one in air.pockets)
        return replace(air, stiff_s=limits[0], pockets=pockets)

    monkeypatch.setattr(in_time, "evacuation_of", hurry)
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
        (walls, "build_raw_mold"), (walls, "run_forming"), (walls, "relief_for_ball"),
        (in_time, "cut_mold"), (in_time, "survey_mold"), (checking, "check_survey"),
        (checking, "check_airways"), (cutting, "settle_bores"), (working, "mold_life"),
        (working, "readiness_of"), (working, "evacuation_of"),
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
    assert any("closer together" in words for words in said)


def test_vents_that_are_enough_stay_as_they_are():
    """With the usual time nothing is changed and nothing told."""
    design = _designed(_job(25.0))

    assert not too_few(design.air)
    assert "vents-closer" not in [finding.code for finding in design.mold.findings]


@pytest.mark.parametrize("recess", [True, False], ids=["recess", "smaller pocket"])
def test_a_smaller_pocket_is_no_reason_for_closer_vents(monkeypatch, recess):
    """A pocket with one last place keeps one vent however close they stand: nothing is moved."""
    plain = in_time.evacuation_of

    def slow(mold, setting, stiff_s):
        air = plain(mold, setting, stiff_s)
        pockets = tuple(
            replace(one, pocket=replace(one.pocket, recess=recess), seconds=9.0, vents_needed=99)
            for one in air.pockets
        )
        return replace(air, stiff_s=1.0, pockets=pockets)

    monkeypatch.setattr(in_time, "evacuation_of", slow)
    said = []

    design = _designed(_job(25.0), said.append)

    codes = [finding.code for finding in design.mold.findings]
    assert [one.seconds > 1.0 for one in design.air.pockets] == [True] * len(design.air.pockets)
    assert len(design.air.pockets) > 0
    assert ("vents-closer" in codes) is recess
    assert any("closer together" in words for words in said) is recess


def test_a_job_without_vents_gets_none(hurried):
    """Who wants no vents gets none, however long the air takes."""
    job = _job()

    design = _designed(replace(job, vents=replace(job.vents, place=False)))

    assert design.mold.vents.vents == ()
    assert "vents-closer" not in [finding.code for finding in design.mold.findings]


def test_closer_vents_repeat_vents_and_cuts_alone(hurried, counted):
    """Walls, formed sheet, look from above, checks and day come once, and stages only go on."""
    said = []
    output = JobOutput(formats=(Format.STL,))
    job = replace(_job(), forming=JobForming(look=FormingLook.PREVIEW), output=output)

    made = make(job, folder=TRAY.parent, shop=SHOP, progress=said.append)

    rounds = 1 + sum("closer together" in words for words in said)
    assert rounds > 2
    assert [one.code for one in made.findings].count("vents-closer") == 1
    assert {name for name, n in counted.items() if n == rounds} == {"cut_mold", "settle_bores"}
    assert {name for name, n in counted.items() if n == 1} == {
        "build_raw_mold", "run_forming", "relief_for_ball", "check_survey", "check_airways",
        "mold_life", "readiness_of",
    }  # fmt: skip
    assert counted["survey_mold"] == 2
    assert counted["evacuation_of"] == 0
    numbers = [int(words.split("/")[0]) for words in said]
    assert numbers == sorted(numbers)
    assert set(numbers) == {1, 2, 3, 4, 5, 6}


def test_the_day_of_a_mold_has_the_air_its_vents_were_set_by():
    """What the loop measured last is what the day tells, and the same as measured anew."""
    design = _designed(_job(25.0))
    mold, day = design.with_day()

    anew = working.day_of(design.request, design.mold, design.setting, SHOP)
    assert day.evacuation is design.air
    assert design.air.stiff_s == day.thinnest.stiff_s == anew.evacuation.stiff_s
    assert design.air.pockets == anew.evacuation.pockets
    assert {one.code for one in mold.findings} >= {one.code for one in day.findings}
