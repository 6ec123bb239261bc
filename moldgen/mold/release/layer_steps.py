"""Layers: the steps that printed layers leave on leaning walls, against the release."""

from __future__ import annotations

from dataclasses import dataclass
from math import radians, sin, tan

import numpy as np
from numpy.typing import NDArray

from moldgen.finding import Finding, Severity
from moldgen.mold.features import Direction
from moldgen.mold.rules import Rule, draft_rule
from moldgen.printing.bridge import patches_of
from moldgen.solid.mesh import Mesh
from moldgen.solid.normals import leans_deg
from moldgen.solid.topology import welded
from moldgen.stock import Plastic

TERRACE_MM = 1.0
"""Width of a step from which it shows through the sheet as a terrace (common practice). [mm]."""
LEAST_MM2 = 1.0
_WALL_DEG = 45.0
_FLAT_DEG = 89.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Steps:
    """What layers of one height leave on a wall of one lean.

    Attributes
    ----------
    width_mm : float
        Ledge from one layer to the next: layer times the tangent of the lean. [mm]
    ridge_mm : float
        How far the edge of a layer stands off the true wall: layer times its sine. [mm]
    rule : Rule
        The draft that the plastic and the grooves between such layers ask for. [°]
    """

    width_mm: float
    ridge_mm: float
    rule: Rule


def wall_steps(
    draft_deg: float,
    layer_mm: float,
    *,
    plastic: Plastic,
    direction: Direction = Direction.RAISED,
    height_mm: float = 10.0,
) -> Steps:
    """Return the steps on a wall that leans by its draft, printed upright.

    Parameters
    ----------
    draft_deg : float
        Lean of the wall from the pull. [°]
    layer_mm : float
        Height of a layer. [mm]
    plastic : Plastic
        What is formed over it.
    direction : Direction
        Whether the wall is of a raised or a sunk feature.
    height_mm : float
        Height of the wall. [mm]

    Examples
    --------
    Layers of 0.2 mm on a wall of 5°: each stands back by 0.017 mm.

    >>> round(0.2 * tan(radians(5)), 3)
    0.017
    """
    lean = radians(draft_deg)
    return Steps(
        width_mm=layer_mm * tan(lean),
        ridge_mm=layer_mm * sin(lean),
        rule=draft_rule(direction, height_mm, plastic=plastic, layer_mm=layer_mm),
    )


def coarsest_layer_mm(
    draft_deg: float,
    *,
    plastic: Plastic,
    direction: Direction = Direction.RAISED,
    height_mm: float = 10.0,
) -> float:
    """Return the thickest layer, by hundredths, that such a draft still releases; 0 for none. [mm].

    The rule of draft grows with the grooves between layers.
    """
    for hundredths in range(100, 0, -1):
        layer = hundredths / 100
        rule = draft_rule(direction, height_mm, plastic=plastic, layer_mm=layer)
        if rule.value <= draft_deg + 1e-9:
            return layer
    return 0.0


def check_layer_steps(
    name: str, mesh: Mesh, *, plastic: Plastic, layer_mm: float
) -> tuple[Finding, ...]:
    """Ask whether layers this thick still let the part off, and where they show as terraces.

    Parameters
    ----------
    mesh : Mesh
        The mold as it stands on the table and is printed. [mm]
    """
    leans = leans_deg(mesh)
    height = float(np.ptp(mesh.points_mm[:, 2]))
    rule = draft_rule(Direction.RAISED, height, plastic=plastic, layer_mm=layer_mm)
    rough = (leans > 0.05) & (leans < min(rule.value - 0.1, _WALL_DEG))
    findings = []
    if mesh.areas_mm2[rough].sum() > LEAST_MM2:
        findings.append(
            _rough(
                name,
                mesh,
                np.flatnonzero(rough),
                leans=leans,
                rule=rule,
                layer_mm=layer_mm,
                plastic=plastic,
            )
        )
    return (*findings, *check_terraces(name, mesh, layer_mm=layer_mm))


def check_terraces(name: str, mesh: Mesh, *, layer_mm: float) -> tuple[Finding, ...]:
    """Ask where slopes are so gentle that layers this thick show as terraces."""
    leans = leans_deg(mesh)
    flatter = np.degrees(np.arctan2(layer_mm, TERRACE_MM))
    terraced = _tall(mesh, (leans > 90 - flatter) & (leans < _FLAT_DEG), 3 * layer_mm)
    if mesh.areas_mm2[terraced].sum() <= LEAST_MM2:
        return ()
    return (_terraced(name, mesh, np.flatnonzero(terraced), leans, layer_mm),)


def _tall(mesh: Mesh, chosen: NDArray[np.bool_], rise_mm: float) -> NDArray[np.bool_]:
    """Keep the patches that rise over several layers; the rim of a round has no terrace."""
    kept = np.zeros(len(chosen), bool)
    member = np.flatnonzero(chosen)
    if len(member):
        # Faces that are not chosen join nothing; only what is chosen is looked at.
        own = welded(Mesh(mesh.points_mm, mesh.triangles[member]))
        patch = patches_of(np.ones(len(member), bool), own.edges)
        heights = mesh.corners_mm[member][:, :, 2]
        low = np.full(int(patch.max()) + 1, np.inf)
        high = -low
        np.minimum.at(low, patch, heights.min(axis=1))
        np.maximum.at(high, patch, heights.max(axis=1))
        kept[member] = (high - low >= rise_mm)[patch]
    return kept


def _rough(
    name: str, mesh: Mesh, own: np.ndarray, *, leans: np.ndarray, rule: Rule, layer_mm: float,
    plastic: Plastic,
) -> Finding:  # fmt: skip
    steepest = int(own[np.argmax(mesh.areas_mm2[own])])
    draft = float(leans[steepest])
    finer = coarsest_layer_mm(draft, plastic=plastic)
    advice = (
        f"Layers of {finer:g} mm would do; or sand the walls, or give them {rule.value:g}°."
        if finer >= 0.05
        else f"Sand the walls, or give them {rule.value:g}°."
    )
    return Finding(
        code="print-layer-grooves",
        severity=Severity.NOTE,
        says=f"{mesh.areas_mm2[own].sum():.0f} mm² of wall have less draft than layers of "
        f"{layer_mm:g} mm ask for",
        measured=draft,
        limit=rule.value,
        unit="°",
        where_mm=_middle(mesh, steepest),
        subject=name,
        basis=f"{rule.because} ({rule.basis})",
        advice=advice,
    )


def _terraced(
    name: str, mesh: Mesh, own: np.ndarray, leans: np.ndarray, layer_mm: float
) -> Finding:
    flattest = int(own[np.argmax(mesh.areas_mm2[own])])
    return Finding(
        code="print-terraces",
        severity=Severity.NOTE,
        says=f"{mesh.areas_mm2[own].sum():.0f} mm² slope so little that layers show as terraces; "
        "width of a step",
        measured=layer_mm * tan(radians(float(leans[flattest]))),
        limit=TERRACE_MM,
        unit="mm",
        where_mm=_middle(mesh, flattest),
        subject=name,
        basis="derived: layer over the slope (limit: common practice, no source)",
        advice="Print with finer layers there, or sand it.",
    )


def _middle(mesh: Mesh, triangle: int) -> tuple[float, float, float]:
    x, y, z = (float(value) for value in mesh.corners_mm[triangle].mean(axis=0))
    return x, y, z
