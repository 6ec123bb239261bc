"""Files that keep drawings as symbols: one is chosen by its id."""

import pytest

from moldgen.errors import OutlineError
from moldgen.outline.sizing import WantedSize
from moldgen.outline.svg.read import outline_from_svg_bytes

SPRITE = (
    '<svg xmlns="http://www.w3.org/2000/svg" style="display:none">{}'
    '<symbol id="buoy" viewBox="0 0 24 24"><circle cx="12" cy="12" r="10"/></symbol>'
    '<symbol id="pier" viewBox="0 0 48 24"><rect width="48" height="12"/></symbol></svg>'
)


def test_a_file_of_symbols_names_them():
    """Nothing in it is shown, so the sentence lists what can be chosen, and how."""
    with pytest.raises(OutlineError) as told:
        outline_from_svg_bytes(SPRITE.format(""), name="harbor.svg")

    assert "harbor.svg shows none of its symbols: 'buoy', 'pier'; choose" in str(told.value)
    assert "--part" in str(told.value)


def test_many_symbols_are_counted():
    """Of a hundred the first are named."""
    many = "".join(f'<symbol id="s{k}"><rect width="9" height="9"/></symbol>' for k in range(98))

    with pytest.raises(OutlineError, match=r"'s11' and 88 more; choose"):
        outline_from_svg_bytes(SPRITE.format(many))


def test_a_symbol_is_drawn_by_its_id():
    """It is read as a drawing of its own: its view box is the page."""
    pier = outline_from_svg_bytes(
        SPRITE.format(""), part="pier", size=WantedSize(width_mm=120.0)
    ).region

    assert pier.bounds[2] - pier.bounds[0] == pytest.approx(120)
    assert pier.bounds[3] - pier.bounds[1] == pytest.approx(30)


def test_a_symbol_that_is_used_stays_where_it_is_used():
    """Of a drawing that shows its symbol, the part is what is shown."""
    use = '<use href="#buoy" x="100" y="0" width="48" height="48"/>'
    text = SPRITE.replace(' style="display:none"', "").format(use)

    found = outline_from_svg_bytes(text, part="buoy")

    assert found.region.area == pytest.approx(3.1416 * (20 * 25.4 / 96) ** 2, rel=5e-3)
