"""The curve between screen values and light."""

import numpy as np
import pytest

from moldgen.export.picture.srgb import light_by_byte, light_of_screen, screen_of_light


def test_light_and_screen_are_inverse():
    """There and back is the same, to what the rounded figures of the standard allow."""
    values = np.linspace(0, 1, 501)

    assert screen_of_light(light_of_screen(values)) == pytest.approx(values, abs=1e-6)
    assert light_of_screen(screen_of_light(values)) == pytest.approx(values, abs=1e-6)


def test_black_white_and_order_are_kept():
    """0 stays 0, 1 stays 1, and every byte has more light than the one before."""
    light = light_by_byte()

    assert (light[0], light[-1]) == (0.0, 1.0)
    assert len(light) == 256
    assert (np.diff(light) > 0).all()
