"""Drawings made of lines alone: read as wide as they are drawn where that can be seen."""

from math import pi

import numpy as np
import pytest
import shapely

from moldgen.errors import OutlineError
from moldgen.finding import Severity
from moldgen.outline.choices import StrokeUse
from moldgen.outline.sizing import WantedSize
from moldgen.outline.svg import pen
from moldgen.outline.svg.read import outline_from_svg_bytes

ICON = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 24 24" fill="none" '
    'stroke="currentColor" {0} stroke-linecap="round" stroke-linejoin="round">{1}</svg>'
)
OAR = '<path stroke="none" d="M0 0h24v24H0z"/><path d="M4 12h16"/>'
RING = '<circle cx="12" cy="12" r="9"/>'


def drawing(body, width='stroke-width="2"', strokes=StrokeUse.AUTO):
    """A drawing of lines at 120 mm."""
    size = WantedSize(width_mm=120.0)
    return outline_from_svg_bytes(ICON.format(width, body), strokes=strokes, size=size)


def codes(found):
    """The codes of what was told."""
    return [finding.code for finding in found.findings]


def test_an_open_line_that_is_drawn_broad_is_a_body():
    """An icon of one broad line is as wide as it is drawn, with its round ends, and it is said."""
    found = drawing(OAR)
    (told,) = [one for one in found.findings if one.code != "drawing-unpainted"]

    assert found.region.area == pytest.approx((16 * 2 + 3.1416) * (120 / 18) ** 2, rel=1e-3)
    assert (told.code, told.severity) == ("drawing-strokes-outlined", Severity.NOTE)
    assert "--strokes ignore" in told.advice


def test_a_closed_line_that_is_drawn_broad_is_a_ring():
    """A broad circle is a ring, as it is seen; asked to ignore strokes, it is a disc."""
    ring, disc = drawing(RING), drawing(RING, strokes=StrokeUse.IGNORE)

    assert [len(part.interiors) for part in ring.region.geoms] == [1]
    assert [len(part.interiors) for part in disc.region.geoms] == [0]
    assert codes(disc) == ["drawing-lines-used"]


@pytest.mark.parametrize("width", ["", 'stroke-width="0.3"', 'style="stroke-width:0.3"'])
def test_a_thin_line_and_one_without_a_width_are_borders(width):
    """Closed lines of no width to speak of are outlines of what they enclose."""
    found = drawing(RING, width)

    assert [len(part.interiors) for part in found.region.geoms] == [0]
    assert codes(found) == ["drawing-lines-used"]


def test_one_thin_line_among_broad_ones_makes_them_borders():
    """Only a drawing whose every line is broad is one of strokes."""
    thin = '<circle cx="12" cy="12" r="4" stroke-width="0.1"/>'

    assert "drawing-lines-used" in codes(drawing(RING + thin))


def test_the_width_is_judged_after_its_transforms():
    """A width that a transform makes broad is broad."""
    large = '<g transform="scale(10)"><circle cx="1.2" cy="1.2" r="0.9"/></g>'

    assert codes(drawing(large, 'stroke-width="0.2"')) == ["drawing-strokes-outlined"]
    assert codes(drawing(large, 'stroke-width="0.02"')) == ["drawing-lines-used"]


def test_the_way_out_is_named_where_lines_are_open():
    """What a thin open line can be read by stands in the sentence that refuses it."""
    with pytest.raises(OutlineError, match=r"close the line, or .* --strokes outline"):
        drawing(OAR, 'stroke-width="0.1"')


def test_the_way_out_is_named_where_other_shapes_are_filled():
    """Thin lines beside a filled shape are left out, and the caution names the option."""
    filled = '<rect width="9" height="9" fill="red" stroke="none"/>'
    found = drawing(filled + OAR, 'stroke-width="0.2"')
    (told,) = [one for one in found.findings if one.code == "drawing-strokes-ignored"]

    assert told.severity is Severity.CAUTION
    assert "--strokes outline" in told.advice


