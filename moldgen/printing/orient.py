"""Orient: which way up a solid prints best: what hangs, what shows as steps, what it stands on."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, radians, sin

import numpy as np

from moldgen.finding import Finding, Severity
from moldgen.printing.bed_fit import fits_bed
from moldgen.printing.overhang import LIMIT_DEG, measure_overhangs, widest_bridge_mm
from moldgen.printing.turn import UP, Direction, turn_to, turned_mesh
from moldgen.solid.mesh import Mesh
from moldgen.stock import Printer

TILTS_DEG = (15.0, 30.0, 45.0)
"""Tilts that are tried besides the six sides. [°]."""
STEPPED_DEG = (1.0, 30.0)
"""Slopes, from level, on which layers show as steps. [°]."""
STEP_COST = 0.3
"""What 1 mm² of stepped surface counts against 1 mm² of support (a judgment, no source)."""
HEIGHT_COST_MM2 = 2.0
"""What 1 mm of height counts, in area of support: time (a judgment, no source). [mm]."""
LEAST_BED = 0.05
"""Share of its own shadow that a print needs on the bed to stand without a raft. [-]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Orientation:
    """One way up, and what it costs.

    Attributes
    ----------
    name : str
        Such as ``as it stands``, ``upside down`` or ``tilted 15° to the right``.
    up : tuple of three floats
        Direction of the part that points up.
    support_mm2 : float
        Area that needs support, or a raft where too little lies on the bed. [mm²]
    span_mm : float
        Longest bridge. [mm]
    bed_mm2 : float
        Area on the bed. [mm²]
    stepped_mm2 : float
        Area on which layers show as steps. [mm²]
    height_mm : float
        Height of the print. [mm]
    fits : bool
        Whether it fits the printer so.
    """

    name: str
    up: Direction
    support_mm2: float
    span_mm: float
    bed_mm2: float
    stepped_mm2: float
    height_mm: float
    fits: bool

    @property
    def cost_mm2(self) -> float:
        """Support, steps and height as one figure, the less the better. [mm²]."""
        return self.support_mm2 + STEP_COST * self.stepped_mm2 + HEIGHT_COST_MM2 * self.height_mm


def orientations(mesh: Mesh, printer: Printer) -> tuple[Orientation, ...]:
    """Return every way up that was tried, the best first; those that fit before all others."""
    tried = [_tried(name, up, mesh, printer) for name, up in ways_up()]
    return tuple(sorted(tried, key=lambda one: (not one.fits, round(one.cost_mm2, 3))))


def check_orientation(
    name: str, tried: tuple[Orientation, ...], *, must_stand: bool = False
) -> tuple[Finding, ...]:
    """Ask whether another way up would print with clearly less support.

    Parameters
    ----------
    must_stand : bool
        A mold whose forming surface looks up stays as it is; nothing is asked.
    """
    present = next(one for one in tried if one.up == UP)
    best = tried[0]
    saved = present.cost_mm2 - best.cost_mm2
    if must_stand or best is present or saved < 0.1 * present.cost_mm2 + 20:
        return ()
    return (
        Finding(
            code="print-orientation",
            severity=Severity.NOTE,
            says=f"it prints with less support {best.name}; area to support as it stands",
            measured=present.support_mm2,
            limit=best.support_mm2,
            unit="mm²",
            subject=name,
            basis="support, visible steps and height compared over six sides and tilts (geometry; "
            "their weights are a judgment)",
            advice=f"Lay it {best.name} on the bed.",
        ),
    )


_LEANS = (("to the right", -1, 0), ("to the left", 1, 0), ("back", 0, -1), ("forward", 0, 1))


def ways_up() -> tuple[tuple[str, Direction], ...]:
    """Return the six sides, then tilts from the present one, with their names."""
    sides = [
        ("as it stands", UP),
        ("upside down", (0.0, 0.0, -1.0)),
        ("on its left side", (1.0, 0.0, 0.0)),
        ("on its right side", (-1.0, 0.0, 0.0)),
        ("on its front", (0.0, 1.0, 0.0)),
        ("on its back", (0.0, -1.0, 0.0)),
    ]
    tilts = [
        (f"tilted {tilt:g}° {word}", (x * sin(radians(tilt)), y * sin(radians(tilt)), z))
        for tilt in TILTS_DEG
        for z in (cos(radians(tilt)),)
        for word, x, y in _LEANS
    ]
    return (*sides, *tilts)


def _tried(name: str, up: Direction, mesh: Mesh, printer: Printer) -> Orientation:
    turned = turned_mesh(mesh, turn_to(up))
    hangs = measure_overhangs(turned, limit_deg=LIMIT_DEG)
    shadow = float(np.abs(turned.area_vectors_mm2[:, 2]).sum()) / 2
    raft = shadow if hangs.bed_mm2 < LEAST_BED * shadow else 0.0
    return Orientation(
        name=name,
        up=up,
        support_mm2=hangs.needs_support_mm2(widest_bridge_mm(printer)) + raft,
        span_mm=hangs.span_mm,
        bed_mm2=hangs.bed_mm2,
        stepped_mm2=_stepped_mm2(turned),
        height_mm=float(np.ptp(turned.points_mm[:, 2])),
        fits=fits_bed(turned, printer),
    )


def _stepped_mm2(mesh: Mesh) -> float:
    areas = mesh.areas_mm2
    share = np.divide(
        np.abs(mesh.area_vectors_mm2[:, 2]), areas, out=np.zeros(len(areas)), where=areas > 0
    )
    slope = np.degrees(np.arccos(np.clip(share, 0, 1)))
    low, high = STEPPED_DEG
    return float(areas[(slope > low) & (slope < high)].sum())
