"""A field averaged over a bell."""

import numpy as np
import pytest

from moldgen.solid.height.even import evened


@pytest.mark.parametrize("spread", [1.0, 2.0])
def test_the_bell_reaches_to_three_spreads(spread):
    """A single peak becomes the bell itself, out to where a hundredth of it is left."""
    field = np.zeros((41, 41))
    field[20, 20] = 1.0
    away = np.arange(int(2.5 * spread) + 1)

    bell = evened(field, spread_cells=spread)

    shares = bell[20, 20 + away] / bell[20, 20]
    assert shares == pytest.approx(np.exp(-0.5 * (away / spread) ** 2), abs=1e-9)
    assert bell.sum() == pytest.approx(1.0)
