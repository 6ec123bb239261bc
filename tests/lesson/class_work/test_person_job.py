"""What each person of a class makes, and what they have in common."""

from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from support.some import some

import moldgen as mg
from moldgen.job import job_toml
from moldgen.job.outline import JobShape, JobSvg
from moldgen.lesson.class_work.one_size import one_sheet, one_size
from moldgen.lesson.class_work.person_job import first_text, person_jobs
from moldgen.lesson.class_work.plaque_size import LONGEST, SMALLEST
from moldgen.lesson.roster.roster import roster_of_text
from moldgen.stock import load_shop

SHOP = load_shop(user_file=None)
TAG = mg.sign("NAME", letter_height=14)
BADGE = mg.drawing(shape="cleat", width=90)
HERE = Path()


def jobs_of(text, like=TAG, folder=HERE):
    """Return what a class makes."""
    return person_jobs(roster_of_text(text), like, folder=folder)


def size_of(one):
    """Return width and depth of the plaque somebody gets."""
    design = mg.design(one.job)
    x0, y0, x1, y1 = design.features.bodies[0].region.bounds
    return x1 - x0, y1 - y0


def test_everybody_gets_the_job_with_their_own_word():
    """The name, or the word beside it; the rest is the class's."""
    ada, bo = jobs_of("name,word\nAda,\nBo,TIDE\n")

    assert [first_text(one.job).text for one in (ada, bo)] == ["Ada", "TIDE"]
    assert [one.job.title for one in (ada, bo)] == ["Ada", "TIDE"]
    assert replace(ada.job, body=TAG.body, title="NAME") == TAG


def test_a_class_with_a_name_of_its_own_keeps_it_in_the_titles():
    """A title that is more than the word stands before it."""
    (ada,) = jobs_of("Ada", replace(TAG, title="Key tag"))

    assert ada.job.title == "Key tag Ada"


def test_font_shape_and_drawing_are_the_persons_own(tmp_path):
    """A shape takes the place of a shape, in its width; words keep their place."""
    word = mg.drawing(shape="cleat", width=90, word="NAME")
    ada, bo = jobs_of("name,shape,drawing\nAda,anchor,\nBo,,gull.svg\n", word)

    assert ada.job.body[0].outline == JobShape(shape="anchor", width_mm=90)
    assert bo.job.body[0].outline == JobSvg(svg="gull.svg", width_mm=90)
    assert first_text(ada.job).text == "Ada"
    assert first_text(jobs_of("name,font\nAda,Serif\n")[0].job).font == "Serif"


def test_an_own_job_file_is_taken_as_it_is(tmp_path):
    """It lies beside the roster; what is missing is told for that person alone."""
    (tmp_path / "ada.toml").write_text(job_toml(BADGE), encoding="utf-8")
    ada, bo = jobs_of("name,job\nAda,ada.toml\nBo,bo.toml\n", folder=tmp_path)

    assert ada.job == BADGE
    assert bo.job is None
    assert "bo.toml" in bo.problem


def test_an_own_job_is_formed_on_the_table_of_the_class(tmp_path):
    """A file for another table is no reason to stop; its mold goes on this one, and it is told."""
    other = replace(BADGE, machine="bench-250x250")
    (tmp_path / "ada.toml").write_text(job_toml(other), encoding="utf-8")
    (ada,) = jobs_of("name,job\nAda,ada.toml\n", folder=tmp_path)

    assert ada.job == replace(BADGE, machine=TAG.machine)
    assert ada.changes == ("for the table classroom-450x300 instead of bench-250x250",)


@pytest.mark.parametrize(
    ("text", "like", "words"),
    [
        ("name,word\nAda,TIDE\n", BADGE, "word in row 2 of the roster must be left out"),
        ("name,shape\nAda,anchor\n", TAG, "shape in row 2 of the roster must be left out"),
        ("name,drawing\nAda,a.svg\n", TAG, "drawing in row 2 of the roster must be left out"),
    ],
)
def test_what_does_not_go_with_the_job_is_told_for_that_person(text, like, words):
    """The others of the class are not held up."""
    (ada,) = jobs_of(text, like)

    assert ada.job is None
    assert words in ada.problem


