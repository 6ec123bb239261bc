"""Doubts: how the bands of values become the band of a time."""

from dataclasses import replace
from math import exp, hypot, inf, log

import pytest

from moldgen.stock import load_shop
from moldgen.table.doubt import HEAT_FIELDS, Doubt, band_s, varied

HIPS = load_shop(user_file=None).plastic("HIPS")


def test_a_doubt_goes_either_way_by_its_own_ends():
    """Ends that only lengthen leave nothing shorter; the farther end counts."""
    both = Doubt.between("it", 50.0, [40.0, 60.0])
    longer = Doubt.between("it", 50.0, [55.0, 60.0])

    assert (both.sooner, both.later) == pytest.approx((log(50 / 40), log(60 / 50)))
    assert (longer.sooner, longer.later) == pytest.approx((0.0, log(60 / 50)))
    assert Doubt.between("it", 50.0, [inf, 45.0]).later == pytest.approx(log(3))


def test_doubts_add_in_quadrature_each_way():
    """Three and four percent make five; none leave the time as it is."""
    doubts = [Doubt(what="a", sooner=0.03, later=0.3), Doubt(what="b", sooner=0.04, later=0.4)]

    assert band_s(100.0, doubts) == pytest.approx((100 * exp(-0.05), 100 * exp(0.5)))
    assert band_s(100.0, [*doubts, Doubt.even("c", 0.12)])[0] == pytest.approx(
        100 * exp(-hypot(0.05, 0.12))
    )
    assert band_s(100.0, []) == (100.0, 100.0)


def test_only_what_has_a_band_is_varied_and_to_its_ends():
    """Each in words with its unit; nothing else of the entry changes."""
    told = dict(varied(HIPS, HEAT_FIELDS))
    words = "thermal conductivity 0.13 to 0.18 W/(m·K)"
    low, high = told[words]

    assert len(told) == 4  # styrene does not melt
    assert (low.conductivity_W_mK, high.conductivity_W_mK) == HIPS.bands["conductivity_W_mK"]
    assert replace(low, conductivity_W_mK=HIPS.conductivity_W_mK) == HIPS
    assert not list(varied(replace(HIPS, bands={}), HEAT_FIELDS))
    moved = replace(HIPS, conductivity_W_mK=0.3)
    assert words not in dict(varied(moved, HEAT_FIELDS))
