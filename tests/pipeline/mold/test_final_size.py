"""A drawing is flattened, mended and judged at the size it is wanted in, not that of its file."""

import numpy as np
import pytest
import shapely

from moldgen.job.outline import JobDxf, JobSvg, Placement
from moldgen.outline.dxf.read import outline_from_dxf_bytes
from moldgen.outline.sizing import WantedSize
from moldgen.outline.svg.read import outline_from_svg_bytes
from moldgen.pipeline.mold.ground import Ground
from moldgen.pipeline.mold.outlines import lay_outline

ARC = "M{0} {1} a{2} {2} 0 1 0 {3} 0 a{2} {2} 0 1 0 -{3} 0 Z"
"""A circle as drawing programs write it: left, middle, radius, diameter."""


def svg(body, page):
    """An SVG drawing with a viewBox and no unit."""
    return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{page}">{body}</svg>'


def laid(tmp_path, text, **said):
    """An SVG as a job lays it on the table, in the middle."""
    (tmp_path / "buoy.svg").write_text(text, encoding="utf-8")
    ground = Ground(flat=None, middle_mm=(0.0, 0.0), folder=tmp_path)
    return lay_outline(JobSvg(svg="buoy.svg", **said), ground, name="buoy")


def stray_mm(region, radius_mm):
    """How far an outline strays from a circle round the origin, anywhere along it."""
    line = shapely.segmentize(region.geoms[0].exterior, 0.05)
    return np.abs(np.hypot(*shapely.get_coordinates(line).T) - radius_mm).max()


@pytest.mark.parametrize("page", [1, 16, 24, 512, 4000])
def test_a_circle_is_round_at_the_size_it_is_made_in(tmp_path, page):
    """However large its page is, a circle of 120 mm strays by no more than 0.02 mm."""
    r = 0.4 * page
    by_shape = f'<circle cx="{page / 2}" cy="{page / 2}" r="{r}"/>'
    by_path = f'<path d="{ARC.format(0.1 * page, 0.5 * page, r, 2 * r)}"/>'

    for body in (by_shape, by_path):
        region = laid(tmp_path, svg(body, f"0 0 {page} {page}"), width_mm=120.0).region
        assert region.bounds == pytest.approx((-60, -60, 60, 60), abs=0.02)
        assert stray_mm(region, 60.0) <= 0.02


def test_a_gap_is_judged_at_the_size_it_is_made_in(tmp_path):
    """A gap of 2 mm on the mold is no gap too narrow for the sheet, however small the file is."""
    halves = '<rect x="1" y="4" width="5" height="8"/><rect x="6.25" y="4" width="9" height="8"/>'

    found = laid(tmp_path, svg(halves, "0 0 16 16"), width_mm=120.0)

    assert len(found.region.geoms) == 2
    assert found.findings == ()


def test_a_gap_is_judged_at_the_size_it_shrinks_to(tmp_path):
    """A gap of 0.5 mm in a large file is one of 0.05 mm on the mold, and filled."""
    halves = '<rect x="0" width="500" height="400"/><rect x="502" width="498" height="400"/>'

    found = laid(tmp_path, svg(halves, "0 0 1000 400"), width_mm=30.0)

    assert len(found.region.geoms) == 1
    assert "slit-filled" in {finding.code for finding in found.findings}


def test_only_the_wanted_size_is_odd_or_not(tmp_path):
    """A drawing 4 mm wide by its file is no caution where 120 mm are asked for."""
    text = svg('<rect width="16" height="16"/>', "0 0 16 16")

    assert laid(tmp_path, text, width_mm=120.0).findings == ()
    assert {one.code for one in laid(tmp_path, text).findings} == {
        "drawing-size-odd", "drawing-size-in-pixels",
    }  # fmt: skip


def test_a_drawing_in_hand_is_mended_at_its_final_size(tmp_path):
    """What was read before its size was known is brought to that size before it is mended."""
    halves = '<rect x="1" y="4" width="5" height="8"/><rect x="6.25" y="4" width="9" height="8"/>'
    drawing = outline_from_svg_bytes(svg(halves, "0 0 16 16"))
    ground = Ground(
        flat=None, middle_mm=(0.0, 0.0), folder=tmp_path, drawings={"float.svg": drawing}
    )

    found = lay_outline(JobSvg(svg="float.svg", width_mm=120.0), ground, name="float")

    assert len(found.region.geoms) == 2
    assert found.region.bounds[2] - found.region.bounds[0] == pytest.approx(120)
    assert found.findings == ()


def test_both_sides_are_stretched_and_the_corner_stays_where_it_is_drawn(tmp_path):
    """With width and height, placed as drawn, the lower left corner is where the file has it."""
    text = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="80mm" '
        'viewBox="0 0 100 80"><rect x="10" y="20" width="20" height="40"/></svg>'
    )

    found = laid(tmp_path, text, width_mm=60.0, height_mm=30.0, place=Placement.AS_DRAWN)

    assert found.region.bounds == pytest.approx((10, 20, 70, 50))


@pytest.mark.parametrize("unit", ["cm", "mm", "m"])
def test_a_circle_of_a_dxf_is_round_at_the_size_it_is_made_in(tmp_path, unit):
    """A disc of 1 unit strays by no more than 0.02 mm at 120 mm, whatever the unit is."""
    import ezdxf

    document = ezdxf.new(units={"mm": 4, "cm": 5, "m": 6}[unit])
    document.modelspace().add_circle((3, 2), 0.5)
    document.saveas(tmp_path / "disc.dxf")
    ground = Ground(flat=None, middle_mm=(0.0, 0.0), folder=tmp_path)

    region = lay_outline(JobDxf(dxf="disc.dxf", width_mm=120.0), ground, name="disc").region

    assert region.bounds == pytest.approx((-60, -60, 60, 60), abs=0.02)
    assert stray_mm(region, 60.0) <= 0.02


def test_the_corner_of_a_curve_stays_where_it_is_drawn(tmp_path):
    """The left end of a circle is known to a micrometer before it is cut into chords."""
    text = svg('<circle cx="12" cy="12" r="10"/>', "0 0 24 24")

    found = laid(tmp_path, text, width_mm=120.0, place=Placement.AS_DRAWN)

    corner = 2 * 25.4 / 96
    assert found.region.bounds[:2] == pytest.approx((corner, corner), abs=1e-3)


def test_what_is_left_out_has_no_say_in_the_size():
    """A disc between center marks is as wide as asked, and its corner stays where it is drawn."""
    import io

    import ezdxf

    document = ezdxf.new(units=4)
    space = document.modelspace()
    space.add_circle((50, 30), 25)
    space.add_line((15, 30), (85, 30))
    space.add_line((50, -5), (50, 65))
    text = io.StringIO()
    document.write(text)

    region = outline_from_dxf_bytes(text.getvalue(), size=WantedSize(width_mm=120.0)).region

    assert region.bounds[2] - region.bounds[0] == pytest.approx(120, abs=1e-9)
    assert region.bounds[:2] == pytest.approx((25, 5), abs=0.02)
