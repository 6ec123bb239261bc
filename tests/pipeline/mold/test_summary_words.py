"""What the summary and the steps say of draw, of letters and of pieces in a picture."""

import pytest

from moldgen.job import job_from_words
from moldgen.mold.checks.draw import Draw
from moldgen.pipeline.mold.rows import _draw_text
from moldgen.pipeline.mold.steps import _reading_text

PLAQUE = {"shape": "rounded-plaque", "width": 90, "height": 40}
LETTERS = {"name": "letters", "height": 4, "outline": {"text": "BAIT", "height": 20}}


def draw(name, areal):
    """Return the draw of a thing, of a sheet of 1.5 mm."""
    return Draw(
        name=name,
        areal=areal,
        linear=1.0,
        height_to_width=0.2,
        mean_thickness_mm=1.5 / areal,
        where_mm=(0.0, 0.0, 0.0),
        sunk=False,
    )


def features(*, raised=(), sunk=()):
    """Return the features of a job of one plate."""
    plate = {"name": "plate", "outline": PLAQUE, "height": 20, "raised": raised, "sunk": sunk}
    return job_from_words({"title": "Bait plate", "body": [plate]}).body


def test_draw_tells_the_feature_that_is_drawn_farthest():
    """A deep compartment is told with its own thickness, not with the mean of the whole sheet."""
    told = _draw_text([draw("", 1.2), draw("block", 1.7), draw("well", 2.5)])

    assert told == "up to 2.5 : 1 (well), mean thickness there 0.6 mm"


def test_draw_of_a_part_without_features_is_that_of_the_whole():
    """A mesh from elsewhere has no named features: the whole is told."""
    assert _draw_text([draw("", 1.2)]) == "1.2 : 1, mean thickness 1.25 mm"


@pytest.mark.parametrize(
    ("plate", "says"),
    [
        ({}, ""),
        ({"raised": [LETTERS]}, " Letters read from left to right."),
        ({"sunk": [LETTERS]}, " Letters read from left to right."),
    ],
)
def test_only_words_are_said_to_read(plate, says):
    """A tray or a fish is not told how its letters read; letters on or in a plate are."""
    assert _reading_text(features(**plate)) == says
