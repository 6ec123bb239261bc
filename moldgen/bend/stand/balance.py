"""Balance: volume and center of mass of a bent strip, and how far a body leans before it falls."""

from __future__ import annotations

from math import atan2, cos, degrees, radians, sin

import numpy as np

from moldgen.arrays import Floats
from moldgen.bend.strip.shape import StripShape
from moldgen.bend.strip.sheet import build_sheet
from moldgen.errors import SpecError


def tip_deg(arm_mm: float, height_mm: float) -> float:
    r"""Return how far a body leans over an edge before it falls. [°].

    Parameters
    ----------
    arm_mm : float
        From the edge to below its center of mass; negative if that is beyond the edge. [mm]
    height_mm : float
        Of the center of mass above the table. [mm]

    Notes
    -----
    .. math:: \varphi = \arctan(d / h)

    Checked against ``tests/published/bent_stand.csv``.
    """
    if not height_mm > 0:
        raise SpecError("height_mm", "more than 0 mm", f"{height_mm:g} mm", "")
    return degrees(atan2(arm_mm, height_mm))


def arc_middle(angle_deg: float) -> float:
    r"""Return how far from its center the middle of mass of a thin arc is, over its radius.

    Notes
    -----
    .. math:: \sin(a) / a, \quad a = \text{half the angle}

    Checked against ``tests/published/bent_stand.csv``.
    """
    half = radians(angle_deg) / 2
    return sin(half) / half if half else 1.0


def sector_middle_mm(inner_mm: float, outer_mm: float, angle_deg: float) -> float:
    r"""Return how far from its center the middle of mass of a bent strip is. [mm].

    Notes
    -----
    .. math:: \frac{2 \sin a}{3 a} \frac{r_o^3 - r_i^3}{r_o^2 - r_i^2}

    Checked against ``tests/published/bent_stand.csv``.
    """
    ri, ro = inner_mm, outer_mm
    return arc_middle(angle_deg) * 2 / 3 * (ro**2 + ro * ri + ri**2) / (ro + ri)


def middle_of(lengths: Floats, middles_mm: Floats) -> Floats:
    """Return the center of mass of parts, shape (2,). [mm].

    Parameters
    ----------
    lengths : ndarray, shape (n,)
        Length, area or mass of each part.
    middles_mm : ndarray, shape (n, 2)
        Center of mass of each part. [mm]
    """
    middle: Floats = lengths @ middles_mm / lengths.sum()
    return middle


def middle_of_strip_mm(shape: StripShape) -> tuple[float, float]:
    """Return the center of mass of a bent strip in the side view: exact without holes. [mm]."""
    if shape.strip.holes or shape.strip.outline is not None:
        return _middle_of_solid_mm(shape)
    areas, middles = [], []
    for leg in shape.legs:
        areas.append(leg.length_mm * shape.strip.thickness_mm)
        middles.append((np.array(leg.start_mm) + np.array(leg.end_mm)) / 2)
    for k in np.flatnonzero(shape.path.angles_rad == 0):
        flat = shape.path.flat
        areas.append(float(flat.allowances_mm[k]) * shape.strip.thickness_mm)
        middle = flat.starts_mm[k] + flat.flats_mm[k] + flat.allowances_mm[k] / 2
        middles.append(shape.path.placed(np.array([2 * k + 1]), [middle], [0.0])[0])
    for arc in shape.arcs:
        angle = abs(arc.sweep_deg)
        areas.append(radians(angle) * arc.middle_mm * shape.strip.thickness_mm)
        out = sector_middle_mm(arc.inner_mm, arc.outer_mm, angle)
        way = radians(arc.from_deg + arc.sweep_deg / 2)
        middles.append(np.array(arc.center_mm) + out * np.array([cos(way), sin(way)]))
    x, z = middle_of(np.array(areas), np.array(middles))
    return float(x), float(z)


def volume_mm3(shape: StripShape) -> float:
    """Return the volume of a bent strip: exact without holes. [mm³]."""
    if shape.strip.holes or shape.strip.outline is not None:
        return build_sheet(shape).mesh.volume_mm3
    bent = sum(radians(abs(arc.sweep_deg)) * arc.middle_mm for arc in shape.arcs)
    flat = shape.path.flat
    straight = float(flat.flats_mm.sum() + flat.allowances_mm[shape.path.angles_rad == 0].sum())
    return (bent + straight) * shape.strip.thickness_mm * shape.strip.width_mm


def _middle_of_solid_mm(shape: StripShape) -> tuple[float, float]:
    mesh = build_sheet(shape).mesh
    a, b, c = (mesh.corners_mm[:, i] for i in range(3))
    volumes = np.einsum("ij,ij->i", a, np.cross(b, c))
    x, _, z = (volumes[:, None] * (a + b + c)).sum(axis=0) / (4 * volumes.sum())
    return float(x), float(z)
