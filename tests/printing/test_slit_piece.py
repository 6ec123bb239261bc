"""The test piece that tells the narrowest slit a printer leaves open."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from moldgen.errors import SpecError
from moldgen.printing.choices import SLITS_MM
from moldgen.printing.test_piece import SLIT_LENGTH_MM, SLIT_PLATE_MM, build_slit_test_piece
from moldgen.solid.slices import region_at
from moldgen.solid.sound import solid_from_mesh


def widths_at(z_mm, widths_mm=SLITS_MM):
    """Return the widths of the openings of the piece at a height, from left to right. [mm]."""
    solid = solid_from_mesh(build_slit_test_piece(widths_mm).mesh, doing="testing")
    (plate,) = region_at(solid, z_mm).geoms
    openings = sorted((shapely.Polygon(ring) for ring in plate.interiors), key=lambda o: o.bounds)
    return [round(o.bounds[2] - o.bounds[0], 3) for o in openings], openings


def test_slits_are_as_wide_as_is_sunk_beside_them():
    """Under the face the piece has one slit for every width, all as long as a usual vent."""
    widths, openings = widths_at(SLIT_PLATE_MM - 0.9)

    assert widths == list(SLITS_MM)
    lengths = [o.bounds[3] - o.bounds[1] for o in openings]
    assert lengths == pytest.approx([SLIT_LENGTH_MM] * len(SLITS_MM))


def test_slits_open_into_pockets():
    """Near the bed every opening is the pocket of a vent, wider than any slit."""
    widths, _ = widths_at(0.1)

    assert len(widths) == len(SLITS_MM)
    assert np.all(np.array(widths) == 3.0)


def test_a_slit_out_of_range_is_refused():
    """No slit is as narrow as nothing."""
    with pytest.raises(SpecError, match="widths_mm"):
        build_slit_test_piece([0.4, 0.0])
