"""Small molds with their day at the table."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import cache
from pathlib import Path

from moldgen.job import Job
from moldgen.job.feature_names import with_names
from moldgen.job.read import mold_from_words
from moldgen.pipeline.mold.day import (
    TableDay,
    day_of,
)
from moldgen.pipeline.mold.design import design_mold
from moldgen.stock import load_shop

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
    design = design_mold(job, folder=Path(), shop=SHOP, progress=lambda stage: None)
    return job, design.mold, design.setting


def built(**words):
    return mold_of(json.dumps(words))


@cache
def worked(text: str = "{}") -> TableDay:
    job, mold, setting = mold_of(text)
    return day_of(job, mold, setting, SHOP)


def changed(setting, **words):
    """Return a setting whose machine has other values."""
    return replace(setting, machine=replace(setting.machine, **words))


def worked_with(setting, **words) -> TableDay:
    job, mold, _ = built(**words)
    return day_of(job, mold, setting, SHOP)


def codes(working: TableDay) -> list[str]:
    return [finding.code for finding in working.findings]
