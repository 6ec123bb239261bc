"""Round vents outside the trim line are printed, those on the part are as fine as ever."""

from functools import cache

import pytest
import shapely
from shapely import MultiPolygon
from support.molds import PRINTER, VENTS, tide_sign

from moldgen.mold.air.bores import settle_bores
from moldgen.mold.build import build_raw_mold
from moldgen.mold.underside.cut import BoreSpec, Opening
from moldgen.mold.vents.by_ball import place_vents
from moldgen.mold.vents.waste import WASTE_HOLES_MM, as_printed, with_waste
from moldgen.solid.height.relief import relief_for_ball

BORE = BoreSpec.for_printer(PRINTER)
LEFT = MultiPolygon([shapely.box(-500, -500, 0, 500)])


@cache
def placed_on_sign():
    """Return walls, relief and vents as placed of a plaque, of which the left half is the part."""
    raw = build_raw_mold([tide_sign()])
    relief = relief_for_ball(raw.mesh, VENTS.ball_mm)
    return raw, relief, with_waste(place_vents(relief, raw.plans, VENTS), LEFT)


def test_what_is_cut_off_is_told_from_the_part():
    """A vent well to the right of the trim line is in the waste, one to its left is not."""
    vents = placed_on_sign()[2].vents

    assert {vent.in_waste for vent in vents if vent.x_mm > 5} == {True}
    assert {vent.in_waste for vent in vents if vent.x_mm < 3} == {False}


def test_round_vents_in_the_waste_are_printed():
    """Where no slit fits: 1.2 to 1.5 mm and printed in the waste, as placed on the part."""
    raw, relief, placed = placed_on_sign()
    too_wide_mm = 40.0  # for any ground
    settled, _ = settle_bores(
        placed, raw.plans, relief, BORE, slit_mm=too_wide_mm, prints_waste=True
    )
    waste = [vent for vent in settled.vents if vent.in_waste]
    kept = [vent for vent in settled.vents if not vent.in_waste]

    assert len(waste) > 2
    assert len(kept) > 2
    assert {BORE.opening(vent) for vent in waste} == {Opening.PRINTED}
    assert {vent.diameter_mm for vent in waste} == {1.5}
    assert {BORE.opening(vent) for vent in kept} == {Opening.DRILLED}
    assert {vent.diameter_mm for vent in kept} == {VENTS.diameter_mm}


def test_slits_come_first_in_the_waste_too():
    """Whether a vent becomes a slit does not depend on where the sheet is trimmed."""
    raw, relief, placed = placed_on_sign()
    slits, plain = (
        settle_bores(placed, raw.plans, relief, BORE, slit_mm=BORE.slit_mm, prints_waste=prints)[0]
        for prints in (True, False)
    )

    assert any(vent.slit and vent.in_waste for vent in slits.vents)
    assert [v.name for v in slits.vents if v.slit] == [v.name for v in plain.vents if v.slit]


@pytest.mark.parametrize(
    ("least_hole_mm", "diameter_mm"), [(0.9, 1.0), (1.2, 1.2), (1.5, 1.5), (2.0, VENTS.diameter_mm)]
)
def test_a_hole_is_as_fine_as_printer_and_sheet_allow(least_hole_mm, diameter_mm):
    """What the printer makes anyway stays; one that makes no hole of 1.5 mm leaves it to drill."""
    vent = next(vent for vent in placed_on_sign()[2].vents if vent.in_waste)

    assert as_printed(vent, least_hole_mm=least_hole_mm).diameter_mm == diameter_mm
    assert WASTE_HOLES_MM[0] <= 1.2 < 1.5 <= WASTE_HOLES_MM[1]
