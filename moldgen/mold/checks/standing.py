"""Whether each body stands by itself while the sheet comes down on it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from moldgen.finding import Finding, Severity
from moldgen.mold.checks.case import Case, Place
from moldgen.mold.checks.hull import hull_of
from moldgen.solid.mesh import Mesh

LEAST_TIP_DEG = 15.0
"""Tipping angle below which a body should be held. Common practice, no source. [°]."""

FOOT_MM = 0.05
"""Height up to which a point still stands on the table. [mm]."""

_BASIS = "derived: center of mass over the feet; 15° is common practice, no source"


@dataclass(frozen=True, kw_only=True)
class BodyStability:
    """How a body stands on the table.

    Attributes
    ----------
    body : str
        Its name.
    tip_deg : float
        Least lean at which it tips over its feet; negative if it falls by itself. [°]
    height_to_base : float
        Height of the body over the least width of the hull of its feet. [-]
    lift_mm : float
        Distance of its lowest point from the table. [mm]
    center_mm : tuple of three floats
        Center of mass, solid throughout. [mm]
    """

    body: str
    tip_deg: float
    height_to_base: float
    lift_mm: float
    center_mm: Place


def measure_standing(case: Case) -> tuple[BodyStability, ...]:
    """Measure how each body stands; open surfaces, which have no mass, are left out."""
    return tuple(
        _standing(case, body.name, part)
        for body, part, topology in zip(case.bodies, case.parts, case.topologies, strict=True)
        if not len(topology.edges.open) and part.volume_mm3 > 0
    )


def check_standing(case: Case, standings: tuple[BodyStability, ...]) -> tuple[Finding, ...]:
    """Ask whether any body falls over or hangs in the air."""
    findings = []
    for standing in standings:
        if standing.tip_deg < LEAST_TIP_DEG:
            findings.append(_tips(standing))
        if standing.lift_mm > FOOT_MM:
            findings.append(_hangs(standing))
    return tuple(findings)


def center_of_mass_mm(mesh: Mesh) -> tuple[float, float, float]:
    """Return the center of mass of a closed body, solid throughout. [mm]."""
    origin = mesh.points_mm.mean(axis=0)
    a, b, c = (mesh.corners_mm[:, i] - origin for i in range(3))
    volume = np.einsum("ij,ij->i", a, np.cross(b, c)) / 6
    x, y, z = origin + (volume[:, None] * (a + b + c)).sum(axis=0) / (4 * volume.sum())
    return float(x), float(y), float(z)


def _standing(case: Case, name: str, part: Mesh) -> BodyStability:
    x, y, z = center_of_mass_mm(part)
    low, high = part.bounds_mm[:, 2]
    feet = part.points_mm[part.points_mm[:, 2] < low + FOOT_MM]
    hull = hull_of(feet)
    place = shapely.Point(x, y)
    arm = float(shapely.distance(hull.boundary, place)) if hull.area > 0 else 0.0
    arm = arm if hull.covers(place) else -float(shapely.distance(hull, place))
    width = float(shapely.minimum_rotated_rectangle(hull).length) if hull.area > 0 else 0.0
    if width:
        corners = np.asarray(shapely.minimum_rotated_rectangle(hull).exterior.coords)
        width = float(np.linalg.norm(np.diff(corners[:3], axis=0), axis=1).min())
    return BodyStability(
        body=name,
        tip_deg=float(np.degrees(np.arctan2(arm, z - low))),
        height_to_base=float((high - low) / width) if width else float("inf"),
        lift_mm=float(low - case.floor_mm),
        center_mm=case.place(np.array([x, y, z])),
    )


def _tips(standing: BodyStability) -> Finding:
    falls = standing.tip_deg <= 0
    return Finding(
        code="standing-tips",
        severity=Severity.STOP if falls else Severity.CAUTION,
        says=(
            "falls over by itself; it tips at"
            if falls
            else "tips easily when the sheet comes down; it tips at"
        ),
        measured=standing.tip_deg,
        limit=LEAST_TIP_DEG,
        unit="°",
        where_mm=standing.center_mm,
        subject=standing.body,
        basis=_BASIS,
        advice="Widen its foot or put it on a base plate with its neighbors.",
    )


def _hangs(standing: BodyStability) -> Finding:
    return Finding(
        code="standing-lifted",
        severity=Severity.CAUTION,
        says="does not stand on the table but hangs above it by",
        measured=standing.lift_mm,
        limit=0.0,
        unit="mm",
        where_mm=standing.center_mm,
        subject=standing.body,
        basis="derived: lowest points of the bodies compared",
        advice="Put it down onto the table, or join it to what carries it.",
    )
