"""Calibrate: what a bent test strip says about the neutral line and the spring back."""

from __future__ import annotations

from dataclasses import dataclass

from moldgen.stock import Plastic, Structure

PRACTICE = "common practice, no source; bend a test strip"


@dataclass(frozen=True, slots=True, kw_only=True)
class Overbend:
    """How much further than asked a bend is pressed, because it springs back.

    Attributes
    ----------
    deg, low_deg, high_deg : float
        The value to use and the band it is uncertain by. [°]
    basis : str
        A test strip, or common practice.
    """

    deg: float
    low_deg: float
    high_deg: float
    basis: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Neutral:
    """Where the neutral line is.

    Attributes
    ----------
    ratio : float
        Distance from the inside face over thickness; `StripSpec.neutral`. [-]
    within : float
        Half width of the band it is uncertain by. [-]
    n_strips : int
        Test strips it comes from.
    """

    ratio: float
    within: float
    n_strips: int


def usual_overbend(plastic: Plastic) -> Overbend:
    """Return the overbend to start with: 0 to 2° if amorphous, 1 to 3° if crystalline or PETG.

    For a bend held in its jig until it is stiff. Common practice, no source.
    """
    tough = plastic.structure is Structure.CRYSTALLINE or "PETG" in (plastic.name, plastic.based_on)
    deg = 2.0 if tough else 1.0
    return Overbend(deg=deg, low_deg=deg - 1, high_deg=deg + 1, basis=PRACTICE)