def test_what_closes_is_kept_beside_what_stays_open():
    """Of loose lines those that close are read, and the others are told with place and size."""
    square = '<path d="M2 2h8"/><path d="M10 2v8"/><path d="M10 10h-8"/><path d="M2 10v-8"/>'
    found = drawing(square + '<path d="M14 6h6"/>', 'stroke-width="0.1"')
    (told,) = [one for one in found.findings if one.code == "drawing-open-lines"]

    assert found.region.area == pytest.approx(120 * 120, rel=1e-6)
    assert (told.severity, told.measured) == (Severity.CAUTION, 1)


PAGE = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100" '
    'fill="none" stroke="black" stroke-width="4">{}</svg>'
)
LINE = '<path d="M10 50H90" {}/>'


@pytest.mark.parametrize(
    ("body", "n_pieces", "area_mm2"),
    [
        (LINE.format('stroke-dasharray="10 5"'), 6, 4 * 55),
        (LINE.format('stroke-dasharray="10 5" stroke-dashoffset="3"'), 6, 4 * 55),
        (LINE.format('stroke-dasharray="10,5" stroke-dashoffset="-3"'), 6, 4 * 52),
        (LINE.format('style="stroke-dasharray:8;stroke-dashoffset:8"'), 5, 4 * 40),
        (LINE.format('stroke-dasharray="3px 50%"'), 2, 4 * 6),
        (LINE.format('stroke-dasharray="1" pathLength="16"'), 8, 4 * 40),
        (LINE.format('stroke-dasharray="0 8" stroke-linecap="round"'), 11, 11 * pi * 4),
        ('<rect x="20" y="20" width="40" height="40" stroke-dasharray="8 32"/>', 4, 4 * 32),
    ],
)
def test_dashes_are_made_as_they_are_drawn(body, n_pieces, area_mm2):
    """Each dash of a broad line is a body of its own, and there is nothing to tell about it."""
    found = outline_from_svg_bytes(PAGE.format(body))

    assert len(found.region.geoms) == n_pieces
    assert found.region.area == pytest.approx(area_mm2, rel=1e-2)
    assert codes(found) == ["drawing-strokes-outlined"]


@pytest.mark.parametrize("dashes", ["none", "0", "-4 2", "some", "3em", ""])
def test_a_pattern_that_is_none_leaves_the_line_whole(dashes):
    """What is no list of lengths, or leaves no gap to speak of, is a line without dashes."""
    found = outline_from_svg_bytes(PAGE.format(LINE.format(f'stroke-dasharray="{dashes}"')))

    assert found.region.area == pytest.approx(4 * 80)


def test_dashes_without_end_are_refused_before_they_are_made():
    """Dashes are counted like corners."""
    with pytest.raises(OutlineError, match=r"more than 5,000,000; simplify its outlines\.$"):
        outline_from_svg_bytes(PAGE.format(LINE.format('stroke-dasharray="1e-200"')))


def test_dashes_of_a_border_are_told():
    """A dashed line that counts as a border is read as a whole one, and it is said."""
    square = '<rect x="9" y="9" width="80" height="80" stroke-width="0.2" stroke-dasharray="3"/>'
    found = outline_from_svg_bytes(PAGE.format(square))

    assert found.region.area == pytest.approx(6400)
    assert "drawing-dashes" in codes(found)


DOT = '<circle cx="12" cy="20" r="1" fill="black" stroke="none"/>'


def test_broad_lines_beside_a_filled_shape_are_bodies_too():
    """The dot of an icon does not make its broad lines go away."""
    found = drawing(OAR + DOT)
    scale = 120 / 18

    assert found.region.area == pytest.approx((32 + 2 * pi) * scale**2, rel=2e-3)
    assert "drawing-strokes-ignored" not in codes(found)


