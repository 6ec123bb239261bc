"""One part too small to be made is left out with a caution; the rest of the drawing is made."""

import pytest
from support.molds import SHOP

from moldgen.errors import OutlineError
from moldgen.finding import Severity
from moldgen.job import Job, JobBody
from moldgen.job.outline import JobSvg
from moldgen.job.spec import ReadAt
from moldgen.pipeline.mold.features import resolve_features
from moldgen.pipeline.setting import setting_of

PLATE = '<rect x="5" y="5" width="80" height="60"/>'
DOT = '<circle cx="92" cy="20" r="0.75"/>'
RULE = '<rect x="5" y="70" width="80" height="0.8"/>'


def resolved(tmp_path, body, **said):
    """The features of a drawing 100 mm wide."""
    (tmp_path / "pier.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="80mm" '
        f'viewBox="0 0 100 80">{body}</svg>',
        encoding="utf-8",
    )
    pier = JobBody(name="pier", outline=JobSvg(svg="pier.svg"), height_mm=6.0, **said)
    job = Job(title="pier", body=(pier,))
    return resolve_features(job, folder=tmp_path, setting=setting_of(job, SHOP))


def left_out(found):
    """The findings about what was left out."""
    return [one for one in found.findings if one.code == "part-left-out"]


@pytest.mark.parametrize(
    ("body", "words", "at"),
    [
        (PLATE + DOT, "a part of 1.5 x 1.5 mm", (43.1, 15.0)),
        (PLATE + RULE, "a part of 80 x 0.8 mm", (0.0, -32.7)),
        (PLATE + DOT + RULE, "2 parts are left out", (-3.9, -32.7)),
    ],
)
def test_a_part_narrower_than_its_radius_is_left_out(tmp_path, body, words, at):
    """Beside a plate a dot or a rule is left out with its size and place; the plate is made."""
    found = resolved(tmp_path, body, plan_radius_mm=1.5)
    (told,) = left_out(found)

    assert told.severity is Severity.CAUTION
    assert words in told.says
    assert told.measured == 3.0
    assert told.where_mm[:2] == pytest.approx(at, abs=0.5)
    assert len(found.bodies[0].region.geoms) == 1
    assert found.bodies[0].region.area == pytest.approx(4800, rel=0.01)


def test_a_drawing_of_which_nothing_is_left_is_refused(tmp_path):
    """Where every part is too narrow the sentence is true, and refuses."""
    with pytest.raises(OutlineError, match="the outline of pier is nowhere 3 mm wide"):
        resolved(tmp_path, DOT + RULE, plan_radius_mm=1.5)


def test_a_part_thinner_than_the_sheet_over_it_is_left_out(tmp_path):
    """Read as the outside of the formed part, a dot thinner than two sheets leaves no mold."""
    found = resolved(tmp_path, PLATE + DOT, read_at=ReadAt.PART_OUTSIDE)
    (told,) = left_out(found)

    assert "a part of 1.49 x 1.49 mm" in told.says
    assert len(found.bodies[0].region.geoms) == 1
    assert left_out(resolved(tmp_path, PLATE, read_at=ReadAt.PART_OUTSIDE)) == []


def test_without_a_radius_asked_for_every_part_is_kept(tmp_path):
    """Corners are rounded as far as each part allows, so nothing is left out."""
    found = resolved(tmp_path, PLATE + DOT)

    assert left_out(found) == []
    assert len(found.bodies[0].region.geoms) == 2
