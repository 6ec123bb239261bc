"""Words that find their own place on a shape: largest, inside, said, written down and refused."""

import tomllib
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely

import moldgen as mg
from moldgen.errors import SpecError
from moldgen.job.any_job import job_from_words
from moldgen.job.feature_names import with_names
from moldgen.job.outline import JobText
from moldgen.mold.build import flat_region
from moldgen.pipeline.mold.choose import choose
from moldgen.pipeline.setting import setting_of
from moldgen.stock import load_shop

SIGNS: dict[str, Any] = {
    "fish": {"shape": "fish", "width_mm": 150, "word": "NAUTILUS"},
    "edge": {"shape": "fish", "width_mm": 180, "word": "NAUTILUS", "along": "edge"},
    "circle": {"shape": "lifebuoy", "width_mm": 160, "word": "BOAT SHED", "along": "circle"},
    "sunk": {"shape": "heart", "width_mm": 120, "word": "PIER 4", "sunk": True},
}
SHOP = load_shop(user_file=None)


def chosen(**said):
    """Return what is chosen for a drawing."""
    job = mg.drawing(**said)
    return choose(with_names(job), setting=setting_of(job, SHOP), folder=Path())


@cache
def design(name, **more):
    """Return the design of a shape with a word."""
    return mg.design(mg.drawing(**SIGNS[name], **more))


def word_of(job):
    """Return the words that a body of a job bears."""
    body = job.body[0]
    children: list[Any] = list(body.raised) + list(body.sunk)
    (letters,) = children
    assert isinstance(letters.outline, JobText)
    return letters.outline


@pytest.mark.parametrize("name", SIGNS)
def test_the_word_lies_inside_the_flat_less_its_margin(name):
    """All of it, straight or along a curve."""
    (body,) = design(name).features.bodies
    (letters,) = body.children

    room = shapely.buffer(flat_region(body), -3.9)
    assert len(letters.region.geoms) >= 5
    assert room.covers(letters.region)


@pytest.mark.parametrize("name", SIGNS)
def test_the_word_is_the_largest_that_fits(name):
    """One millimeter more is refused, in a sentence that tells the height chosen."""
    height_mm = word_of(chosen(**SIGNS[name]).job).height_mm
    assert height_mm is not None
    with pytest.raises(SpecError, match=f"at most {height_mm:g} mm to stay 4 mm inside"):
        _ = design(name, letter_height_mm=height_mm + 1).features


def test_what_was_chosen_is_said_and_written_down():
    """A line tells the letters, and the saved job leaves nothing open and makes the same walls."""
    first = chosen(**SIGNS["edge"])
    again = job_from_words(tomllib.loads(mg.job_toml(first.job)))
    assert isinstance(again, mg.Job)
    made, remade = design("edge").raw.mesh, mg.design(again).raw.mesh

    assert "letters" in [one.what for one in first.choices]
    assert choose(again, setting=setting_of(again, SHOP), folder=Path()).choices == ()
    assert (made.points_mm == remade.points_mm).all()


def test_a_word_is_broken_where_that_makes_it_larger():
    """Two words on a heart stand on two lines; along an edge they stay on one."""
    broken = word_of(chosen(shape="heart", width_mm=120, word="LOW WATER").job)

    assert broken.text == "LOW\nWATER"
    assert word_of(chosen(**SIGNS["circle"]).job).text == "BOAT SHED"


def test_a_round_word_stands_on_top():
    """Its middle is over the middle of the circle."""
    (body,) = design("circle").features.bodies
    x0, _, x1, y1 = body.children[0].region.bounds
    left, _, right, _ = body.region.bounds

    assert (x0 + x1) / 2 == pytest.approx((left + right) / 2, abs=2.5)
    assert y1 > 50


def test_a_margin_that_is_asked_for_makes_letters_smaller():
    """Ten millimeters from the edge of the flat take more than four."""
    narrow = word_of(chosen(**SIGNS["fish"], margin_mm=10).job)
    wide = word_of(chosen(**SIGNS["fish"]).job)

    assert narrow.height_mm is not None
    assert wide.height_mm is not None
    assert narrow.height_mm < wide.height_mm


def test_what_fits_nowhere_is_said_in_one_sentence():
    """Field, rule, value and what to do."""
    job = mg.drawing(shape="anchor", width_mm=60, word="HARBOR MASTER")
    with pytest.raises(SpecError) as told:
        mg.design(job)

    assert str(told.value) == (
        "words of letters must be few enough for letters of 5 mm on the flat they stand on, 4 mm "
        "from its edge (got 'HARBOR MASTER'). Write fewer, make the shape larger, or the margin "
        "smaller."
    )


@pytest.mark.parametrize(
    ("said", "field"),
    [
        ({"along": "edge"}, "along"),
        ({"sunk": True}, "sunk"),
        ({"relief_mm": 3}, "relief_mm"),
        ({"word": "A / B", "along": "circle"}, "text"),
    ],
)
def test_options_that_do_not_go_together_are_refused(said, field):
    """What belongs to a word without a word, and two lines along one curve."""
    with pytest.raises(SpecError) as told:
        mg.drawing(shape="heart", **said)

    assert told.value.field == field


def test_a_word_on_the_table_has_no_flat_to_find_a_place_on():
    """Neither a best place nor a curve."""
    for words in ({"place": "best"}, {"along": "edge"}):
        outline = {"text": "GULL", "height": 20, **words}
        job = job_from_words({"title": "gull", "body": [{"outline": outline, "height": 8}]})
        assert isinstance(job, mg.Job)
        with pytest.raises(SpecError, match="where what it stands on has no shape of its own"):
            _ = mg.design(job).features


def test_a_fitted_word_survives_shrinkage():
    """Made larger by what the plastic shrinks, it still lies inside the flat."""
    made = design("fish", shrinkage=True)
    (body,) = made.features.bodies

    assert flat_region(body).covers(body.children[0].region)
    (as_is,) = design("fish").features.bodies
    assert np.ptp(body.region.bounds[::2]) > 1.003 * np.ptp(as_is.region.bounds[::2])
