"""Masks: what is light in them is seen, what is dark or nowhere is not."""

from math import pi

import pytest

from moldgen.finding import Severity
from moldgen.outline.svg.read import outline_from_svg_bytes

PLATE = '<rect x="10" y="10" width="80" height="60" fill="navy" mask="url(#m)"/>'
PAGE_WHITE = '<rect width="100" height="100" fill="white"/>'
HOLE = '<circle cx="50" cy="40" r="10" fill="{}"/>'


def read(mask, *, said="", plate=PLATE):
    """A plate of 80 x 60 mm under a mask."""
    return outline_from_svg_bytes(
        '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" '
        f'viewBox="0 0 100 100"><mask id="m" {said}>{mask}</mask>{plate}</svg>'
    )


@pytest.mark.parametrize(
    ("mask", "said", "area_mm2"),
    [
        (PAGE_WHITE + HOLE.format("black"), "", 4800 - 100 * pi),
        (HOLE.format("#ffffff"), "", 100 * pi),
        (HOLE.format("#d9d9d9") + '<rect x="50" width="50" height="99"/>', "", 50 * pi),
        (HOLE.format("black"), 'mask-type="alpha"', 100 * pi),
        (HOLE.format("black"), 'style="mask-type: alpha" maskUnits="userSpaceOnUse" x="0" y="0"',
         100 * pi),
        (PAGE_WHITE + '<path d="M0 40h100" stroke="black" stroke-width="4"/>', "", 4800 - 320),
        ("", "", 0.0),
    ],
)  # fmt: skip
def test_a_mask_leaves_what_is_light(mask, said, area_mm2):
    """White keeps, black cuts, later shapes lie over earlier ones; with alpha all paint keeps."""
    other = '<rect x="1" y="90" width="5" height="5"/>'
    drawing = read(mask, said=said, plate=PLATE + other)

    assert drawing.region.area == pytest.approx(area_mm2 + 25, rel=3e-3)
    assert "drawing-mask" not in [one.code for one in drawing.findings]


@pytest.mark.parametrize(
    ("mask", "said"),
    [
        (HOLE.format("url(#fade)"), ""),
        (HOLE.format("url(#fade)"), 'mask-type="alpha"'),
        (HOLE.format("white").replace("/>", ' opacity="0.4"/>'), ""),
        (HOLE.format("white").replace("/>", ' stroke="black" stroke-width="3"/>'), ""),
        (PAGE_WHITE + '<image width="9" height="9"/>', ""),
        ('<g mask="url(#m)">' + PAGE_WHITE + "</g>", ""),
    ],
)
def test_a_mask_that_cannot_be_told_is_left_out_with_a_caution(mask, said):
    """Where a mask fades, or lets hardly any light through anywhere, the plate stays whole."""
    drawing = read(mask, said=said)
    (told,) = [one for one in drawing.findings if one.code == "drawing-mask"]

    assert drawing.region.area == pytest.approx(4800)
    assert told.severity is Severity.CAUTION


@pytest.mark.parametrize(
    ("mask", "said", "area_mm2"),
    [
        (
            '<rect width="0.5" height="1" fill="white"/>',
            'maskContentUnits="objectBoundingBox"',
            2400,
        ),
        (PAGE_WHITE, 'x="0" y="0" width="0.25" height="100%"', 1200),
        (PAGE_WHITE, 'maskUnits="userSpaceOnUse" x="10" y="0" width="20" height="100"', 1200),
    ],
)
def test_a_mask_may_be_measured_by_the_shape(mask, said, area_mm2):
    """Shares of the shape's own box place what is in a mask, and the mask itself."""
    drawing = read(mask, said=said)

    assert drawing.region.area == pytest.approx(area_mm2)
    assert "drawing-mask" not in [one.code for one in drawing.findings]


@pytest.mark.parametrize(
    ("layer", "area_mm2"),
    [
        (HOLE.format("black").replace("/>", ' opacity="0.6"/>'), 4800 - 100 * pi),
        (HOLE.format("black").replace("/>", ' fill-opacity="0.4"/>'), 4800),
        ('<g style="opacity:.7"><g opacity=".8">' + HOLE.format("black") + "</g></g>",
         4800 - 100 * pi),
        (HOLE.format("rgba(0,0,0,.3)"), 4800),
        (HOLE.format("#999").replace("/>", ' opacity=".6"/>'), 4800),
    ],
)  # fmt: skip
def test_a_half_clear_mask_keeps_what_it_shows_by_half(layer, area_mm2):
    """Of a layer that covers a part of the light, half decides, and it is told."""
    drawing = read(PAGE_WHITE + layer)
    (told,) = [one for one in drawing.findings if one.code == "drawing-mask-half"]

    assert drawing.region.area == pytest.approx(area_mm2, rel=3e-3)
    assert told.severity is Severity.CAUTION


CLIP = '<clipPath id="c" clipPathUnits="objectBoundingBox">{}</clipPath>'


@pytest.mark.parametrize(
    ("clip", "shape", "area_mm2"),
    [
        ('<rect width=".5" height=".5"/>', '<rect x="10" y="20" width="40" height="60" {}/>', 600),
        ('<circle cx=".5" cy=".5" r=".5"/>', '<path d="M10 10h40v20h-40z" {}/>', 200 * pi),
        ('<rect x=".25" width=".5" height="1"/>',
         '<g transform="rotate(30 50 50) scale(2)" {}><rect x="20" y="20" width="4" height="3"/>'
         '<rect x="24" y="20" width="4" height="3"/></g>', 48),
        ('<rect width=".5" height="1"/>',
         '<use href="#o" x="20" {}/><defs><rect id="o" width="30" height="9" y="9"/></defs>', 135),
    ],
)  # fmt: skip
def test_a_clip_may_be_measured_by_the_shape(clip, shape, area_mm2):
    """A clip in shares of a shape's box lies in that box, turned and scaled with it."""
    cut = shape.format('clip-path="url(#c)"')
    drawing = outline_from_svg_bytes(
        '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" '
        f'viewBox="0 0 100 100">{CLIP.format(clip)}{cut}</svg>'
    )

    assert drawing.region.area == pytest.approx(area_mm2, rel=3e-3)
    assert "drawing-clip-ignored" not in [one.code for one in drawing.findings]


def test_a_group_measured_for_its_clip_tells_what_it_leaves_out_once():
    """Measuring a group's box meets its picture once more, which is not counted."""
    clip = CLIP.format('<rect width=".5" height="1"/>')
    drawing = outline_from_svg_bytes(
        '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" '
        f'viewBox="0 0 100 100">{clip}<g clip-path="url(#c)"><image width="9" height="9"/>'
        '<rect width="40" height="30"/></g></svg>'
    )
    (told,) = [one for one in drawing.findings if one.code == "drawing-image"]

    assert told.says == "pictures in the drawing are left out"
    assert drawing.region.area == pytest.approx(600)
