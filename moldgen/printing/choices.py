"""Choices: what a person may choose about printing; imports nothing heavy, for the sake of help."""

from __future__ import annotations

from enum import StrEnum

PLAYS_MM = (0.0, 0.1, 0.2, 0.3, 0.4, 0.5)
"""Plays on the diameter that are worth trying: press to loose (common practice). [mm]."""
VENTS_MM = (0.6, 0.8, 1.0, 1.2, 1.5, 2.0)
"""Vent holes that are worth trying. [mm]."""


class KeyKind(StrEnum):
    """What holds two pieces in line."""

    DOWEL = "dowel"
    """Standard pins, bought."""
    PRINTED = "printed"
    """Pins that are printed lying, with a flat."""
    NONE = "none"
    """Nothing: plain joints."""


class Axis(StrEnum):
    """An axis of the table: x to the right, y away from you, z up."""

    X = "x"
    Y = "y"
    Z = "z"


SLITS_MM = (0.2, 0.25, 0.3, 0.35, 0.4, 0.5, 0.6)
"""Widths of the slits of a vent test piece. [mm]."""
