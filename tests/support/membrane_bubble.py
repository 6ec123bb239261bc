"""Thickness where the free sheet is taken to be an arc or a cap of even thickness, for the tests.

The sheet sticks where it touches; what is still free is spread evenly over a shape that is tangent
to what it touches. All lengths are over those named; thicknesses are over that of the sheet. The
forms are those of R. J. Crawford, Plastics Engineering, section 4.4 (from memory), first in J. G.
Williams, J. Strain Anal. 5 (1970) 49; each follows from the volume of the sheet alone.
"""

from math import cos, exp, hypot, pi, sin, tan

import numpy as np


def cap(height):
    """Return the thickness of a cap so high over the radius of its mouth."""
    return 1 / (1 + height**2)


def cone_wall(angle, along):
    """Return the thickness on a female wall at an angle, at a way from the lip over its radius."""
    if angle == pi / 2:
        return 0.5 * exp(-along)
    return (1 + cos(angle)) / 2 * (1 - along * cos(angle)) ** (1 / cos(angle) - 1)


def trough_wall(angle, along):
    """Return the same of a trough, over half its width."""
    if angle == pi / 2:
        return 2 / pi * exp(-2 * along / pi)
    return sin(angle) / angle * (1 - along * cos(angle)) ** (tan(angle) / angle - 1)


def corner(turn, share):
    """Return how much a long corner thins the sheet while its fillet shrinks to a share."""
    return share ** (2 * tan(turn / 2) / turn - 1)


def floor_corner(angle, floor, fillet, start):
    """Return the same of the corner all around a round floor, from one fillet to a lesser one."""
    t = tan(angle / 2)
    c = angle * t - (1 - cos(angle))
    a = 2 * t / angle - 1
    b = 2 * c - t**2 * (1 - cos(angle)) + c * a
    ratio = (angle * floor - c * fillet) / (angle * floor - c * start)
    return (fillet / start) ** a * ratio ** (-b / c)


def cup(mouth, floor, depth, fillet):
    """Return the thickness where a fillet ends, in a cup whose wall is met before its floor."""
    angle = pi / 2 if mouth == floor else float(np.arctan2(depth, mouth - floor))
    start = floor / tan(angle / 2)
    # The cap touches the wall as far above the floor's corner as the fillet does.
    along = hypot(depth, mouth - floor) - start * tan(angle / 2)
    return cone_wall(angle, along / mouth) * floor_corner(angle, floor, fillet, start)


def shallow_arc(mouth, depth, *, steps=4000):
    """Return the thickness of the free ring when it comes to be tangent to an upright wall.

    The floor is met first, in its middle, and from there outward; the arc hangs from the lip.
    Marched, by the volume of what is still free.
    """
    floor = np.linspace(0, mouth - depth, steps + 1)
    radius = ((mouth - floor) ** 2 + depth**2) / (2 * depth)
    turn = np.arctan2(mouth - floor, radius - depth)
    free = 2 * pi * (floor * radius * turn + radius**2 * (1 - np.cos(turn)))
    lies = pi * floor**2
    lost = np.diff(free + lies) / np.sqrt(free[1:] * free[:-1])
    return cap(depth / mouth) * exp(-lost.sum())


def ring_foot(post, height, fillet):
    """Return the thickness where a fillet ends, at the foot of a round post.

    The clamp is as far from the post as the post is tall; the first fillet is that large.
    """
    k = pi / 2 - 1
    outer = post + height
    first = (outer**2 - post**2) / (2 * height * (outer * pi / 2 - height))
    exponent = (2 * k - 1 + k * (4 / pi - 1)) / k
    ratio = (pi * post / 2 + k * fillet) / (pi * post / 2 + k * height)
    return first * (fillet / height) ** (4 / pi - 1) * ratio**-exponent
