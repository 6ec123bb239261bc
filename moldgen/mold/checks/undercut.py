"""Whether anything holds the part back: surface that the sheet gets under."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiLineString

from moldgen.arrays import Floats
from moldgen.finding import Finding, Severity
from moldgen.mold.checks.case import Case, Place
from moldgen.mold.checks.sight import Sight

LEAST_DEPTH_MM = 0.05
"""Depth below which an undercut is taken for the roughness of the surface. [mm]."""

_SPLITS = 24
_MOST_SAMPLES = 1_000_000


@dataclass(frozen=True, kw_only=True)
class Undercut:
    """One connected patch of surface that the sheet gets under.

    Attributes
    ----------
    body : str
        Name of the body it belongs to.
    area_mm2 : float
        Surface that faces away from the draw direction. [mm²]
    hidden_mm2 : float
        That, and the surface below it that the sheet reaches only from the side. [mm²]
    depth_mm : float
        Greatest way the sheet goes in under it, measured level from the mouth. [mm]
    where_mm : tuple of three floats
        The deepest place. [mm]
    """

    body: str
    area_mm2: float
    hidden_mm2: float
    depth_mm: float
    where_mm: Place


def measure_undercuts(case: Case, sight: Sight) -> tuple[Undercut, ...]:
    """Measure every patch that the sheet gets under, the deepest first.

    The facing-down area is exact. Of the surface below, each triangle counts with the share of
    its sample places that lie under the patch.
    """
    numbers = np.flatnonzero(sight.open_patches)
    if not len(numbers):
        return ()
    hidden = _hidden_mm2(case, sight)
    undercuts = [_undercut(case, sight, int(number), hidden[number]) for number in numbers]
    return tuple(sorted(undercuts, key=lambda undercut: -undercut.depth_mm))


def check_undercut(case: Case, undercuts: tuple[Undercut, ...]) -> tuple[Finding, ...]:
    """Ask whether the part locks onto the mold, body by body."""
    findings = []
    for name in dict.fromkeys(undercut.body for undercut in undercuts):
        own = [u for u in undercuts if u.body == name and u.depth_mm > LEAST_DEPTH_MM]
        if own:
            findings.append(_finding(case, name, own))
    return tuple(findings)


def _finding(case: Case, name: str, own: list[Undercut]) -> Finding:
    area = sum(undercut.area_mm2 for undercut in own)
    places = f" in {len(own)} places" if len(own) > 1 else ""
    locks = own[0].depth_mm > 0.5 * case.sheet.gauge_mm
    return Finding(
        code="undercut",
        severity=Severity.STOP if locks else Severity.CAUTION,
        says=f"the sheet gets under {area:.0f} mm² of surface{places} and locks there; depth",
        measured=own[0].depth_mm,
        limit=0.0,
        unit="mm",
        where_mm=own[0].where_mm,
        subject=name,
        basis="derived: what cannot be seen along the draw direction holds the part",
        advice="Fill it down to the table, give it draft the other way, or change the draw "
        "direction.",
    )


def _undercut(case: Case, sight: Sight, number: int, hidden_mm2: float) -> Undercut:
    own = np.flatnonzero(sight.patch == number)
    rims = sight.mouths.ends_mm[sight.mouths.patch == number]
    mouth = MultiLineString(list(shapely.linestrings(rims[:, :, :2])))
    shapely.prepare(mouth)
    corners = case.mesh.corners_mm[own].reshape(-1, 3)
    deep = shapely.distance(mouth, shapely.points(corners[:, :2]))
    deepest = int(np.argmax(deep))
    area = float(case.mesh.areas_mm2[own].sum())
    return Undercut(
        body=case.bodies[int(case.body[own[0]])].name,
        area_mm2=area,
        hidden_mm2=area + hidden_mm2,
        depth_mm=float(deep[deepest]),
        where_mm=case.place(corners[deepest]),
    )


def _hidden_mm2(case: Case, sight: Sight) -> Floats:
    """Area below each patch that is not itself facing down."""
    areas = np.zeros(len(sight.open_patches))
    rest = _below(case, sight)
    large = case.mesh.areas_mm2[rest] > 1e-3 * case.mesh.areas_mm2[sight.grips].sum()
    fine = max(1, min(_SPLITS, int(np.sqrt(_MOST_SAMPLES / max(1, large.sum())))))
    for chosen, splits in ((rest[~large], 1), (rest[large], fine)):
        places = sample_places(case, chosen, splits)
        patch = np.append(sight.patch, -1)[sight.covers(places)]
        share = np.repeat(case.mesh.areas_mm2[chosen] / splits**2, splits**2)
        np.add.at(areas, patch[patch >= 0], share[patch >= 0])
    return areas


def _below(case: Case, sight: Sight) -> NDArray[np.int64]:
    """Triangles not facing down that reach under the plan's box around what grips."""
    plan = case.mesh.corners_mm[..., :2]
    low, high = plan[sight.grips].min((0, 1)), plan[sight.grips].max((0, 1))
    near = ((plan.min(axis=1) <= high) & (plan.max(axis=1) >= low)).all(axis=1)
    return np.flatnonzero(near & ~sight.down & (case.mesh.areas_mm2 > 0))


def sample_places(case: Case, chosen: NDArray[np.int64], splits: int) -> Floats:
    """Return the middles of the ``splits**2`` equal triangles each chosen one is cut into. [mm]."""
    i, j = np.divmod(np.arange(splits * splits), splits)
    upper = i + j >= splits
    a = np.where(upper, splits - 1 - i + 2 / 3, i + 1 / 3) / splits
    b = np.where(upper, splits - 1 - j + 2 / 3, j + 1 / 3) / splits
    weights = np.stack([1 - a - b, a, b], axis=1)
    places = np.einsum("sk,tkx->tsx", weights, case.mesh.corners_mm[chosen])
    lifted: Floats = (places + 1e-3 * case.normals[chosen][:, None]).reshape(-1, 3)
    return lifted
