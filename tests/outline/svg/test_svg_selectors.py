"""Style rules for shapes by what they stand in."""

import pytest
from shapely import box

from moldgen.finding import Severity
from moldgen.outline.svg.read import outline_from_svg_bytes

DRAWING = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100">'
    '<style>{0}</style><rect width="90" height="90"/>'
    '<g id="notes" class="aside hidden"><g class="inner">'
    '<rect class="frame" x="95" width="5" height="5"/></g></g></svg>'
)


def width_mm(rule):
    """Width of a plate of 90 mm with a note beside it up to 100 mm, under a style rule."""
    region = outline_from_svg_bytes(DRAWING.format(rule)).region
    return region.bounds[2] - region.bounds[0]


@pytest.mark.parametrize(
    "selector",
    [
        "g rect", "#notes rect", "g.aside .frame", ".aside>.inner>rect", "svg .inner > .frame",
        "#notes > g rect", "g g rect", "svg > g > g > rect", "* .inner rect",
    ],
)  # fmt: skip
def test_shapes_are_hidden_by_what_they_stand_in(selector):
    """Descendants and children are followed, in any row of them."""
    assert width_mm(f"{selector} {{ display: none }}") == pytest.approx(90)


@pytest.mark.parametrize(
    "selector",
    ["g > .frame > rect", "#notes > rect", "g g g rect", ".other rect", "rect g", ".inner .aside"],
)
def test_what_stands_elsewhere_is_not_meant(selector):
    """A child of a child is no child, and the order of the row counts."""
    assert width_mm(f"{selector} {{ display: none }}") == pytest.approx(100)


def test_the_more_special_rule_wins():
    """Ids go before classes, and classes before tags, along the whole row."""
    shown = "#notes rect {display: inline}"

    assert width_mm(f"{shown} .aside .inner .frame {{display: none}}") == pytest.approx(100)
    assert width_mm("svg g g rect {display: inline} .frame {display: none}") == pytest.approx(90)


@pytest.mark.parametrize(
    ("rule", "severity"),
    [
        ("g + rect { display: none }", Severity.CAUTION),
        ("rect[x] { fill: none }", Severity.CAUTION),
        ("g + rect { cursor: pointer }", Severity.NOTE),
        ("rect:hover { fill: none }", Severity.NOTE),
        ("@media print { rect { fill: none } }", Severity.NOTE),
    ],
)
def test_a_rule_left_out_is_a_caution_where_it_could_hide_something(rule, severity):
    """What could have hidden a shape is to be looked at; the rest is worth knowing."""
    (told,) = outline_from_svg_bytes(DRAWING.format(rule)).findings

    assert (told.code, told.severity) == ("drawing-style-skipped", severity)


def test_a_shape_used_elsewhere_is_painted_by_where_it_is_kept():
    """A rule for what stands in the definitions holds for their copies."""
    text = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" '
        'viewBox="0 0 100 100"><style>defs .ghost {display: none}</style><defs>'
        '<rect id="a" class="ghost" width="9" height="9"/><rect id="b" width="7" height="7"/>'
        '</defs><use href="#a"/><use href="#b" x="20"/></svg>'
    )

    assert outline_from_svg_bytes(text).region.equals(box(20, 93, 27, 100))