def test_a_class_without_words_makes_the_same_for_all():
    """Names are only whose it is."""
    ada, bo = jobs_of("Ada\nBo", BADGE)

    assert ada.job == bo.job == BADGE


def of_one_size(jobs):
    """Return the jobs of a class with plaques of one size."""
    return one_size(jobs, like=mg.sign("NAME"), folder=HERE, shop=SHOP).jobs


@cache
def sized():
    """Return a class before and after its plaques are made alike."""
    made = jobs_of("ADA\nBO\nTHEODOR\nBARTHOLOMEW-JONATHAN\n")
    return made, of_one_size(made)


def test_plaques_of_a_class_are_alike():
    """All have one size; it is that of the longest word which is not much longer than others."""
    before, after = sized()
    own, alike = (list(map(size_of, jobs)) for jobs in (before, after))
    widths = sorted(width for width, _ in own)
    usual = (widths[1] + widths[2]) / 2

    for width, depth in some(alike):
        assert (width, depth) == pytest.approx(alike[0], abs=0.02)
    spare = 2 * before[0].job.body[0].outline.around_mm
    longest = spare + SMALLEST * (widths[-1] - spare)
    assert alike[0][0] == pytest.approx(max(LONGEST * usual, longest), abs=0.02)
    assert alike[0][0] < widths[-1]


def test_only_words_that_are_much_longer_get_smaller_letters_and_it_is_told():
    """Their letters fit between the margins; the others stay as high as asked."""
    before, after = sized()
    heights = [first_text(one.job).height_mm for one in after]

    assert heights[:3] == [14, 14, 14]
    assert SMALLEST * 14 - 0.1 <= heights[3] < 14
    assert [bool(one.changes) for one in after] == [False, False, False, True]
    assert after[3].changes == (f"letters {heights[3]:g} mm high, so that the word fits",)
    resolved = mg.design(after[3].job).features.bodies[0]
    x0, _, x1, _ = resolved.region.bounds
    u0, _, u1, _ = resolved.children[0].region.bounds
    margin = before[3].job.body[0].outline.around_mm
    assert u0 - x0 >= margin - 0.1
    assert x1 - u1 >= margin - 0.1


def test_words_without_a_height_get_one_that_suits_all():
    """The largest that the longest word may have."""
    after = of_one_size(jobs_of("CHRISTOPHER\nBARTHOLOMEW", mg.sign("NAME")))
    heights = {first_text(one.job).height_mm for one in after}

    own = [mg.design(mg.sign(word)).request for word in ("CHRISTOPHER", "BARTHOLOMEW")]
    chosen = [first_text(job) for job in own if isinstance(job, mg.Job)]

    assert heights == {min(text.height_mm for text in some(chosen))}


def test_jobs_of_other_kinds_and_single_ones_stay_as_they_are():
    """A shape has a size of its own; one plaque has nothing to be like."""
    for made in (jobs_of("Ada\nBo", BADGE), jobs_of("Ada")):
        assert of_one_size(made) == made


def test_a_class_is_formed_from_one_thickness_of_sheet():
    """The least that anybody needs; a thickness that is said stays."""
    made = jobs_of("WWWWWW\nIDA", mg.sign("NAME", letter_height=8))
    alike = one_sheet(made, folder=HERE, shop=SHOP)
    gauges = {one.job.sheet.gauge_mm for one in alike}

    assert len(gauges) == 1
    assert gauges == {min(mg.design(one.job).setting.sheet.gauge_mm for one in made)}
    said = jobs_of("Ada", mg.sign("NAME", letter_height=14, gauge_mm=2.0))
    assert one_sheet(said, folder=HERE, shop=SHOP) == said


def test_a_job_that_cannot_be_made_does_not_hold_up_the_sizes():
    """What is wrong with it is told when it is built."""
    made = jobs_of("name,font\nADA,\nBO,no such font\nCEM,\n")
    after = of_one_size(made)

    assert after[1].job == made[1].job
    assert size_of(after[0]) == pytest.approx(size_of(after[2]), abs=0.02)
