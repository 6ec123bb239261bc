"""Where a falling course passes a value."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from moldgen.physics.falling import fallen_at, fallen_each

PLACES = np.array([0.0, 1.0, 3.0, 4.0])


@pytest.mark.parametrize(
    ("values", "at"),
    [
        ([8.0, 6.0, 2.0, 1.0], 2.0),  # half of the way from 6 to 2
        ([8.0, 2.0, 6.0, 2.0], 3.5),  # it rises again: the last fall counts
        ([4.0, 3.0, 2.0, 1.0], 0.0),  # at the level is not above it
        ([9.0, 8.0, 7.0, 6.0], 4.0),  # it never falls so far
    ],
)
def test_a_course_stays_below_from_its_last_fall_on(values, at):
    """By hand, for a level of 4."""
    assert fallen_at(PLACES, np.array(values), 4.0) == pytest.approx(at)


@given(
    arrays(np.float64, (5, 4), elements=st.floats(-10, 10)),
    arrays(np.float64, 5, elements=st.floats(-10, 10)),
)
def test_many_courses_fall_like_each_of_them(values, levels):
    """A row at a time or all at once, with one level or one each."""
    each = [fallen_at(PLACES, row, level) for row, level in zip(values, levels, strict=True)]
    same = [fallen_at(PLACES, row, 3.0) for row in values]

    assert fallen_each(PLACES, values, levels).tolist() == each
    assert fallen_each(np.tile(PLACES, (5, 1)), values, 3.0).tolist() == same


@given(arrays(np.float64, 6, elements=st.floats(-10, 10)), st.floats(-10, 10))
def test_the_place_is_found_by_walking_back(values, level):
    """From the last place backward until something is above the level."""
    places = np.arange(6.0)
    n = 5
    while n >= 0 and values[n] <= level:
        n -= 1
    at = fallen_at(places, values, level)

    assert (at == 0.0) if n < 0 else (at == 5.0 if n == 5 else n <= at <= n + 1)
    if 0 <= n < 5:
        between = (1 - (at - n)) * values[n] + (at - n) * values[n + 1]
        assert between == pytest.approx(level, abs=1e-9)
