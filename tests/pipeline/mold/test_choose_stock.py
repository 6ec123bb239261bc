"""Sheet and filament left open: the usual, or the nearest that nothing speaks against."""

from pathlib import Path

import pytest

import moldgen as mg
from moldgen.finding import Severity
from moldgen.job.feature_names import with_names
from moldgen.pipeline.mold.choose import choose
from moldgen.pipeline.setting import setting_of
from moldgen.stock import load_shop

SHOP = load_shop(user_file=None)


def chosen(job):
    """Return what is chosen for a job."""
    return choose(
        with_names(job), setting=setting_of(job, SHOP), folder=Path(),
        filaments=SHOP.filaments.entries,
    )  # fmt: skip


def stock_of(found):
    """Return gauge and filament, and what is said of either."""
    job = found.job
    told = {one.what: one.because for one in found.choices if one.what in {"sheet", "filament"}}
    return job.sheet.gauge_mm, job.filament, told


@pytest.mark.parametrize("job", [mg.sign("PIER 4"), mg.tray(120, 80, 25)])
def test_the_usual_stock_is_taken_where_nothing_speaks_against_it(job):
    """A sheet of 1.5 mm and PETG, of which nothing is said."""
    assert stock_of(chosen(job)) == (1.5, "PETG", {})


@pytest.mark.parametrize("height_mm", [12, 15])
def test_small_letters_get_a_sheet_that_goes_between_them(height_mm):
    """The thickest thinner sheet that is sold and fits; with it no gap is too narrow."""
    job = mg.sign("TIDE", letter_height_mm=height_mm)
    usual = mg.sign("TIDE", letter_height_mm=height_mm, gauge_mm=1.5)
    gauge_mm, _, told = stock_of(chosen(job))
    codes = [{one.code for one in mg.design(each).mold.findings} for each in (job, usual)]

    assert gauge_mm < 1.5
    assert gauge_mm in {one.gauge_mm for one in SHOP.gauges_for("HIPS")}
    assert told == {"sheet": "the gaps of letters are too narrow for 1.5 mm"}
    assert "gap-narrow" not in codes[0]
    assert "gap-narrow" in codes[1]


def test_a_wanted_thickness_takes_a_thicker_sheet():
    """Where the usual sheet would be thinner on the mean than the part must be anywhere."""
    gauge_mm, _, told = stock_of(chosen(mg.tray(100, 80, 40, least_mm=0.8, forming="preview")))

    assert gauge_mm > 1.5
    assert told == {"sheet": "1.5 mm would be thinner than 0.8 mm on the mean"}


def test_a_plastic_that_is_not_sold_in_the_usual_gauge_gets_the_nearest():
    """APET ends at 1 mm, of which that is the nearest to 1.5."""
    gauge_mm, _, told = stock_of(chosen(mg.sign("PIER 4", plastic="APET")))

    assert gauge_mm == 1.0
    assert told == {"sheet": "APET is not sold in 1.5 mm"}


def test_no_gauge_helps_a_relief_that_is_too_deep():
    """A relief that was asked for, deeper than its gaps are wide, keeps the usual sheet."""
    gauge_mm, _, told = stock_of(chosen(mg.sign("SLIP", letter_height_mm=30, relief_mm=12)))

    assert (gauge_mm, told) == (1.5, {})


def test_what_was_set_stays():
    """A sheet and a filament that a person names are taken as they are."""
    thick = mg.tray(120, 90, 80, gauge_mm=3.0, filament="PETG", machine="workshop-600x600")
    small = mg.sign("TIDE", letter_height_mm=12, gauge_mm=1.5, filament="PLA")

    assert stock_of(chosen(thick)) == (3.0, "PETG", {})
    assert stock_of(chosen(small)) == (1.5, "PLA", {})


def test_a_thick_sheet_gets_a_filament_that_stands_it():
    """The softest that lasts a class; of the mold nothing grave is said for it any more."""
    left = mg.tray(60, 50, 40, gauge_mm=3.0)
    petg = mg.tray(60, 50, 40, gauge_mm=3.0, filament="PETG")
    found = chosen(left)
    grave = [
        {one.code for one in mg.design(job).mold.findings if one.severity is not Severity.NOTE}
        for job in (found.job, petg)
    ]
    softer = [
        one.name
        for one in SHOP.filaments.entries
        if SHOP.filament("PETG").stands_degC < one.stands_degC
        and one.stands_degC < SHOP.filament(found.job.filament).stands_degC
    ]

    assert found.job.filament != "PETG"
    assert softer == []
    assert stock_of(found)[2] == {"filament": "PETG would soften under this sheet in a class of 30"}
    assert "mold-warms-up" not in grave[0]
    assert "mold-warms-up" in grave[1]


def test_a_mold_that_would_warp_keeps_the_usual_filament():
    """A block so long that what stands the heat would lift off the bed stays with PETG."""
    job = mg.tray(200, 140, 80, gauge_mm=3.0, machine="workshop-600x600")

    assert stock_of(chosen(job)) == (3.0, "PETG", {})
