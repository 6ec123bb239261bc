"""How far free sheet relaxes before it is too cold to form."""

from dataclasses import replace
from functools import cache
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.some import some

from moldgen.physics.membrane.relaxation import share_left
from moldgen.stock import Sheet, load_shop
from moldgen.table.hold import LEAST_SHARE, DRAW_s, HOLD_s, hold
from moldgen.table.surroundings import ROOM_degC

SHOP = load_shop(user_file=None)
HIPS = SHOP.plastic("HIPS")
NAMES = SHOP.plastics.names


def held(plastic=HIPS, gauge_mm=1.0):
    """Return how a sheet is held."""
    return hold(Sheet(plastic=plastic, gauge_mm=gauge_mm))


@pytest.mark.parametrize("name", NAMES)
def test_shares_lie_in_order(name):
    """From the least, by what is likely, to all of it; all of it where no time is known."""
    plastic = SHOP.plastic(name)
    told = held(plastic)

    assert LEAST_SHARE <= told.least_share <= told.share <= 1.0
    assert told.known == (plastic.relaxation_s is not None)
    if not told.known:
        assert told.least_share == told.share == 1.0
    else:
        assert told.share < 1.0
    assert 0.0 < told.soft_s <= HOLD_s


def test_free_sheet_cools_as_a_thin_plate_does():
    """The time it stays soft, against the closed form of even cooling to air and mold: to 5 %.

    It is told in steps of half a second.
    """
    told = held(gauge_mm=1.5)

    # Into the air and the room 13 to 18 W/m2K, through a millimeter of air 26.
    hot, end = HIPS.forming_degC - ROOM_degC, HIPS.forming_low_degC - ROOM_degC
    stored_J_m2K = HIPS.density_kg_m3 * HIPS.specific_heat_hot_J_kgK * 1.5e-3
    early_s, late_s = (stored_J_m2K / film * np.log(hot / end) for film in (26 + 20, 26 + 13))
    assert early_s < 1.05 * told.soft_s
    assert told.soft_s < 1.05 * late_s


def test_the_share_is_that_of_the_drawing_and_a_part_of_the_hold():
    """Less relaxes than in the whole time at full heat, and more than in the drawing alone."""
    told = held()

    at_most = share_left(DRAW_s + told.soft_s, mean_s=HIPS.relaxation_s)
    at_least = share_left(DRAW_s, mean_s=HIPS.relaxation_s)
    assert 1.2 * at_most < told.share < 0.9 * at_least


@given(gauge_mm=st.floats(0.3, 2.5), more=st.floats(1.2, 2.0))
@settings(max_examples=10, deadline=None)
def test_thicker_sheet_stays_soft_for_longer_and_relaxes_further(gauge_mm, more):
    """More gauge, more seconds, less stiffness."""
    thin, thick = held(gauge_mm=gauge_mm), held(gauge_mm=gauge_mm * more)

    assert thick.soft_s >= thin.soft_s
    assert thick.share < thin.share


def test_a_hotter_sheet_of_the_same_time_relaxes_further():
    """What is formed farther above its lowest temperature has more time to relax."""
    hotter = replace(HIPS, forming_degC=HIPS.forming_degC + 10)

    assert held(hotter).soft_s > held().soft_s
    assert held(hotter).share < held().share


def test_an_own_time_is_taken(tmp_path):
    """A relaxation time in a person's own stock file goes before ours, without our band."""
    path = tmp_path / "stock.toml"
    path.write_text('[plastic."Red"]\nbased_on = "HIPS"\nrelaxation_s = "2 s"\n')
    red = load_shop(user_file=path).plastic("Red")

    assert red.relaxation_s == 2.0
    assert held(red).share < held().share
    # No band of its own: only how it cools is unsure.
    assert held(red).least_share < held(red).share


def test_crystals_stop_a_melt_and_not_the_cold():
    """A crystalline melt relaxes at one speed for as long as it is soft."""
    melt = replace(SHOP.plastic("HDPE"), relaxation_s=20.0, bands={})
    told = held(melt)

    assert told.share == pytest.approx(share_left(DRAW_s + told.soft_s, mean_s=20.0), rel=1e-9)


@cache
def shares():
    """Return the likely share of a millimeter of each plastic that is known."""
    told = {name: held(SHOP.plastic(name)) for name in NAMES}
    return {name: one.share for name, one in told.items() if one.known}


def test_plastics_stand_in_the_order_that_practice_knows():
    """PETG shows every detail, styrene most, ABS less, and cast acrylic springs back."""
    order = [shares()[name] for name in ("PETG", "HIPS", "ABS", "PMMA cast")]

    for sharper, rounder in some(list(pairwise(order))):
        assert sharper < rounder
