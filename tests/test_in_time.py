"""Vents are set closer together where the air would take too long, and it is told."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from moldgen.job import load_job
from moldgen.job.names import with_names
from moldgen.pipeline import in_time
from moldgen.pipeline.features import resolve_features
from moldgen.pipeline.in_time import build_in_time, too_few
from moldgen.pipeline.mold import setting_of
from moldgen.stock import load_shop

TRAY = Path(__file__).parents[1] / "examples" / "screw-tray.toml"


def _parts(spacing_mm=100.0):
    shop = load_shop(user_file=None)
    job = with_names(load_job(TRAY))
    job = replace(job, vents=replace(job.vents, spacing_mm=spacing_mm))
    setting = setting_of(job, shop)
    resolved = resolve_features(
        job, folder=TRAY.parent, sheet=setting.sheet, printer=setting.printer
    )
    return job, resolved, setting, shop


@pytest.fixture
def hurried(monkeypatch):
    """Let the sheet have just a third of the time that the slowest recess takes."""
    plain = in_time.working_of
    limits = []

    def hurry(job, mold, setting, shop):
        working = plain(job, mold, setting, shop)
        air = working.evacuation
        if not limits:
            limits.append(max(one.seconds for one in air.pockets) * 0.75)
        pockets = tuple(replace(one, vents_needed=len(one.pocket.vents) + 1) for one in air.pockets)
        hurried_air = replace(air, stiff_s=limits[0], pockets=pockets)
        return replace(working, evacuation=hurried_air)

    monkeypatch.setattr(in_time, "working_of", hurry)
    return limits


def test_vents_move_closer_until_the_air_is_out(hurried):
    """A tray whose sheet would be stiff too soon gets more vents, and a note says so."""
    job, resolved, setting, shop = _parts()
    said = []

    mold, working = build_in_time(job, resolved, setting, shop, said.append)

    assert max(one.seconds for one in working.evacuation.pockets) <= hurried[0]
    (told,) = [finding for finding in mold.findings if finding.code == "vents-closer"]
    assert told.measured is not None
    assert told.measured < told.limit == 100.0
    assert any("closer together" in words for words in said)


def test_vents_that_are_enough_stay_as_they_are():
    """With the usual time nothing is changed and nothing told."""
    job, resolved, setting, shop = _parts(25.0)

    mold, working = build_in_time(job, resolved, setting, shop, lambda words: None)

    assert not too_few(working)
    assert "vents-closer" not in [finding.code for finding in mold.findings]


def test_a_job_without_vents_gets_none(hurried):
    """Who wants no vents gets none, however long the air takes."""
    job, resolved, setting, shop = _parts()
    job = replace(job, vents=replace(job.vents, place=False))

    mold, _ = build_in_time(job, resolved, setting, shop, lambda words: None)

    assert mold.vents.vents == ()
