"""Sinking: how deep a printed top may soften before the infill under it buckles."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, pi, sqrt

from moldgen.table.printed_mold import PrintedMold

_POISSON = 0.5
"""Of a rubbery print, whose volume does not change; 0.45 gives 3 % less."""
RUBBERY_WITHIN = 2.0
"""Factor either way within which a rubbery modulus is trusted; from memory."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AllowedDepth:
    """How deep a top may soften: with the rubbery modulus as told, and at both ends of its band.

    Attributes
    ----------
    low_mm, middle_mm, high_mm : float
        High is infinite where the rubbery modulus is not known; low is the skin alone then. [mm]
    """

    low_mm: float
    middle_mm: float
    high_mm: float


def buckling_depth_mm(
    *, line_mm: float, infill: float, rubbery_MPa: float, vacuum_kPa: float
) -> float:
    r"""Return the height at which rubbery infill walls buckle under a vacuum.

    Parameters
    ----------
    line_mm : float
        Thickness of the walls. [mm]
    infill : float
        Share of the inside that is wall. [-]
    rubbery_MPa : float
        Elastic modulus above softening. [MPa]
    vacuum_kPa : float
        What presses on the top. [kPa]

    Notes
    -----
    Wide plates clamped above and below (Euler), the skin above and the hard infill below:
    :math:`p / \phi = \pi^2 E t^2 / (3 (1 - \nu^2) h^2)`. That walls cross and hold one another is
    left out.

    Examples
    --------
    >>> round(buckling_depth_mm(line_mm=0.44, infill=0.2, rubbery_MPa=1.2, vacuum_kPa=68), 2)
    1.73
    """
    stress_MPa = vacuum_kPa / 1000 / infill
    return pi * line_mm * sqrt(rubbery_MPa / (3 * (1 - _POISSON**2) * stress_MPa))


def allowed_depth(mold: PrintedMold, vacuum_kPa: float) -> AllowedDepth:
    """Return how deep the top of a mold may soften: its skin, and infill that does not buckle."""
    skin_mm, rubbery_MPa = mold.skin_mm, mold.filament.rubbery_MPa
    if rubbery_MPa is None:
        return AllowedDepth(low_mm=skin_mm, middle_mm=skin_mm, high_mm=inf)
    low_mm, middle_mm, high_mm = (
        skin_mm
        + buckling_depth_mm(
            line_mm=mold.line_mm,
            infill=mold.infill,
            rubbery_MPa=rubbery_MPa * share,
            vacuum_kPa=vacuum_kPa,
        )
        for share in (1 / RUBBERY_WITHIN, 1.0, RUBBERY_WITHIN)
    )
    return AllowedDepth(low_mm=low_mm, middle_mm=middle_mm, high_mm=high_mm)
