"""The clamped round membrane as a set of ordinary differential equations, for the tests.

J. E. Adkins and R. S. Rivlin, "Large elastic deformations of isotropic materials IX," Phil. Trans.
R. Soc. A 244 (1952), as equations in the undeformed radius. The stretch at the pole is chosen,
pressure, modulus and gauge are 1, and the radius at which the hoop stretch has come down to 1 is
the clamp's: so nothing has to be shot at.
"""

from bisect import bisect
from dataclasses import dataclass
from functools import cache
from math import cos, degrees, sin


@dataclass(frozen=True)
class Dome:
    """One blown sheet, lengths over the radius of the clamp."""

    pressure: float
    height: float
    pole: float
    rim: float
    volume: float
    rim_deg: float
    """Slope at the clamp, from the level."""
    residual: float
    """Greatest difference of the first integral: vertical pull of a ring less pressure on it."""
    radii: tuple[float, ...]
    thicknesses: tuple[float, ...]

    def thickness_at(self, place):
        """Return the thickness at an undeformed radius over that of the clamp."""
        radii, t = (0.0, *self.radii, 1.0), (self.pole, *self.thicknesses, self.rim)
        k = min(bisect(radii, place), len(radii) - 1)
        share = (place - radii[k - 1]) / (radii[k] - radii[k - 1])
        return t[k - 1] + share * (t[k] - t[k - 1])


def tensions(l1, l2, c1, c2):
    """Return both tensions, and how the first grows with the two stretches."""
    f, g = l1 / l2 - (l1 * l2) ** -3, c1 + c2 * l2**2
    other = (l2 / l1 - (l1 * l2) ** -3) * (c1 + c2 * l1**2)
    by_first = (1 / l2 + 3 * l1**-4 * l2**-3) * g
    by_second = (-l1 / l2**2 + 3 * l1**-3 * l2**-4) * g + 2 * f * c2 * l2
    return f * g, other, by_first, by_second


def slopes(radius, state, c1, c2, turn=(cos, sin)):
    """Return the slopes of stretch, radius, height, angle and volume; arrays need their turn."""
    l1, r, _, angle, _ = state
    l2 = r / radius
    first, second, by_first, by_second = tensions(l1, l2, c1, c2)
    c, s = turn[0](angle), turn[1](angle)
    return (
        ((second - first) * l1 * c / r - by_second * (l1 * c - l2) / radius) / by_first,
        l1 * c,
        -l1 * s,
        l1 * (1 - second * s / r) / first,
        3.141592653589793 * r * r * l1 * s,
    )


def runge_kutta(radius, state, step, c1, c2):
    """Take one step of the classical fourth order."""

    def ahead(share, slope):
        return [value + share * step * rate for value, rate in zip(state, slope, strict=True)]

    k1 = slopes(radius, state, c1, c2)
    k2 = slopes(radius + step / 2, ahead(0.5, k1), c1, c2)
    k3 = slopes(radius + step / 2, ahead(0.5, k2), c1, c2)
    k4 = slopes(radius + step, ahead(1.0, k3), c1, c2)
    rates = [(a + 2 * b + 2 * c + d) / 6 for a, b, c, d in zip(k1, k2, k3, k4, strict=True)]
    return ahead(1.0, rates)


@cache
def dome(pole_stretch, *, second=0.0, steps=2000):
    """Return the dome whose pole is stretched so much, equally in both directions."""
    c1, c2 = 1 / (1 + second), second / (1 + second)
    scale = min(1.0, 20 * (pole_stretch - 1) ** 1.5)
    radius, step = 1e-4 * scale, 2.0 * scale / steps
    r = pole_stretch * radius
    first = tensions(pole_stretch, pole_stretch, c1, c2)[0]
    state = [pole_stretch, r, 0.0, r / (2 * first), 0.0]
    radii, thicknesses, residual = [], [], 0.0
    while True:
        ahead = runge_kutta(radius, state, step, c1, c2)
        if ahead[1] < radius + step:
            break
        radius, state = radius + step, ahead
        radii.append(radius)
        thicknesses.append(radius / (state[0] * state[1]))
        pull = tensions(state[0], state[1] / radius, c1, c2)[0] * sin(state[3])
        residual = max(residual, abs(pull - state[1] / 2))
    low, high = 0.0, step
    for _ in range(60):
        middle = 0.5 * (low + high)
        inside = runge_kutta(radius, state, middle, c1, c2)[1] > radius + middle
        low, high = (middle, high) if inside else (low, middle)
    state = runge_kutta(radius, state, low, c1, c2)
    a = radius + low
    return Dome(
        pressure=a,
        height=-state[2] / a,
        pole=pole_stretch**-2,
        rim=1 / (state[0] * state[1] / a),
        volume=state[4] / a**3,
        rim_deg=degrees(state[3]),
        residual=residual,
        radii=tuple(radius / a for radius in radii),
        thicknesses=tuple(thicknesses),
    )


@cache
def dome_so_high(height, *, second=0.0):
    """Return the pole's stretch of the dome of a height, and the dome, by the secant rule."""
    before, stretch = 1.2, 1.5
    while abs(stretch - before) > 1e-8:
        far, near = (dome(each, second=second).height - height for each in (before, stretch))
        before, stretch = stretch, stretch - near * (stretch - before) / (near - far)
    return stretch, dome(stretch, second=second)
