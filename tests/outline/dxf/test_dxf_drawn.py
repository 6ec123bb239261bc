"""DXF drawings as people have them: center marks, maps, shared edges, filled areas, text."""

import io
import logging
from math import pi

import ezdxf
import pytest

from moldgen.errors import OutlineError
from moldgen.finding import Severity
from moldgen.outline.dxf.read import outline_from_dxf_bytes

CORNERS = [(0, 0), (60, 0), (60, 40), (0, 40)]


def read(draw, *, units=4):
    """A drawing made with a function that draws into its model space."""
    document = ezdxf.new(units=units)
    draw(document.modelspace())
    text = io.StringIO()
    document.write(text)
    return outline_from_dxf_bytes(text.getvalue())


def lines(space, *ends):
    """Draw straight lines from corner to corner."""
    for start, end in ends:
        space.add_line(start, end)


def told(drawing, code):
    """The only finding of a code."""
    (finding,) = [one for one in drawing.findings if one.code == code]
    return finding


def test_center_marks_are_left_out_with_place_and_size():
    """A circle with center marks is a disc; the caution tells where the marks are, how large."""

    def draw(space):
        space.add_circle((50, 30), 25)
        lines(space, ((20, 30), (80, 30)), ((50, 0), (50, 60)))

    drawing = read(draw)
    finding = told(drawing, "drawing-open-lines")

    assert drawing.region.area == pytest.approx(pi * 25**2, rel=1e-3)
    assert (finding.severity, finding.measured) == (Severity.CAUTION, 2)
    assert finding.where_mm == pytest.approx((50, 30, 0))
    assert "60 x 0 mm" in finding.says


def test_an_outline_with_a_gap_is_refused_beside_its_holes():
    """A plate whose border has a gap of 2 mm is no matter of center marks."""

    def draw(space):
        space.add_circle((30, 20), 5)
        space.add_lwpolyline([(0, 2), (0, 40), (60, 40), (60, 0), (0, 0)])

    with pytest.raises(OutlineError, match=r"open end at x 0, y 2 mm: .* close the line\.$"):
        read(draw)


def test_a_window_with_a_gap_is_refused_in_its_plate():
    """A line round a quarter of the plate is meant to close, and is not left out as a mark."""

    def draw(space):
        space.add_lwpolyline(CORNERS, close=True)
        space.add_lwpolyline([(15, 12), (15, 30), (45, 30), (45, 10), (15, 10)])

    with pytest.raises(OutlineError, match="open end at x 15, y 12 mm"):
        read(draw)


def test_lines_alone_that_enclose_nothing_are_refused():
    """An angle of two lines is refused with the place of its open end."""
    with pytest.raises(OutlineError, match=r"open end at x 0, y 0 mm"):
        read(lambda space: lines(space, ((0, 0), (40, 0)), ((40, 0), (40, 30))))


def test_a_drawing_in_map_coordinates_is_moved_to_its_origin():
    """A pier 5200 km up a map's grid is read in full precision, and it is said."""

    def draw(space):
        space.add_lwpolyline([(5.2e6 + x, 3e6 + y) for x, y in CORNERS], close=True)

    drawing = read(draw)
    finding = told(drawing, "drawing-moved")

    assert drawing.region.bounds == pytest.approx((0, 0, 60, 40), abs=1e-5)
    assert (finding.severity, "5.2 km and 3 km" in finding.says) == (Severity.NOTE, True)


def test_a_drawing_near_its_origin_stays_where_it_is():
    """What lies within a kilometer keeps its place, and nothing is said."""
    drawing = read(
        lambda space: space.add_lwpolyline([(900 + x, -500 + y) for x, y in CORNERS], close=True)
    )

    assert drawing.region.bounds == pytest.approx((900, -500, 960, -460))
    assert drawing.findings == ()


def test_areas_that_share_an_edge_are_read_as_one():
    """Two berths with a line between them are one area; the caution tells where lines branch."""
    berths = [((0, 0), (30, 0)), ((30, 0), (30, 40)), ((30, 40), (0, 40)), ((0, 40), (0, 0)),
              ((30, 0), (60, 0)), ((60, 0), (60, 40)), ((60, 40), (30, 40))]  # fmt: skip
    drawing = read(lambda space: lines(space, *berths))
    finding = told(drawing, "drawing-lines-branch")

    assert drawing.region.area == pytest.approx(60 * 40)
    assert len(drawing.region.geoms) == 1
    assert (finding.severity, finding.measured) == (Severity.CAUTION, 2)
    assert finding.where_mm[0] == pytest.approx(30)


def test_a_stub_at_a_corner_is_left_out():
    """A line that runs on past a corner is an open line, and the square is read."""
    square = list(zip(CORNERS, CORNERS[1:] + CORNERS[:1], strict=True))
    drawing = read(lambda space: lines(space, *square, ((60, 40), (90, 40))))

    assert drawing.region.area == pytest.approx(2400)
    assert told(drawing, "drawing-open-lines").where_mm == pytest.approx((75, 40, 0))


def hatched(space):
    """Draw a hatching with a round hole."""
    paths = space.add_hatch().paths
    paths.add_polyline_path(CORNERS, is_closed=True)
    paths.add_edge_path().add_arc((30, 20), 8, 0, 360)


@pytest.mark.parametrize(
    ("draw", "area"),
    [
        (lambda space: space.add_solid([(0, 0), (60, 0), (0, 40), (60, 40)]), 2400),
        (lambda space: space.add_3dface([(x, y, 0) for x, y in CORNERS]), 2400),
        (hatched, 2400 - pi * 64),
        (lambda space: [space.add_solid([(x, 0), (x + 40, 0), (x, 40), (x + 40, 40)])
                        for x in (0, 30)], 2800),
    ],
)  # fmt: skip
def test_filled_areas_are_read_where_nothing_else_is_drawn(draw, area):
    """The borders of solids, faces and hatchings count, those that overlap together."""
    drawing = read(draw)

    assert drawing.region.area == pytest.approx(area, rel=1e-3)
    assert [one.code for one in drawing.findings] == ["drawing-fills-used"]


def test_filled_areas_are_left_out_beside_lines():
    """Where lines are drawn, hatching only shows what is solid."""

    def draw(space):
        space.add_lwpolyline([(-10, -10), (70, -10), (70, 50), (-10, 50)], close=True)
        hatched(space)

    drawing = read(draw)

    assert drawing.region.area == pytest.approx(80 * 60)
    assert told(drawing, "drawing-ignored").says == "hatching is left out"


def test_text_alone_is_refused_with_the_word_text():
    """What was left out stands in the sentence, so nobody looks for a line that is missing."""
    with pytest.raises(OutlineError, match=r"no lines .* \(text is left out\)\.$"):
        read(lambda space: space.add_text("Quay 7"))


def test_the_library_does_not_write_to_the_terminal():
    """Its log has a handler that shows nothing, so Python's last resort is not taken."""
    handlers = logging.getLogger("ezdxf").handlers

    assert any(isinstance(handler, logging.NullHandler) for handler in handlers)
