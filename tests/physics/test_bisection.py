"""An interval halved until it is as narrow as wanted."""

from math import nextafter, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from moldgen.physics.bisection import first_beyond, narrowed, narrowed_each


def test_a_root_is_found_to_the_last_bit():
    """Halving goes on until two neighboring numbers are left."""
    low, high = narrowed(lambda x: x * x > 2, 0.0, 2.0)

    assert low <= sqrt(2) <= high
    assert high == nextafter(low, 2.0)


@pytest.mark.parametrize(("within", "rounds", "width"), [(0.3, 200, 0.25), (0.0, 3, 0.125)])
def test_halving_ends_at_a_width_or_after_some_rounds(within, rounds, width):
    """Whichever comes first; an interval as wide as wanted is not halved."""
    low, high = narrowed(lambda x: x > 0.7, 0.0, 1.0, within=within, rounds=rounds)

    assert low <= 0.7 <= high
    assert high - low == width
    assert narrowed(lambda x: x > 0.7, 0.0, 1.0, within=1.0) == (0.0, 1.0)


@given(st.integers(-50, 50), st.integers(1, 100), st.data())
def test_the_first_whole_number_beyond_is_found(low, width, data):
    """Wherever the condition begins, and without asking about either end."""
    first = data.draw(st.integers(low + 1, low + width))
    asked = []

    def beyond(n):
        asked.append(n)
        return n >= first

    found = first_beyond(beyond, low, low + width)

    assert found == first
    assert low not in asked
    assert low + width not in asked


@given(st.lists(st.floats(0.01, 0.99), min_size=1, max_size=5))
def test_many_intervals_are_halved_like_each_of_them(roots):
    """All at once or one by one: the same ends."""
    n = len(roots)
    lows, highs = narrowed_each(lambda x: x > roots, np.zeros(n), np.ones(n), within=0.01)
    each = [narrowed(root.__lt__, 0.0, 1.0, within=0.01) for root in roots]

    assert list(zip(lows.tolist(), highs.tolist(), strict=True)) == each
    assert narrowed_each(lambda x: x > 1, np.zeros(0), np.ones(0), within=0.01)[0].size == 0
