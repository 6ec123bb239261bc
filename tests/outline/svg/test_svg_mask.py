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
        ('<rect width="1" height="1" fill="white"/>', 'maskContentUnits="objectBoundingBox"'),
        (PAGE_WHITE, 'x="0" y="0" width="0.5" height="1"'),
        (PAGE_WHITE + '<image width="9" height="9"/>', ""),
        ('<g mask="url(#m)">' + PAGE_WHITE + "</g>", ""),
    ],
)
def test_a_mask_that_cannot_be_told_is_left_out_with_a_caution(mask, said):
    """Where a mask lets some light through, or is measured by the shape, the plate stays whole."""
    drawing = read(mask, said=said)
    (told,) = [one for one in drawing.findings if one.code == "drawing-mask"]

    assert drawing.region.area == pytest.approx(4800)
    assert told.severity is Severity.CAUTION
