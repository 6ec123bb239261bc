"""Rest: which leg a bent strip stands on, and with which face down."""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, radians, sin

from moldgen.bend.strip.shape import StripShape

_LEVEL = 0.01
"""Sine of the slope up to which a leg lies on the table. [-]."""
_CLEAR_MM = 0.1


def lying_leg(shape: StripShape) -> int | None:
    """Return the leg that lies on the table, 1 for the leftmost; none if it stands on edges."""
    legs = shape.legs
    flat = [n for n in _touching(shape) if abs(sin(radians(legs[n - 1].heading_deg))) < _LEVEL]
    return flat[0] if flat else None


def rest_text(shape: StripShape) -> str:
    """Return what a strip stands on: ``leg 1, marks down``, or ``leg 1's end and bend 2``.

    Parameters
    ----------
    shape : StripShape
        The strip as it stands, with the table at z = 0. [mm]
    """
    flat = lying_leg(shape)
    if flat is not None:
        up = cos(radians(shape.legs[flat - 1].heading_deg)) > 0
        return f"leg {flat}, marks {'up' if up else 'down'}"
    parts = [f"the end of leg {number}" for number in _touching(shape)]
    for arc in shape.arcs:
        if abs(arc.center_mm[1] - arc.outer_mm) < _CLEAR_MM:
            parts.append(f"bend {arc.number}")
    return " and ".join(parts)


def faces_up(put: StripShape, faces: Sequence[tuple[float, bool]]) -> bool:
    """Return whether faces, each of a leg with or without marks, look up or level."""
    legs = put.legs
    return all(
        (1.0 if marks else -1.0) * cos(radians(legs[int(leg) - 1].heading_deg)) > -0.02
        for leg, marks in faces
        if leg <= len(legs)
    )


def _touching(shape: StripShape) -> list[int]:
    half = shape.strip.thickness_mm / 2
    return [
        number
        for number, leg in enumerate(shape.legs, start=1)
        if min(leg.start_mm[1], leg.end_mm[1]) - half * abs(cos(radians(leg.heading_deg)))
        < _CLEAR_MM
    ]
