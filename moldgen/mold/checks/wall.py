"""Whether every wall of the mold is thick enough to print."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldgen.arrays import Floats
from moldgen.finding import Finding, Severity
from moldgen.mold.checks.case import Case
from moldgen.mold.checks.rays import targets
from moldgen.mold.checks.sight import LOW_MM

STEEP = 0.7
"""Greatest height share of a normal that still belongs to a wall. [-]."""

OPPOSITE = -0.5
"""Cosine between normals from which two faces bound one wall and not one corner. [-]."""

LEAST_AREA_MM2 = 1.0
"""Area of thin wall below which it is a blemish of the mesh. [mm²]."""

_NUDGE_MM = 1e-6
_BASIS = "smallest wall of the printer"


@dataclass(frozen=True, eq=False, kw_only=True)
class WallThickness:
    """Thickness behind every steep triangle.

    Attributes
    ----------
    thickness_mm : ndarray, shape (m,)
        Distance straight inward to the opposite face; inf beyond reach, nan for floors. [mm]
    """

    thickness_mm: Floats


def measure_walls(case: Case, *, reach_mm: float | None = None) -> WallThickness:
    """Measure each wall from the middle of its triangles straight inward.

    Parameters
    ----------
    reach_mm : float, optional
        How far to look; the printer's smallest wall if not given. [mm]
    """
    reach = case.printer.least_wall_mm if reach_mm is None else reach_mm
    steep = np.flatnonzero((np.abs(case.normals[:, 2]) < STEEP) & (case.mesh.areas_mm2 > 0))
    inward = -case.normals[steep]
    start = case.middles_mm[steep] + _NUDGE_MM * inward
    distance, hit = targets(case.mesh.corners_mm[steep]).hits(start, inward, reach)
    distance += _NUDGE_MM
    met = np.flatnonzero(hit >= 0)
    facing = np.einsum("ij,ij->i", inward[met], inward[hit[met]])
    distance[met[facing > OPPOSITE]] = np.inf
    thickness = np.full(len(case.normals), np.nan)
    thickness[steep] = distance
    return WallThickness(thickness_mm=thickness)


def _is_under(case: Case, thin: NDArray[np.int64], seen: NDArray[np.bool_] | None) -> bool:
    """Tell whether all of it is under the mold: slivers there are left out and missed by nobody."""
    low = bool(case.mesh.corners_mm[thin, :, 2].max() - case.floor_mm <= LOW_MM)
    return low or (seen is not None and not seen[thin].any())


def check_wall(
    case: Case, walls: WallThickness, seen: NDArray[np.bool_] | None = None
) -> tuple[Finding, ...]:
    """Ask whether the printer can make every wall, one finding per body.

    Parameters
    ----------
    case : Case
        The mold.
    walls : WallThickness
        How thick its walls are. [mm]
    seen : ndarray of bool, shape (m,), optional
        Which triangles the sheet comes down on: between pockets underneath nothing matters.
    """
    limit = case.printer.least_wall_mm
    findings = []
    for number, body in enumerate(case.bodies):
        thin = np.flatnonzero((case.body == number) & (walls.thickness_mm < limit - 1e-3))
        area = float(case.mesh.areas_mm2[thin].sum())
        if area > LEAST_AREA_MM2:
            least = thin[int(np.argmin(walls.thickness_mm[thin]))]
            if _is_under(case, thin, seen):
                continue
            findings.append(
                Finding(
                    code="wall-thin",
                    severity=Severity.CAUTION,
                    says=f"{area:.0f} mm² of walls are too thin to print; least",
                    measured=float(walls.thickness_mm[least]),
                    limit=limit,
                    unit="mm",
                    where_mm=case.place(case.middles_mm[least]),
                    subject=body.name,
                    basis=_BASIS,
                    advice=f"Thicken them to {limit:g} mm.",
                )
            )
    return tuple(findings)
