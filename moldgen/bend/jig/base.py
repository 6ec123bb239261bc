"""Base: what a strip lies on in a jig and in a press: a floor, a rail at its side, a fence.

It is printed lying on its rail, and stands on its floor in use.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import shapely
from manifold3d import Manifold

from moldgen.bend.jig.held import PressedStrip
from moldgen.finding import Finding, Severity
from moldgen.printing.label import writable
from moldgen.quantity import Quantity, Spec
from moldgen.solid.prism import raised

_JOINED_MM = 0.5
"""How deep what stands on the rail reaches into it. [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BaseSpec(Spec):
    """How the base of a jig or a press is made."""

    base_mm: Annotated[
        float, Quantity("mm", "thickness under the strip", at_least=6, at_most=60)
    ] = 10.0
    rail_mm: Annotated[
        float, Quantity("mm", "thickness of the side rail", at_least=2, at_most=20)
    ] = 4.0


def build_on_rail(
    rail: shapely.Geometry, region: shapely.Geometry, rail_mm: float, top_mm: float
) -> Manifold:
    """Return a region raised over the width of the strip, on the rail that joins its parts.

    Parameters
    ----------
    rail, region : Geometry
        Side views. [mm]
    rail_mm, top_mm : float
        Thickness of the rail, and height of the whole as it is printed. [mm]
    """
    return raised(rail, 0.0, rail_mm) + raised(region, rail_mm - _JOINED_MM, top_mm)


def titled(name: str, words: str) -> list[str]:
    """Return what to write: a name above the words if one font has both, else the words alone."""
    return [*writable(f"{name}\n{words}"), words]


def check_fence(
    fence_mm: float | None, name: str, *, basis: str, advice: str
) -> tuple[Finding, ...]:
    """Return a caution if no fence stops the strip's end."""
    if fence_mm is not None:
        return ()
    return (
        Finding(
            code="jig-without-fence",
            severity=Severity.CAUTION,
            says="no straight end of the strip reaches a fence",
            subject=name,
            basis=basis,
            advice=advice,
        ),
    )


def check_below(
    held: PressedStrip, base_mm: float, name: str, *, floor: str, basis: str, advice: str
) -> tuple[Finding, ...]:
    """Return a note if a leg hangs below the floor, which is called as the trade calls it.

    Parameters
    ----------
    held : PressedStrip
        The strip in its jig.
    base_mm : float
        How high the jig lifts the strip. [mm]
    name : str
        Name of the jig.
    floor : str
        What is below: bench or base.
    basis : str
        What the rule rests on.
    advice : str
        What to do about it.
    """
    below = -held.thickness_mm / 2 - base_mm - held.parts[0].bounds[1]
    if below <= 0:
        return ()
    return (
        Finding(
            code="jig-leg-hangs",
            severity=Severity.NOTE,
            says=f"a leg that is already bent hangs below the {floor}",
            measured=below,
            unit="mm",
            subject=name,
            basis=basis,
            advice=advice,
        ),
    )
