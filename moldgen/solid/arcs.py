"""How many chords a circle or an arc needs."""

from __future__ import annotations

from math import acos, ceil, pi


def chords_for(radius_mm: float, turn_rad: float, *, chord_mm: float, at_least: int = 1) -> int:
    """Return into how many equal chords an arc is cut so that none strays from it further.

    A chord over the angle t strays by ``r (1 - cos(t / 2))`` in its middle (plane geometry).

    Parameters
    ----------
    radius_mm : float
        Radius of the arc. [mm]
    turn_rad : float
        Angle that the arc turns through; 0 where a line of endless radius does not turn. [rad]
    chord_mm : float
        Largest distance between a chord and the arc. [mm]
    at_least : int
        Never fewer than this.
    """
    if radius_mm <= chord_mm or turn_rad == 0:
        return at_least
    return max(at_least, ceil(turn_rad / (2 * acos(1 - chord_mm / radius_mm))))


def segments_for(radius_mm: float, chord_mm: float, *, at_least: int = 8) -> int:
    """Return the sides of a polygon that stays near its circle, a multiple of four.

    Four times the chords of a quarter, so that the polygon touches the box round the circle.
    `chord_mm` is the largest distance between a side and the circle. [mm]
    """
    return 4 * chords_for(radius_mm, pi / 2, chord_mm=chord_mm, at_least=ceil(at_least / 4))
