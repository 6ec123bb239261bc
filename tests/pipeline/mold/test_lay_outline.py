"""Drawings laid where a job puts them: what is told of them goes along."""

import pytest

from moldgen.finding import Severity
from moldgen.job.outline import JobSvg
from moldgen.pipeline.mold.ground import Ground
from moldgen.pipeline.mold.outlines import lay_outline

BOW = '<path d="M10 10 L90 80 L90 10 L10 80 Z"/>'
"""Crosses itself in the middle of its width, 35 under its upper edge."""


@pytest.fixture
def lay(tmp_path):
    """Lay a drawing of the body given with its middle at x 5, y 7 mm."""

    def laid(body=BOW, page='width="100mm" height="100mm" viewBox="0 0 100 100"', **said):
        (tmp_path / "gull.svg").write_text(
            f'<svg xmlns="http://www.w3.org/2000/svg" {page}>{body}</svg>', encoding="utf-8"
        )
        ground = Ground(flat=None, middle_mm=(5.0, 7.0), folder=tmp_path)
        return lay_outline(JobSvg(svg="gull.svg", **said), ground, name="gull")

    return laid


def place_of(laid):
    """Return the place of the only finding."""
    (finding,) = laid.findings
    return finding.where_mm


def test_the_place_of_a_crossing_moves_with_its_drawing(lay):
    """Moved, scaled and turned, the crossing is told where it comes to lie."""
    assert place_of(lay()) == pytest.approx((5, 7, 0))
    assert place_of(lay(x_mm=3.0)) == pytest.approx((8, 7, 0))


def test_the_place_is_mirrored_and_turned_as_the_drawing_is(lay):
    """A crossing off the middle of its drawing is told on the side it is laid on."""
    flag = '<path d="M10 10 L30 30 V10 L10 30 Z M30 15 H90 V25 H30 Z"/>'

    assert place_of(lay(flag))[:2] == pytest.approx((-25, 7))
    assert place_of(lay(flag, width_mm=40.0))[:2] == pytest.approx((-10, 7))
    assert place_of(lay(flag, mirror=True))[:2] == pytest.approx((35, 7))
    assert place_of(lay(flag, turn_deg=90.0))[:2] == pytest.approx((5, -23))


def test_a_drawing_without_unit_is_a_caution_unless_the_job_says_its_size(lay):
    """What the standard makes of bare units matters only where nobody says the size."""
    square = '<rect width="101" height="101"/>'
    (finding,) = lay(square, page='viewBox="0 0 101 101"').findings

    assert finding.severity is Severity.CAUTION
    assert finding.measured == pytest.approx(101 * 25.4 / 96)
    assert lay(square, page='viewBox="0 0 101 101"', width_mm=101.0).findings == ()
