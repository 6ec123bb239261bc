"""Shapes painted over each other are read as they are seen: white is paper."""

import pytest
from shapely import box

from moldgen.finding import Severity
from moldgen.outline.svg.read import outline_from_svg_bytes


def rect(x, y, width, height, fill="black"):
    """A filled rectangle, y down."""
    return f'<rect x="{x}" y="{y}" width="{width}" height="{height}" fill="{fill}"/>'


def read(*shapes, part=None):
    """A drawing on a page of 100 x 100 mm."""
    return outline_from_svg_bytes(
        '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" '
        f'viewBox="0 0 100 100">{"".join(shapes)}</svg>',
        part=part,
    )


def told(drawing):
    """Code and severity of what was told."""
    return [(one.code, one.severity) for one in drawing.findings]


WHITE = [("drawing-white-fill", Severity.CAUTION)]


def test_a_white_page_under_the_art_is_left_out():
    """A sheet of white behind everything is no plate; its size is told."""
    drawing = read(rect(0, 0, 100, 100, "white"), rect(20, 20, 30, 40))

    assert drawing.region.equals(box(20, 40, 50, 80))
    assert told(drawing) == WHITE
    assert "the largest is 100 x 100 mm" in drawing.findings[0].says


def test_white_is_cut_out_of_what_it_covers():
    """White on black is a hole; where it runs beyond the black it is nothing."""
    drawing = read(rect(10, 10, 60, 60), rect(30, 30, 70, 20, "#fff"))

    assert drawing.region.area == pytest.approx(60 * 60 - 40 * 20)
    assert told(drawing) == WHITE


def test_what_is_painted_over_white_is_seen():
    """Black on white on black stands in its hole."""
    drawing = read(rect(10, 10, 60, 60), rect(20, 20, 40, 40, "white"), rect(30, 30, 20, 20))

    assert drawing.region.area == pytest.approx(3600 - 1600 + 400)
    assert len(drawing.region.geoms) == 2


def test_a_shape_wholly_under_white_is_no_part():
    """What nobody sees is neither raised nor counted."""
    drawing = read(rect(10, 10, 60, 60), rect(80, 80, 5, 5), rect(75, 75, 20, 20, "white"))

    assert len(drawing.parts) == 1


@pytest.mark.parametrize(
    "shapes",
    [[rect(10, 10, 30, 30, "white")], [rect(10, 10, 60, 60, "white"), rect(80, 1, 9, 9, "#fff")]],
)
def test_where_all_is_white_it_is_solid(shapes):
    """A white sign for a dark ground is raised as it is drawn."""
    drawing = read(*shapes)

    assert drawing.region.area == pytest.approx(900 if len(shapes) == 1 else 3681)
    assert told(drawing) == WHITE


def test_white_one_can_see_through_is_not_paper():
    """A veil of half-clear white over a plate leaves the plate whole."""
    veil = '<rect width="90" height="90" fill="white" fill-opacity="0.5"/>'

    assert read(rect(10, 10, 60, 60), veil).region.area == pytest.approx(90 * 90)


def test_a_picture_in_colors_is_told_to_be_a_silhouette():
    """Three colors over each other become one outline, and the way to one of them is named."""
    face = [rect(10, 10, 80, 80, "gold"), rect(30, 30, 10, 10, "navy"), rect(30, 60, 40, 9, "red")]
    drawing = read(*face)

    assert told(drawing) == [("drawing-colors-merged", Severity.CAUTION)]
    assert "3 shapes in 3 colors" in drawing.findings[0].says
    assert "--part" in drawing.findings[0].advice
    assert told(read(*face, part="2")) == []
    assert (
        told(read(*(rect(30 * k, 0, 20, 20, one) for k, one in enumerate("red tan navy".split()))))
        == []
    )
