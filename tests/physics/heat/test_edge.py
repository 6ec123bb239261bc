"""Edge: product of two half spaces, and a two-dimensional solution of sheet and rounded mold."""

import numpy as np
import pytest
from support.edge_conduction import COLD, HOT, flat_and_edge_degC

from moldgen.physics.heat.edge import edge_degC, edge_exponent


@pytest.mark.parametrize(
    ("radius_mm", "sheet_mm", "duration_s"),
    [(0.0, 0.5, 3), (1.5, 0.5, 3), (0.0, 1.0, 9), (0.5, 1.0, 9), (1.5, 1.0, 9), (1.5, 1.5, 18),
     (3.0, 1.0, 9)],
)  # fmt: skip
def test_edges_are_as_hot_as_in_two_dimensions(radius_mm, sheet_mm, duration_s):
    """Sharp or rounded, under thin sheet or thick, the edge is as computed to 3 °C."""
    flat, edge = flat_and_edge_degC(radius_mm, sheet_mm, duration_s)
    exponent = edge_exponent(radius_mm, sheet_mm)
    (told,) = edge_degC(np.array([flat]), np.array([COLD]), HOT, exponent=exponent)

    assert told == pytest.approx(edge, abs=3)
    assert edge > flat + 3


def test_a_sharp_edge_is_much_hotter_and_a_broad_one_is_flat():
    """About 25 °C hotter where it is sharp; as hot as the flat at a large radius."""
    flat, start = np.array([70.0]), np.array([COLD])
    rise = [
        edge_degC(flat, start, HOT, exponent=edge_exponent(radius_mm, 1.0))[0] - flat[0]
        for radius_mm in (0.0, 0.5, 1.5, 3.0, 50.0)
    ]

    assert 22 < rise[0] < 30
    assert rise == sorted(rise, reverse=True)
    assert rise[-1] == pytest.approx(0, abs=1e-6)


def test_a_quarter_space_is_the_product_of_two_half_spaces():
    """With the exponent 2 half as cold is a quarter as cold; an edge as warm as before stays so."""
    (edge,) = edge_degC(np.array([80.0]), np.array([COLD]), HOT, exponent=2.0)
    assert edge == pytest.approx(HOT - (HOT - COLD) / 4)
    (same,) = edge_degC(np.array([50.0]), np.array([50.0]), HOT, exponent=2.0)
    assert same == pytest.approx(50.0)
