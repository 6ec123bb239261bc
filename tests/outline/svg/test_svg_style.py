"""What an element inherits, and what it says itself."""

from xml.etree.ElementTree import Element

import pytest

from moldgen.outline.svg.style import style_of, style_sheet

NONE = style_sheet([])


@pytest.mark.parametrize(
    "element",
    [Element("rect", {"fill": "inherit"}), Element("rect", {"style": "fill: inherit"})],
    ids=["attribute", "style"],
)
def test_inherit_is_no_value_of_its_own(element):
    """What says inherit has the value of what it stands in."""
    assert style_of(element, {"fill": "none"}, NONE)["fill"] == "none"
    assert style_of(element, {"fill": "red"}, NONE)["fill"] == "red"
