"""Warp: what lies on the bed, and how far its ends want to pull in as the plastic cools."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
import shapely
from numpy.typing import NDArray

from moldgen.finding import Finding, Severity
from moldgen.solid.mesh import Mesh
from moldgen.solid.slices import region_at, solid_of
from moldgen.solid.topology import groups
from moldgen.stock import Filament, Structure

# Expansion of the solid plastics by 1e-6 per kelvin: generic polymer data, from memory.
EXPANSION_PER_K: Mapping[str, float] = MappingProxyType(
    {
        "PLA": 68e-6,
        "PETG": 60e-6,
        "HIPS": 80e-6,
        "ABS": 90e-6,
        "ASA": 95e-6,
        "PC": 68e-6,
        "PA6": 85e-6,
        "PA12": 110e-6,
    }
)
OTHER_PER_K = 80e-6
ROOM_DEGC = 25.0
PULL_MM = 0.5
"""Pull at either end from which corners tend to lift (common practice, no source). [mm]."""
ON_BED_MM = 0.02
"""What lies no higher than this lies on the bed. [mm]."""
FIRST_MM = 0.1
"""Height of the cut that stands for the first layer. [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstLayer:
    """What lies on the bed.

    Attributes
    ----------
    area_mm2 : float
        Its area. [mm²]
    longest_mm : float
        Greatest distance within one piece of it. [mm]
    """

    area_mm2: float
    longest_mm: float


def measure_first_layer(mesh: Mesh) -> FirstLayer:
    """Measure what a solid lays on the bed first, as it stands.

    Raises
    ------
    GeometryError
        If the solid is not closed.
    """
    solid = solid_of(mesh)
    region = region_at(solid, float(mesh.points_mm[:, 2].min()) + FIRST_MM)
    lengths = [_longest_mm(part) for part in region.geoms]
    return FirstLayer(area_mm2=float(region.area), longest_mm=max(lengths, default=0.0))


def measure_bed_faces(mesh: Mesh) -> FirstLayer:
    """Measure what a solid lays on the bed, from the triangles that lie there.

    The same as `measure_first_layer` for a solid with a level base, without cutting it.
    """
    floor = float(mesh.points_mm[:, 2].min())
    on_bed = (mesh.corners_mm[:, :, 2] <= floor + ON_BED_MM).all(axis=1)
    faces = mesh.triangles[on_bed].astype(np.int64)
    used, corner = np.unique(faces, return_inverse=True)
    corner = corner.reshape(-1, 3)
    piece = groups(len(used), np.concatenate([corner[:, :2], corner[:, 1:]]))
    spots = mesh.points_mm[used, :2]
    return FirstLayer(
        area_mm2=float(-mesh.area_vectors_mm2[on_bed, 2].sum()),
        longest_mm=_longest_of_mm(spots, piece),
    )


def _longest_of_mm(spots: NDArray[np.float64], piece: NDArray[np.int64]) -> float:
    """Return the greatest distance within one piece: no piece is longer than its box's diagonal."""
    if not len(spots):
        return 0.0
    low = np.full((int(piece.max()) + 1, 2), np.inf)
    high = -low
    np.minimum.at(low, piece, spots)
    np.maximum.at(high, piece, spots)
    diagonal = np.hypot(*(high - low).T)
    longest = 0.0
    for number in np.argsort(-diagonal, kind="stable"):
        if diagonal[number] <= longest:
            break
        longest = max(longest, _longest_mm(shapely.multipoints(spots[piece == number])))
    return longest


def end_pull_mm(longest_mm: float, filament: Filament) -> float:
    r"""Return how far each end of a length wants to pull in as it cools to the room. [mm].

    Notes
    -----
    .. math:: \tfrac12 L\,\alpha\,(T_{stiff} - T_{room})

    An amorphous plastic begins to hold stress at its glass transition, a crystalline one near
    its heat deflection temperature. A heated bed or chamber lessens it; this is the worst.
    """
    crystalline = filament.structure is Structure.CRYSTALLINE
    stiff = filament.deflection_degC if crystalline else filament.softens_degC
    alpha = EXPANSION_PER_K.get(filament.name, OTHER_PER_K)
    return 0.5 * longest_mm * alpha * max(0.0, stiff - ROOM_DEGC)


def check_warp(name: str, first: FirstLayer, filament: Filament) -> tuple[Finding, ...]:
    """Ask whether corners will lift off the bed, and whether the print holds to it at all."""
    pull = end_pull_mm(first.longest_mm, filament)
    if pull <= PULL_MM:
        return ()
    return (
        Finding(
            code="print-warp",
            severity=Severity.CAUTION,
            says=f"{first.longest_mm:.0f} mm of {filament.name} lie on the bed in one piece; as "
            "they cool, each end pulls in and may lift",
            measured=pull,
            limit=PULL_MM,
            unit="mm",
            subject=name,
            basis="derived: half the length times expansion times cooling from the stiffening "
            "temperature to 25 °C (expansion: generic polymer data, from memory; limit: common "
            "practice, no source)",
            advice="Print with a brim, a hot bed and no draft of air, or split the part.",
        ),
    )


def _longest_mm(part: shapely.Geometry) -> float:
    corners = shapely.get_coordinates(shapely.convex_hull(part))
    away = corners[:, None] - corners[None]
    return float(np.hypot(away[..., 0], away[..., 1]).max())
