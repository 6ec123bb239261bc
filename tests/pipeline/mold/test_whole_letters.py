"""Letters stay whole: a radius that would part or fill one is made smaller, an offset is a stop."""

import pytest
import shapely
from support.molds import SHOP

from moldgen.finding import Severity
from moldgen.job import Job, JobBody
from moldgen.job.outline import JobText
from moldgen.job.spec import ReadAt
from moldgen.pipeline.mold.features import resolve_features
from moldgen.pipeline.setting import setting_of


def resolved(tmp_path, text="Harbor", height_mm=12.0, **said):
    """The features of a word of small letters in a thin face."""
    outline = JobText(text=text, height_mm=height_mm, font="DejaVu Sans")
    word = JobBody(name="word", outline=outline, height_mm=3.0, **said)
    job = Job(title="word", body=(word,))
    return resolve_features(job, folder=tmp_path, setting=setting_of(job, SHOP))


def rings(found):
    """Pieces and counters of a word."""
    region = found.bodies[0].region
    return len(region.geoms), sum(len(part.interiors) for part in region.geoms)


def told(found, code):
    """The findings of a code."""
    return [one for one in found.findings if one.code == code]


def test_a_radius_that_would_part_letters_is_made_smaller_for_them(tmp_path):
    """Strokes thinner than the radius stay; the letters are named, and nothing is lost."""
    found = resolved(tmp_path, plan_radius_mm=1.5)
    (note,) = told(found, "letters-rounded-less")

    assert rings(found) == (6, 3)
    assert (note.severity, note.measured) == (Severity.NOTE, 1.5)
    assert "the letters H, a, r, b, o" in note.says
    assert told(found, "stroke-lost-to-radius") == []


def test_letters_that_bear_the_radius_have_it_and_nothing_is_told(tmp_path):
    """Large letters are rounded as asked."""
    found = resolved(tmp_path, height_mm=80.0, plan_radius_mm=1.5)

    assert told(found, "letters-rounded-less") == []
    opened = shapely.buffer(shapely.buffer(found.bodies[0].region, -1.4), 1.4)
    assert opened.area == pytest.approx(found.bodies[0].region.area, rel=1e-3)


def test_letters_that_an_offset_parts_are_a_stop_that_names_them(tmp_path):
    """Read as the outside of the formed part, thin strokes go; the height that would do is told."""
    (stop,) = told(resolved(tmp_path, height_mm=20.0, read_at=ReadAt.PART_OUTSIDE), "letters-apart")

    assert stop.severity is Severity.STOP
    assert stop.says.startswith("the letters a, r, b cannot stay whole")
    high = float(stop.advice.split("letters ")[1].split(" mm")[0])
    whole = resolved(tmp_path, height_mm=high, read_at=ReadAt.PART_OUTSIDE)
    assert told(whole, "letters-apart") == []
    assert rings(whole) == (6, 3)
