"""The curve between the values of a screen and light, by IEC 61966-2-1 (sRGB)."""

from __future__ import annotations

import numpy as np

from moldgen.arrays import Floats


def light_of_screen(screen: Floats) -> Floats:
    """Return linear light of screen values, both from 0 to 1. [-]."""
    return np.where(screen <= 0.04045, screen / 12.92, ((screen + 0.055) / 1.055) ** 2.4)


def screen_of_light(light: Floats) -> Floats:
    """Return screen values of linear light, both from 0 to 1. [-]."""
    return np.where(light <= 0.0031308, light * 12.92, 1.055 * light ** (1 / 2.4) - 0.055)


def light_by_byte() -> Floats:
    """Return the light of each of the 256 values of a byte, shape (256,). [-]."""
    return light_of_screen(np.arange(256) / 255.0)
