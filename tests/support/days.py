"""Small molds with their day at the table."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import cache
from pathlib import Path

from moldgen.job import Job
from moldgen.job.feature_names import with_names
from moldgen.job.read import mold_from_words
from moldgen.mold.air.evacuation import Evacuation, measure_evacuation
from moldgen.mold.air.passages import air_ways
from moldgen.mold.air.swept import swept_most_L
from moldgen.pipeline.mold.day import TableDay, day_of, mold_that_lasts
from moldgen.pipeline.mold.design import design_mold
from moldgen.pipeline.mold.print_readiness import readiness_of, wants_overhangs
from moldgen.pipeline.mold.thickness import thickness_ratios
from moldgen.stock import load_shop
from moldgen.table.stay import soft_s

SHOP = load_shop(user_file=None)
PLATE = {"shape": "rounded-plaque", "width": 60, "height": 40, "corner": 0.1}
WELL = {"name": "well", "outline": PLATE | {"width": 36, "height": 20}, "depth": 8}
BAIT = {"name": "bait box", "outline": {"around": 10}, "height": 14, "sunk": [WELL]}
THIN = {"plastic": "HIPS", "gauge": 1}
BOARD = {"name": "board", "outline": PLATE, "height": 14}


def job_of(**words) -> Job:
    """Return a bait box with one well, its sheet not followed unless asked."""
    base = {"title": "Bait box", "body": [BAIT], "forming": {"look": "off"}}
    return with_names(mold_from_words(base | words))


@cache
def mold_of(text: str):
    """Return job, mold and setting of a job told as JSON."""
    job = job_of(**json.loads(text))
    design = design_mold(job, folder=Path(), shop=SHOP)
    return job, design.checked, design.setting


def built(**words):
    return mold_of(json.dumps(words))


@cache
def worked(text: str = "{}") -> TableDay:
    return day_at_table(*mold_of(text))


def day_at_table(job, mold, setting) -> TableDay:
    """Return the day of a mold on any table, its air measured anew."""
    wanted = job.underside.insert_wanted
    return day_of(
        mold,
        setting,
        insert=SHOP.insert(wanted[1], wanted[0]) if wanted else None,
        filaments=tuple(SHOP.filaments.entries),
        air=air_of(mold, setting),
        ready=readiness_of(mold, setting, closely=wants_overhangs(job.output.formats)),
        printed=mold_that_lasts(setting, mold.height_mm),
    )


def air_of(mold, setting, meshes=None) -> Evacuation:
    """Return how the vacuum comes on a mold, against the time its sheet stays soft there."""
    thin, _ = thickness_ratios(mold, setting.sheet.gauge_mm)
    printed = mold_that_lasts(setting, mold.height_mm)
    ways = air_ways(
        mold.vents, mold.undersides, mold.plans, machine=setting.machine, bore=mold.bore
    )
    return measure_evacuation(
        ways,
        swept_L=swept_most_L(meshes or [body.mesh for body in mold.bodies], setting.machine),
        time_to_stiff_s=soft_s(setting.sheet, setting.machine, printed, thickness_ratio=thin),
    )


def changed(setting, **words):
    """Return a setting whose machine has other values."""
    return replace(setting, machine=replace(setting.machine, **words))


def worked_with(setting, **words) -> TableDay:
    job, mold, _ = built(**words)
    return day_at_table(job, mold, setting)


def codes(working: TableDay) -> list[str]:
    return [finding.code for finding in working.findings]
