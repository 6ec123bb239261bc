"""Transfer: a sheet on its way to the mold cools as a lump does."""

from math import exp

import pytest

from moldgen.stock import Sheet, load_shop
from moldgen.table.transfer import arrival_degC

SHOP = load_shop(user_file=None)


def arrival(gauge_mm, transfer_s=3.0, room_degC=20.0):
    """Return how hot styrene of the stock arrives. [°C]."""
    sheet = Sheet(plastic=SHOP.plastic("HIPS"), gauge_mm=gauge_mm)
    return arrival_degC(sheet, transfer_s=transfer_s, room_degC=room_degC)


def test_thin_sheet_arrives_colder():
    """In 3 s about 12 °C are lost at 0.5 mm and 4 °C at 1.5 mm."""
    assert 147 - arrival(0.5) == pytest.approx(12, abs=2)
    assert 147 - arrival(1.5) == pytest.approx(4, abs=1)


def test_it_cools_as_a_lump_does():
    """The loss fades with the time constant that its first second tells."""
    excess = arrival(0.5, 1.0) - 20
    rate_1_s = 1 - excess / 127
    assert arrival(0.5, 6.0) - 20 == pytest.approx(127 * exp(-6 * rate_1_s), rel=0.02)
    assert arrival(0.5, 0.0) == 147
    assert arrival(0.5, room_degC=0.0) < arrival(0.5)
