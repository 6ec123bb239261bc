"""What a job leaves open: as large as there is room, as deep as the sheet goes, said in a line."""

import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import moldgen as mg
from moldgen.job.any_job import job_from_words
from moldgen.job.feature_names import with_names
from moldgen.job.outline import JobText
from moldgen.mold.width_rule import least_gap_mm
from moldgen.pipeline.mold.choose import USUAL_LETTER_MM, choose
from moldgen.pipeline.setting import setting_of
from moldgen.printing.bed_fit import bed_fit_of_mesh
from moldgen.stock import load_shop

SHOP = load_shop(user_file=None)
FEW = settings(max_examples=12, deadline=None)


def chosen(job):
    """Return what is chosen for a job."""
    filaments = SHOP.filaments.entries
    return choose(
        with_names(job), setting=setting_of(job, SHOP), folder=Path(), filaments=filaments
    )


def letters_of(job):
    """Return the words of a sign, as chosen."""
    outline = chosen(job).job.body[0].raised[0].outline
    assert isinstance(outline, JobText)
    return outline


def told(job):
    """Return what is said of the choices, without reasons."""
    return [f"{one.what} {one.value}" for one in chosen(job).choices]


def test_a_short_word_has_the_usual_size():
    """Thirty millimeters of letters, 4 of relief, and both are said."""
    job = mg.sign("PIER 4")

    assert letters_of(job).height_mm == USUAL_LETTER_MM
    assert told(job) == ["letters 30 mm", "height of letters 4 mm"]


@pytest.mark.parametrize("words", ["HARBORMASTER", "LOW WATER CHANNEL BUOY", "SLIPWAY TO THE WEST"])
@pytest.mark.parametrize("machine", ["bench-250x250", "classroom-450x300"])
def test_long_words_are_made_to_fit(words, machine):
    """However long, the mold fits the printer's bed, and the opening with sheet to spare."""
    design = mg.design(mg.sign(words, machine=machine))
    (x0, y0, _), (x1, y1, _) = design.raw.mesh.bounds_mm
    opening = design.setting.machine

    assert bed_fit_of_mesh(design.raw.mesh, design.setting.printer).fits
    assert max(x1 - x0, y1 - y0) <= max(opening.opening_width_mm, opening.opening_depth_mm) - 30
    assert not {"print-beyond-bed", "opening-small"} & {f.code for f in design.checked.findings}


def test_a_larger_printer_gives_larger_letters():
    """The bed is what limits a long word; a bed of 400 mm lets it grow."""
    long_word = mg.sign("HARBORMASTER")
    setting = setting_of(long_word, SHOP)
    wide = replace(setting.printer, bed_width_mm=420, bed_depth_mm=420)
    small, large = (
        choose(with_names(long_word), setting=replace(setting, printer=one), folder=Path())
        for one in (setting.printer, wide)
    )
    words: list[Any] = [one.job.body[0].raised[0].outline for one in (small, large)]
    heights = [one.height_mm for one in words]

    assert heights[0] < heights[1] <= USUAL_LETTER_MM
    assert "to fit" in next(one for one in small.choices if one.what == "letters").because


def test_many_words_are_broken_into_lines():
    """Where it makes them larger by a quarter; two lines a person broke stay two."""
    broken = letters_of(mg.sign("LOW WATER CHANNEL BUOY"))
    kept = letters_of(mg.sign("LOW WATER / CHANNEL BUOY"))

    assert broken.text.count("\n") >= 1
    assert broken.text.replace("\n", " ") == "LOW WATER CHANNEL BUOY"
    assert max(map(len, broken.text.split("\n"))) <= 13
    assert kept.text == "LOW WATER\nCHANNEL BUOY"
    assert letters_of(mg.sign("PIER 4")).text == "PIER 4"


@FEW
@given(st.sampled_from(["SLIP", "OARS", "WATER", "Tern", "MM"]), st.floats(12, 40),
       st.sampled_from([0.5, 0.75, 1.0]))  # fmt: skip
def test_relief_left_open_is_never_deeper_than_a_gap_is_wide(words, height_mm, gauge_mm):
    """No caution about gaps, unless they are narrower than two gauges at any relief."""
    job = mg.sign(words, letter_height_mm=height_mm, gauge_mm=gauge_mm)
    relief_mm = chosen(job).job.body[0].raised[0].height_mm
    gaps = [f for f in mg.design(job).checked.findings if f.code == "gap-narrow"]

    assert relief_mm is not None
    assert 1.5 <= relief_mm <= 4
    assert all(one.measured < least_gap_mm(gauge_mm, 0.0) for one in gaps)


def test_letters_on_the_table_stand_no_taller_than_they_are_apart():
    """Pieces of a word web between each other like any two molds."""
    apart = mg.design(mg.sign("BOW", as_="word", letter_height_mm=50, gauge_mm=1.0))

    assert 3 < apart.raw.height_mm < 12
    assert "bodies-near" not in {f.code for f in apart.checked.findings}


def test_what_is_said_stays():
    """Sizes that a person gives are taken as they are, and nothing is said of them."""
    job = mg.sign("SLIP", letter_height_mm=18, relief_mm=7, gauge_mm=1.5, filament="PETG")
    settled = chosen(job)

    assert settled.job == with_names(job)
    assert settled.choices == ()


def test_a_job_file_holds_what_was_chosen():
    """Written and read again, it leaves nothing open and makes the same walls."""
    job = mg.sign("LOW WATER CHANNEL BUOY")
    again = job_from_words(tomllib.loads(mg.job_toml(chosen(job).job)))
    assert isinstance(again, mg.Job)

    assert chosen(again).choices == ()
    first, second = (mg.design(one).raw.mesh for one in (job, again))
    assert (first.points_mm == second.points_mm).all()


def test_a_word_fits_whichever_way_it_is_turned():
    """A narrow, deep opening takes a long word turned by a right angle."""
    setting = setting_of(mg.sign("PIER 4"), SHOP)
    deep = replace(
        setting.machine, opening_width_mm=120, opening_depth_mm=450, sheet_width_mm=490,
        sheet_depth_mm=490,
    )  # fmt: skip
    job = with_names(mg.sign("HARBOR GATE"))
    across, along = (
        choose(job, setting=replace(setting, machine=one), folder=Path()).job
        for one in (replace(deep, opening_width_mm=450, opening_depth_mm=120), deep)
    )

    assert across == along
