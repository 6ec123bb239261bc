"""Overbend: how much further than asked a bend is pressed, because it springs back."""

from __future__ import annotations

from dataclasses import dataclass

from moldgen.bend.strip.part import FOLD_DEG, StripSpec

PRACTICE = "common practice, no source: 1 to 3° for hot line bends held until stiff"
MEASURED = "given for this strip"

_USUAL_DEG = {
    "PMMA": 1.0,
    "HIPS": 1.0,
    "GPPS": 1.0,
    "PVC": 1.0,
    "ABS": 1.5,
    "PC": 2.0,
    "PETG": 2.0,
    "APET": 2.0,
    "PP": 3.0,
    "HDPE": 3.0,
    "LDPE": 3.0,
}
"""By the first word of the plastic's name; from memory of trade talk, to be measured."""
_OTHER_DEG = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Overbend:
    """What a bend is pressed beyond its angle.

    Attributes
    ----------
    overbend_deg : float
        Added to the angle in the jig. [°]
    basis : str
        Where it comes from.
    measured : bool
        Whether it comes from a test strip rather than from habit.
    """

    overbend_deg: float
    basis: str
    measured: bool


def overbend_of(strip: StripSpec) -> Overbend:
    """Return what the bends of a strip are pressed beyond their angles.

    Notes
    -----
    No published springback of hot line bends was found; the table is a starting point, and a
    test strip settles it.
    """
    if strip.overbend_deg is not None:
        return Overbend(overbend_deg=strip.overbend_deg, basis=MEASURED, measured=True)
    first = strip.plastic.split(" ")[0].upper()
    return Overbend(overbend_deg=_USUAL_DEG.get(first, _OTHER_DEG), basis=PRACTICE, measured=False)


def pressed_deg(strip: StripSpec, number: int) -> float:
    """Return the angle a bend is pressed to; a closed fold is held by what lies in its gap. [°].

    Parameters
    ----------
    number : int
        1 for the leftmost bend.
    """
    angle_deg = strip.bends[number - 1].angle_deg
    if angle_deg == FOLD_DEG:
        return FOLD_DEG
    return min(angle_deg + overbend_of(strip).overbend_deg, FOLD_DEG)
