"""Load: things that a bent strip carries, and where they are when they lean on a leg."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, radians, sin
from typing import Annotated

import numpy as np

from moldgen.bend.strip.shape import StripShape
from moldgen.errors import SpecError
from moldgen.quantity import Meaning, Quantity, Spec


@dataclass(frozen=True, slots=True, kw_only=True)
class StripLoad(Spec):
    """Something that a strip carries, as one mass at its middle."""

    name: Annotated[str, Meaning("what findings call it")]
    mass_kg: Annotated[float, Quantity("kg", "mass", above=0, at_most=100)]
    x_mm: Annotated[float, Quantity("mm", "place of its middle along the side view")]
    height_mm: Annotated[
        float, Quantity("mm", "height of its middle over the table", at_least=0, at_most=5000)
    ]


@dataclass(frozen=True, slots=True, kw_only=True)
class Thing(Spec):
    """A thing that is put on a stand."""

    name: Annotated[str, Meaning("what findings call it")]
    mass_kg: Annotated[float, Quantity("kg", "mass", above=0, at_most=100)]
    tall_mm: Annotated[float, Quantity("mm", "height as it stands", above=0, at_most=2000)]
    thick_mm: Annotated[float, Quantity("mm", "from its back to its front", above=0, at_most=500)]


PHONE = Thing(name="phone", mass_kg=0.2, tall_mm=150.0, thick_mm=9.0)
CARD = Thing(name="card", mass_kg=0.005, tall_mm=85.0, thick_mm=0.5)
BOOK = Thing(name="book", mass_kg=0.5, tall_mm=210.0, thick_mm=20.0)
"""Usual things, sizes and masses from memory."""


def load_on_leg(standing: StripShape, leg: int, thing: Thing, *, marks: bool = True) -> StripLoad:
    """Return a thing that leans flat against a leg, standing at the leg's lower end.

    Parameters
    ----------
    standing : StripShape
        The strip as it stands, `Standing.shape`. [mm]
    leg : int
        Leg it leans on, 1 for the leftmost.
    marks : bool
        Whether it leans on the face with the marks.
    """
    legs = standing.legs
    if not 1 <= leg <= len(legs):
        raise SpecError("leg", f"a leg, 1 to {len(legs)}", str(leg), "")
    own = legs[leg - 1]
    ends = sorted((own.start_mm, own.end_mm), key=lambda end: (round(end[1], 6), end[0]))
    low, high = np.array(ends[0]), np.array(ends[1])
    up = (high - low) / max(float(np.linalg.norm(high - low)), 1e-9)
    heading = radians(own.heading_deg)
    out = (1.0 if marks else -1.0) * np.array([-sin(heading), cos(heading)])
    away = standing.strip.thickness_mm / 2 + thing.thick_mm / 2
    x, z = low + up * thing.tall_mm / 2 + out * away
    return StripLoad(name=thing.name, mass_kg=thing.mass_kg, x_mm=float(x), height_mm=float(z))