def test_thin_lines_beside_a_filled_shape_are_left_out():
    """Lines are broad or thin beside the whole drawing, not beside the dot alone."""
    found = drawing(OAR + DOT, 'stroke-width="0.3"')

    assert len(found.region.geoms) == 1
    assert "drawing-strokes-ignored" in codes(found)


TIGHT = '<rect x="8" y="8" width="8" height="6" rx="0.25"/>'
BEND = '<path d="M4 12C4 9.5 4.4 9 6 9h6"/>'


@pytest.mark.parametrize("body", [TIGHT, BEND])
@pytest.mark.parametrize("ends", ["miter butt", "bevel square", "round butt", "round round"])
def test_the_edge_of_a_broad_line_keeps_to_its_curve(body, ends):
    """Where a curve is tighter than its line is broad, the edge of the line strays no farther."""
    join, cap = ends.split()

    def area(chord_mm):
        text = ICON.format('stroke-width="2"', body).replace('join="round"', f'join="{join}"')
        text = text.replace('cap="round"', f'cap="{cap}"')
        size = WantedSize(width_mm=120.0)
        return outline_from_svg_bytes(text, size=size, chord_mm=chord_mm).region

    apart = shapely.symmetric_difference(area(0.01), area(0.0005))

    assert shapely.buffer(apart, -0.02).is_empty


def test_a_long_ring_has_no_slit_where_it_begins(monkeypatch):
    """A ring with so many corners that they are not painted one by one is closed at its first."""
    monkeypatch.setattr(pen, "_EXACT", 50)
    turn = np.linspace(0, 2 * pi, 90, endpoint=False)
    xy = 12 + 10 * np.column_stack([np.cos(turn), np.sin(turn)])
    xy[30] -= 1
    corners = " ".join(f"{x:.6f},{y:.6f}" for x, y in xy)
    (ring,) = drawing(f'<polygon points="{corners}"/>').region.geoms

    assert len(ring.interiors) == 1
    assert ring.exterior.length < 1.02 * ring.convex_hull.length


def test_a_pen_fills_a_bend_that_is_tighter_than_it_is_broad():
    """An arc of a tenth of the pen's width is painted all round its middle."""
    arc = '<path d="M4.1 12A.1 .1 0 1 1 4 11.9" stroke-linejoin="bevel" stroke-linecap="butt"/>'
    found = outline_from_svg_bytes(
        f'<svg xmlns="http://www.w3.org/2000/svg" width="24mm" height="24mm" viewBox="0 0 24 24" '
        f'fill="none" stroke="black" stroke-width="2">{arc}</svg>',
        strokes=StrokeUse.OUTLINE,
    )
    outside, beyond_the_middle = 0.75 * pi * 1.1**2, 0.25 * pi * 0.9**2

    assert found.region.area == pytest.approx(outside + beyond_the_middle, rel=0.01)


def test_the_edge_of_a_line_with_a_cusp_ends():
    """A line that turns back on the spot turns as far however finely it is cut, and is read."""
    cusp = '<path d="M4 12C16 4 4 4 16 12" stroke-linejoin="bevel"/>'

    assert drawing(cusp).region.area > 0


def test_no_hairline_is_left_between_a_join_and_its_strips():
    """Two broad lines of an icon come in as two pieces, the ring with one hole."""
    hook = (
        '<path d="M15.5475 8.30327C14.6407 7.49361 13.4329 7 12.1089 7C9.28696 7 7 9.23899 7 12'
        'C7 14.761 9.28696 17 12.1089 17C15.5781 17 16.86 14.4296 17 12.4167H12.841" '
        'stroke-linecap="butt" stroke-linejoin="miter"/>'
    )
    ring = (
        '<path d="M12 22C17.5228 22 22 17.5228 22 12C22 6.47715 17.5228 2 12 2C6.47715 2 2 6.47715 '
        '2 12C2 17.5228 6.47715 22 12 22Z"/>'
    )
    parts = drawing(hook + ring, 'stroke-width="1.5"').region.geoms

    assert sorted(len(part.interiors) for part in parts) == [0, 1]
