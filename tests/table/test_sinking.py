"""Sinking: Euler's plate between skin and hard infill, and what of a print allows how much."""

from dataclasses import replace
from math import inf, pi

import pytest

from moldgen.stock import load_shop
from moldgen.table.printed_mold import PrintedMold
from moldgen.table.sinking import allowed_depth, buckling_depth_mm

SHOP = load_shop(user_file=None)


def depth(filament, vacuum_kPa=68.0, **more):
    """Return what the top of a mold of the stock allows."""
    return allowed_depth(PrintedMold(filament=SHOP.filament(filament), **more), vacuum_kPa)


def test_a_wall_as_high_as_allowed_buckles_at_its_share_of_the_vacuum():
    """Euler's load of a plate clamped at both ends, four times that of a hinged one."""
    height_mm = buckling_depth_mm(line_mm=0.44, infill=0.2, rubbery_MPa=1.2, vacuum_kPa=68)
    hinged_MPa = pi**2 * 1.2 / (12 * (1 - 0.5**2)) * (0.44 / height_mm) ** 2
    assert 4 * hinged_MPa * 0.2 == pytest.approx(0.068, rel=1e-9)


def test_usual_prints_allow_about_three_millimeters():
    """PLA 2.9 mm; PETG 3.4 to 4.7 mm from the strongest vacuum to the weakest."""
    assert depth("PLA").middle_mm == pytest.approx(2.94, abs=0.02)
    assert 3.4 < depth("PETG", 85.0).middle_mm < depth("PETG", 51.0).middle_mm < 4.7


def test_more_plastic_allows_more_and_more_vacuum_less():
    """Line, infill and skin raise the depth, the vacuum lowers it."""
    usual = depth("PLA").middle_mm
    assert depth("PLA", line_mm=0.66).middle_mm - 1.2 == pytest.approx(1.5 * (usual - 1.2))
    assert depth("PLA", infill=0.8).middle_mm - 1.2 == pytest.approx(2 * (usual - 1.2))
    assert depth("PLA", skin_mm=2.4).middle_mm == pytest.approx(usual + 1.2)
    assert depth("PLA", 272.0).middle_mm - 1.2 == pytest.approx((usual - 1.2) / 2)


def test_an_unknown_rubbery_modulus_allows_the_skin_and_leaves_the_rest_open():
    """Nothing is promised of the infill, and nothing denied."""
    unknown = replace(SHOP.filament("PETG"), rubbery_MPa=None)
    told = allowed_depth(PrintedMold(filament=unknown), 68.0)
    assert (told.low_mm, told.middle_mm, told.high_mm) == (1.2, 1.2, inf)
